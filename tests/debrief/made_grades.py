"""Grades made up for the first lines of a debrief."""

from __future__ import annotations

from types import SimpleNamespace
from typing import cast

from airwork.debrief.first_places import (
    IN,
    Place,
)
from airwork.maneuvers.episode import Episode, Finding, Grade
from airwork.maneuvers.grading.evidence import Evidence


def off_by(worst: float | None, verdict: str = "not held", quantity: str = "altitude", unit: str = "ft",
           **more: object) -> Finding:  # fmt: skip
    """A criterion of ±100 ft and how far out it was."""
    side = {"low": -100.0, "high": 100.0, "first_excursion_s": 14.0, "quantity": quantity, **more}
    return Finding("criterion", "±100 ft", worst, unit, 0.5, verdict, "", **side)  # type: ignore[arg-type]


DESK = cast(Evidence, SimpleNamespace(has_airspeed=True, speed_text=lambda mps: f"{mps * 3600.0 / 1852.0:.0f} kt"))


def turn(start_s: float, **worst_and_verdict: tuple[float, str]) -> tuple[Episode, Grade]:
    """A steep turn with these criteria of ±100 each."""
    findings = tuple(off_by(x, v, name) for name, (x, v) in worst_and_verdict.items())
    return Episode("steep_turn", start_s, start_s + 40.0, 1.0), Grade({}, "", {}, findings, ())


def at(rank: float, root: str, maneuver: int, start_s: float = 0.0, margin: str = "") -> Place:
    return Place(f"a thing {IN}", "steep turn", rank, root, start_s, start_s + 1.0, maneuver, margin=margin)  # type: ignore[arg-type]
