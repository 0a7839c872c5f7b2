"""Quantities at the edges: exact factors, reading "65 mph" or "FL065", writing in the user's units.

Inside airwork every number is SI (m, m/s, kg, m³, Pa, K, rad, s). Nothing but this module holds a conversion factor.
Reading text uses pint, loaded only when text has to be read.
"""

from __future__ import annotations

import math
import re
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

from airwork.errors import UnitError

if TYPE_CHECKING:
    import pint

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
USGAL_M3 = 0.003785411784
IMPGAL_M3 = 0.00454609
LITRE_M3 = 0.001
GPH_M3PS = USGAL_M3 / 3600.0
INHG_PA = 3386.389  # conventional, mercury at 0 °C
HPA_PA = 100.0
PSI_PA = LBF_N / IN_M**2
HP_W = 550.0 * FT_M * LBF_N  # 550 ft·lbf/s
RPM_RADPS = 2.0 * math.pi / 60.0
DEG_RAD = math.pi / 180.0
ZERO_C_K = 273.15

Kind = Literal[
    "speed", "vertical_speed", "length", "altitude", "distance", "mass", "volume", "volume_flow", "pressure",
    "temperature", "temperature_difference", "angle", "power", "rotation", "time", "ratio",
]  # fmt: skip

_DEFINITIONS = """
@defaults
    group = international
    system = mks
@end
kilo- = 1e3 = k-
hecto- = 1e2 = h-
centi- = 1e-2 = c-
milli- = 1e-3 = m-
meter = [length] = m = metre = meters = metres
second = [time] = s = sec = seconds
kilogram = [mass] = kg = kilo = kilos
kelvin = [temperature]; offset: 0 = K
radian = [] = rad
degree = 0.017453292519943295 * radian = deg = °
percent = 0.01 = pct
minute = 60 * second = min = minutes
hour = 3600 * second = h = hr = hours
foot = 0.3048 * meter = ft = feet
inch = 0.0254 * meter = inches
nautical_mile = 1852 * meter = NM = nmi = nm
statute_mile = 1609.344 * meter = SM = mi = mile = miles = sm
knot = 1852 / 3600 * meter / second = kt = kts = knots = kias = kcas = ktas
mph = 1609.344 / 3600 * meter / second = MPH
kmh = 1000 / 3600 * meter / second = kmph = kph
fpm = 0.3048 / 60 * meter / second
pound = 0.45359237 * kilogram = lb = lbs = pounds
newton = kilogram * meter / second ** 2 = N
pascal = newton / meter ** 2 = Pa
hectopascal = 100 * pascal = hPa = mbar = mb = millibar
inhg = 3386.389 * pascal = inHg = inHG
psi = 6894.757293168361 * pascal
litre = 0.001 * meter ** 3 = l = L = liter = liters = litres = ltr
us_gallon = 0.003785411784 * meter ** 3 = gal = gallon = gallons = USG = usgal
imperial_gallon = 0.00454609 * meter ** 3 = impgal
us_quart = 0.000946352946 * meter ** 3 = qt = quart = quarts
gph = 0.003785411784 / 3600 * meter ** 3 / second
lph = 0.001 / 3600 * meter ** 3 / second
watt = newton * meter / second = W
horsepower = 745.6998715822702 * watt = hp
degree_Celsius = kelvin; offset: 273.15 = degC = °C = C = celsius
degree_Fahrenheit = 5 / 9 * kelvin; offset: 255.3722222222222 = degF = °F = F
revolution = 6.283185307179586 * radian = rev
rpm = 6.283185307179586 / 60 * radian / second = RPM
"""

# What each kind is measured in inside, and what a person may write, for the message.
_SI: dict[str, tuple[str, str]] = {
    "speed": ("meter / second", "kt, mph, km/h, m/s"),
    "vertical_speed": ("meter / second", "fpm, ft/min, m/s"),
    "length": ("meter", "ft, in, m"),
    "altitude": ("meter", "ft, m, FL065"),
    "distance": ("meter", "NM, SM, km, ft, m"),
    "mass": ("kilogram", "lb, kg"),
    "volume": ("meter ** 3", "gal, L, impgal, qt"),
    "volume_flow": ("meter ** 3 / second", "gph, gal/h, L/h"),
    "pressure": ("pascal", "inHg, hPa, QNH 1008"),
    "temperature": ("kelvin", "°C, °F, K"),
    "temperature_difference": ("kelvin", "°C, K"),
    "angle": ("radian", "deg, °, rad"),
    "power": ("watt", "hp, kW"),
    "rotation": ("radian / second", "rpm"),
    "time": ("second", "s, min, h"),
    "ratio": ("", "a plain number or %"),
}

_NUMBER = re.compile(r"^\s*([+\-−]?\s*(?:\d[\d,\u00a0\u202f ]*)?(?:\.\d+)?(?:[eE][+-]?\d+)?)\s*(.*?)\s*$")
_UNIT_NAME = re.compile(r"[A-Za-z°µ%'\"][A-Za-z°µ%'\"_/ ]{0,23}")  # no arithmetic reaches pint from a user's text
_FLIGHT_LEVEL = re.compile(r"^\s*FL\s*(\d{2,3})\s*$", re.IGNORECASE)
_PREFIXED_PRESSURE = re.compile(r"^\s*(QNH|QFE|altimeter|alt|A|Q)\s*=?\s*(\d+(?:\.\d+)?)\s*(\S.*)?$", re.IGNORECASE)


@lru_cache(maxsize=1)
def _registry() -> pint.UnitRegistry[float]:
    import pint  # late: costs a tenth of a second

    return pint.UnitRegistry(_DEFINITIONS.strip().splitlines(), autoconvert_offset_to_baseunit=True)


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
    >>> round(parse("FL065", "altitude"), 1)
    1981.2
    """
    unit, allowed = _SI[kind]
    written = str(text).strip()
    if kind == "altitude" and (level := _FLIGHT_LEVEL.match(written)):
        return float(level[1]) * 100.0 * FT_M
    if kind == "pressure" and (named := _PREFIXED_PRESSURE.match(written)):
        written = _named_pressure(named, where)
    match = _NUMBER.match(written)
    digits = re.sub(r"[,\s\u00a0\u202f]", "", match[1]).replace("−", "-") if match else ""
    if match is None or not re.search(r"\d", digits):
        raise UnitError(
            f"can't read {written!r} as a {kind.replace('_', ' ')}; write e.g. a number with {allowed}.", where=where
        )
    name = match[2] or default_unit
    if not math.isfinite(number := float(digits)):
        raise UnitError(f"{written!r} is not a finite number.", where=where)
    if name in _PLAIN.get(kind, ()):  # as airwork itself writes it: no need to load pint, a third of a second
        return from_unit(number, name)
    if not name and kind != "ratio":
        raise UnitError(f"{written!r} has no unit; write one of {allowed}.", where=where)
    return number if not name else _convert(number, name, unit, kind, written, allowed, where)


def _named_pressure(named: re.Match[str], where: str) -> str:
    """'QNH 1008', 'A2992' or 'altimeter 29.92' with its unit put in, which the size of the number settles."""
    number, rest = float(named[2]), named[3]
    if rest:
        return f"{named[2]} {rest}"
    if 850 <= number <= 1090:
        return f"{number} hPa"
    if 25 <= number <= 32:
        return f"{number} inHg"
    if 2500 <= number <= 3200:
        return f"{number / 100} inHg"
    raise UnitError(f"{named[0]!r} is no altimeter setting; write e.g. 29.92 inHg or QNH 1013.", where=where)


def _convert(number: float, name: str, si: str, kind: Kind, written: str, allowed: str, where: str) -> float:
    import pint

    if not _UNIT_NAME.fullmatch(name):
        raise UnitError(f"unknown unit {name!r} in {written!r}; write one of {allowed}.", where=where)
    registry = _registry()
    tidy = name.replace("°C", "degC").replace("°F", "degF").replace("°", "degree").replace("km/h", "kmh")
    tidy = tidy.replace("%", "percent").replace('"', "inch").replace("'", "foot")
    if kind == "pressure" and tidy in {"in", "inch"}:  # spoken "thirty-oh-five inches"
        tidy = "inhg"
    elif tidy == "in":
        tidy = "inch"
    if kind == "temperature" and tidy in {"degree", "deg"}:
        raise UnitError(f"{written!r}: °C or °F?", where=where)
    try:
        if kind == "temperature_difference":
            tidy = {"C": "kelvin", "degC": "kelvin"}.get(tidy, tidy)
        value = registry.Quantity(number, tidy).to(si)
    except pint.DimensionalityError:
        raise UnitError(
            f"{written!r} is not a {kind.replace('_', ' ')}; write one of {allowed}.", where=where
        ) from None
    except Exception:  # pint and its tokenizer raise many kinds for a unit they can't read
        raise UnitError(f"unknown unit {name!r} in {written!r}; write one of {allowed}.", where=where) from None
    return float(value.magnitude)


# (SI per unit, offset in SI): value_si = number * factor + offset
_WRITE: dict[str, tuple[float, float]] = {
    "kt": (KT_MPS, 0.0), "mph": (MPH_MPS, 0.0), "km/h": (KMH_MPS, 0.0), "m/s": (1.0, 0.0), "fpm": (FPM_MPS, 0.0),
    "ft": (FT_M, 0.0), "in": (IN_M, 0.0), "NM": (NM_M, 0.0), "SM": (SM_M, 0.0), "km": (1000.0, 0.0), "m": (1.0, 0.0),
    "lb": (LB_KG, 0.0), "kg": (1.0, 0.0), "gal": (USGAL_M3, 0.0), "L": (LITRE_M3, 0.0), "gph": (GPH_M3PS, 0.0),
    "L/h": (LITRE_M3 / 3600.0, 0.0), "inHg": (INHG_PA, 0.0), "hPa": (HPA_PA, 0.0), "°C": (1.0, ZERO_C_K),
    "°F": (5.0 / 9.0, ZERO_C_K - 32.0 * 5.0 / 9.0), "deg": (DEG_RAD, 0.0), "hp": (HP_W, 0.0), "kW": (1000.0, 0.0),
    "rpm": (RPM_RADPS, 0.0), "s": (1.0, 0.0), "min": (60.0, 0.0), "h": (3600.0, 0.0), "%": (0.01, 0.0),
}  # fmt: skip

# Names read without pint: those airwork writes itself, kind by kind.
_PLAIN: dict[str, frozenset[str]] = {
    kind: frozenset(names.split())
    for kind, names in {
        "speed": "kt mph km/h m/s", "vertical_speed": "fpm m/s", "length": "ft in m", "altitude": "ft m",
        "distance": "NM SM km ft m", "mass": "lb kg", "volume": "gal L", "volume_flow": "gph L/h",
        "pressure": "inHg hPa", "temperature": "°C °F", "angle": "deg", "power": "hp kW", "rotation": "rpm",
        "time": "s min h", "ratio": "%",
    }.items()
}  # fmt: skip


def to_unit(value_si: float, unit: str) -> float:
    """An SI value as a number in `unit`. KeyError for a unit airwork doesn't write.

    >>> round(to_unit(1.0, "kt"), 3)
    1.944
    """
    factor, offset = _WRITE[unit]
    return (value_si - offset) / factor


def from_unit(number: float, unit: str) -> float:
    """A number in `unit` as SI; inverse of `to_unit`."""
    factor, offset = _WRITE[unit]
    return number * factor + offset


def write(value_si: float, unit: str, digits: int = 0) -> str:
    """An SI value as a person reads it, thousands marked.

    >>> write(1981.2, "ft")
    '6,500 ft'
    """
    space = "" if unit in {"%", "°C", "°F"} else " "
    name = "°" if unit == "deg" else unit
    space = "" if unit == "deg" else space
    return f"{to_unit(value_si, unit):,.{digits}f}{space}{name}".replace("-", "−")
