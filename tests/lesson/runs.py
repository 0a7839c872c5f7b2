"""Runs made by hand for the planner's tests: what a room would have answered, in plain numbers."""

from __future__ import annotations

import numpy as np

from airwork.lesson.exercises import Run
from airwork.maneuvers.setup import PowerUse, SetUp, Trace
from airwork.units import FT_M


def a_set_up(kind: str, altitude_m: float, seconds: float, *, power: float = 0.55) -> SetUp:
    """A set-up with nothing in it but heights and power."""
    return SetUp(
        kind=kind, title=kind.replace("_", " "), entry_altitude_m=altitude_m, floor_m=altitude_m - 300.0,
        floor_why="the test's", numbers=(), steps=(), tolerances=(), usual_errors=(), cautions=(), card_line=kind,
        power=(PowerUse(seconds, power, "full_rich"),), targets={"ias_mps": 35.0},
    )  # fmt: skip


def a_trace(seconds: float, altitude_m: float, *, turns: float = 2.0, sink_mps: float = 0.0) -> Trace:
    """Circles at 48 m/s, level or descending."""
    t = np.linspace(0.0, seconds, 120)
    columns = {
        "heading_rad": 2.0 * np.pi * turns * t / seconds,
        "tas_mps": np.full_like(t, 48.0),
        "altitude_m": altitude_m - sink_mps * t,
    }
    return Trace(t, columns)


def a_run(
    number: int, *, minutes: float = 4.0, altitude_ft: float = 6500.0, gallons: float = 0.6, at_field: bool = False,
    exercise: int | None = None, kind: str = "steep_turn",
) -> Run:  # fmt: skip
    """A run of a length, at a height, burning so much."""
    from airwork.units import from_unit

    seconds, altitude = minutes * 60.0, altitude_ft * FT_M
    return Run(
        number, number if exercise is None else exercise, kind, kind.replace("_", " "), at_field,
        a_set_up(kind, altitude, seconds), a_trace(seconds, altitude), seconds, from_unit(gallons, "gal"),
    )  # fmt: skip
