"""Puts `bench/` on the path and flies the few short flights the tests share."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[2] / "bench"))

from flying.flight import Flown
from flying.lessons import fly
from flying.plan import draw_plan


@pytest.fixture(scope="session")
def stall_lesson() -> Flown:
    """One whole JSBSim lesson (about 40 minutes of flight)."""
    return fly(draw_plan(7, "stalls", airplanes=("c172p",), skill=0.6))
