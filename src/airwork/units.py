"""Quantities at the edges: exact factors, reading "65 mph" or "FL065", writing in the user's units.

Inside airwork every number is SI (m, m/s, kg, m³, Pa, K, rad, s). Nothing but this module holds a conversion factor.
Reading text uses pint, loaded only when text has to be read.
"""

from __future__ import annotations

import math
import re
from functools import lru_cache
from typing import TYPE_CHECKING, Literal, TypeVar

from airwork.errors import UnitError

if TYPE_CHECKING:
    import numpy as np
    import pint
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
radian = [angle] = rad = radians
degree = 0.017453292519943295 * radian = deg = ° = degrees
percent = 0.01 = pct
minute = 60 * second = min = minutes
hour = 3600 * second = h = hr = hours
foot = 0.3048 * meter = ft = feet
inch = 0.0254 * meter = inches
nautical_mile = 1852 * meter = NM = nmi = nm = nautical_miles
statute_mile = 1609.344 * meter = SM = mi = mile = miles = sm = statute_miles
knot = 1852 / 3600 * meter / second = kt = kts = kn = knots = kias = kcas = ktas = keas
mph = 1609.344 / 3600 * meter / second = miles_per_hour = mias = mcas
kmh = 1000 / 3600 * meter / second = kmph = kph
fpm = 0.3048 / 60 * meter / second = feet_per_minute
pound = 0.45359237 * kilogram = lb = lbs = pounds
newton = kilogram * meter / second ** 2 = N
pascal = newton / meter ** 2 = Pa
hectopascal = 100 * pascal = hPa = mbar = mb = millibar = hpa
inhg = 3386.389 * pascal = inHg = inHG = in_hg
psi = 6894.757293168361 * pascal
bar = 100000 * pascal
mmhg = 133.322387415 * pascal = mmHg
square_foot = 0.3048 ** 2 * meter ** 2 = sqft = sq_ft = ft2 = square_feet
square_meter = meter ** 2 = sqm = qm = sq_m = m2 = square_meters = square_metre = square_metres
litre = 0.001 * meter ** 3 = l = L = liter = liters = litres = ltr
us_gallon = 0.003785411784 * meter ** 3 = gal = gallon = gallons = USG = usgal = us_gal = us_gallons
imperial_gallon = 0.00454609 * meter ** 3 = impgal = imp_gal = imperial_gallons = UK_gal = uk_gal
us_quart = 0.000946352946 * meter ** 3 = qt = quart = quarts
gph = 0.003785411784 / 3600 * meter ** 3 / second
impgph = 0.00454609 / 3600 * meter ** 3 / second = imp_gph
lph = 0.001 / 3600 * meter ** 3 / second
watt = newton * meter / second = W
kilowatt = 1000 * watt = kW = kw
horsepower = 745.6998715822702 * watt = hp = bhp
metric_horsepower = 735.49875 * watt = PS = ps = cv = ch
degree_Celsius = kelvin; offset: 273.15 = degC = °C = C = celsius = deg_c = degc
degree_Fahrenheit = 5 / 9 * kelvin; offset: 255.3722222222222 = degF = °F = F = fahrenheit = deg_f = degf
revolution = 6.283185307179586 * radian = rev
rpm = 6.283185307179586 / 60 * radian / second = rev_per_min
"""

# What each kind is measured in inside, and what a person may write, for the message.
_SI: dict[str, tuple[str, str]] = {
    "speed": ("meter / second", "kt, mph, km/h, m/s"),
    "vertical_speed": ("meter / second", "fpm, ft/min, m/s"),
    "length": ("meter", "ft, in, m, cm, mm"),
    "altitude": ("meter", "ft, m, FL065"),
    "distance": ("meter", "NM, SM, km, ft, m"),
    "mass": ("kilogram", "lb, kg"),
    "volume": ("meter ** 3", "gal, L, impgal, qt"),
    "volume_flow": ("meter ** 3 / second", "gph, gal/h, L/h"),
    "pressure": ("pascal", "inHg, hPa, QNH 1008"),
    "temperature": ("kelvin", "°C, °F, K"),
    "temperature_difference": ("kelvin", "°C, K"),
    "angle": ("radian", "deg, °, rad"),
    "power": ("watt", "hp, PS, kW"),
    "rotation": ("radian / second", "rpm"),
    "time": ("second", "s, min, h"),
    "ratio": ("", "a plain number or %"),
    "area": ("meter ** 2", "ft², sq ft, m²"),
}

_SPACES = "\u00a0\u202f "
_NUMBER = re.compile(
    rf"([+\-−]?)\s*((?:[0-9]{{1,3}}(?:[,{_SPACES}][0-9]{{3}})+|[0-9]+)(?:\.[0-9]*)?|\.[0-9]+)"
    r"([eE][+-]?[0-9]+)?\s*(.*)",
    re.DOTALL,
)
# no arithmetic reaches pint from a user's text
_UNIT_NAME = re.compile(r"(?:1/min|[A-Za-z°µ%'\"][A-Za-z°µ%'\"_/ .]{0,23}(?:²|\^?2|⁻¹|\^?-1)?)")
_LONGEST = 60  # characters; no quantity is longer, and nothing long has to be searched
_FLIGHT_LEVEL = re.compile(r"FL\s*([0-9]{2,3})", re.IGNORECASE)
_PREFIXED_PRESSURE = re.compile(r"(QNH|QFE|altimeter|A|Q)\s*=?\s*([0-9]+(?:\.[0-9]+)?)\s*(.*)", re.IGNORECASE)


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
    written = str(text).strip()
    if len(written) > _LONGEST:
        raise UnitError(f"{written[:20]!r}… is too long for {_named(kind)}.", where=where)
    if kind == "altitude" and (level := _FLIGHT_LEVEL.fullmatch(written)):
        return float(level[1]) * 100.0 * FT_M
    allowed = _SI[kind][1]
    match = _NUMBER.fullmatch(_with_unit(written, where) if kind == "pressure" else written)
    if match is None:
        raise UnitError(f"can't read {written!r} as {_named(kind)}; write a number with {allowed}.", where=where)
    if match[4][:1] in tuple("0123456789.,") and match[4] != "1/min":
        raise UnitError(
            f"can't read the number in {written!r}; write a point for decimals, commas only between thousands.",
            where=where,
        )
    digits = ("-" if match[1] in {"-", "−"} else "") + re.sub(rf"[,{_SPACES}]", "", match[2]) + (match[3] or "")
    number, name = float(digits), match[4] or default_unit
    if kind == "temperature" and name in {"C", "F"}:  # the usual way to type it
        name = f"°{name}"
    if not name and kind != "ratio":
        raise UnitError(f"{written!r} has no unit; write one of {allowed}.", where=where)
    if not name:
        value = number
    elif name in _PLAIN.get(kind, ()):  # as airwork itself writes it: no need to load pint, a third of a second
        value = from_unit(number, name)
    else:
        value = _convert(number, name, kind, written, where)
    if not math.isfinite(value):
        raise UnitError(f"{written!r} is not a finite number.", where=where)
    if kind == "temperature" and value < 0.0:
        raise UnitError(f"{written!r} is below absolute zero.", where=where)
    return value


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


_DIFFERENCE = {"c": 1.0, "k": 1.0, "f": 5.0 / 9.0}  # by the last letter: °C, degC, K, °F


def _spellings(name: str, kind: str) -> list[str]:
    """The ways to look a unit up, the exact one first; people write KT, in Hg and imp gal."""
    if kind == "rotation" and re.fullmatch(r"(?:1|rev|r|U|tr|t)?\s*/\s*mi?n|min(?:\^?-1|⁻¹)", name):
        return ["rpm"]  # 1/min, min⁻¹, U/min
    if kind == "pressure" and name.lower().replace(" ", "") in {"mmhg", "mbar", "inhg", '"hg'}:
        return [{"mmhg": "mmhg", "mbar": "hPa"}.get(name.lower().replace(" ", ""), "inhg")]
    tidy = re.sub(r"°\s*([CFcf])$", lambda m: "deg" + m[1].upper(), name)
    tidy = re.sub(r"²|\^2$", "2", tidy).replace(".", "")
    tidy = tidy.replace("°", "degree").replace("%", "percent").replace('"', "inch").replace("'", "foot")
    joined = re.sub(r"\s+", "_", tidy)
    spellings = list(dict.fromkeys(s for t in (joined, tidy) for s in (t, t.lower(), t.upper(), t.lower().title())))
    inches = "inhg" if kind == "pressure" else "inch"  # spoken "thirty-oh-five inches"
    return [inches if s.lower() in {"in", "inch", "inches"} else s.replace("km/h", "kmh") for s in spellings]


def _convert(number: float, name: str, kind: Kind, written: str, where: str) -> float:
    si, allowed = _SI[kind]
    unknown = UnitError(f"unknown unit {name!r} in {written!r}; write one of {allowed}.", where=where)
    if not _UNIT_NAME.fullmatch(name):
        raise unknown
    if kind == "temperature" and name.lower() in {"°", "deg", "degree", "degrees"}:
        raise UnitError(f"{written!r}: °C or °F?", where=where)
    difference = kind == "temperature_difference" and re.fullmatch(r"(?:°|deg)?\s*([CFKcfk])", name)
    if difference:
        return number * _DIFFERENCE[difference[1].lower()]
    import pint  # late: half a briefing's time, and the usual units don't need it

    registry = _registry()
    for spelling in _spellings(name, kind):
        try:
            return float(registry.Quantity(number, spelling).to(si).magnitude)
        except pint.DimensionalityError:
            raise UnitError(f"{written!r} is not {_named(kind)}; write one of {allowed}.", where=where) from None
        except Exception:  # pint and its tokenizer raise many kinds for a unit they can't read
            continue
    raise unknown


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
