"""Weight and center of gravity through the lesson, leg by leg, as the tanks empty. SI."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from airwork.airplane import Airplane
from airwork.airplane.loading import Loading, loading, remedy
from airwork.lesson.tanks import TankPoint


@dataclass(frozen=True, slots=True)
class BalancePoint:
    """Weight and balance at a moment of the lesson. arm_m None: the airplane file has no weight and balance."""

    time_s: float
    mass_kg: float
    arm_m: float | None
    categories: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BalancePlan:
    """The loading at the start and its travel. `arm_limits_m`: (forward, aft) by category at the start's mass."""

    points: tuple[BalancePoint, ...]
    problems: tuple[str, ...]
    arm_limits_m: Mapping[str, tuple[float, float] | None]
    why_not: Mapping[str, str]
    max_mass_kg: float
    remedy: str = ""  # what to move where, if that mends it

    @property
    def always(self) -> tuple[str, ...]:
        """Categories that are legal from start to end."""
        first = self.points[0].categories
        return tuple(c for c in first if all(c in p.categories for p in self.points))


def plan_balance(airplane: Airplane, station_mass_kg: Mapping[str, float], points: Sequence[TankPoint]) -> BalancePlan:
    """Loading at every point of the tank plan; without weight and balance, from the most it may weigh."""
    if airplane.file.weight_and_balance is None:
        heaviest, full = airplane.max_takeoff_mass_kg, points[0].total_m3
        burned = [(p.time_s, (full - p.total_m3) * airplane.fuel_density_kgpm3) for p in points]
        return BalancePlan(
            points=tuple(BalancePoint(t, heaviest - b, None, ()) for t, b in burned),
            problems=(), arm_limits_m={}, why_not={}, max_mass_kg=heaviest,
        )  # fmt: skip
    found: list[tuple[float, Loading]] = [
        (p.time_s, loading(airplane, station_mass_kg, {t: min(v, _usable(airplane, t)) for t, v in p.left_m3.items()}))
        for p in points
    ]
    first = found[0][1]
    return BalancePlan(
        points=tuple(BalancePoint(t, x.mass_kg, x.arm_m, _categories(airplane, x)) for t, x in found),
        problems=_each_once(problem for _, x in found for problem in x.problems),
        arm_limits_m=dict(first.arm_limits_m),
        why_not=dict(first.why_not),
        max_mass_kg=airplane.max_takeoff_mass_kg,
        remedy=_remedy(airplane, station_mass_kg, points[0]) if any(x.problems for _, x in found) else "",
    )


def _categories(airplane: Airplane, loaded: Loading) -> tuple[str, ...]:
    """Categories the loading is legal in; tanks apart say nothing about them."""
    if any("tanks differ" not in problem for problem in loaded.problems):
        return ()
    return tuple(c for c in airplane.categories if c not in loaded.why_not)


def _each_once(problems: Iterable[str]) -> tuple[str, ...]:
    """Each kind of problem at the first moment it is there: the same words with other numbers are the same problem."""
    out: dict[str, str] = {}
    for problem in problems:
        if "tanks differ" not in problem:  # said with the tanks
            out.setdefault(re.sub(r"[\d.,]+", "#", problem), problem)
    return tuple(out.values())


def _remedy(airplane: Airplane, station_mass_kg: Mapping[str, float], start: TankPoint) -> str:
    for category in airplane.categories:
        if found := remedy(airplane, station_mass_kg, start.left_m3, category):
            return found
    return ""


def _usable(airplane: Airplane, name: str) -> float:
    return next(t.usable_m3 for t in airplane.tanks if t.name == name)
