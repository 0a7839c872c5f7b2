"""Scale and unit of speeds, heights and vertical speed, settled together by physics.

Every reading of the columns (feet and knots and feet per minute, meters and km/h, SI, each plain or a power of ten) has
a cost: how badly it fits positions, the other columns and how aircraft climb, plus a little for what is unusual, plus
some where the file's own word is overruled. The cheapest reading wins. A cost is half the square of a misfit in
standard errors, so costs add up; the others are odds by common practice (no source), wide on purpose.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

import numpy as np

from airwork.airdata.atmosphere import standard_air
from airwork.recording.quantities import QUANTITIES
from airwork.recording.recorded import Array
from airwork.recording.unit_evidence import (
    CLIMB_STRETCH_S,
    FLYING_MPS,
    STRETCH_S,
    Ratio,
    Stretches,
    multiples,
    ratio_of,
    resolution,
)
from airwork.recording.unit_words import BY_NAME, Unit

SPEEDS = ("ground_speed", "speed")
AIRSPEEDS = ("true_airspeed", "calibrated_airspeed", "indicated_airspeed")
HEIGHTS = ("gps_altitude", "pressure_altitude", "indicated_altitude", "altitude")
TOGETHER = frozenset((*SPEEDS, *AIRSPEEDS, *HEIGHTS, "vertical_speed"))

_IMPERIAL = frozenset(["kt", "mph", "fpm", "ft", "ft/s"])
_OWN_NAME = {"0.01 m": "cm", "0.001 m": "mm", "0.01 m/s": "cm/s", "0.001 m/s": "mm/s"}
_SPEED_NAMES = ("kt", "km/h", "m/s", "ft/s", "mph")
_RANK = 0.2  # of the less usual unit, each place further back
_SCALED = 3.0  # a power of ten: plain units win ties
_ODD_SCALE = 1.5  # hundredths of a foot: centimeters and millimeters are what whole numbers are written in
_OVERRULED, _OVERRULED_AGAIN = 7.0, 3.0  # the file's word is evidence, not proof, and less so the second time
_OTHER_FAMILY = 2.0
_WORST = 60.0
_STUCK = 60  # readings that are all the same
_WAVERS, _WAVERS_IN_WIND = 1.15, 1.6  # fast over slow stretches; an airspeed may be held in the wind
_SURE_WAY, _SURE_CLIMB, _SURE_HEIGHT, _SURE_AIR = 0.015, 0.12, 0.06, 0.18
_AGREES = 0.6  # a vertical speed that follows the altitude less than this tells nothing of its unit
GRADIENT, _GRADIENT_OFF = 0.06, 0.7  # climbs and descents go up or down by about this share of the way flown
_CLIMBS = 0.35  # of the steepest, and more: a climb or descent, no wandering about a level
HIGHEST_M, STEEPEST_MPS = 15_500.0, 14.0  # of light aircraft and jets; over half a minute
_USUAL_MPS, _USUAL_OFF = 48.0, 0.45  # flying speed of light aircraft, where nothing else tells a scale
_JETS_M = 6_000.0  # as high as this one flies about twice as fast
_STEEPEST, _TOO_STEEP = 0.35, 4.0  # no climb or descent of the usual kind is 20° steep, over half a minute
_STEP_FT, _STEP_FPM = 25.0, 64.0  # what transponders report in


@dataclass(frozen=True, slots=True)
class Settled:
    """A column's unit, how it was found, and the unit the file named if that was overruled."""

    unit: Unit
    why: str
    overruled: str = ""


@dataclass(slots=True)
class Evidence:
    """What the file holds: raw numbers by quantity, the units it names, positions in SI.

    against : quantity → what contradicts it, found on the way; such a column is set aside.
    over_ground : the speeds that agree with the positions.
    downward : the vertical speed is positive where the altitude falls.
    by_powers : the positions showed a speed in a power of ten of its unit: this recorder writes whole numbers.
    """

    stretches: Stretches
    raw: Mapping[str, Array]
    named: Mapping[str, tuple[Unit, ...]]
    latitude_rad: Array | None = None
    longitude_rad: Array | None = None
    imperial: float = 0.0  # above nought: what is settled so far speaks for feet and knots; below: for metric units
    settled: dict[str, Settled] = field(default_factory=dict)
    against: dict[str, str] = field(default_factory=dict)
    over_ground: set[str] = field(default_factory=set)
    by_powers: bool = False
    downward: bool = False

    def si(self, quantity: str) -> Array:
        """A settled column in SI."""
        return self.raw[quantity] * self.settled[quantity].unit.factor

    def take(self, quantity: str, unit: Unit, why: str) -> None:
        """Settle a column."""
        words = self.named.get(quantity, ())
        other = bool(words) and all(abs(math.log(unit.factor / w.factor)) > 0.01 for w in words if w.factor > 0)
        self.settled[quantity] = Settled(unit, "named" if words and not other else why, words[0].name if other else "")
        base = unit.name.split()[-1]
        self.imperial = 0.0 if other else self.imperial  # what its names say of the family says nothing now
        if base in _IMPERIAL or base in {"m", "m/s", "km/h", "cm", "mm", "cm/s"}:
            self.imperial += 1.0 if base in _IMPERIAL else -1.0

    def family(self, unit: Unit) -> float:
        """Cost of leaving the family of units the file uses."""
        base = unit.name.split()[-1]
        if not self.imperial:
            return 0.0
        return _OTHER_FAMILY if (base in _IMPERIAL) != (self.imperial > 0) else 0.0


def settle(evidence: Evidence) -> dict[str, Settled]:
    """The units of all these columns: speed over the ground first, then heights with vertical speed, then airspeeds."""
    way = None
    if evidence.latitude_rad is not None and evidence.longitude_rad is not None:
        way = evidence.stretches.way(evidence.latitude_rad, evidence.longitude_rad)
    if way is None:
        _heights(evidence, _USUAL_MPS)  # whatever flies; the speeds are settled by it
    else:
        _without_stuck(evidence, way[2])
    for quantity in SPEEDS:
        if quantity in evidence.raw and quantity not in evidence.settled:
            _ground_speed(evidence, quantity, way)
    if way is not None:
        _heights(evidence, _flying_speed(evidence, way))
    for quantity in AIRSPEEDS:
        if quantity in evidence.raw and quantity not in evidence.settled:
            _airspeed(evidence, quantity)
    return evidence.settled


def _without_stuck(evidence: Evidence, along_mps: Array) -> None:
    """Speeds that hold one number while the positions move now faster, now slower: they tell nothing of their unit."""
    flying = along_mps[along_mps > FLYING_MPS]
    if flying.size < 10:
        return
    low, high = np.percentile(flying, [10.0, 90.0])
    for quantity in (*SPEEDS, *AIRSPEEDS):
        raw = evidence.raw.get(quantity)
        known = raw[np.isfinite(raw)] if raw is not None else np.zeros(0)
        varies = high > (_WAVERS if quantity in SPEEDS else _WAVERS_IN_WIND) * low
        if known.size > _STUCK and varies and known[0] and (known == known[0]).all():
            evidence.against[quantity] = f"it holds the number {known[0]:g} throughout"
            evidence.take(quantity, _candidates(evidence, quantity, _SPEED_NAMES, range(1))[0][0], "it never changes")


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
            own = _RANK * rank + (_SCALED + 0.01 * power if power else 0.0)
            yield unit, own + (_ODD_SCALE if power and name == "ft" else 0.0)


def misfit(off: float, error: float, most: float = _WORST) -> float:
    """Half the square of a misfit in standard errors, bounded: no single piece of evidence is proof."""
    return min(0.5 * (off / error) ** 2, most)


def _candidates(evidence: Evidence, quantity: str, names: tuple[str, ...], powers: range) -> list[tuple[Unit, float]]:
    words = evidence.named.get(quantity, ())
    doubted = any(s.overruled for s in evidence.settled.values())  # its word was wrong once
    overruled = _OVERRULED_AGAIN if doubted else _OVERRULED
    out = [(u, c + evidence.family(u) + overruled) for u, c in scaled(names, powers) if words]
    out = out or [(u, c + evidence.family(u)) for u, c in scaled(names, powers)]
    out = [(u, c) for u, c in out if all(w.factor <= 0 or abs(math.log(u.factor / w.factor)) > 0.01 for w in words)]
    return [*((w, _RANK * k + doubted * evidence.family(w)) for k, w in enumerate(words)), *out]


# ---- speed over the ground


def _ground_speed(evidence: Evidence, quantity: str, way: tuple[Array, Array, Array] | None) -> None:
    raw = _possible(evidence, quantity)
    candidates = _candidates(evidence, quantity, _SPEED_NAMES, range(5))
    ratio = None
    if way is not None and way[0].size:
        begin, end, along = way
        mean = evidence.stretches.mean(raw, begin, end)
        fast = along > max(FLYING_MPS, 0.4 * float(np.percentile(along, 90)))
        ratio = ratio_of(along, mean, fast)
        idle = fast & (mean == 0.0)
        if ratio is not None and idle.sum() > ratio.count:
            ratio = None
    if ratio is not None and ratio.scatter < 0.35:
        error = math.hypot(_SURE_WAY, ratio.error)
        middle = ratio.middle
        unit = min(candidates, key=lambda c: c[1] + misfit(math.log(middle / c[0].factor), error))[0]
        if misfit(math.log(ratio.middle / unit.factor), error) < 12.0:
            evidence.take(quantity, unit, "it agrees with the speed over the ground")
            evidence.over_ground.add(quantity)
            evidence.by_powers |= unit.name not in _SPEED_NAMES and not evidence.named.get(quantity)
            return
        if quantity == "ground_speed":
            evidence.against[quantity] = "the positions move at another speed"
    elif ratio is not None and quantity == "ground_speed":
        evidence.against[quantity] = "the positions move at another speed"
    _by_usual_speed(evidence, quantity, raw, candidates)


def _possible(evidence: Evidence, quantity: str) -> Array:
    """A speed without the values no aircraft flies in the unit the file names, unless most are such: then not them."""
    raw, words = evidence.raw[quantity], evidence.named.get(quantity, ())
    if not words:
        return raw
    most = QUANTITIES[quantity].high / max(w.factor for w in words)
    bad = np.abs(raw) > most
    return np.where(bad, np.nan, raw) if 0 < bad.sum() < 0.5 * np.isfinite(raw).sum() else raw


def _by_usual_speed(evidence: Evidence, quantity: str, raw: Array, candidates: list[tuple[Unit, float]]) -> None:
    """No positions to hold it against: the unit in which the speed is one that is flown."""
    if evidence.named.get(quantity):
        evidence.take(quantity, evidence.named[quantity][0], "named")
        return
    size = np.abs(raw[np.isfinite(raw)])
    if not size.size:
        evidence.take(quantity, candidates[0][0], "assumed, the file names no unit")
        return
    fast = max(float(np.percentile(size, 75)), 1e-9)
    limit = QUANTITIES[quantity].high
    height = next((q for q in HEIGHTS if q in evidence.settled), None)
    up_m = max(float(np.nanpercentile(evidence.si(height), 95)), 0.0) if height else 0.0
    usual = _USUAL_MPS * (1.0 + (up_m / _JETS_M) ** 2)

    def cost(unit: Unit, own: float) -> float:
        too_fast = 20.0 if float(np.percentile(size, 99)) * unit.factor > limit else 0.0
        return own + too_fast + misfit(math.log(fast * unit.factor / usual), _USUAL_OFF, 20.0)

    unit = min(candidates, key=lambda c: cost(*c))[0]
    plain = unit.name in BY_NAME
    evidence.take(quantity, unit, "assumed, the file names no unit" if plain else "whole numbers, by their size")


def _flying_speed(evidence: Evidence, way: tuple[Array, Array, Array] | None) -> float:
    """Usual speed in flight; NaN where neither positions nor a speed tell. [m/s]"""
    known = way[2] if way is not None else np.zeros(0)
    if not (known > FLYING_MPS).any():
        name = next((q for q in SPEEDS if q in evidence.settled), None)
        known = evidence.si(name) if name else np.zeros(0)
    known = known[np.isfinite(known) & (known > FLYING_MPS)]
    return float(np.median(known)) if known.size > 10 else float("nan")


# ---- heights and vertical speed


@dataclass(frozen=True, slots=True)
class _Climbs:
    """How an altitude column changes, in its own numbers: highest, changes per second over half a minute."""

    top: float
    usual: float  # of the stretches that climb or descend
    steep: float


def _heights(evidence: Evidence, speed_mps: float) -> None:
    present = [q for q in HEIGHTS if q in evidence.raw and np.isfinite(evidence.raw[q]).sum() >= 2]
    rate = evidence.raw.get("vertical_speed")
    if not present:
        if rate is not None:
            _alone(evidence, "vertical_speed", rate)
        return
    main = max(present, key=lambda q: (_filled(evidence.raw[q]), bool(evidence.named.get(q)), -HEIGHTS.index(q)))
    _main_height(evidence, main, rate, speed_mps)
    for quantity in present:
        if quantity != main:
            _other_height(evidence, quantity, main)


def _filled(raw: Array) -> float:
    return round(float(np.isfinite(raw).mean()), 1)


def _main_height(evidence: Evidence, quantity: str, rate: Array | None, speed_mps: float) -> None:
    raw = evidence.raw[quantity]
    begin, end, change = evidence.stretches.change(raw, CLIMB_STRETCH_S)
    climbs = _climbs(raw, change)
    names = ("ft", "m")
    heights = _candidates(evidence, quantity, names, range(4))
    rates: list[tuple[Unit, float]] = []
    ratio, agree = None, 0.0
    if rate is not None:
        mean = evidence.stretches.mean(rate, begin, end)
        ratio, agree = _climb_ratio(change, mean)
        evidence.downward = agree < -_AGREES
        if evidence.downward:
            ratio, agree = _climb_ratio(change, -mean)
        rates = _candidates(evidence, "vertical_speed", ("fpm", "m/s", "ft/s", "kt"), range(3))
    in_steps = _by_steps(raw, _STEP_FT, "ft", "m")
    rate_steps = _by_steps(rate, _STEP_FPM, "fpm", "m/s") if rate is not None else None
    best: tuple[float, Unit, Unit | None] | None = None
    for unit, own in heights:
        cost = own + _height_cost(climbs, unit.factor, speed_mps)
        if evidence.by_powers:
            cost += _SCALED - 0.5 if unit.name in names else 0.5 - _SCALED
        cost += 3.0 if in_steps is not None and abs(math.log(unit.factor / in_steps)) > 0.01 else 0.0
        choice = _cheapest(rates, unit, ratio, rate_steps) if rates else (0.0, None)
        total = cost + choice[0]
        if best is None or total < best[0]:
            best = (total, unit, choice[1])
    assert best is not None
    _, unit, rate_unit = best
    plain = unit.name in BY_NAME and unit.name in names
    why = "with the other columns, by how aircraft climb" if plain else "whole numbers, by their size and rate of climb"
    evidence.take(quantity, unit, why)
    if rate_unit is not None:
        why = "it agrees with the change of altitude" if ratio is not None else "assumed, the file names no unit"
        evidence.take("vertical_speed", rate_unit, why)
        if rate is not None and ratio is None and agree < 0.3 and _moves(change * unit.factor):
            evidence.against["vertical_speed"] = "the altitude changes otherwise"


def _cheapest(
    rates: list[tuple[Unit, float]], height: Unit, ratio: Ratio | None, rate_steps: float | None
) -> tuple[float, Unit | None]:
    """(cost, unit) of the vertical speed that goes best with a unit of the altitude."""
    out: tuple[float, Unit | None] = (math.inf, None)
    for unit, own in rates:
        cost = own + _mixed(height, unit)
        if ratio is not None:
            error = math.hypot(_SURE_CLIMB, ratio.error)
            cost += misfit(math.log(ratio.middle * unit.factor / height.factor), error, 25.0)
        if rate_steps is not None and abs(math.log(unit.factor / rate_steps)) > 0.01:
            cost += 2.0
        if cost < out[0]:
            out = (cost, unit)
    return out


def _mixed(height: Unit, rate: Unit) -> float:
    """Feet go with feet per minute (or second), meters with meters per second."""
    return _OTHER_FAMILY if (height.name.split()[-1] == "ft") != (rate.name.split()[-1] in _IMPERIAL) else 0.0


def _climbs(raw: Array, change: Array) -> _Climbs:
    known = raw[np.isfinite(raw)]
    top = float(np.percentile(np.abs(known), 99.0)) if known.size else 0.0
    size = np.abs(change[np.isfinite(change)])
    moving = size[size > 0.0]
    if moving.size < 10:
        return _Climbs(top, 0.0, 0.0)
    steep = float(np.percentile(size, 98.0))
    climbing = size[size > max(_CLIMBS * steep, 3.0 * resolution(raw) / CLIMB_STRETCH_S)]
    return _Climbs(top, float(np.median(climbing)) if climbing.size > 5 else 0.0, steep)


def _height_cost(climbs: _Climbs, factor: float, speed_mps: float) -> float:
    """How badly a scale of the altitude fits what flies."""
    cost = 40.0 if climbs.top * factor > HIGHEST_M else 0.0
    if math.isfinite(speed_mps) and speed_mps < 110.0:
        cost += misfit(max(math.log(max(climbs.top * factor, 1.0) / 5_000.0), 0.0), 0.4, 8.0)
        cost += misfit(max(math.log(max(climbs.steep * factor, 0.01) / STEEPEST_MPS), 0.0), 0.25, 12.0)
    if math.isfinite(speed_mps) and climbs.usual * factor > _STEEPEST * speed_mps:
        cost += _TOO_STEEP
    if math.isfinite(speed_mps) and climbs.usual > 0.0:
        cost += misfit(math.log(climbs.usual * factor / (speed_mps * GRADIENT)), _GRADIENT_OFF, 8.0)
    return cost


def _moves(change_mps: Array) -> bool:
    size = np.abs(change_mps[np.isfinite(change_mps)])
    return size.size > 40 and float(np.mean(size > 1.0)) > 0.2


def _climb_ratio(change: Array, rate: Array) -> tuple[Ratio | None, float]:
    """(vertical speed ÷ change of altitude, how well the two go together); None where they don't."""
    good = np.isfinite(change) & np.isfinite(rate)
    if good.sum() < 12:
        return None, 1.0
    a, b = change[good], rate[good]
    if float(np.std(a)) == 0.0 or float(np.std(b)) == 0.0:
        return None, 1.0 if float(np.std(a)) == 0.0 else 0.0
    limit_a, limit_b = np.percentile(np.abs(a), 70.0), np.percentile(np.abs(b), 70.0)
    clear = (np.abs(a) >= limit_a) & (np.abs(a) > 0.0)
    agree = (
        float(np.corrcoef(np.clip(a, -8 * limit_a, 8 * limit_a), np.clip(b, -8 * limit_b, 8 * limit_b))[0, 1])
        if limit_a > 0 and limit_b > 0
        else float(np.corrcoef(a, b)[0, 1])
    )
    if agree < _AGREES:
        return None, agree
    return ratio_of(b, a, clear), agree


def _by_steps(raw: Array, step: float, imperial: str, metric: str) -> float | None:
    """Factor of the unit in which the numbers come in a transponder's steps; None when they don't."""
    if multiples(raw, step) > 0.9:
        return BY_NAME[imperial].factor
    if multiples(raw, step * BY_NAME[imperial].factor / BY_NAME[metric].factor) > 0.9:
        return BY_NAME[metric].factor
    return None


def _other_height(evidence: Evidence, quantity: str, main: str) -> None:
    """A further altitude: as high as the first, changing as much."""
    raw, truth = evidence.raw[quantity], evidence.si(main)
    both = np.isfinite(raw) & np.isfinite(truth)
    if both.sum() < 10:
        order = evidence.stretches.order  # readings in rows of their own
        t, x = evidence.stretches.time_s, truth[order]
        good = np.isfinite(x)
        if good.sum() < 2:
            evidence.take(quantity, evidence.settled[main].unit, "as the other altitude")
            return
        truth = np.full(raw.shape, np.nan)
        truth[order] = np.interp(t, t[good], x[good])
        both = np.isfinite(raw) & np.isfinite(truth)
    best: tuple[float, Unit] | None = None
    a, b = truth[both], raw[both]
    spread_a, spread_b = _spread(a), _spread(b)
    wide = spread_a > 50.0 and spread_b > 0.0
    for unit, own in _candidates(evidence, quantity, ("ft", "m"), range(4)):
        cost = own
        if wide:
            cost += misfit(math.log(spread_b * unit.factor / spread_a), _SURE_HEIGHT, 40.0)
        apart = abs(float(np.median(b * unit.factor - a)))
        cost += misfit(apart, max(150.0, 0.03 * abs(float(np.median(a)))), 20.0)
        if best is None or cost < best[0]:
            best = (cost, unit)
    if best is not None:
        evidence.take(quantity, best[1], "it agrees with the other altitude")


def _spread(values: Array) -> float:
    if values.size < 2:
        return 0.0
    low, high = np.percentile(values, [15.0, 85.0])
    return float(high - low)


def _alone(evidence: Evidence, quantity: str, raw: Array) -> None:
    if evidence.named.get(quantity):
        evidence.take(quantity, evidence.named[quantity][0], "named")
        return
    size = np.abs(raw[np.isfinite(raw)])
    top = float(np.percentile(size, 95)) if size.size else 0.0
    unit = BY_NAME["fpm" if top > 60.0 else "m/s"]
    evidence.take(quantity, unit, "assumed, the file names no unit")


# ---- airspeeds


def _airspeed(evidence: Evidence, quantity: str) -> None:
    """An airspeed: near the speed over the ground, wind and height apart. Mph for knots is found later, by turns."""
    raw = _possible(evidence, quantity)
    candidates = _candidates(evidence, quantity, _SPEED_NAMES, range(4))
    stretches = evidence.stretches
    begin, end, _ = stretches.change(raw, STRETCH_S)
    name = next((q for q in SPEEDS if q in evidence.settled and q not in evidence.against), None)
    truth = np.full(begin.shape, np.nan)
    if name is not None:
        truth = stretches.mean(evidence.si(name), begin, end)
    elif evidence.latitude_rad is not None and evidence.longitude_rad is not None:
        first, last, along = stretches.way(evidence.latitude_rad, evidence.longitude_rad)
        if first.size > 10:
            truth = np.interp(0.5 * (begin + end), 0.5 * (first + last), along)
    height = next((q for q in HEIGHTS if q in evidence.settled), None)
    if height is not None and quantity != "true_airspeed":
        up = np.clip(np.nan_to_num(stretches.mean(evidence.si(height), begin, end), nan=0.0), 0.0, 13_000.0)
        truth = truth * np.sqrt(standard_air(up).density_kgpm3 / 1.225)  # indicated reads less the higher one flies
    ratio = None
    if np.isfinite(truth).any():
        fast = truth > max(FLYING_MPS, 0.4 * float(np.nanpercentile(truth, 90)))
        ratio = ratio_of(truth, stretches.mean(raw, begin, end), fast)
    if ratio is None or ratio.scatter > 0.5:
        _by_usual_speed(evidence, quantity, raw, candidates)
        return
    error = math.hypot(_SURE_AIR, ratio.scatter / 3.0)
    unit = min(candidates, key=lambda c: c[1] + misfit(math.log(ratio.middle / c[0].factor), error))[0]
    evidence.take(quantity, unit, "it agrees with the speed over the ground")
