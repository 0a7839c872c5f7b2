"""The tank clock: which tank feeds when, and when to change, so that no maneuver is interrupted. SI.

Common practice, no source, where the airplane file says nothing: take off and land on the fullest tank; change every
30 minutes; never below 1,000 ft above ground; never during a maneuver. The handbook and its placards decide.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from airwork.airplane import Airplane
from airwork.errors import InputError
from airwork.lesson.legs import Leg
from airwork.units import FT_M, from_unit

INTERVAL_S = 30 * 60.0
SAFE_HEIGHT_M = 1000 * FT_M
LATE_S = 60.0  # a change a minute after its time is on time
DRY_M3 = from_unit(2.0, "gal")  # left in a tank before it is called nearly dry: airwork's own choice

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
    """Fuel by tank through the lesson. `points` stand at the ends of all legs, the start first."""

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
    where: str = "",
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
        self.points = [TankPoint(0.0, dict(left), current)]

    def run(self, legs: Sequence[Leg], selectable: bool) -> None:
        good = [leg.can_change and leg.altitude_from_m >= self.lowest for leg in legs]
        for i, leg in enumerate(legs):
            if selectable and good[i]:
                self._consider(legs, good, i)
            self._draw(leg)

    def _consider(self, legs: Sequence[Leg], good: Sequence[bool], i: int) -> None:
        """Change here if the interval runs out, or the tank nearly dry, before the next chance; or for the landing."""
        leg = legs[i]
        following = next((j for j in range(i + 1, len(legs)) if good[j]), None)
        if following is None:
            self._for_landing(legs, i)
            return
        until_next = legs[following].start_s - self.since
        burn = sum(x.fuel_m3 for x in legs[i:following])
        short = _held(self.positions[self.current], self.left) - burn < DRY_M3
        if until_next > self.interval + LATE_S or short:
            other = self._fuller()
            if other is None or other == self.current:
                return
            overdue = max(leg.start_s - self.since - self.interval, 0.0)
            self._change(
                leg, other, "nearly dry" if short and until_next <= self.interval + LATE_S else "time", overdue
            )

    def _for_landing(self, legs: Sequence[Leg], i: int) -> None:
        """Last chance before the landing: land on the tank that will be fullest then."""
        burn = sum(x.fuel_m3 for x in legs[i:])
        here = _held(self.positions[self.current], self.left)
        other = self._fuller()
        if other is None or other == self.current:
            return
        there = _held(self.positions[other], self.left)
        late = legs[i].start_s - self.since > self.interval + LATE_S
        if there - burn > here or there > here + from_unit(1.0, "gal") or (late and there >= here):
            self._change(legs[i], other, "fullest for landing", 0.0)

    def _fuller(self) -> str | None:
        others = [n for n in self.positions if n != self.current]
        return max(others, key=lambda n: _held(self.positions[n], self.left)) if others else None

    def _change(self, leg: Leg, to: str, why: str, overdue: float) -> None:
        self.changes.append(TankChange(leg.start_s, self.current, to, leg.altitude_from_m, why, overdue))
        self.current, self.since = to, leg.start_s
        self.points.append(TankPoint(leg.start_s, dict(self.left), to))

    def _draw(self, leg: Leg) -> None:
        """Burn a leg's fuel: evenly from the tanks that feed, a dry one leaving the rest to the others."""
        need = leg.fuel_m3
        feeding = [t for t in self.positions[self.current] if self.left.get(t, 0.0) > 0.0]
        while need > 1e-12 and feeding:
            share = min(need / len(feeding), min(self.left[t] for t in feeding))
            for tank in feeding:
                self.left[tank] -= share
            need -= share * len(feeding)
            feeding = [t for t in feeding if self.left[t] > 1e-9]
        if need > 1e-9:
            self.problems.append(f"{self.current} runs dry in “{leg.name}”")
            for tank in self.left:  # the plan goes on as if changed, so that the total stays right
                taken = min(need, self.left[tank])
                self.left[tank], need = self.left[tank] - taken, need - taken
        self.points.append(TankPoint(leg.end_s, {t: max(v, 0.0) for t, v in self.left.items()}, self.current))
