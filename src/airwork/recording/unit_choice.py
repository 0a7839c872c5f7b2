"""What a reading of units costs: the evidence of one file, its candidates, misfits. For `unit_families.py`.

Odds are common practice (no source), wide on purpose.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from airwork.recording.recorded import Array
from airwork.recording.unit_evidence import (
    Stretches,
)
from airwork.recording.unit_words import BY_NAME, Unit

SPEEDS = ("ground_speed", "speed")
AIRSPEEDS = ("true_airspeed", "calibrated_airspeed", "indicated_airspeed")
HEIGHTS = ("gps_altitude", "pressure_altitude", "indicated_altitude", "altitude")
TOGETHER = frozenset((*SPEEDS, *AIRSPEEDS, *HEIGHTS, "vertical_speed"))
IMPERIAL = frozenset(["kt", "mph", "fpm", "ft", "ft/s"])
_OWN_NAME = {"0.01 m": "cm", "0.001 m": "mm", "0.01 m/s": "cm/s", "0.001 m/s": "mm/s"}
_SI = frozenset(["m/s", "cm/s", "mm/s"])
SPEED_NAMES = ("kt", "km/h", "m/s", "ft/s", "mph")
_RANK = 0.2  # of the less usual unit, each place further back
SCALED = 3.0  # a power of ten: plain units win ties
_ODD_SCALE = 1.5  # hundredths of a foot: centimeters and millimeters are what whole numbers are written in
_IN_PARTS, _DECIMALS = 0.5, 0.3  # of the readings have decimals; of an altitude seldom those in feet
_HARDLY = 2.0  # programs write feet per second, and name them
_OVERRULED, _OVERRULED_AGAIN = 7.0, 3.0  # the file's word is evidence, not proof, and less so the second time
OTHER_FAMILY, _OF_KNOTS, _ASSUMED = 2.0, 0.6, 0.95  # and shares of it
_FIXES, _RARE_S = 5, 5.0  # new ones; apart
_CLOSE = 2.0  # a reading by so much dearer is possible, too: seven to one
_WORST = 60.0
_NOTHING_FITS = 8.0
SURE_WAY, SURE_CLIMB, SURE_HEIGHT, SURE_AIR, SURE_PRESSURE = 0.015, 0.12, 0.06, 0.18, 0.1
GRADIENT, GRADIENT_OFF = 0.06, 0.7  # climbs and descents go up or down by about this share of the way flown
HIGHEST_M, STEEPEST_MPS = 15_500.0, 14.0  # of light aircraft and jets; over half a minute
USUAL_MPS, USUAL_OFF = 48.0, 0.45  # flying speed of light aircraft, where nothing else tells a scale


@dataclass(frozen=True, slots=True)
class Settled:
    """A column's unit, how it was found, the unit the file named if that was overruled, and what fits about as well."""

    unit: Unit
    why: str
    overruled: str = ""
    others: tuple[Unit, ...] = ()


@dataclass(slots=True)
class Evidence:
    """What the file holds: raw numbers by quantity, the units it names, positions in SI.

    against : quantity → what contradicts it, found on the way; such a column is set aside.
    over_ground : the speeds that agree with the positions.
    downward : the vertical speed is positive where the altitude falls.
    sure : whose named unit another column bears out, the same number in the unit that its name says.
    by_powers : the positions showed a speed in a power of ten of its unit: this recorder writes whole numbers.
    """

    stretches: Stretches
    raw: Mapping[str, Array]
    named: Mapping[str, tuple[Unit, ...]]
    latitude_rad: Array | None = None
    longitude_rad: Array | None = None
    pressure_pa: Array | None = None
    imperial: float = 0.0  # above nought: what is settled so far speaks for feet; below: for metric units
    knots: float = 0.0  # how surely a speed is in them
    settled: dict[str, Settled] = field(default_factory=dict)
    against: dict[str, str] = field(default_factory=dict)
    over_ground: set[str] = field(default_factory=set)
    by_powers: bool = False
    downward: bool = False
    sure: set[str] = field(default_factory=set)

    def si(self, quantity: str) -> Array:
        """A settled column in SI."""
        return self.raw[quantity] * self.settled[quantity].unit.factor

    def rare_fixes(self) -> bool:
        """There are positions, but new ones so seldom that they hold no speed."""
        if self.latitude_rad is None or self.longitude_rad is None:
            return False
        order = self.stretches.order
        place = np.round(self.latitude_rad[order] + 1j * self.longitude_rad[order], 9)
        known = np.isfinite(place)
        t, place = self.stretches.time_s[known], place[known]
        new = np.flatnonzero(np.diff(place) != 0.0) + 1
        return bool(t.size) and (new.size < _FIXES or float(np.median(np.diff(t[new]))) >= _RARE_S)

    def take(self, quantity: str, unit: Unit, why: str, costs: Sequence[tuple[float, Unit]] = ()) -> None:
        """Settle a column; of the costs of all its readings those near to the one taken are remembered."""
        words = self.named.get(quantity, ())
        other = bool(words) and all(abs(math.log(unit.factor / w.factor)) > 0.01 for w in words if w.factor > 0)
        at_most = min((c for c, _ in costs), default=0.0) + _CLOSE
        near = (o for c, o in sorted(costs, key=lambda x: x[0]) if c < at_most and _apart(o, unit))
        close = tuple(near) if (other or not words) and np.nan_to_num(self.raw[quantity]).any() else ()
        why = "named" if words and not other else why
        self.settled[quantity] = Settled(unit, why, words[0].name if other else "", close)
        if min((c for c, _ in costs), default=0.0) > _NOTHING_FITS:
            return  # assumed, and nothing that flies: no word on the family
        base = unit.name.split()[-1]
        self.imperial = 0.0 if other else self.imperial  # what its names say of the family says nothing now
        sure = _ASSUMED if close else 1.0
        if base == "kt":
            self.knots = 1.0
        elif base in IMPERIAL or base in {"m", "m/s", "km/h", "cm", "mm", "cm/s"}:
            self.imperial += sure if base in IMPERIAL else -sure

    def family(self, unit: Unit, quantity: str) -> float:
        """Cost of leaving the family of units the file uses; receivers, not dials, write knots beside meters."""
        base = unit.name.split()[-1]
        leans = self.imperial + self.knots * (_OF_KNOTS if quantity == "gps_altitude" else 1.0)
        in_si = any(s.unit.name in _SI and not s.others for s in self.settled.values())  # by programs, not by people
        return OTHER_FAMILY * (min(abs(leans), 1.0) + in_si) if leans and (base in IMPERIAL) != (leans > 0) else 0.0


def scaled(names: tuple[str, ...], powers: range) -> Iterator[tuple[Unit, float]]:
    """Units with their cost as such: the order of likelihood, and a power of ten."""
    for rank, name in enumerate(names):
        for power in powers:
            unit = BY_NAME[name]
            if power:
                size = 10.0**-power
                written = f"{size:g} {name}"
                unit = BY_NAME.get(_OWN_NAME.get(written, ""), None) or Unit(
                    written, unit.dimension, unit.factor * size
                )
            own = _RANK * rank + (_HARDLY if name == "ft/s" else 0.0) + (SCALED + 0.01 * power if power else 0.0)
            yield unit, own + (_ODD_SCALE if power and name == "ft" else 0.0)


def _apart(unit: Unit, other: Unit) -> bool:
    return abs(math.log(unit.factor / other.factor)) > 0.1


def misfit(off: float, error: float, most: float = _WORST) -> float:
    """Half the square of a misfit in standard errors, bounded: no single piece of evidence is proof."""
    return min(0.5 * (off / error) ** 2, most)


def candidates_of(evidence: Evidence, quantity: str, names: tuple[str, ...], powers: range) -> list[tuple[Unit, float]]:
    words = evidence.named.get(quantity, ())
    if words and quantity in evidence.sure:
        return [(words[0], 0.0)]
    raw = evidence.raw.get(quantity)
    in_parts = False
    if raw is not None and len(powers) > 1 and (known := raw[np.isfinite(raw)]).size:
        in_parts = float(np.mean(known != np.round(known))) > _IN_PARTS
        powers = powers[:1] if in_parts else powers  # whole numbers are what is written in tenths and hundredths
    alone = quantity == "gps_altitude" and not evidence.imperial and not evidence.knots
    doubted = any(s.overruled for s in evidence.settled.values())  # its word was wrong once
    overruled = _OVERRULED_AGAIN if doubted else _OVERRULED

    def cost(unit: Unit, own: float) -> float:
        in_feet = _DECIMALS * (in_parts and unit.name == "ft" and alone)
        return own + evidence.family(unit, quantity) + overruled * bool(words) + in_feet

    out = [(u, cost(u, own)) for u, own in scaled(names, powers)]
    out = [(u, c) for u, c in out if all(w.factor <= 0 or abs(math.log(u.factor / w.factor)) > 0.01 for w in words)]
    return [*((w, _RANK * k + doubted * evidence.family(w, quantity)) for k, w in enumerate(words)), *out]
