"""The unit of a column that names none: what fits the other columns and physics, and the reason in words.

Whole-number recorders scale their units (degrees × 10⁷, knots × 1000, centimeters): powers of ten are tried too.
Every guess is reported; a wrong unit that IS named is found later, by `units_check.py`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from airwork.airdata.atmosphere import T0_K, standard_temperature_k
from airwork.recording.motion import velocity_mps
from airwork.recording.quantities import QUANTITIES, Quantity
from airwork.recording.smooth import slow_rate
from airwork.recording.unit_choice import AIRSPEEDS, SPEEDS
from airwork.recording.unit_words import BY_NAME, Unit
from airwork.recording.variation import variation_about_rad

Array = NDArray[np.float64]
_FEW_ROWS, _HELD, _FLYING_MPS = 120, 0.02, 25.0  # an attitude that hardly moved tells nothing of its unit
_DATED_S = 7e8  # seconds since 1970, not from a start
_METRIC = {"m", "m/s", "km/h", "L", "L/h", "kg", "kg/h", "cm", "°C"}
_IMPERIAL = {"ft", "mph", "fpm", "ft/s", "gal", "gph", "lb", "lb/h", "°F", "inHg"}


@dataclass(slots=True)
class Known:
    """What is settled so far: seconds, SI columns by quantity name, and which family of units the file uses."""

    time_s: Array
    columns: dict[str, Array] = field(default_factory=dict)
    metric: int = 0
    imperial: int = 0
    knots: float = 0.0
    radians: bool | None = None  # whether the latitude was taken for radians
    power: int | None = None  # of ten, of the latitude's degrees
    attitude: float = 0.0  # the largest number of pitch and bank: both are written alike

    def note_unit(self, unit: Unit) -> None:
        """Count a unit the file names."""
        self.metric += unit.name in _METRIC
        self.imperial += unit.name in _IMPERIAL
        self.knots = max(self.knots, float(unit.name == "kt"))

    @property
    def is_metric(self) -> bool:
        """The file names metric units only."""
        return self.metric > 0 and self.imperial == 0


def guess(quantity: str, raw: Array, known: Known) -> tuple[Unit, str]:
    """(unit, reason) for a column whose unit isn't named."""
    what = QUANTITIES[quantity]
    size = np.abs(raw[np.isfinite(raw)])
    if not size.size or not what.units:
        return BY_NAME[what.units[0] if what.units else "code"], ""
    if len(what.units) == 1 and what.dimension in {"rotation", "code"}:
        return BY_NAME[what.units[0]], ""
    special = {
        "latitude": _position,
        "longitude": _position,
        "outside_temperature": _outside_temperature,
        "egt": _hot,
        "cht": _hot,
        "power": _share,
        "pitch": _attitude,
        "bank": _attitude,
        "altimeter_setting": _setting,
        "magnetic_variation": _variation,
        "load_factor": _felt,
        "normal_acceleration": _felt,
    }.get(quantity)
    if special is not None and (found := special(what, raw, size, known)) is not None:
        return found
    return _by_size(what, size, known)


_MOSTLY = 0.9  # of the cells
_POWERS = (0, 7, 6, 5, 8, 4)  # of degrees, plain first; 1e-7 degrees is what receivers write
_SLOWEST_MPS, _FASTEST_MPS = 8.0, 400.0


def _position(what: Quantity, raw: Array, size: Array, known: Known) -> tuple[Unit, str] | None:
    limit = 90.5 if what.name == "latitude" else 360.5
    able = size <= limit
    top = float(np.percentile(size[able] if np.mean(able) > _MOSTLY else size, 99.9))  # a cell may have lost its point
    if top <= limit:
        radians = top <= (math.pi / 2 if what.name == "latitude" else math.pi) and _moves_like_radians(raw, known)
        if what.name == "longitude" and known.radians is not None:  # both are written alike
            radians = radians and known.radians
        known.radians = radians
        return BY_NAME["rad" if radians else "deg"], "by its size"
    fitting = [power for power in _POWERS if top <= limit * 10.0**power]
    if not fitting:
        return None
    rate = np.abs(slow_rate(known.time_s, raw, 10.0))
    fast = float(np.nanpercentile(rate, 95)) if np.isfinite(rate).any() else 0.0
    moving = [p for p in fitting if _SLOWEST_MPS < fast * 10.0**-p * 111_000.0 < _FASTEST_MPS]
    power = known.power if known.power in fitting else (moving or fitting)[0]  # both are written alike
    known.power = power if what.name == "latitude" else known.power
    scale = 10.0**-power
    return Unit(f"{scale:g} deg", "angle", BY_NAME["deg"].factor * scale), "whole numbers, by their size"


def _moves_like_radians(raw: Array, known: Known) -> bool:
    """Read as degrees the airplane would crawl: a light airplane covers 20 m in a second, not 0.4 m."""
    good = np.isfinite(raw) & np.isfinite(known.time_s)
    if good.sum() < 3:
        return False
    t, x = known.time_s[good], raw[good]
    span = float(np.ptp(t))
    per_second = float(np.sum(np.abs(np.diff(x)))) / span if span > 0 else 0.0
    return 0.0 < per_second < 2e-5


def _outside_temperature(what: Quantity, raw: Array, size: Array, known: Known) -> tuple[Unit, str] | None:
    middle = float(np.nanmedian(raw))
    if middle > 200.0:
        return BY_NAME["K"], "by its size"
    height = _first(known, "pressure_altitude", "indicated_altitude", "gps_altitude", "altitude")
    standard = T0_K if height is None else float(standard_temperature_k(np.nanmedian(height)))
    standard += season_k(known)
    off = {name: abs(middle * BY_NAME[name].factor + BY_NAME[name].offset - standard) for name in ("°C", "°F")}
    best = "°F" if off["°F"] < off["°C"] and off["°C"] > 25.0 else "°C"
    open_ = off["°F"] < off["°C"] - 5.0 and best == "°C"
    return BY_NAME[best], "assumed" if open_ else "nearer to the usual temperature of height, place and season"


def season_k(known: Known) -> float:
    """How much warmer than standard it usually is, by latitude and month: within some 10 K. 0 where they aren't known.

    Common practice, no source: a warm equator, cold poles, and 12 K up and down with the year from 45° on.
    """
    latitude, time_s = known.columns.get("latitude"), float(np.nanmedian(known.time_s)) if known.time_s.size else 0.0
    if latitude is None or not time_s > _DATED_S or not np.isfinite(latitude).any():
        return 0.0
    place = float(np.nanmedian(latitude))
    summer = math.cos(2.0 * math.pi * (time_s / 31_556_952.0 % 1.0 - 0.55))  # of the north: the 20th of July
    return 12.0 * math.cos(2.0 * place) + 12.0 * summer * max(-1.0, min(1.0, place / (math.pi / 4.0)))


def _hot(what: Quantity, raw: Array, size: Array, known: Known) -> tuple[Unit, str] | None:
    top = float(np.percentile(size, 95))
    if what.name == "egt":
        return BY_NAME["°F" if top > 1_000.0 else "°C"], "by its size"
    return BY_NAME["°F" if top > 260.0 or not known.is_metric else "°C"], "by its size"


def of_one_engine(exhaust: Array, heads: Array) -> Unit | None:
    """The unit in which exhaust and heads are as hot as a running engine's; of two the exhaust's; None of none."""
    tops = [float(np.nanpercentile(x, 90.0)) for x in (exhaust, heads)]
    able = []
    for unit in (BY_NAME["°F"], BY_NAME["°C"]):
        hot = [x * unit.factor + unit.offset for x in tops]
        if all(low <= k <= high for k, (low, high) in zip(hot, _RUNNING_K, strict=True)):
            able.append(unit)
    return able[tops[0] <= _HOT_C] if len(able) > 1 else next(iter(able), None)


def _share(what: Quantity, raw: Array, size: Array, known: Known) -> tuple[Unit, str] | None:
    if float(size.max()) <= what.high:  # no engine idles below 2 %
        return BY_NAME["1"], "by its size"
    return None if float(np.percentile(size, 99.0)) <= _MOST_PERCENT else (BY_NAME["W"], "too large for a share")


_MOST_PERCENT = 160.0
_HOT_C = 1_000.0  # no exhaust is hotter in °C, hardly one colder in °F above idle
_RUNNING_K = ((530.0, 1_200.0), (320.0, 530.0))  # 500 to 1,700 °F, 115 to 495 °F: idling cold to full power


def _attitude(what: Quantity, raw: Array, size: Array, known: Known) -> tuple[Unit, str] | None:
    top = max(float(np.percentile(size, 99.0)), known.attitude)
    if top > math.pi / 2 + 0.01:
        power = next((k for k in range(4) if top * 10.0**-k < _MOST_HELD_DEG[k > 0]), 0)  # whole numbers, if more
        scale = 10.0**-power
        unit = Unit(f"{scale:g} deg", "angle", BY_NAME["deg"].factor * scale) if power else BY_NAME["deg"]
        return unit, "whole numbers, by their size" if power else "by its size"
    steep = float(np.percentile(size, 90.0)) > (0.5 if what.name == "pitch" else 1.1)  # no airplane is held so
    few = size.size < _FEW_ROWS and float(np.ptp(raw[np.isfinite(raw)])) < _HELD and not _flies(known)
    return (BY_NAME["deg"], "assumed" if few else "by its size") if steep or few else (BY_NAME["rad"], "by its size")


def _flies(known: Known) -> bool:
    """No hand holds an attitude to hundredths of a degree in the air."""
    speeds = [x for q, x in known.columns.items() if q in (*SPEEDS, *AIRSPEEDS)]
    places = [known.columns.get(q) for q in ("latitude", "longitude")]
    if places[0] is not None and places[1] is not None and known.time_s.size > 2:
        speeds.append(np.hypot(*velocity_mps(known.time_s, places[0], places[1], 4.0)))
    return any(np.isfinite(v).any() and float(np.nanmedian(v)) > _FLYING_MPS for v in speeds)


def _felt(what: Quantity, raw: Array, size: Array, known: Known) -> tuple[Unit, str] | None:
    return (BY_NAME["m/s²"], "by its size") if float(np.median(size)) > _MOST_FELT else None


def _setting(what: Quantity, raw: Array, size: Array, known: Known) -> tuple[Unit, str] | None:
    middle = float(np.median(size))
    for low, high, name in ((25, 32, "inHg"), (850, 1090, "hPa"), (85_000, 109_000, "Pa"), (85, 109, "kPa")):
        if low <= middle <= high:
            return BY_NAME[name], "by its size"
    if 2_500 <= middle <= 3_200:
        return Unit("0.01 inHg", "pressure", BY_NAME["inHg"].factor * 0.01), "by its size"
    return None


_MOST_FELT = 4.0  # of g, for half of a flight
_MOST_HELD_DEG = (400.0, 75.0)  # written plainly; in tenths and less, which a flown attitude hardly passes
_MOST_VARIATION_RAD = 0.6  # 34°: farther the compass is off nowhere an airplane of this kind is flown


def _variation(what: Quantity, raw: Array, size: Array, known: Known) -> tuple[Unit, str] | None:
    """Degrees where as radians nowhere is so; else as the magnetic model has it at the place."""
    top = float(np.percentile(size, 99.0))
    if top > _MOST_VARIATION_RAD:
        return (BY_NAME["deg"], "by its size") if top <= math.degrees(what.high) else None
    there = (known.columns.get("latitude"), known.columns.get("longitude"), known.time_s)
    at = [float(np.nanmedian(x)) for x in there if x is not None and np.isfinite(x).any()]
    if len(at) == len(there) and (here := variation_about_rad(at[0], at[1], at[2])) is not None:
        off = {n: abs(float(np.median(size)) * BY_NAME[n].factor - abs(here)) for n in ("deg", "rad")}
        return BY_NAME[min(off, key=off.__getitem__)], "nearer to the variation of the place"
    return BY_NAME["rad" if known.radians else "deg"], "assumed, the file names no unit"


def _by_size(what: Quantity, size: Array, known: Known) -> tuple[Unit, str]:
    """The first unit, in order of likelihood, in which nearly all values are plausible."""
    units = list(what.units)
    if known.is_metric:
        units.sort(key=lambda name: name not in _METRIC)
    top = float(np.percentile(size, 99.0))
    in_parts = float(np.mean(size != np.round(size))) > 0.5  # whole numbers are what is written in hundredths
    for power in range(1 if in_parts else 7):
        scale = 10.0**-power
        for name in units:
            unit = BY_NAME[name]
            value = top * unit.factor * scale + unit.offset
            if value <= (what.high if math.isfinite(what.high) else math.inf) and value >= (
                what.low if what.low > 0 else -math.inf
            ):
                small = (
                    what.dimension == "angle" and top <= 2.0 * math.pi + 0.01 and known.attitude <= math.pi / 2 + 0.01
                )
                if small and name == "deg" and "rad" in units:
                    unit = BY_NAME["rad"]
                label = unit.name if not power else f"{scale:g} {unit.name}"
                reason = "assumed, the file names no unit" if not power else "whole numbers, by their size"
                return Unit(label, unit.dimension, unit.factor * scale, unit.offset), reason
    return BY_NAME[units[0]], "assumed, the file names no unit"


def _first(known: Known, *names: str) -> Array | None:
    return next((known.columns[n] for n in names if n in known.columns and np.isfinite(known.columns[n]).any()), None)
