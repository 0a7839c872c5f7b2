"""What a column is by its cells, where its name doesn't say: each is held against positions, time and other columns.

A column is taken for a quantity only where physics tells: it follows what the positions (or a settled height) say that
quantity must be, in a unit that is used, and follows nothing else as well. What merely has the right size is not
taken: a selected altitude stands in steps, a temperature is no height, a target speed follows nothing. A name with a
strange word beside one that is known is one more piece of evidence: it says first which quantity is tried.
Limits are common practice, no source; each test says how well the column agrees.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from airwork.airdata.angles import turn_from_to_rad
from airwork.airdata.atmosphere import G0_MPS2, RHO0_KGPM3, pressure_altitude_m, standard_air
from airwork.recording.content_motion import Motion
from airwork.recording.quantities import QUANTITIES
from airwork.recording.recorded import Array
from airwork.recording.unit_choice import GRADIENT, HEIGHTS, HIGHEST_M, SPEED_NAMES, STEEPEST_MPS, scaled
from airwork.recording.unit_words import BY_NAME, Unit

_LEAST = 60  # samples in flight that tell something
_SLOW_MPS = 10.0
_RATE_OFF = 0.1  # of a unit of height and one of climb that go together; a pitch's ratio is any
_STOPPED = 0.02  # of the flight
_VARIES, _EXACT = 0.08, 0.005  # of it; of the speed over the ground
_BACK_AGAIN = 0.2  # of its steps
_ANY_DIRECTION_DEG, _RARE_S, _CALM_MPS = 30.0, 3.0, 1.5
_PITOT = 0.05  # an airspeed dial's own error: within it a true airspeed is told by its name alone
_RATES, _LENGTHS, _ANGLES = (QUANTITIES[q].units for q in ("vertical_speed", "gps_altitude", "bank"))


@dataclass(frozen=True, slots=True)
class Found:
    """What a column was taken for: its unit, how far off it is (smaller is surer), and why in words."""

    quantity: str
    unit: Unit
    off: float
    why: str


def _nearest(ratio: float, names: tuple[str, ...], powers: range = range(1)) -> tuple[Unit, float]:
    """(unit, how far off as a logarithm) in which SI ÷ number is this ratio."""
    unit = min((u for u, _ in scaled(names, powers)), key=lambda u: abs(math.log(ratio / u.factor)))
    return unit, abs(math.log(ratio / unit.factor))


def _follows(raw: Array, truth: Array, use: NDArray[np.bool_]) -> tuple[float, float, float] | None:
    """(truth ÷ number, scatter of it, correlation) where both are clearly not nought; None of too few."""
    good = use & np.isfinite(raw) & np.isfinite(truth)
    if good.sum() < _LEAST or float(np.std(raw[good])) == 0.0 or float(np.std(truth[good])) == 0.0:
        return None
    a, b = truth[good], raw[good]
    a, b = (np.clip(x, *np.percentile(x, [1.0, 99.0])) for x in (a, b))
    if float(np.std(a)) == 0.0 or float(np.std(b)) == 0.0:
        return None
    clear = (np.abs(a) >= np.percentile(np.abs(a), 60.0)) & (b != 0.0)
    if clear.sum() < 0.2 * _LEAST:
        return None
    ratios = a[clear] / b[clear]
    middle = float(np.median(ratios))
    if middle == 0.0:
        return None
    scatter = 1.4826 * float(np.median(np.abs(ratios / middle - 1.0)))
    return middle, scatter, float(np.corrcoef(a, b)[0, 1])


def _ground_speed(m: Motion, x: Array) -> Found | None:
    fit = _follows(x, m.speed, m.flying)
    if fit is None or not np.isfinite(m.velocity[0]).any() or fit[0] <= 0.0 or _still(x[m.flying]):
        return None
    unit, off = _nearest(fit[0], SPEED_NAMES, range(4))
    if off > 0.025 or fit[1] > 0.06 or fit[2] < 0.9:
        return None
    return Found("ground_speed", unit, off + fit[1], f"it agrees with the positions to {100 * (off + fit[1]):.0f} %")


def _airspeed(m: Motion, x: Array) -> Found | None:
    """Ground velocity less one wind has this size: v² = f²·x² + 2 v·w − w², flown in many directions."""
    east, north = m.velocity
    good = m.flying & np.isfinite(x) & np.isfinite(east) & (x > 0.0)
    flown = x[m.flying & np.isfinite(x)]
    if flown.size < _LEAST or float(np.mean(flown <= 0.0)) > _STOPPED:
        return None
    if good.sum() < _LEAST or _still(x[good]) or abs(np.mean(np.exp(1j * m.course[good]))) > 0.8:
        return None
    height = m.height if m.height is not None else np.zeros(x.shape)
    up = np.clip(np.nan_to_num(height, nan=0.0), 0.0, HIGHEST_M)
    air = 1.0 / np.sqrt(standard_air(up[good]).density_kgpm3 / RHO0_KGPM3)
    best: Found | None = None
    e, n = east[good], north[good]
    for quantity, scale in (("indicated_airspeed", air), ("true_airspeed", np.ones(air.size))):
        number = x[good] * scale
        size = float(np.median(number))
        rows = np.stack([(number / size) ** 2, e, n, np.ones(e.size)], axis=1)
        keep = np.ones(e.size, bool)
        for _ in range(3):
            answer = np.linalg.lstsq(rows[keep], (e**2 + n**2)[keep], rcond=None)[0]
            left = np.hypot(e, n) - np.sqrt(np.maximum(rows @ answer, 1.0))
            keep = np.abs(left) < 3.0 * 1.4826 * np.median(np.abs(left)) + 0.1
        wind = 0.5 * float(np.hypot(answer[1], answer[2]))
        if answer[0] <= 0.0 or wind > 35.0:
            continue
        ratio = math.sqrt(answer[0]) / size  # mph is knots by a pitot's error, too: the less usual unit costs more
        unit, off = min(
            ((u, abs(math.log(ratio / u.factor)) + 0.1 * c) for u, c in scaled(SPEED_NAMES, range(4))),
            key=lambda x: x[1],
        )
        usual = float(np.median(np.hypot(e, n)))
        scatter = 1.4826 * float(np.median(np.abs(left))) / usual
        if not _tells_of_air(rows, left, usual):
            continue
        if off < 0.07 and scatter < 0.06 and (best is None or off + scatter < best.off - _PITOT):
            if quantity == "true_airspeed" and wind < _CALM_MPS:
                return Found(
                    "ground_speed", unit, off + scatter, f"it agrees with the positions to {100 * scatter:.0f} %"
                )
            words = f"with a wind of {wind / BY_NAME['kt'].factor:.0f} kt it agrees with the positions to"
            best = Found(quantity, unit, off + scatter, f"{words} {100 * scatter:.0f} %")
    return best


def _tells_of_air(rows: Array, left: Array, usual: float) -> bool:
    """An airspeed that varies explains the speed over the ground better than one that doesn't, in any wind."""
    if float(np.std(np.sqrt(rows[:, 0]))) < _VARIES:
        return True
    plain = rows[:, 1:]
    square = rows[:, 1] ** 2 + rows[:, 2] ** 2
    without = np.sqrt(np.maximum(plain @ np.linalg.lstsq(plain, square, rcond=None)[0], 1.0)) - np.sqrt(square)
    return float(np.median(np.abs(left))) < 0.8 * float(np.median(np.abs(without))) + _EXACT * usual


def _track(m: Motion, x: Array) -> Found | None:
    return _direction(m, x, "track", 4.0 if m.fix_s < _RARE_S else 8.0)  # a chord's is not that at either end


def _heading(m: Motion, x: Array) -> Found | None:
    return _direction(m, x, "heading", 25.0)


def _direction(m: Motion, x: Array, quantity: str, most_deg: float) -> Found | None:
    """Follows the way through all directions: at one angle to it but for the wind, and turning as it turns."""
    known = x[np.isfinite(x)]
    if known.size < _LEAST or known.min() < -181.0 or known.max() > 361.0:
        return None
    unit = BY_NAME["rad" if np.abs(known).max() <= 2.0 * math.pi + 0.01 else "deg"]
    angle = x * unit.factor
    good = m.flying & np.isfinite(angle) & np.isfinite(m.course)
    if good.sum() < _LEAST or abs(np.mean(np.exp(1j * m.course[good]))) > 0.97:
        return None
    apart = turn_from_to_rad(m.course[good], angle[good])
    middle = float(np.angle(np.mean(np.exp(1j * apart))))
    off = np.degrees(np.abs(turn_from_to_rad(middle, apart)))
    constant, spread = abs(math.degrees(middle)), float(np.percentile(off, 75.0))
    if spread > most_deg or constant > (3.0 if quantity == "track" else 35.0):
        return None
    return Found(quantity, unit, spread / 90.0, f"it follows the way over the ground within {spread:.0f}°")


def _vertical_speed(m: Motion, x: Array) -> Found | None:
    fit = _follows(m.mean(x, 10.0), m.climbing, m.flying)
    if fit is None or fit[0] <= 0.0 or fit[2] < 0.8 or fit[1] > 0.3:
        return None
    unit, off = _nearest(fit[0], _RATES, range(3))
    return (
        Found("vertical_speed", unit, off + 1.0 - fit[2], "it agrees with the change of altitude")
        if off < 0.15
        else None
    )


def _bank(m: Motion, x: Array) -> Found | None:
    return _turns(m, x, "bank", np.arctan(m.speed * m.turning / G0_MPS2), _ANGLES, "it is the bank of the turns flown")


def _turn_rate(m: Motion, x: Array) -> Found | None:
    return _turns(m, x, "turn_rate", m.turning, ("deg/s", "rad/s"), "it is how fast the path turns")


def _turns(m: Motion, x: Array, quantity: str, truth: Array, names: tuple[str, ...], why: str) -> Found | None:
    fit = _follows(m.mean(x, 6.0), truth, m.flying)
    if fit is None or abs(fit[2]) < 0.85 or fit[1] > 0.4 or fit[0] * fit[2] < 0.0:
        return None
    unit, off = _nearest(abs(fit[0]), names)
    return Found(quantity, unit, off + 1.0 - abs(fit[2]), why) if off < 0.2 else None


def _altitude(m: Motion, x: Array) -> Found | None:
    """Smooth, up and down again, low where the speed is that of the ground, as steep as aircraft climb."""
    good = np.isfinite(x) & np.isfinite(m.speed)
    if good.sum() < _LEAST or _steps(x[good]) or not m.flying.any():
        return None
    low, high = (float(v) for v in np.percentile(x[good], [0.5, 99.5]))
    change = m.rate(x, 30.0)
    change = change[np.isfinite(change)]
    if change.size < _LEAST or high <= low:
        return None
    up, down = float(change[change > 0.0].sum()), float(-change[change < 0.0].sum())
    steep = float(np.percentile(np.abs(change), 98.0))
    climbs = np.abs(change)[np.abs(change) > 0.35 * steep]
    jumps = np.abs(np.diff(x[good])) / m.step_s
    usual = float(np.median(m.speed[m.flying]))
    slow = good & (m.speed < _SLOW_MPS)
    lies = float(np.median((x[slow] - low) / (high - low))) if slow.sum() >= 10 else 0.3
    levels = float(np.mean(np.abs(change) < 0.15 * steep)) > 0.15  # what is used up or counts on never stands
    if (min(up, down) < 0.15 * max(up, down) and not levels) or lies > 0.35:
        return None
    if _direction(m, x, "track", _ANY_DIRECTION_DEG) is not None or _wavers(m, x):
        return None
    best: Found | None = None
    for unit, own in scaled(_LENGTHS, range(4)):
        f = unit.factor
        whole = unit.name not in _LENGTHS and not np.array_equal(x[good], np.round(x[good]))
        if whole and float(np.mean(x[good] == np.round(x[good]))) < 0.2 and unit.name not in _LENGTHS:
            continue
        if (high - low) * f < 60.0 or high * f > HIGHEST_M or low * f < -450.0 or steep * f > STEEPEST_MPS:
            continue
        if float(np.percentile(jumps, 99.0)) * f > 3.0 * STEEPEST_MPS:
            continue
        off = abs(math.log(float(np.median(climbs)) * f / (GRADIENT * usual)))
        if off < 1.2 and (best is None or off + own < best.off):
            why = "it rises and falls as aircraft do" + (", and is lowest on the ground" if slow.sum() >= 10 else "")
            best = Found("altitude", unit, off + own, why)
    return best


def _wavers(m: Motion, x: Array) -> bool:
    """Goes back again and again where it rises or falls over half a minute: engines and sensors do, no aircraft."""
    change, step = m.rate(x, 30.0)[1:], np.diff(x)
    if not np.isfinite(change).any():
        return False
    steep = np.abs(change) > 0.35 * float(np.nanpercentile(np.abs(change), 98.0))
    moves = steep & (step != 0.0) & np.isfinite(step)
    return bool(moves.any()) and float(np.mean(step[moves] * change[moves] < 0.0)) > _BACK_AGAIN


def _static_pressure(m: Motion, x: Array) -> Found | None:
    """What an altitude would be, read as the pressure of the standard air."""
    good = np.isfinite(x)
    for name, low, high in (("hPa", 400.0, 1_060.0), ("Pa", 4e4, 1.06e5)):  # in inHg it might be volts
        if good.sum() < _LEAST or x[good].min() < low or x[good].max() > high:
            continue
        found = _altitude(m, np.asarray(pressure_altitude_m(x * BY_NAME[name].factor)))
        if found is not None and found.unit.name == "m":
            return Found("static_pressure", BY_NAME[name], found.off, "it falls as an aircraft climbs and rises again")
    return None


def _still(x: Array) -> bool:
    """Hardly a change: agrees with anything that is steady."""
    known = x[np.isfinite(x)]
    return known.size < _LEAST or float(np.std(known)) < 0.01 * abs(float(np.mean(known))) + 1e-9


def _steps(x: Array) -> bool:
    """Stands for minutes, then jumps: what somebody set, not what was flown."""
    values, counts = np.unique(x, return_counts=True)
    return bool(values.size < 12 or np.mean(np.diff(x) == 0.0) > 0.97 or counts.max() > 0.7 * x.size)


# In this order: what needs only positions comes first, then heights, then what goes with them.
_BOTH: tuple[tuple[str, Callable[[Motion, Array], Found | None], tuple[str, ...]], ...] = (
    ("ground_speed", _ground_speed, ("ground_speed", "speed")),
    ("track", _track, ("track", "magnetic_track")),
    ("altitude", _altitude, HEIGHTS),
    ("static_pressure", _static_pressure, (*HEIGHTS, "static_pressure")),
    ("indicated_airspeed", _airspeed, ("indicated_airspeed", "calibrated_airspeed", "true_airspeed")),
    ("heading", _heading, ("heading", "magnetic_heading", "true_heading")),
    ("vertical_speed", _vertical_speed, ("vertical_speed",)),
    ("bank", _bank, ("bank",)),
    ("turn_rate", _turn_rate, ("turn_rate",)),
)
TESTS = {name: test for name, test, _ in _BOTH}
SAME = {name: frozenset(same) for name, _, same in _BOTH}  # where any of these is known, none is looked for


def alike(m: Motion, quantity: str, numbers: Mapping[int, Array], hinted: Mapping[int, str]) -> list[tuple[int, Found]]:
    """Columns that may be the quantity, the surest first: those whose name has its word before the others."""
    test = TESTS[quantity]
    out = [(i, f) for i, x in numbers.items() if (f := test(m, m.even(x))) is not None and f.quantity in SAME[quantity]]
    return sorted(out, key=lambda c: (hinted.get(c[0]) not in SAME[quantity], c[1].off, c[0]))


def climbs_with(m: Motion, height: Array, rate: Array, *, in_units: bool = False) -> bool:
    """A column goes as another one changes: a height and its vertical speed. in_units: in units that go together."""
    fit = _follows(m.mean(m.even(rate), 10.0), m.rate(m.even(height), 10.0), m.flying)
    if fit is None or fit[0] <= 0.0 or fit[2] < 0.8 or fit[1] > 0.3:
        return False
    pairs = [BY_NAME[r].factor / BY_NAME[h].factor for h in _LENGTHS for r in _RATES]
    return not in_units or min(abs(math.log(fit[0] / pair)) for pair in pairs) < _RATE_OFF
