"""Named sets of flights: smoke (a few, quick), standard (to develop against), heldout (to judge by, other seeds)."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from flying import export, kinematic_lessons, lessons
from flying.kinematic_lessons import draw_kinematic_plan
from flying.plan import LONE_THEME, NEGATIVE_THEMES, OTHER_THEMES, TRAINING_THEMES, Plan, draw_plan

JSBSIM_AIRPLANES = ("c172p", "larkmoor_155", "wrenbrook_108")


def smoke() -> list[Plan]:
    return [
        draw_plan(7, theme, airplanes=JSBSIM_AIRPLANES) for theme in ("stalls", "private_test", "commercial", "lake")
    ]


def standard() -> list[Plan]:
    return _all(range(100, 104), range(100, 102))


def heldout() -> list[Plan]:
    return _all(range(500, 506), range(500, 503))


def fresh(first_seed: int) -> list[Plan]:
    """The held-out themes from seeds of your own choice: a set is held out only until somebody has looked at it."""
    return _all(range(first_seed, first_seed + 6), range(first_seed, first_seed + 3))


MAKES = ("late", "loose")
HARDLY_LESSONS = (*OTHER_THEMES, *NEGATIVE_THEMES, LONE_THEME)


HARD_THEMES = ("stalls", "commercial", "private_test", "mixed", *NEGATIVE_THEMES, "sightseeing")
POOR = 0.1  # skill of hands that stray


def made(
    first_seed: int, make: str, count: int = 3, themes: tuple[str, ...] = (*TRAINING_THEMES, *HARDLY_LESSONS)
) -> list[Plan]:
    """Flights of another make, lessons and flights that are none, from seeds of your own choice."""
    return [draw_kinematic_plan(first_seed + k, theme, make) for theme in themes for k in range(count)]


def hard(first_seed: int, count: int = 3) -> list[Plan]:
    """What is easily claimed wrongly: lessons of poor hands, maneuvers broken off, soaring, playing on the way."""
    plans = [
        draw_kinematic_plan(first_seed + k, theme, make, POOR)
        for make in MAKES for theme in HARD_THEMES for k in range(count)
    ]  # fmt: skip
    return [replace(plan, name=f"hard_{plan.name}") for plan in plans]


def _all(training: range, others: range) -> list[Plan]:
    pairs = [(theme, seed) for theme in TRAINING_THEMES for seed in training]
    pairs += [(theme, seed) for theme in OTHER_THEMES for seed in others]
    plans = [draw_plan(seed, theme, airplanes=JSBSIM_AIRPLANES) for theme, seed in pairs]
    plans += [
        replace(draw_plan(seed + 50, theme, airplanes=("j3cub",)), name=f"cub_{theme}_{seed}")
        for theme, seed in pairs
        if seed % 4 == 1 and theme not in ("pattern", "commercial")
    ]
    return plans + [draw_kinematic_plan(seed, theme) for theme, seed in pairs if seed % 2 == 0]


SETS: dict[str, Callable[[], list[Plan]]] = {"smoke": smoke, "standard": standard, "heldout": heldout}


def make(plan: Plan, folder: Path, formats: tuple[str, ...]) -> str:
    """Fly one plan, write its files, say so in a line."""
    flown = kinematic_lessons.fly(plan) if plan.generator == "kinematic" else lessons.fly(plan)
    export.write(flown, folder, formats)
    minutes = float(flown.columns["time_s"][-1] - flown.columns["time_s"][0]) / 60.0
    intended = sum(mark.intended for mark in flown.marks)
    return f"{flown.name}: {minutes:.0f} min, skill {flown.skill_level:.2f}, {intended} maneuvers"
