"""The unit of speeds over the ground and through the air: by the positions, each other, what is flown."""

from __future__ import annotations

import math

import numpy as np

from airwork.airdata.atmosphere import RHO0_KGPM3, standard_air
from airwork.recording.motion import velocity_mps
from airwork.recording.quantities import QUANTITIES
from airwork.recording.recorded import Array
from airwork.recording.unit_choice import (
    AIRSPEEDS,
    HEIGHTS,
    SPEED_NAMES,
    SPEEDS,
    SURE_AIR,
    SURE_WAY,
    USUAL_MPS,
    USUAL_OFF,
    Evidence,
    candidates_of,
    misfit,
)
from airwork.recording.unit_evidence import (
    FLYING_MPS,
    STRETCH_S,
    Ratio,
    of_few,
    ratio_of,
)
from airwork.recording.unit_words import BY_NAME, Unit

_OVER_GROUND = 0.025  # a receiver's speed is that of its positions; what is only called speed may be the air's
# A row in ten seconds or more is a tracker's, which knows no airspeed; its ways are chords of what was flown.
_TRACKER_S, _OF_TRACKER, _SURE_CHORDS = 10.0, 0.1, 0.05
_NO_TRACKERS, _EVEN = 2.0, 0.02
# An airspeed changes beside the way on another course, in all but still air; a receiver's clock strays.
_OF_TURNED, _TURNED_RAD, _EACH = 0.035, math.radians(90.0), 0.15
_OF_CHORDS, _MOST_OF_CHORDS = 0.25, 0.3  # shorter counts a quarter of longer, up to so much
_STANDS = 10.0  # in any unit slower than is flown: it may only have stood, and no unit is told
_FEW_FIT = 4.0  # of a few fixes alone: nearer, or they tell nothing
_OF_WIND = 0.25  # between a speed of a few stretches, perhaps the air's, and the way
_TWO_SPEEDS, _TWO_AIRSPEEDS = 1.5, 4.0
_JET_MPS = 350.0  # as fast as anything flies
_JETS_M = 6_000.0  # as high as this one flies about twice as fast


def ground_speed(evidence: Evidence, quantity: str, way: tuple[Array, Array, Array] | None) -> None:
    """Settle a speed over the ground, by the way (begin, end, speed of straight stretches) where there is one."""
    raw = _possible(evidence, quantity)
    candidates = candidates_of(evidence, quantity, SPEED_NAMES, range(5))
    ratio = few = None
    t = evidence.stretches.time_s
    over = t.size > 1 and float(np.median(np.diff(t))) >= _TRACKER_S
    if way is not None and way[0].size:
        begin, end, along = way
        mean = evidence.stretches.mean(raw, begin, end)
        fast = along > max(FLYING_MPS, 0.4 * float(np.percentile(along, 90)))
        ratio = ratio_of(along, mean, fast)
        idle = fast & (mean == 0.0)
        if ratio is not None and idle.sum() > ratio.count:
            ratio = None
        if ratio is None and (few := of_few(along, mean, along > FLYING_MPS, end - begin)) is not None:
            unit, off = _nearest(_of_trackers(candidates) if over else candidates, few.middle, few.error, chords=over)
            alone = off < _OVER_GROUND and not evidence.raw.keys() & {*AIRSPEEDS}
            if misfit(off, few.error) < _FEW_FIT and (over or alone or quantity == "ground_speed"):
                costs = [(own + misfit(math.log(few.middle / u.factor), few.error), u) for u, own in candidates]
                evidence.take(quantity, unit, "it agrees with the speed over the ground", () if over else costs)
                evidence.over_ground.add(quantity)
                return
    if ratio is not None and ratio.scatter < 0.35:
        chords = over and ratio.scatter > _EVEN  # what turns between its fixes doesn't lie so near to one ratio
        error = math.hypot(_SURE_CHORDS if chords else SURE_WAY, ratio.error)
        unit, off = _nearest(_of_trackers(candidates) if chords else candidates, ratio.middle, error, chords=chords)
        near = _OF_TRACKER if over else _OF_TURNED if ratio.scatter < _EVEN and _turned(evidence) else _OVER_GROUND
        if misfit(off, error) < 12.0 and (quantity == "ground_speed" or off < near):
            evidence.take(quantity, unit, "it agrees with the speed over the ground")
            evidence.over_ground.add(quantity)
            evidence.by_powers |= unit.name not in SPEED_NAMES and not evidence.named.get(quantity)
            return
        if quantity == "ground_speed":
            evidence.against[quantity] = "the positions move at another speed"
    elif ratio is not None and quantity == "ground_speed":
        evidence.against[quantity] = "the positions move at another speed"
    _by_usual_speed(evidence, quantity, raw, candidates, few)


def _turned(evidence: Evidence) -> bool:
    """A good part of it was flown on a course a quarter of a circle and more off another's."""
    t, order = evidence.stretches.time_s, evidence.stretches.order
    if evidence.latitude_rad is None or evidence.longitude_rad is None:
        return False
    east, north = velocity_mps(t, evidence.latitude_rad[order], evidence.longitude_rad[order], STRETCH_S)
    flown = np.hypot(east, north) > FLYING_MPS
    if not flown.any():
        return False
    course = np.unwrap(np.arctan2(east[flown], north[flown]))
    low, high = np.percentile(course, [100.0 * _EACH, 100.0 * (1.0 - _EACH)])
    return bool(high - low > _TURNED_RAD)


def _of_trackers(candidates: list[tuple[Unit, float]]) -> list[tuple[Unit, float]]:
    """Units with their cost, where chords make any of them a little too large."""
    return [(u, cost + _NO_TRACKERS * (u.name in {"mph", "ft/s"})) for u, cost in candidates]


def _nearest(candidates: list[tuple[Unit, float]], middle: float, error: float, *, chords: bool) -> tuple[Unit, float]:
    """(unit, how far off as a logarithm) of a speed that is so many times its number; chords are shorter than ways."""

    def off(unit: Unit) -> float:
        apart = math.log(middle / unit.factor)
        shorter = -_MOST_OF_CHORDS < apart < 0.0
        return abs(apart) * (_OF_CHORDS if chords and shorter else _SURE_CHORDS / SURE_WAY if chords else 1.0)

    unit = min(candidates, key=lambda c: c[1] + misfit(off(c[0]), error))[0]
    return unit, off(unit)


def _possible(evidence: Evidence, quantity: str) -> Array:
    """A speed without the values no aircraft flies in the unit the file names, unless most are such: then not them."""
    raw, words = evidence.raw[quantity], evidence.named.get(quantity, ())
    if not words:
        return raw
    most = QUANTITIES[quantity].high / max(w.factor for w in words)
    bad = np.abs(raw) > most
    return np.where(bad, np.nan, raw) if 0 < bad.sum() < 0.5 * np.isfinite(raw).sum() else raw


def _by_usual_speed(
    evidence: Evidence, quantity: str, raw: Array, candidates: list[tuple[Unit, float]], few: Ratio | None = None
) -> None:
    """No positions to hold it against, or few: the unit in which the speed is one that is flown."""
    if evidence.named.get(quantity):
        evidence.take(quantity, evidence.named[quantity][0], "named")
        return
    if not np.isfinite(raw).any():
        evidence.take(quantity, candidates[0][0], "assumed, the file names no unit")
        return
    height = next((q for q in HEIGHTS if q in evidence.settled), None)
    up_m = max(float(np.nanpercentile(evidence.si(height), 95)), 0.0) if height else 0.0
    able, family = _alike(evidence, candidates), (evidence.imperial, evidence.knots)
    stands = float(np.nanpercentile(np.abs(raw), 75.0)) < _STANDS
    costs = [(own, u) for u, own in able] if stands else usual_costs(quantity, raw, able, up_m)
    if few is not None and not stands:
        costs = [(c + misfit(math.log(few.middle / u.factor), _OF_WIND), u) for c, u in costs]
    unit = min(costs, key=lambda c: c[0])[1]
    plain = unit.name in BY_NAME
    evidence.take(quantity, unit, "assumed, the file names no unit" if plain else "whole numbers, by their size", costs)
    if stands:
        evidence.imperial, evidence.knots = family


def _alike(evidence: Evidence, candidates: list[tuple[Unit, float]]) -> list[tuple[Unit, float]]:
    """Airspeeds of one file are told in one unit."""
    other = next((evidence.settled[q].unit.factor for q in AIRSPEEDS if q in evidence.settled), 0.0)
    return [(u, own + _TWO_AIRSPEEDS * (0.0 < other != u.factor)) for u, own in candidates]


def usual_speed_mps(up_m: float) -> float:
    """What is flown so high, roughly. [m/s]"""
    return USUAL_MPS * (1.0 + (up_m / _JETS_M) ** 2)


def usual_costs(
    quantity: str, raw: Array, candidates: list[tuple[Unit, float]], up_m: float
) -> list[tuple[float, Unit]]:
    """How badly each unit fits a speed that is flown as high as this."""
    size = np.abs(raw[np.isfinite(raw)])
    fast, fastest = max(float(np.percentile(size, 75)), 1e-9), float(np.percentile(size, 99))
    limit, usual = QUANTITIES[quantity].high, usual_speed_mps(up_m)
    return [
        (own + 20.0 * (fastest * u.factor > limit) + misfit(math.log(fast * u.factor / usual), USUAL_OFF, 20.0), u)
        for u, own in candidates
    ]


def flying_speed(evidence: Evidence, way: tuple[Array, Array, Array] | None) -> float:
    """Usual speed in flight; NaN where neither positions nor a speed tell. [m/s]"""
    known = way[2] if way is not None else np.zeros(0)
    if not (known > FLYING_MPS).any():
        name = next((q for q in SPEEDS if q in evidence.settled), None)
        known = evidence.si(name) if name else np.zeros(0)
    known = known[np.isfinite(known) & (known > FLYING_MPS)]
    usual = float(np.median(known)) if known.size else float("nan")
    return usual if known.size > 4 or (way is not None and usual < _JET_MPS) else float("nan")


def airspeed(evidence: Evidence, quantity: str) -> None:
    """An airspeed: near the speed over the ground, wind and height apart. Mph for knots is found later, by turns."""
    raw = _possible(evidence, quantity)
    candidates = candidates_of(evidence, quantity, SPEED_NAMES, range(4))
    stretches = evidence.stretches
    begin, end, _ = stretches.change(raw, STRETCH_S)
    name = next((q for q in SPEEDS if q in evidence.settled and q not in evidence.against), None)
    truth = np.full(begin.shape, np.nan)
    if name is not None:
        truth = stretches.mean(evidence.si(name), begin, end)
    elif evidence.latitude_rad is not None and evidence.longitude_rad is not None:
        first, last, along = stretches.way(evidence.latitude_rad, evidence.longitude_rad)
        if first.size > 10 or (first.size and begin.size <= 10):
            truth = np.interp(0.5 * (begin + end), 0.5 * (first + last), along)
    height = next((q for q in HEIGHTS if q in evidence.settled), None)
    if height is not None and quantity != "true_airspeed":
        up = np.clip(np.nan_to_num(stretches.mean(evidence.si(height), begin, end), nan=0.0), 0.0, 13_000.0)
        # indicated reads less the higher one flies
        truth = truth * np.sqrt(standard_air(up).density_kgpm3 / RHO0_KGPM3)
    ratio = None
    if np.isfinite(truth).any():
        fast = truth > max(FLYING_MPS, 0.4 * float(np.nanpercentile(truth, 90)))
        mean = stretches.mean(raw, begin, end)
        ratio = ratio_of(truth, mean, fast) or of_few(truth, mean, fast, end - begin)
    if ratio is None or ratio.scatter > 0.5:
        _by_usual_speed(evidence, quantity, raw, candidates)
        return
    error = math.hypot(SURE_AIR, ratio.scatter / 3.0)
    other = evidence.settled[name].unit.factor if name is not None else 0.0  # one file seldom has knots and mph
    costs = [
        (own + _TWO_SPEEDS * (0.0 < other != u.factor) + misfit(math.log(ratio.middle / u.factor), error), u)
        for u, own in _alike(evidence, candidates)
    ]
    evidence.take(quantity, min(costs, key=lambda c: c[0])[1], "it agrees with the speed over the ground", costs)
