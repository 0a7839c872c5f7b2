"""Quantities at the edges: exact factors, reading "65 mph" or "FL065", writing in the user's units.

Inside airwork every number is SI (m, m/s, kg, m³, Pa, K, rad, s). Nothing but this module holds a conversion factor.
How people write a unit stands in `unit_words`.
"""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING, Literal, TypeVar

from airwork.errors import UnitError
from airwork.unit_words import KINDS, meant, nearest, plain

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

Number = TypeVar("Number", float, "NDArray[np.float64]")

# Exact definitions: international foot, nautical and statute mile, avoirdupois pound, US and imperial gallon.
FT_M = 0.3048
IN_M = 0.0254
NM_M = 1852.0
SM_M = 1609.344
KT_MPS = NM_M / 3600.0
MPH_MPS = SM_M / 3600.0
KMH_MPS = 1.0 / 3.6
FPM_MPS = FT_M / 60.0
LB_KG = 0.45359237
LBF_N = 4.4482216152605
G0_MPS2 = 9.80665  # standard gravity
USGAL_M3 = 0.003785411784
IMPGAL_M3 = 0.00454609
LITRE_M3 = 0.001
GPH_M3PS = USGAL_M3 / 3600.0
INHG_PA = 3386.389  # conventional, mercury at 0 °C
HPA_PA = 100.0
PSI_PA = LBF_N / IN_M**2
HP_W = 550.0 * FT_M * LBF_N  # 550 ft·lbf/s
PS_W = 75.0 * G0_MPS2  # metric horsepower, 75 kgf·m/s
BAR_PA = 1e5
MMHG_PA = 133.322387415  # conventional, as INHG_PA
RPM_RADPS = 2.0 * math.pi / 60.0
DEG_RAD = math.pi / 180.0
ZERO_C_K = 273.15

Kind = Literal[
    "speed", "vertical_speed", "length", "altitude", "distance", "mass", "volume", "volume_flow", "pressure",
    "temperature", "temperature_difference", "angle", "power", "rotation", "time", "ratio", "area",
]  # fmt: skip

# What a person may write, for the message.
_ALLOWED: dict[str, str] = {
    "speed": "kt, mph, km/h, m/s",
    "vertical_speed": "fpm, ft/min, m/s",
    "length": "ft, in, m, cm, mm",
    "altitude": "ft, m, FL065",
    "distance": "NM, SM, km, ft, m",
    "mass": "lb, kg",
    "volume": "gal, L, impgal, qt",
    "volume_flow": "gph, gal/h, L/h",
    "pressure": "inHg, hPa, QNH 1008",
    "temperature": "°C, °F, K",
    "temperature_difference": "°C, K",
    "angle": "deg, °, rad",
    "power": "hp, PS, kW",
    "rotation": "rpm",
    "time": "s, min, h",
    "ratio": "a plain number or %",
    "area": "ft², sq ft, m²",
}

_SPACES = "\u00a0\u202f "
_NUMBER = re.compile(
    rf"([+\-−]?)\s*((?:[0-9]{{1,3}}(?:[,{_SPACES}][0-9]{{3}})+|[0-9]+)(?:\.[0-9]*)?|\.[0-9]+)"
    r"([eE][+-]?[0-9]+)?\s*(.*)",
    re.DOTALL,
)
_FRACTIONS = {"¼": 0.25, "1/4": 0.25, "½": 0.5, "1/2": 0.5, "¾": 0.75, "3/4": 0.75}
_FRACTION = re.compile(r"(?<![\d.,/])(?:(\d{1,9})(?:\s*(?=[¼½¾])|\s+(?=\d/)))?([¼½¾]|1/4|1/2|3/4)(?![\d/])")
_LONGEST = 60  # characters; no quantity is longer, and nothing long has to be searched
_FLIGHT_LEVEL = re.compile(r"FL\s*([0-9]{2,3})", re.IGNORECASE)
_PREFIXED_PRESSURE = re.compile(r"(QNH|QFE|altimeter|A|Q)\s*=?\s*([0-9]+(?:\.[0-9]+)?)\s*(.*)", re.IGNORECASE)


def parse(text: str | float, kind: Kind, *, where: str = "", default_unit: str = "") -> float:
    """A quantity a person wrote, in SI.

    Parameters
    ----------
    text : "65 mph", "29.87 inHg", "FL065", "2,150 lb", "30 °C", "QNH 1008"; a bare number takes `default_unit`.
    kind : what it must be; a unit of another dimension is refused.
    where : field or option, for the message.

    Raises
    ------
    UnitError : no number, unknown unit, wrong dimension, or no unit where one is needed.

    >>> round(parse("65 mph", "speed"), 3)
    29.058
    >>> parse("17 1/2 gal", "volume") == parse("17½ gal", "volume") == parse("17.5 gal", "volume")
    True
    >>> round(parse("FL065", "altitude"), 1)
    1981.2
    """
    written = str(text).strip()
    if len(written) > _LONGEST:
        raise UnitError(f"{written[:20]!r}… is too long for {_named(kind)}.", where=where)
    if kind == "altitude" and (level := _FLIGHT_LEVEL.fullmatch(written)):
        return float(level[1]) * 100.0 * FT_M
    allowed = _ALLOWED[kind]
    plain = halves_as_decimals(written)
    match = _NUMBER.fullmatch(_with_unit(plain, where) if kind == "pressure" else plain)
    if match is None:
        raise UnitError(f"can't read {written!r} as {_named(kind)}; write a number with {allowed}.", where=where)
    if match[4][:1] in tuple("0123456789.,") and not match[4].startswith("1/"):
        raise UnitError(
            f"can't read the number in {written!r}; write a point for decimals, commas only between thousands.",
            where=where,
        )
    digits = ("-" if match[1] in {"-", "−"} else "") + re.sub(rf"[,{_SPACES}]", "", match[2]) + (match[3] or "")
    number, name = float(digits), match[4] or default_unit
    if not name and kind != "ratio":
        raise UnitError(f"{written!r} has no unit; write one of {allowed}.", where=where)
    value = _in_si(number, name, kind, written, where) if name else number
    if not math.isfinite(value):
        raise UnitError(f"{written!r} is not a finite number.", where=where)
    if kind == "temperature" and value < 0.0:
        raise UnitError(f"{written!r} is below absolute zero.", where=where)
    return value


def halves_as_decimals(text: str) -> str:
    """A dipstick's quarters and halves as decimals: "17 1/2" is "17.5"; the rest as it stands."""
    return _FRACTION.sub(lambda m: str(int(m[1] or 0) + _FRACTIONS[m[2]]), text)


def _named(kind: str) -> str:
    return f"{'an' if kind[0] in 'aeiou' else 'a'} {kind.replace('_', ' ')}"


def _with_unit(written: str, where: str) -> str:
    """'QNH 1008', 'A2992' or 'altimeter 29.92' with its unit put in, which the size of the number settles."""
    named = _PREFIXED_PRESSURE.fullmatch(written)
    if named is None:
        return written
    number, rest = float(named[2]), named[3]
    if rest:
        return f"{named[2]} {rest}"
    if 850 <= number <= 1090:
        return f"{named[2]} hPa"
    if 25 <= number <= 32:
        return f"{named[2]} inHg"
    if 2500 <= number <= 3200:
        return f"{number / 100} inHg"
    raise UnitError(f"{written!r} is no altimeter setting; write e.g. 29.92 inHg or QNH 1013.", where=where)


def _in_si(number: float, name: str, kind: Kind, written: str, where: str) -> float:
    if (unit := meant(name, kind)) is not None:
        return number * _WRITE[unit][0] if kind == "temperature_difference" else from_unit(number, unit)
    if kind == "temperature" and plain(name) in {"°", "deg", "degree", "degrees"}:
        raise UnitError(f"{written!r}: °C or °F?", where=where)
    allowed, near = _ALLOWED[kind], nearest(name, kind)
    if any(meant(name, other) for other in KINDS):
        raise UnitError(f"{written!r} is not {_named(kind)}; write one of {allowed}.", where=where)
    guess = f" did you mean {near}? Or" if near else ""
    raise UnitError(f"unknown unit {name!r} in {written!r};{guess} write one of {allowed}.", where=where)


# (SI per unit, offset in SI): value_si = number * factor + offset
_WRITE: dict[str, tuple[float, float]] = {
    "kt": (KT_MPS, 0.0), "mph": (MPH_MPS, 0.0), "km/h": (KMH_MPS, 0.0), "m/s": (1.0, 0.0), "fpm": (FPM_MPS, 0.0),
    "ft": (FT_M, 0.0), "in": (IN_M, 0.0), "NM": (NM_M, 0.0), "SM": (SM_M, 0.0), "km": (1000.0, 0.0), "m": (1.0, 0.0),
    "lb": (LB_KG, 0.0), "kg": (1.0, 0.0), "gal": (USGAL_M3, 0.0), "L": (LITRE_M3, 0.0), "gph": (GPH_M3PS, 0.0),
    "L/h": (LITRE_M3 / 3600.0, 0.0), "inHg": (INHG_PA, 0.0), "hPa": (HPA_PA, 0.0), "°C": (1.0, ZERO_C_K),
    "°F": (5.0 / 9.0, ZERO_C_K - 32.0 * 5.0 / 9.0), "deg": (DEG_RAD, 0.0), "hp": (HP_W, 0.0), "kW": (1000.0, 0.0),
    "rpm": (RPM_RADPS, 0.0), "psi": (PSI_PA, 0.0), "impgal": (IMPGAL_M3, 0.0), "qt": (USGAL_M3 / 4.0, 0.0),
    "s": (1.0, 0.0), "min": (60.0, 0.0), "h": (3600.0, 0.0), "%": (0.01, 0.0), "cm": (0.01, 0.0), "mm": (0.001, 0.0),
    "PS": (PS_W, 0.0), "bar": (BAR_PA, 0.0), "mmHg": (MMHG_PA, 0.0), "ft²": (FT_M**2, 0.0), "m²": (1.0, 0.0),
    "impgal/h": (IMPGAL_M3 / 3600.0, 0.0), "kPa": (1000.0, 0.0),
    # read, never written
    "yd": (3.0 * FT_M, 0.0), "at": (G0_MPS2 * 1e4, 0.0), "cmHg": (10.0 * MMHG_PA, 0.0), "Pa": (1.0, 0.0),
    "m/min": (1.0 / 60.0, 0.0), "ft/s": (FT_M, 0.0), "L/min": (LITRE_M3 / 60.0, 0.0), "W": (1.0, 0.0), "K": (1.0, 0.0),
    "rad": (1.0, 0.0),
}  # fmt: skip


def to_unit(value_si: Number, unit: str) -> Number:
    """An SI value (or array) as a number in `unit`. KeyError for a unit airwork doesn't write.

    >>> round(to_unit(1.0, "kt"), 3)
    1.944
    """
    factor, offset = _WRITE[unit]
    return (value_si - offset) / factor


def from_unit(number: Number, unit: str) -> Number:
    """A number (or array) in `unit` as SI; inverse of `to_unit`."""
    factor, offset = _WRITE[unit]
    return number * factor + offset


def clock(seconds: float) -> str:
    """Minutes and seconds from the start of a recording.

    >>> clock(1597.6)
    '26:38'
    """
    whole = round(max(seconds, 0.0))
    return f"{whole // 60}:{whole % 60:02d}"


def write(value_si: float, unit: str, digits: int = 0) -> str:
    """An SI value as a person reads it, thousands marked.

    >>> write(1981.2, "ft")
    '6,500 ft'
    """
    name, space = ("°", "") if unit == "deg" else (unit, "" if unit in {"%", "°C", "°F"} else " ")
    number = f"{to_unit(value_si, unit):,.{digits}f}"
    if not re.search(r"[1-9]", number):
        number = number.lstrip("-")  # nobody reads "−0 ft"
    return f"{number}{space}{name}".replace("-", "−")
