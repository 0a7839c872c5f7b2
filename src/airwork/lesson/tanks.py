"""The tank clock: which tank feeds when, and when to change, so that no maneuver is interrupted. SI.

Common practice, no source, where the airplane file says nothing: take off and land on the fullest tank; change every
30 minutes; never below 1,000 ft above ground; never during a maneuver. The handbook and its placards decide.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from airwork.airplane import Airplane
from airwork.errors import InputError, Where
from airwork.lesson.legs import Leg
from airwork.units import FT_M, from_unit

INTERVAL_S = 30 * 60.0
SAFE_HEIGHT_M = 1000 * FT_M
LATE_S = 60.0  # a change a minute after its time is on time
SETTLE_S = 60.0  # a change is done a minute before the next thing begins, where there is time
DRY_M3 = from_unit(2.0, "gal")  # left in a tank before it is called nearly dry: airwork's own choice
EVEN_M3 = from_unit(1.0, "gal")  # tanks this close are as full as one another: airwork's own choice

STEPS = (
    "Height, engine and a field in reach: good",
    "{pump}Selector to {tank}; feel it click, look at it",
    "Watch the engine and fuel pressure for half a minute",
    "{pump_off}Note the time and the tank",
)


@dataclass(frozen=True, slots=True)
class TankChange:
    """A change of tank, at a time from the engine's start."""

    time_s: float
    from_tank: str
    to_tank: str
    altitude_m: float
    why: str
    overdue_s: float = 0.0


@dataclass(frozen=True, slots=True)
class TankPoint:
    """Fuel in each tank at a moment. [m³]"""

    time_s: float
    left_m3: Mapping[str, float]
    feeding: str

    @property
    def total_m3(self) -> float:
        """All tanks together. [m³]"""
        return sum(self.left_m3.values())

    @property
    def imbalance_m3(self) -> float:
        """Fullest less emptiest tank. [m³]"""
        return max(self.left_m3.values()) - min(self.left_m3.values()) if self.left_m3 else 0.0


@dataclass(frozen=True, slots=True)
class TankPlan:
    """Fuel by tank through the lesson. `points` stand at the start, at every change and at the ends of all legs."""

    points: tuple[TankPoint, ...]
    changes: tuple[TankChange, ...]
    steps: tuple[str, ...]
    interval_s: float
    interval_how: str
    selectable: bool  # False: every tank feeds at once, there is nothing to change
    problems: tuple[str, ...]
    most_imbalance_m3: float
    imbalance_limit_m3: float | None


def selector(airplane: Airplane) -> dict[str, tuple[str, ...]]:
    """Positions that feed, by name, with their tanks."""
    found = {p.name: p.feeds for p in airplane.selector_positions if p.feeds}
    return found or {"all tanks": tuple(t.name for t in airplane.tanks)}


def plan_tanks(
    airplane: Airplane,
    legs: Sequence[Leg],
    fuel_m3: Mapping[str, float],
    ground_m: float,
    *,
    interval_s: float | None = None,
    first_tank: str | None = None,
    where: str | Where = "",
) -> TankPlan:
    """Fuel by tank, leg by leg.

    Parameters
    ----------
    ground_m : highest ground under the lesson, above sea level; changes are made 1,000 ft above it or higher.
    first_tank : position to start on; None: one that feeds all tanks, else the fullest.

    Raises
    ------
    InputError : `first_tank` is no position of the selector.
    """
    positions = selector(airplane)
    fuel = airplane.file.fuel
    printed = fuel.switching_interval_min * 60.0 if fuel and fuel.switching_interval_min else None
    interval = interval_s or printed or INTERVAL_S
    how = "given" if interval_s else "airplane file" if printed else "common practice"
    everything = [n for n, feeds in positions.items() if set(feeds) == set(fuel_m3)]
    if first_tank is not None:
        match = [
            n
            for n in positions
            if n.lower() == first_tank.lower() or first_tank.lower() in map(str.lower, positions[n])
        ]
        if not match:
            raise InputError(f"no selector position {first_tank!r}; there are: {', '.join(positions)}.", where=where)
        current = match[0]
    else:
        current = everything[0] if everything else max(positions, key=lambda n: _held(positions[n], fuel_m3))
    walk = _Walk(positions, dict(fuel_m3), current, interval, ground_m + SAFE_HEIGHT_M)
    selectable = current not in everything and len(positions) > 1
    walk.run(legs, selectable)
    limit = fuel.imbalance_limit_us_gal if fuel else None
    return TankPlan(
        points=tuple(walk.points),
        changes=tuple(walk.changes),
        steps=_steps(airplane),
        interval_s=interval,
        interval_how=how,
        selectable=selectable,
        problems=tuple(dict.fromkeys(walk.problems)),
        most_imbalance_m3=max(p.imbalance_m3 for p in walk.points),
        imbalance_limit_m3=None if limit is None else from_unit(limit, "gal"),
    )


def _held(feeds: Sequence[str], left: Mapping[str, float]) -> float:
    return sum(left.get(tank, 0.0) for tank in feeds)


def _steps(airplane: Airplane) -> tuple[str, ...]:
    fuel = airplane.file.fuel
    pump = fuel.boost_pump if fuel else ""
    words = {
        "pump": "Boost pump on. " if pump else "",
        "pump_off": "Boost pump off. " if pump else "",
        "tank": "the fuller tank",
    }
    steps = tuple(s.format(**words) for s in STEPS)
    return (*steps, f"Handbook: {pump}") if pump else steps


class _Walk:
    """Walks through the legs, drawing fuel and deciding on changes."""

    def __init__(
        self,
        positions: dict[str, tuple[str, ...]],
        left: dict[str, float],
        current: str,
        interval_s: float,
        lowest_m: float,
    ) -> None:
        self.positions, self.left, self.current = positions, left, current
        self.interval, self.lowest = interval_s, lowest_m
        self.since = 0.0
        self.changes: list[TankChange] = []
        self.problems: list[str] = []
        self.dry: set[str] = set()
        self.points = [TankPoint(0.0, dict(left), current)]

    def run(self, legs: Sequence[Leg], selectable: bool) -> None:
        good = [leg.can_change and leg.altitude_from_m >= self.lowest for leg in legs]
        for i, leg in enumerate(legs):
            change = self._wanted(legs, good, i) if selectable and good[i] else None
            if change is None:
                self._draw(leg, leg.duration_s)
            else:
                before = change.time_s - leg.start_s
                self._draw(leg, before)
                self._make(change)
                self._draw(leg, leg.duration_s - before)
            self.points.append(TankPoint(leg.end_s, {t: max(v, 0.0) for t, v in self.left.items()}, self.current))

    def _wanted(self, legs: Sequence[Leg], good: Sequence[bool], i: int) -> TankChange | None:
        """A change in this leg, if the interval runs out or the tank is nearly dry before the next; or to land on."""
        leg = legs[i]
        other = self._fuller()
        if other is None:
            return None
        following = next((j for j in range(i + 1, len(legs)) if good[j]), None)
        if following is None:
            return self._for_landing(legs, i, other)
        burn = sum(x.fuel_m3 for x in legs[i : following + 1])
        short = _held(self.positions[self.current], self.left) - burn < DRY_M3
        late = legs[following].start_s - self.since > self.interval + LATE_S
        if not (short or late):
            return None
        due = leg.start_s if short else self.since + self.interval
        time = min(max(due, leg.start_s), max(leg.start_s, leg.end_s - SETTLE_S))
        overdue = max(time - self.since - self.interval, 0.0)
        return TankChange(time, self.current, other, leg.altitude_from_m, "nearly dry" if short else "time", overdue)

    def _for_landing(self, legs: Sequence[Leg], i: int, other: str) -> TankChange | None:
        """Last chance before the landing: land on the tank that will be fullest then."""
        burn = sum(x.fuel_m3 for x in legs[i:])
        here, there = (_held(self.positions[n], self.left) for n in (self.current, other))
        late = legs[i].start_s - self.since > self.interval + LATE_S
        if here - burn < DRY_M3 or there > here + EVEN_M3 or (late and there >= here):
            return TankChange(legs[i].start_s, self.current, other, legs[i].altitude_from_m, "fullest for landing")
        return None

    def _fuller(self) -> str | None:
        others = [n for n in self.positions if n != self.current]
        return max(others, key=lambda n: _held(self.positions[n], self.left)) if others else None

    def _make(self, change: TankChange) -> None:
        self.changes.append(change)
        self.current, self.since = change.to_tank, change.time_s
        self.points.append(TankPoint(change.time_s, dict(self.left), self.current))

    def _draw(self, leg: Leg, seconds: float) -> None:
        """Burn part of a leg's fuel: evenly from the tanks that feed, a dry one leaving the rest to the others."""
        need = leg.fuel_m3 * (seconds / leg.duration_s if leg.duration_s > 0.0 else 1.0)
        feeding = [t for t in self.positions[self.current] if self.left.get(t, 0.0) > 0.0]
        while need > 1e-12 and feeding:
            share = min(need / len(feeding), min(self.left[t] for t in feeding))
            for tank in feeding:
                self.left[tank] -= share
            need -= share * len(feeding)
            feeding = [t for t in feeding if self.left[t] > 1e-9]
        if need > 1e-9:
            if self.current not in self.dry:  # the first time says it all
                self.problems.append(f"“{self.current}” runs dry in “{leg.name}”")
            self.dry.add(self.current)
            for tank in self.left:  # the plan goes on as if changed, so that the total stays right
                taken = min(need, self.left[tank])
                self.left[tank], need = self.left[tank] - taken, need - taken
