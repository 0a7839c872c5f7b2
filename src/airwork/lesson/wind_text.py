"""Winds as people type them and as reports print them, read into SI: the one reader for files, commands and pages.

What airwork prints ("240° 11 gusting 17 kt") is read back as it stands.
"""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from airwork import units
from airwork.airdata.angles import wrap_positive_rad
from airwork.errors import UnitError
from airwork.lesson.weather import Aloft, Wind

HOW = '"240° 11 gusting 17 kt", "24011G17KT", "240/11" or "calm" (true; "240M/11" for magnetic)'
HOW_ALOFT = '"6,000 ft 250/18 kt 12 °C"'
_UNITS = {"": "kt", "kt": "kt", "kts": "kt", "knots": "kt", "mph": "mph", "km/h": "km/h", "kmh": "km/h", "m/s": "m/s",
          "mps": "m/s"}  # fmt: skip
_NUMBER = r"\d{1,3}(?:\.\d+)?"
_REPORT = re.compile(
    r"(?P<dir>\d{3}|VRB)(?P<speed>\d{2,3})(?:G(?P<gust>\d{2,3}))?(?P<unit>KT|MPS|KMH)?"
    r"(?:\s+(?P<low>\d{3})V(?P<high>\d{3}))?",
    re.IGNORECASE,
)
_TYPED = re.compile(
    r"(?:from\s+)?(?P<dir>\d{1,3}|VRB|variable)\s*(?:°|deg(?:rees)?)?\s*(?P<ref>T(?:rue)?\b|M(?:ag(?:netic)?)?\b)?\s*"
    rf"(?:/|at|@|,|\s)\s*(?P<speed>{_NUMBER})\s*(?P<unit1>kts?|knots|mph|km/?h|m/s|mps)?"
    rf"(?:\s*,?\s*(?:G|gust(?:ing|s)?(?:\s*to)?)\s*(?P<gust>{_NUMBER}))?\s*(?P<unit>kts?|knots|mph|km/?h|m/s|mps)?",
    re.IGNORECASE,
)


def parse_wind(text: object, *, where: str = "") -> Wind:
    """A surface wind as written; a bare number is knots, as in every report.

    Raises
    ------
    UnitError : what can't be read, with what to write instead.

    >>> w = parse_wind("240° 11 gusting 17 kt")
    >>> round(w.speed_mps / units.KT_MPS), round(w.gust_mps / units.KT_MPS)
    (11, 17)
    >>> parse_wind("27008KT") == parse_wind("270/08") == parse_wind("270 8")
    True
    """
    written = " ".join(str(text).split())
    if written.lower() in {"calm", "0", "00000kt", "00000", "00000mps"}:
        return Wind(None, 0.0)
    found = _REPORT.fullmatch(written) or _TYPED.fullmatch(written) if len(written) <= 60 else None
    if not isinstance(text, (str, int)) or isinstance(text, bool) or found is None:
        raise UnitError(f"can't read the wind {written[:40]!r}; write {HOW}.", where=where)
    parts = found.groupdict()
    unit = _UNITS[(parts["unit"] or parts.get("unit1") or "").lower()]
    speed = units.from_unit(float(parts["speed"]), unit)
    gust = None if parts["gust"] is None else units.from_unit(float(parts["gust"]), unit)
    if gust is not None and gust < speed:
        raise UnitError(f"the gust in {written!r} is below the wind; write {HOW}.", where=where)
    if max(speed, gust or 0.0) > 100.0:
        raise UnitError(f"{written!r} can't be right; write {HOW}.", where=where)
    low, high = (_direction(parts.get(name), written, where) for name in ("low", "high"))
    direction = _direction(parts["dir"], written, where)
    if speed == 0.0 and gust is None:
        direction = None
    magnetic = (parts.get("ref") or "").upper().startswith("M")
    return Wind(direction, speed, gust, low, high, magnetic=magnetic and direction is not None)


def _direction(digits: str | None, written: str, where: str) -> float | None:
    if digits is None or digits.isalpha():
        return None
    if float(digits) > 360.0:
        raise UnitError(f"{float(digits):.0f} in {written!r} is no direction (000 to 360).", where=where)
    return float(wrap_positive_rad(math.radians(float(digits))))


_ALOFT = re.compile(
    r"(?P<alt>FL\s*\d{2,3}|[\d,. ]+?\s*(?:ft|m)|\d{1,2},?\d{3}|\d{3,5})\s*[:,]?\s+(?P<wind>.+?)"
    r"(?:\s+(?P<temp>[+\-−M]?\s*\d{1,2}(?:\.\d+)?)\s*(?P<unit>°?\s*[CF])?)?",
    re.IGNORECASE,
)
_GROUP = re.compile(r"(?P<dir>\d{2})(?P<speed>\d{2})(?P<temp>[+-]?\d{2})?")
_LEVELS = re.compile(r"^\s*FT\s+((?:\d{4,5}\s*)+)$", re.MULTILINE)


def parse_aloft(text: object) -> Aloft:
    """One wind aloft as written: "6,000 ft 250/18 kt 12 °C", "6000 2518+12"; the temperature may be left out."""
    written = " ".join(str(text).split())
    wrong = UnitError(f"can't read the wind aloft {written[:60]!r}; write {HOW_ALOFT}.")
    match = _ALOFT.fullmatch(written) if isinstance(text, str) and len(written) <= 80 else None
    if match is None:
        raise wrong
    try:
        altitude = units.parse(match["alt"], "altitude", default_unit="ft")
    except UnitError:
        raise wrong from None
    if not -500.0 <= altitude <= 20_000.0:
        raise wrong
    if group := _GROUP.fullmatch(match["wind"]):
        return _group(altitude, group, None if group["temp"] else match["temp"])
    wind = parse_wind(match["wind"])
    if match["temp"] is None:
        return Aloft(altitude, wind)
    number = match["temp"].replace("M", "-").replace(" ", "")
    unit = "°F" if (match["unit"] or "").strip("° ").upper() == "F" else "°C"
    kelvin = units.parse(f"{number} {unit}", "temperature")
    if not 200.0 <= kelvin <= 335.0:
        raise wrong
    return Aloft(altitude, wind, kelvin)


def _group(altitude_m: float, group: re.Match[str], apart: str | None = None) -> Aloft:
    """A group of the winds-aloft forecast: direction in tens, speed, temperature; 9900 is light and variable."""
    tens, speed = int(group["dir"]), int(group["speed"])
    if tens > 50:  # 100 kt and more: 50 is added to the direction
        tens, speed = tens - 50, speed + 100
    temp = group["temp"] or apart
    # above 24,000 ft the minus sign is left out
    minus = temp is not None and temp[0] not in "+-−" and altitude_m > 24_000.0 * units.FT_M
    kelvin = None if temp is None else units.ZERO_C_K + (-1.0 if minus else 1.0) * float(temp.replace("−", "-"))
    calm = group["dir"] == "99"
    if not calm and not 0 < tens <= 36:
        raise UnitError(f"{group[0]!r} is no group of a winds-aloft forecast: direction in tens, speed, temperature.")
    wind = Wind(None, 2.0 * units.KT_MPS) if calm else Wind(float(tens) * 10.0 * units.DEG_RAD, speed * units.KT_MPS)
    return Aloft(altitude_m, wind, kelvin)


def parse_aloft_forecast(text: str, stations: Sequence[str] = ()) -> tuple[Aloft, ...]:
    """A winds-aloft forecast as pasted: the line of levels ("FT 3000 6000 …") and a station's line.

    The lowest levels are left out near high ground, so a station's groups belong to the highest levels printed.

    Parameters
    ----------
    stations : identifiers to look for where several lines were pasted ("KOGA" finds OGA).

    Raises
    ------
    UnitError : no line of levels, no station's line, or several and none of `stations`.
    """
    head = _LEVELS.search(text.upper())
    if head is None:
        raise UnitError(
            f"no line of levels ('FT 3000 6000 9000') in the winds aloft; paste it too, or write {HOW_ALOFT}."
        )
    levels = [int(level) for level in head[1].split()]
    found: dict[str, list[str]] = {}
    for line in text.upper()[head.end() :].splitlines():
        words = line.split()
        if len(words) >= 2 and re.fullmatch(r"[A-Z0-9]{3,4}", words[0]) and all(map(_GROUP.fullmatch, words[1:])):
            found[words[0]] = words[1:]
    wanted = {s.upper().removeprefix("K") for s in stations}
    lines = {name: groups for name, groups in found.items() if len(found) == 1 or name.removeprefix("K") in wanted}
    if len(lines) != 1:
        names = ", ".join(found) or "none"
        raise UnitError(f"which station's winds aloft? Paste one line below the levels (found: {names}).")
    ((name, groups),) = lines.items()
    if len(groups) > len(levels):
        raise UnitError(f"the winds aloft of {name} have more groups than levels.")
    matched = zip(levels[len(levels) - len(groups) :], groups, strict=True)
    return tuple(_group(level * units.FT_M, m) for level, group in matched if (m := _GROUP.fullmatch(group)))
