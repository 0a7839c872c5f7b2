"""Unit words as recorders write them: text → dimension, and number → SI. Factors come from `units.py` alone."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from zoneinfo import available_timezones

from airwork import units as u
from airwork.airdata.atmosphere import G0_MPS2
from airwork.unit_words import KINDS, meant, plain

_RANKINE_K = 5.0 / 9.0


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit of one dimension: value_si = number · factor + offset."""

    name: str
    dimension: str
    factor: float = 1.0
    offset: float = 0.0


# name, dimension, factor, offset, spellings beside those of books (`plain`; "/" is also tried left out)
_TABLE: tuple[tuple[str, str, float, float, str], ...] = (
    ("rad", "angle", 1.0, 0.0, "rad radian radians"),
    ("deg", "angle", u.DEG_RAD, 0.0, "degt degm degtrue degmag dd decimaldegrees"),
    ("gon", "angle", math.pi / 200.0, 0.0, "gon gons"),
    ("arcmin", "angle", u.DEG_RAD / 60.0, 0.0, "arcmin arcminutes"),
    ("arcsec", "angle", u.DEG_RAD / 3_600.0, 0.0, "arcsec arcsecs arcseconds"),
    ("mil", "angle", math.pi / 3_200.0, 0.0, "mil mils"),  # 6,400 to a turn
    ("semicircles", "angle", math.pi / 2.0**31, 0.0, "semicircles semicircle"),
    ("kt", "speed", u.KT_MPS, 0.0, "nm/h"),
    ("mph", "speed", u.MPH_MPS, 0.0, "mi/h mi/hr"),
    ("km/h", "speed", u.KMH_MPS, 0.0, "km/h km/hr"),
    ("m/s", "speed", 1.0, 0.0, "m/s m/sec mps meters/second metres/second meterspersecond metrespersecond"),
    ("ft/s", "speed", u.FT_M, 0.0, "ft/s ft/sec fps feet/second feetpersecond"),
    ("fpm", "speed", u.FPM_MPS, 0.0, "fpm ft/min ft/mn ft/m feet/min feet/minute feetperminute"),
    ("m/min", "speed", 1.0 / 60.0, 0.0, "m/min"),
    ("cm/s", "speed", 0.01, 0.0, "cm/s cmps"),
    ("dm/s", "speed", 0.1, 0.0, "dm/s dmps"),
    ("mm/s", "speed", 0.001, 0.0, "mm/s mmps"),
    ("ft", "length", u.FT_M, 0.0, "ftmsl ftagl ftbaro ftwgs ftgps"),
    ("m", "length", 1.0, 0.0, ""),
    ("cm", "length", 0.01, 0.0, ""),
    ("dm", "length", 0.1, 0.0, "dm"),
    ("mm", "length", 0.001, 0.0, ""),
    ("km", "length", 1000.0, 0.0, ""),
    ("FL", "length", 100.0 * u.FT_M, 0.0, "fl hft hundredft hundredsft hundredfeet hundredsoffeet"),
    ("inHg", "pressure", u.INHG_PA, 0.0, "inmercury hg"),
    ("hPa", "pressure", u.HPA_PA, 0.0, ""),
    ("Pa", "pressure", 1.0, 0.0, ""),
    ("kPa", "pressure", 1000.0, 0.0, ""),
    ("psi", "pressure", u.PSI_PA, 0.0, "psia"),
    ("psf", "pressure", u.LBF_N / u.FT_M**2, 0.0, "psf lb/ft2 lbs/ft2"),
    ("bar", "pressure", 1e5, 0.0, ""),
    ("mmHg", "pressure", u.MMHG_PA, 0.0, ""),
    ("°C", "temperature", 1.0, u.ZERO_C_K, "degcelsius"),
    ("°F", "temperature", _RANKINE_K, u.ZERO_C_K - 32.0 * _RANKINE_K, ""),
    ("K", "temperature", 1.0, 0.0, "degk"),
    ("°R", "temperature", _RANKINE_K, 0.0, "r rankine degr"),
    ("gal", "volume", u.USGAL_M3, 0.0, ""),
    ("L", "volume", u.LITRE_M3, 0.0, ""),
    ("impgal", "volume", u.IMPGAL_M3, 0.0, ""),
    ("lb", "mass", u.LB_KG, 0.0, ""),
    ("kg", "mass", 1.0, 0.0, ""),
    ("gph", "volume_flow", u.GPH_M3PS, 0.0, ""),
    ("L/h", "volume_flow", u.LITRE_M3 / 3600.0, 0.0, ""),
    ("lb/h", "mass_flow", u.LB_KG / 3600.0, 0.0, "pph lbph lb/h lb/hr lbs/hr lbs/h"),
    ("lb/s", "mass_flow", u.LB_KG, 0.0, "pps lb/s lbs/s lbs/sec"),
    ("kg/h", "mass_flow", 1.0 / 3600.0, 0.0, "kg/h kg/hr kgh"),
    ("kg/s", "mass_flow", 1.0, 0.0, "kg/s kgps"),
    ("mL/h", "volume_flow", u.LITRE_M3 / 3.6e6, 0.0, "ml/h"),
    ("L/min", "volume_flow", u.LITRE_M3 / 60.0, 0.0, "l/min lpm"),
    ("gal/min", "volume_flow", u.USGAL_M3 / 60.0, 0.0, "gal/min gpm"),
    ("g/s", "mass_flow", 1e-3, 0.0, "g/s"),
    ("rpm", "rotation", 1.0, 0.0, ""),
    ("60 rpm", "rotation", 60.0, 0.0, "rps rev/s"),
    ("rad/s", "rate", 1.0, 0.0, "rad/s rad/sec radps rads rps radpersec"),
    ("deg/s", "rate", u.DEG_RAD, 0.0, "deg/s deg/sec degps °/s dps degs"),
    ("deg/min", "rate", u.DEG_RAD / 60.0, 0.0, "deg/min °/min"),
    ("g", "acceleration", G0_MPS2, 0.0, "g gs"),
    ("m/s²", "acceleration", 1.0, 0.0, "m/s2 m/s^2 m/s² mps2 m/s/s m/sec2 m/sec^2 meters/second2"),
    ("ft/s²", "acceleration", u.FT_M, 0.0, "ft/s2 ft/s^2 ft/s² fps2 ft/sec2 ft/sec^2"),
    ("%", "ratio", 0.01, 0.0, ""),
    ("1", "ratio", 1.0, 0.0, "norm ratio fraction"),
    ("hp", "power", u.HP_W, 0.0, ""),
    ("kW", "power", 1000.0, 0.0, ""),
    ("W", "power", 1.0, 0.0, "watt watts"),
    ("s", "time", 1.0, 0.0, "s sec secs second seconds"),
    ("ds", "time", 0.1, 0.0, "ds"),
    ("ms", "time", 1e-3, 0.0, "ms msec millisecond milliseconds millis"),
    ("µs", "time", 1e-6, 0.0, "us usec µs microsecond microseconds micros"),
    ("min", "time", 60.0, 0.0, "min mins minute minutes"),
    ("h", "time", 3600.0, 0.0, "h hr hrs hour hours"),
    ("V", "electric", 1.0, 0.0, "v volt volts"),
    ("A", "electric", 1.0, 0.0, "a amp amps ampere"),
    ("code", "code", 1.0, 0.0, "bool boolean 0/1 flag enum discrete code count # index"),
)  # fmt: skip


# Prefixes that recorders of whole numbers set before a unit, and the units they do so with (°C: cC, cdegC).
_PREFIXES = (("d deci", 0.1), ("c centi", 0.01), ("m milli", 0.001))
_PREFIXED = {"deg": "deg degree degrees d", "rad": "rad radian radians", "°C": "c degc celsius", "bar": "bar",
             "rad/s": "rad/s rads radps", "deg/s": "deg/s degs degps dps", "g": "gee g", "m/s²": "m/s2 mps2",
             "s": "s sec"}  # fmt: skip
_ANOTHER = frozenset(["cg", "dg", "cs", "md"])  # words of their own: center of gravity, directional gyro


def _prefixed() -> Iterator[tuple[str, Unit]]:
    rows = {row[0]: row for row in _TABLE}
    for letters, scale in _PREFIXES:
        for name, words in _PREFIXED.items():
            _, dimension, factor, offset, _ = rows[name]
            unit = Unit(f"{scale:g} {name}", dimension, factor * scale, offset)
            forms = (p + form for w in words.split() for form in (w, w.replace("/", "")) for p in letters.split())
            yield from ((form, unit) for form in forms if form not in _ANOTHER)


def _spellings() -> dict[str, tuple[Unit, ...]]:
    out: dict[str, tuple[Unit, ...]] = {}
    for name, dimension, factor, offset, words in _TABLE:
        unit = Unit(name, dimension, factor, offset)
        books = KINDS[dimension].get(name, "") if dimension != "time" and dimension in KINDS else ""
        for word in dict.fromkeys(map(plain, f"{words} {books}".split())):
            for form in {word, word.replace("/", ""), word.replace("/", "per")}:
                out[form] = tuple(dict.fromkeys((*out.get(form, ()), unit)))
    return {word: (unit,) for word, unit in _prefixed()} | out


SPELLINGS = _spellings()
BY_NAME: dict[str, Unit] = {row[0]: Unit(row[0], row[1], row[2], row[3]) for row in _TABLE}
# Recorders that store whole numbers multiply first: "deg*1e7", "1e-7 deg", "knots x1000". "E1 RPM" is engine 1's.
_SCALED = re.compile(r"(?i)^(?:[x×*]? ?(?P<a>(?:1e[+-]?|e[+-])\d+|10\^-?\d+|0\.0*1|\d+)\s*[*x× ]?\s*)?"
                     r"(?P<u>[^\d*x×].*?)(?:\s*[*x×/ ]\s*(?P<b>1?e[+-]?\d+|10\^-?\d+|10+))?$")  # fmt: skip


def read_units(text: str) -> tuple[Unit, ...]:
    """Units a piece of text may mean, none when it is no unit.

    >>> [unit.name for unit in read_units("[deg C]")]
    ['°C']
    >>> read_units("1e-7 deg")[0].factor == 1e-7 * BY_NAME["deg"].factor
    True
    """
    tidy = plain(re.sub(r"[\[\]{}]+", "", text.strip()))
    if not tidy or len(tidy) > 24:
        return ()
    if found := SPELLINGS.get(tidy):
        return found
    if "/" in tidy and (word := meant(tidy, "speed") or meant(tidy, "volume_flow")) in BY_NAME:
        return (BY_NAME[word],)
    match = _SCALED.match(text.strip(" []{}()").lower())
    if match is None or not (match["a"] or match["b"]):
        return ()
    base = SPELLINGS.get(plain(match["u"]), ())
    scale = _power(match["a"]) if match["a"] else 1.0 / (_power(match["b"]) or math.inf)
    if not 1e-12 < scale < 1e12:
        return ()
    return tuple(Unit(f"{scale:g} {b.name}", b.dimension, b.factor * scale, b.offset) for b in base)


def _power(text: str) -> float:
    if text.startswith("10^"):
        return 10.0 ** float(text[3:])
    number = float(text if text[0].isdigit() else f"1{text}")
    return number if math.isfinite(number) and number > 0 else 0.0


def named(name: str) -> Unit | None:
    """The unit of a name as airwork writes it ("kt", "0.001 kt"), as a mapping file holds it."""
    if name in BY_NAME:
        return BY_NAME[name]
    if re.fullmatch(r"UTC(?: ?[+−-]\d{1,2}(?::?\d\d)?)?", name) or ("/" in name and name in available_timezones()):
        return Unit(name, "clock")
    scale, _, base = name.partition(" ")
    if base in BY_NAME:
        try:
            factor = float(scale)
        except ValueError:
            return None
        if math.isfinite(factor) and factor > 0:
            unit = BY_NAME[base]
            return Unit(name, unit.dimension, unit.factor * factor, unit.offset)
    found = read_units(name)
    return found[0] if found else None
