"""An engine that loses strength over the months shows in the climbs; one that doesn't, does not."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from airwork.airplane import load_airplane
from airwork.airplane.performance import Performance
from airwork.airplane.performance.flight_words import climbs_over_time, wear_words
from airwork.airplane.performance.flown import Flown
from airwork.airplane.performance.learn import learn
from airwork.recording import read_flight
from airwork.recording.flown import flown_of
from airwork.units import FPM_MPS, LB_KG
from flown_flights import write_flight
from invented_truth import truths


@pytest.fixture(scope="module")
def flown(tmp_path_factory: pytest.TempPathFactory, airplane_folder: Path) -> Flown:
    airplane = load_airplane(airplane_folder / "larkmoor_155.toml")
    path = write_flight(
        tmp_path_factory.mktemp("wear") / "one.csv", truths()["larkmoor_155"], 6, minutes=18, weight_lb=2050.0,
        calibrated=lambda v, n: float(airplane.calibration[int(n)].ias(v)),
    )  # fmt: skip
    found = flown_of(read_flight(path, airplane=airplane), airplane, 2050.0 * LB_KG, "typed")
    assert found is not None
    return found


def seen(airplane_folder: Path, flown: Flown, losses_fpm: list[float]) -> Performance:
    """The same flight on four dates, climbing less by so much."""
    airplane = load_airplane(airplane_folder / "larkmoor_155.toml")
    flights = []
    for i, loss in enumerate(losses_fpm):
        climbing = flown.rows.rate_mps > 1.0
        rate = flown.rows.rate_mps - np.where(climbing, loss * FPM_MPS, 0.0)
        rows = replace(flown.rows, rate_mps=rate)
        flights.append(replace(flown, key=f"{i}", date=f"2026-{2 * i + 4:02d}-10", rows=rows))
    return Performance(airplane, learn(airplane, [], flights))


def test_a_loss_of_climb_is_said_and_none_is_not(airplane_folder: Path, flown: Flown) -> None:
    tired = seen(airplane_folder, flown, [0.0, 0.0, 110.0, 110.0])
    assert len(climbs_over_time(tired)) == 4
    words = wear_words(tired)
    assert "less than in April 2026" in words
    assert 85 < float(words.split()[1]) < 135
    assert wear_words(seen(airplane_folder, flown, [0.0] * 4)).startswith("climbs as in April 2026")


def test_too_few_flights_say_nothing(airplane_folder: Path, flown: Flown) -> None:
    assert wear_words(seen(airplane_folder, flown, [0.0, 90.0])) == ""
