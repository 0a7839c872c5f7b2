"""Drives told from flights: each kind of made-up drive from a seed the weights never saw."""

from __future__ import annotations

import json
import sys
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from airwork.recording.driven import drives, log_odds, measures

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "bench"))

from driven_tracks import KINDS, drive, recorded


@pytest.mark.parametrize("name", KINDS)
def test_a_made_up_drive_is_told_as_one(name: str) -> None:
    """At least four of five of every kind; what `bench/driven_tracks.py` counts over hundreds."""
    rng = np.random.default_rng([22, len(name)])
    odds = [log_odds(measures(recorded(rng, *drive(rng, KINDS[name])))) for _ in range(5)]
    assert sum(value > 0.0 for value in odds) >= 4


def test_every_measure_has_its_weight_and_its_words() -> None:
    rng = np.random.default_rng(3)
    track = recorded(rng, *drive(rng, KINDS["city"]))
    weights = json.loads(files("airwork.recording").joinpath("driven.json").read_text(encoding="utf-8"))
    assert set(weights) == {"all", *measures(track)}
    assert drives(track).startswith("at most ")
