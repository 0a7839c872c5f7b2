"""The unit of heights and vertical speed, together: by how aircraft climb, a transponder's steps, each other."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from airwork.airdata.atmosphere import pressure_altitude_m
from airwork.recording.known_fields import Visit, visits, visits_cost
from airwork.recording.recorded import Array
from airwork.recording.unit_choice import (
    GRADIENT,
    GRADIENT_OFF,
    HEIGHTS,
    HIGHEST_M,
    IMPERIAL,
    OTHER_FAMILY,
    SCALED,
    STEEPEST_MPS,
    SURE_CLIMB,
    SURE_HEIGHT,
    SURE_PRESSURE,
    Evidence,
    candidates_of,
    misfit,
)
from airwork.recording.unit_evidence import (
    CLIMB_STRETCH_S,
    Ratio,
    multiples,
    ratio_of,
    resolution,
)
from airwork.recording.unit_words import BY_NAME, Unit

_RATE_MPS = (0.25, STEEPEST_MPS)  # 50 fpm: steadier than that no hand flies
_SELDOM = {"ft/s": 1.0, "kt": 3.0}  # of a vertical speed
_LONG_S = 180.0  # in a take-off roll the static pressure swings as well
_AGREES = 0.6  # a vertical speed that follows the altitude less than this tells nothing of its unit
_MANY = 60  # readings of two altitudes
_HIGH_M, _LEVEL = 600.0, 0.35  # where no weather makes feet of meters
_LEAST, _RISES_M = 10, 60.0  # more than the weather and a cabin make of a pressure in an hour
# Rows, up and down in steps of the column, how well what is added up goes with it, how far it may be off.
_PIECE_S = 2.0, 30.0
_PIECE, _PIECE_STEPS, _PIECE_AGREES, _PIECE_OFF = 4, 3.0, 0.95, 0.15
# A leap: times the usual change of a second, more a second in any unit, and how seldom.
_LEAP, _USUAL_STEP, _LEAST_LEAP, _FEW_LEAPS = 5.0, 90.0, 20.0, 0.05
_STEADY_RATE = 5.0  # median over the usual distance from it
_CLIMBS = 0.35  # of the steepest, and more: a climb or descent, no wandering about a level
_TELLS_S = 150.0  # so much longer, one unit of cost more for never climbing as usual: a short piece may be all level
_STEEPEST, _TOO_STEEP = 0.35, 4.0  # no climb or descent of the usual kind is 20° steep, over half a minute
# Down to a field (3.5°, 5° at idle) and away from it (a winch is steeper): slope, its spread as a logarithm, most cost.
_FIELDS = ((0.065, 0.4, 8.0), (0.085, 0.5, 2.0))
_WINGED_MPS = 8.0  # 16 kt: slower nothing has wings, and a balloon climbs as steeply as it likes
_MOST_LEVELS, _NO_CAR_MPS = 600.0, 36.0  # heights in hundreds of feet; a road is as flat as these numbers
_SLOW_BELOW_M, _MOST_BELOW_MPS, _FASTER = 3_048.0, 129.0, 0.15  # 10,000 ft, 250 kt [14 CFR 91.117]; a wind behind it
_ASCENT_MIN, _STEADY = 30, 0.35  # whatever has an engine climbs ever slower, and levels off
_STEP_FT, STEP_FPM = 25.0, 64.0  # what transponders report in
_HUNDRED_FT, _LEVELS = 100.0, 6  # different heights: by chance one in 15 lies so
_NO_STEPS = 6.0  # nothing is known to write meters so


@dataclass(frozen=True, slots=True)
class _Climbs:
    """How an altitude column changes, in its own numbers: highest, changes per second over half a minute."""

    top: float
    usual: float  # of the stretches that climb or descend
    steep: float
    span_s: float = 0.0
    balloon: bool = False  # rises at one rate for long, then falls: no limit of what flies holds for it


def heights(
    evidence: Evidence,
    speed_mps: float,
    way: tuple[Array, Array, Array] | None,
    as_high: Callable[[float], tuple[float, float]] | None = None,
) -> None:
    """Settle the heights and the vertical speed of a file, flown at about this speed (NaN: not known), this way.

    as_high : highest [m] → (cost of a speed without positions, that speed [m/s]).
    """
    present = [q for q in HEIGHTS if q in evidence.raw and np.isfinite(evidence.raw[q]).sum() >= 2]
    rate = evidence.raw.get("vertical_speed")
    if not present:
        if rate is not None:
            _alone(evidence, "vertical_speed", rate)
        return
    main = max(
        present,
        key=lambda q: (
            _moves_at_all(evidence.raw[q]),
            _filled(evidence.raw[q]),
            bool(evidence.named.get(q)),
            -HEIGHTS.index(q),
        ),
    )
    _main_height(evidence, main, rate, speed_mps, way, as_high)
    for quantity in present:
        if quantity != main:
            _other_height(evidence, quantity, main)


def _moves_at_all(raw: Array) -> bool:
    return float(np.nanmax(raw)) > float(np.nanmin(raw))


def _filled(raw: Array) -> float:
    return round(float(np.isfinite(raw).mean()), 1)


def _main_height(
    evidence: Evidence,
    quantity: str,
    rate: Array | None,
    speed_mps: float,
    way: tuple[Array, Array, Array] | None,
    as_high: Callable[[float], tuple[float, float]] | None,
) -> None:
    raw = evidence.raw[quantity]
    begin, end, change = evidence.stretches.change(raw, CLIMB_STRETCH_S)
    t = evidence.stretches.time_s
    whole = ~_broken(t, raw[evidence.stretches.order], begin, end)
    begin, end, change = begin[whole], end[whole], change[whole]
    climbs, rows = _climbs(raw, change), raw[evidence.stretches.order]
    climbs = replace(
        climbs,
        span_s=float(np.ptp(t)) if t.size else 0.0,
        balloon=ascends(t, rows),
        steep=climbs.steep or _of_seconds(t, rows),
    )
    slopes = evidence.stretches.fields(raw, way) if way is not None and not climbs.balloon else ()
    names = ("ft", "m")
    heights = candidates_of(evidence, quantity, names, range(4))
    if climbs.top < _MOST_LEVELS and speed_mps > _NO_CAR_MPS and not evidence.named.get(quantity):
        heights.append((BY_NAME["FL"], SCALED))
    rates: list[tuple[Unit, float]] = []
    ratio, agree = None, 0.0
    if rate is not None:
        mean = evidence.stretches.mean(rate, begin, end)
        ratio, agree = _climb_ratio(change, mean)
        ratio = ratio or _of_piece(evidence, raw, rate)
        if agree < -_AGREES and float(np.ptp(end)) > _LONG_S:
            evidence.downward = True
            ratio, agree = _climb_ratio(change, -mean)
        rates = _rates(evidence, rate)
        if way is not None and evidence.named.get("vertical_speed") and not math.isfinite(speed_mps):
            ratio = None  # a receiver's height wanders where it stands, and overrules no name
    in_steps = _by_steps(raw, _STEP_FT, "ft", "m")
    rate_steps = _by_steps(rate, STEP_FPM, "fpm", "m/s") if rate is not None else None
    by_pressure = _by_pressure(raw, evidence.pressure_pa)
    fields = _fields(evidence, raw)
    readings: list[tuple[float, Unit, Unit | None]] = []
    by_field: dict[Unit, float] = {}
    for unit, own in heights:
        its, flown = as_high(climbs.top * unit.factor) if as_high is not None else (0.0, speed_mps)
        cost = own + its + _height_cost(climbs, unit.factor, flown) + _field_cost(slopes, unit.factor)
        cost += misfit(math.log(unit.factor / by_pressure[0]), by_pressure[1], 20.0) if by_pressure else 0.0
        if evidence.by_powers:
            cost += SCALED - 0.5 if unit.name in names else 0.5 - SCALED
        cost += _NO_STEPS if in_steps is not None and abs(math.log(unit.factor / in_steps)) > 0.01 else 0.0
        choice = _cheapest(rates, unit, ratio, rate_steps) if rates else (0.0, None)
        by_field[unit] = visits_cost(fields, quantity, unit.factor)
        readings.append((cost + choice[0] + by_field[unit], unit, choice[1]))
    _, unit, rate_unit = min(readings, key=lambda r: r[0])
    plain = unit.name in BY_NAME and unit.name in names
    why = "with the other columns, by how aircraft climb" if plain else "whole numbers, by their size and rate of climb"
    if min(readings, key=lambda r: r[0] - by_field[r[1]])[1] != unit:
        why = f"by the elevation of {fields[0].ident}, {fields[0].elevation_m / BY_NAME['ft'].factor:,.0f} ft"
    evidence.take(quantity, unit, why, [(cost, u) for cost, u, _ in readings])
    if rate_unit is not None:
        why = "it agrees with the change of altitude" if ratio is not None else "assumed, the file names no unit"
        evidence.take("vertical_speed", rate_unit, why)
        if rate is not None and ratio is None and agree < 0.3 and _moves(change * unit.factor):
            evidence.against["vertical_speed"] = "the altitude changes otherwise"


def _of_seconds(t: Array, raw: Array) -> float:
    """How fast the numbers rise or fall all along in a piece too short for stretches."""
    good = np.isfinite(raw)
    if good.sum() < _PIECE or not _PIECE_S[0] < float(np.ptp(t[good])) < _PIECE_S[1]:
        return 0.0
    return abs(float(np.polyfit(t[good], raw[good], 1)[0]))


def _fields(evidence: Evidence, raw: Array) -> tuple[Visit, ...]:
    if evidence.latitude_rad is None or evidence.longitude_rad is None:
        return ()
    rows = evidence.stretches.order
    return visits(evidence.stretches.time_s, evidence.latitude_rad[rows], evidence.longitude_rad[rows], raw[rows])


def _rates(evidence: Evidence, rate: Array) -> list[tuple[Unit, float]]:
    """Units of a vertical speed with their cost: nothing flies so steadily that feet a minute stay below ten."""
    size = np.abs(rate[np.isfinite(rate)])
    most = float(np.percentile(size, 95.0)) if size.size else 0.0
    units = candidates_of(evidence, "vertical_speed", ("fpm", "m/s", "ft/s", "kt"), range(3))
    if not most or evidence.named.get("vertical_speed"):
        return units
    least, steepest = _RATE_MPS

    def cost(unit: Unit, own: float) -> float:
        steady = misfit(min(math.log(most * unit.factor / least), 0.0), 0.7, 6.0)
        steep = misfit(max(math.log(most * unit.factor / steepest), 0.0), 0.25, 12.0)
        return own + _SELDOM.get(unit.name, 0.0) + steady + steep

    return [(u, cost(u, own)) for u, own in units]


def _by_pressure(raw: Array, pressure_pa: Array | None) -> tuple[float, float] | None:
    """(meters to one of an altitude's numbers by the pressure of the air, how sure): by its fall, else by its level."""
    high = np.full(raw.size, np.nan) if pressure_pa is None else np.asarray(pressure_altitude_m(pressure_pa))
    known = np.isfinite(raw) & np.isfinite(high)
    if known.sum() < 2:
        return None
    a, b = raw[known], high[known]
    low, top = np.percentile(b, [10.0, 90.0])
    rise = float(np.median(a[b >= top]) - np.median(a[b <= low]))
    if top - low > _RISES_M and rise > 0.0 and known.sum() >= _LEAST:
        return float(top - low) / rise, SURE_PRESSURE
    level, number = float(np.median(b)), float(np.median(a))
    return (level / number, _LEVEL) if level > _HIGH_M and number > 0.0 else None


def _cheapest(
    rates: list[tuple[Unit, float]], height: Unit, ratio: Ratio | None, rate_steps: float | None
) -> tuple[float, Unit | None]:
    """(cost, unit) of the vertical speed that goes best with a unit of the altitude."""
    out: tuple[float, Unit | None] = (math.inf, None)
    for unit, own in rates:
        cost = own + _mixed(height, unit)
        if ratio is not None:
            error = math.hypot(SURE_CLIMB, ratio.error)
            cost += misfit(math.log(ratio.middle * unit.factor / height.factor), error, 25.0)
        if rate_steps is not None and abs(math.log(unit.factor / rate_steps)) > 0.01:
            cost += 2.0
        if cost < out[0]:
            out = (cost, unit)
    return out


def _mixed(height: Unit, rate: Unit) -> float:
    """Feet go with feet per minute (or second), meters with meters per second."""
    return OTHER_FAMILY if (height.name.split()[-1] == "ft") != (rate.name.split()[-1] in IMPERIAL) else 0.0


def _broken(t: Array, raw: Array, begin: Array, end: Array) -> NDArray[np.bool_]:
    """Stretches over a leap from one row to the next that no flight makes: many times all others, in any unit."""
    known = np.flatnonzero(np.isfinite(raw))
    t, step = t[known], np.abs(np.diff(raw[known]))
    if step.size < _MANY:
        return np.zeros(begin.shape, dtype=bool)
    rate = step / np.maximum(np.diff(t), 1.0)
    leaps = t[1:][rate > max(_LEAP * float(np.percentile(rate, _USUAL_STEP)), _LEAST_LEAP)]
    if leaps.size > _FEW_LEAPS * step.size:
        return np.zeros(begin.shape, dtype=bool)
    return np.asarray(np.searchsorted(leaps, end, side="right") > np.searchsorted(leaps, begin, side="right"))


def _climbs(raw: Array, change: Array) -> _Climbs:
    known = raw[np.isfinite(raw)]
    top = float(np.percentile(np.abs(known), 99.0)) if known.size else 0.0
    size = np.abs(change[np.isfinite(change)])
    moving = size[size > 0.0]
    if moving.size < 10:
        return _Climbs(top, 0.0, 0.0)
    up = change[np.isfinite(change) & (change > 0.0)]
    steep = float(np.percentile(up if up.size > 0.5 * size.size else size, 98.0))  # a jump falls faster than it climbed
    climbing = size[size > max(_CLIMBS * steep, 3.0 * resolution(raw) / CLIMB_STRETCH_S)]
    return _Climbs(top, float(np.median(climbing)) if climbing.size > 5 else 0.0, steep)


def _height_cost(climbs: _Climbs, factor: float, speed_mps: float) -> float:
    """How badly a scale of the altitude fits what flies."""
    if climbs.balloon:
        return 0.0 if factor == 1.0 else SCALED  # radiosondes tell meters
    cost = 40.0 if climbs.top * factor > HIGHEST_M else 0.0
    if math.isfinite(speed_mps) and speed_mps < 110.0:
        cost += misfit(max(math.log(max(climbs.top * factor, 1.0) / 5_000.0), 0.0), 0.4, 8.0)
        cost += misfit(max(math.log(max(climbs.steep * factor, 0.01) / STEEPEST_MPS), 0.0), 0.25, 12.0)
    if math.isfinite(speed_mps) and 0.0 < climbs.top * factor < _SLOW_BELOW_M:
        cost += misfit(max(math.log(max(speed_mps, 1.0) / _MOST_BELOW_MPS), 0.0), _FASTER, 8.0)
    winged = math.isfinite(speed_mps) and speed_mps > _WINGED_MPS
    if winged and climbs.usual * factor > _STEEPEST * speed_mps:
        cost += _TOO_STEEP
    if winged and climbs.usual > 0.0:
        off = math.log(climbs.usual * factor / (speed_mps * GRADIENT))
        cost += misfit(off, GRADIENT_OFF, 8.0 if off > 0.0 else min(climbs.span_s / _TELLS_S, 8.0))
    return cost


def ascends(t: Array, raw: Array) -> bool:
    """Up at one rate for half an hour and more, minute by minute, to its highest; if it comes down, never up again."""
    known = np.flatnonzero(np.isfinite(raw) & np.isfinite(t))
    if known.size < 60 or not np.all(np.diff(t[known]) >= 0.0):
        return False
    top = int(known[np.argmax(raw[known])])
    minutes = np.arange(t[known[0]], t[top], 60.0)
    rises = np.diff(np.interp(minutes, t[known], raw[known]))
    rises = rises[np.argmax(rises > 0.5 * np.median(rises)) :] if rises.size else rises  # it stood before
    falls = np.diff(np.interp(np.arange(t[top], t[known[-1]], 60.0), t[known], raw[known]))
    steady = rises.size >= _ASCENT_MIN and rises.min() > 0.0 and float(np.std(rises)) < _STEADY * float(np.mean(rises))
    return bool(steady and (falls <= 0.05 * np.mean(rises)).all())


def _field_cost(slopes: Sequence[Array], factor: float) -> float:
    """How badly approaches and climbs away from fields fit those flown."""
    cost = 0.0
    for slope, (usual, off, most) in zip(slopes, _FIELDS, strict=False):
        known = slope[slope > 0.0]
        if known.size and known.size >= 0.5 * slope.size:
            cost += misfit(math.log(float(np.median(known)) * factor / usual), off, most)
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
    steady = all(abs(m := float(np.median(x))) > _STEADY_RATE * float(np.median(np.abs(x - m))) for x in (a, b))
    if agree < _AGREES and not steady:
        return None, agree
    if steady:  # a climb at one rate throughout goes up and down with nothing
        clear, agree = np.ones(a.size, dtype=bool), float(np.sign(np.median(a) * np.median(b)))
        a, b = np.abs(a), np.abs(b)
    return ratio_of(b, a, clear), agree


def _of_piece(evidence: Evidence, raw: Array, rate: Array) -> Ratio | None:
    """Vertical speed ÷ change of altitude of a recording of a few stretches: what the one adds up to is the other."""
    order, t = evidence.stretches.order, evidence.stretches.time_s
    good = np.isfinite(raw[order]) & np.isfinite(rate[order])
    t, high, rate = t[good], raw[order][good], rate[order][good]
    if t.size < _PIECE or t[-1] - t[0] > _LONG_S:
        return None
    summed = np.concatenate(([0.0], np.cumsum(0.5 * (rate[1:] + rate[:-1]) * np.diff(t))))
    moved = float(np.std(high))
    if not moved > max(_PIECE_STEPS * resolution(high), 1e-9) or not np.ptp(summed) > 0.0:
        return None
    agree = float(np.corrcoef(summed, high)[0, 1])
    if abs(agree) < _PIECE_AGREES:
        return None
    evidence.downward |= agree < 0.0
    return Ratio(float(np.std(summed)) / moved, _PIECE_OFF, 5)


def _by_steps(raw: Array, step: float, imperial: str, metric: str) -> float | None:
    """Factor of the unit in which the numbers come in a transponder's steps; None when they don't."""
    if multiples(raw, step) > 0.9:
        return BY_NAME[imperial].factor
    if metric == "m" and _hundreds_in_meters(raw):
        return BY_NAME[metric].factor
    if multiples(raw, step * BY_NAME[imperial].factor / BY_NAME[metric].factor) > 0.9:
        return BY_NAME[metric].factor
    return None


def _hundreds_in_meters(raw: Array) -> bool:
    """Whole meters, each a hundred feet cut short or rounded: 304, 609, 914."""
    known = np.unique(raw[np.isfinite(raw) & (raw > 0.0)])
    step = _HUNDRED_FT * BY_NAME["ft"].factor
    over = known - np.round(known / step) * step
    return bool(known.size >= _LEVELS and (known % 1.0 == 0.0).all() and (np.abs(over) <= 1.0).mean() > 0.9)


def _other_height(evidence: Evidence, quantity: str, main: str) -> None:
    """A further altitude: as high as the first, changing as much."""
    raw, truth = evidence.raw[quantity], evidence.si(main)
    both = np.isfinite(raw) & np.isfinite(truth)
    if both.sum() < 10:
        t = evidence.stretches.of_all_rows_s  # readings in rows of their own, several at one time
        rows = np.flatnonzero(np.isfinite(t) & np.isfinite(truth))
        rows = rows[np.argsort(t[rows], kind="stable")]
        if rows.size < 2:
            evidence.take(quantity, evidence.settled[main].unit, "as the other altitude")
            return
        truth = np.interp(t, t[rows], truth[rows])
        both = np.isfinite(raw) & np.isfinite(truth)
    best: tuple[float, Unit] | None = None
    a, b = truth[both], raw[both]
    spread_a, spread_b = _spread(a), _spread(b)
    wide = spread_a > 50.0 and spread_b > 0.0
    for unit, own in candidates_of(evidence, quantity, ("ft", "m"), range(4)):
        cost = own
        if wide:
            cost += misfit(math.log(spread_b * unit.factor / spread_a), SURE_HEIGHT, 40.0)
        apart = abs(float(np.median(b * unit.factor - a)))
        cost += misfit(apart, max(150.0, 0.03 * abs(float(np.median(a)))), 20.0)
        if best is None or cost < best[0]:
            best = (cost, unit)
    if best is not None:
        evidence.take(quantity, best[1], "it agrees with the other altitude")
        if wide and both.sum() > _MANY and float(np.corrcoef(a, b)[0, 1]) < _AGREES:
            evidence.against[quantity] = "it doesn't go up and down with the other altitude"


def _spread(values: Array) -> float:
    if values.size < 2:
        return 0.0
    low, high = np.percentile(values, [15.0, 85.0])
    return float(high - low)


def _alone(evidence: Evidence, quantity: str, raw: Array) -> None:
    if evidence.named.get(quantity):
        evidence.take(quantity, evidence.named[quantity][0], "named")
        return
    costs = [(cost, unit) for unit, cost in _rates(evidence, raw)]
    evidence.take(quantity, min(costs, key=lambda c: c[0])[1], "assumed, the file names no unit", costs)
