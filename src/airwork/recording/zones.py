"""How far clocks are ahead of UTC: offsets of any form, zones by their letters (MDT) or their place (Europe/Paris)."""

from __future__ import annotations

import math
import re
from collections import Counter
from datetime import UTC, datetime
from functools import cache
from zoneinfo import ZoneInfo, available_timezones

import numpy as np
import polars as pl

from airwork.airdata.geodesy import zone_at as rules_at
from airwork.recording.recorded import Array

ZONES_H: dict[str, float] = {
            "UTC": 0, "GMT": 0, "WET": 0, "BST": 1, "CET": 1, "CEST": 2, "EET": 2, "EEST": 3, "EST": -5, "EDT": -4,
            "CST": -6, "CDT": -5, "MST": -7, "MDT": -6, "PST": -8, "PDT": -7, "AKST": -9, "AKDT": -8, "HST": -10,
            "Z": 0, "MEZ": 1, "MESZ": 2, "AEST": 10, "AEDT": 11, "ACST": 9.5, "ACDT": 10.5, "AWST": 8,
            "NZST": 12, "NZDT": 13, "JST": 9, "SAST": 2, "BRT": -3, "ART": -3, "CLT": -4, "SGT": 8, "HKT": 8, "KST": 9,
            "MSK": 3, "HAE": -4, "HNE": -5, "HAC": -5, "HNC": -6, "HAR": -6, "HNR": -7, "HAP": -7, "HNP": -8, "HAA": -3,
            "HNA": -4, "EAT": 3, "WAT": 1, "CAT": 2, "PKT": 5, "NPT": 5.75, "ADT": -3, "NDT": -2.5}  # fmt: skip
_SEVERAL_H = {"IST": (5.5, 2.0, 1.0), "CST": (-6.0, 8.0), "BST": (1.0, 6.0), "AST": (-4.0, 3.0)}
LANGUAGES = ("en", "de", "fr", "es", "it", "pt", "nl", "sv", "nb", "da", "fi", "pl", "cs", "ja", "tr", "hu", "ro",
             "el", "ru", "uk", "ko", "zh", "hr", "sk", "sl", "et", "lv", "lt", "ca", "is")  # fmt: skip
UTC_WORDS = frozenset(["utc", "gmt", "zulu", "zul", "z", "universal", "gps"])  # beside an offset others are local
_FURTHEST_S, _TURN_S, _ZONES_DEG = 14.0 * 3_600.0, 240.0, 45.0  # of a degree; zones are drawn by people


def offsets(column: pl.Series, longitude_deg: float = math.nan, at_s: float = math.nan) -> Array:
    """Offsets from UTC ("-06:00", "+2", "MDT", "Europe/Paris", numbers), in seconds; NaN where none.

    Parameters
    ----------
    longitude_deg : of the flight: what a number counts (hours, hours and minutes, minutes, seconds) is nearest to it.
    at_s : a moment of the flight, for zones that change in summer.
    """
    if column.dtype != pl.String:
        values = column.cast(pl.Float64, strict=False).to_numpy().astype(np.float64)
        known = values[np.isfinite(values)]
        if not known.size:
            return values
        hundreds = np.sign(values) * (np.floor(np.abs(values) / 100.0) * 3_600.0 + np.abs(values) % 100.0 * 60.0)
        ways = [values * 3_600.0, hundreds, values * 60.0, values]
        by_size = 0 if abs(known[0]) <= 14.5 else 1 if known[0] % 100.0 == 0.0 and abs(known[0]) != 300.0 else 2
        by_size = 3 if abs(known[0]) >= 3_600.0 else by_size
        able = {
            k: 0.0 if math.isnan(longitude_deg) else abs(float(np.nanmedian(way)) / _TURN_S - longitude_deg)
            for k, way in enumerate(ways)
            if np.nanmax(np.abs(way)) <= _FURTHEST_S and (k != 1 or np.all(np.abs(known) % 100.0 < 60.0))
        }
        near = [k for k, off in able.items() if off < min(able.values()) + _ZONES_DEG]
        best = by_size if by_size in near else min(near, key=able.__getitem__, default=-1)
        return ways[best] if best >= 0 else np.full(values.shape, np.nan)
    seen = {text: named_zone_s(str(text), at_s) for text in column.unique().to_list()[:200]}
    return np.array([seen.get(text, np.nan) for text in column.to_list()])


def zone_offsets(column: pl.Series, local_s: Array) -> Array | None:
    """Offsets from UTC where a column names one zone throughout; the hour that comes twice is told by the rows' order.

    Parameters
    ----------
    local_s : what the clock there says, row by row, as seconds since 1970.
    """
    name = str(column[0]).strip() if len(column) else ""
    if not math.isfinite(_named_zone(name, 0.0)) or "/" not in name or column.n_unique() > 1:
        return None
    zone = ZoneInfo(name)
    later = np.concatenate(([0], np.cumsum(np.diff(np.nan_to_num(local_s)) < -1_000.0))) > 0
    quarter = np.floor(local_s / 900.0)
    found = {
        (q, f): zone.utcoffset(datetime.fromtimestamp(q * 900.0, UTC).replace(tzinfo=zone, fold=f))
        for q in np.unique(quarter[np.isfinite(quarter)])[:4_000].tolist()
        for f in (0, 1)
    }
    known = {key: gone.total_seconds() for key, gone in found.items() if gone is not None}
    pairs = zip(quarter.tolist(), later.astype(int).tolist(), strict=True)
    return np.array([known.get(pair, np.nan) for pair in pairs])


Place = tuple[float, float]  # latitude, longitude [deg]; NaN where not known
NOWHERE: Place = (math.nan, math.nan)


def zone_at(place: Place, at_s: float) -> tuple[str, float]:
    """(name, how far ahead of UTC [s]) of the zone that rules at a place; ("", NaN) where place or day isn't known."""
    if not all(map(math.isfinite, (*place, at_s))):
        return "", math.nan
    name = rules_at(*(math.radians(degrees) for degrees in place))
    return name, _named_zone(name, at_s)


def zone_of_name(name: str, at_s: float, place: Place = NOWHERE) -> float:
    """How far the zone that a text tells is ahead of UTC (Uhrzeit (MESZ), horário de Brasília, UTC+2); NaN if none. [s]

    place : of the flight: letters and names of far zones are other words (EST. 1998), and what is only called local
    (heure légale, Ortszeit) is the time that rules there.

    >>> here = (-23.5, -47.0)
    >>> [zone_of_name(x, 1.78e9, here) / 3600 for x in ("horário de Brasília", "BEST LIST", "hora local")]
    [-3.0, nan, -3.0]
    """
    for told in (_ahead_said, _value_said, _path_said, _letters_said, _place_said, _words_said):
        if (ahead := told(name, at_s, place)) is not None:
            return ahead
    return zone_at(place, at_s)[1] if LOCAL.search(name) else math.nan


def _ahead_said(name: str, at_s: float, _: Place) -> float | None:
    """UTC+2, GMT, Z."""
    if (said := _AHEAD.search(name)) is None:
        return None
    return 0.0 if said[5] else named_zone_s(next(x for x in said.groups() if x).replace(" ", ""), at_s)


def _value_said(name: str, at_s: float, place: Place) -> float | None:
    """A zone named as one, and its value behind it."""
    if (said := _ZONE_SAID.search(name)) is not None and "utm" not in name.lower():
        value = said[1].strip(' "')
        number = re.fullmatch(r"[+-]?\d+(?:\.\d+)?", value)
        column = pl.Series([float(value)] if number else [value])
        ahead = float(offsets(column, place[1], at_s)[0])
        if math.isfinite(ahead) and abs(ahead) <= _FURTHEST_S and ahead % 900.0 == 0.0:
            return ahead
    return None


def _path_said(name: str, at_s: float, _: Place) -> float | None:
    """Europe/Berlin."""
    for path in re.findall(r"\b[A-Z][a-z]+(?:/[A-Z][A-Za-z_]+)+", name):
        if math.isfinite(ahead := _named_zone(path, at_s)):
            return ahead
    return None


def _letters_said(name: str, _: float, place: Place) -> float | None:
    """CEST; of several zones with the same letters, that of the place."""
    east_deg = place[1]
    for word in re.findall(r"(?<![A-Za-z])[A-Z]{3,4}\b", name):
        several = _SEVERAL_H.get(word, ()) if math.isfinite(east_deg) else ()
        hours = several or ((ZONES_H[word],) if word in ZONES_H else ())
        hours = tuple(h for h in hours if word in _UTC_WORDS or not abs(15.0 * h - east_deg) > _FAR_DEG)
        if hours:
            return 3_600.0 * min(hours, key=lambda h: abs(15.0 * h - east_deg))
    return None


def _place_said(name: str, at_s: float, place: Place) -> float | None:
    """A zone's city or country in brackets, or behind "time of" in another language."""
    for word in re.findall(
        r"(?:[\[(]|(?:[Hh]eure|[Hh]ora|[Oo]ra) d[ei] )\s*([A-Z][^\W\d]*(?:[/ ][^\W\d]+)*)\s*(?:[\]),;]|$)", name
    ):
        path = word.replace(" ", "_")
        known = next((z for z in available_timezones() if z == path or z.rpartition("/")[2] == path), "")
        if known and "/" in known:
            return _named_zone(known, at_s)
        own = re.compile(rf"(?i)\b{re.escape(word)}\b")  # Hora (Brasília)
        for zones in (z for words, (z, _) in _zones_in_words().items() if len(word) > 4 and own.search(words)):
            if not abs((ahead := _of_zones(zones, "generic", at_s, place)) / _TURN_S - place[1]) > _FAR_DEG:
                return ahead
    return None


def _words_said(name: str, at_s: float, place: Place) -> float | None:
    """A zone's name in words of any language; NaN where it is one far from the flight."""
    east_deg = place[1]
    lower = name.lower().replace("’", "'")
    for words, (zones, kind) in _zones_in_words().items() if _WORDY.search(name) else ():
        if words in lower and (
            " " in words or not words.isascii() or (_OF_TIME.search(lower) and math.isfinite(east_deg))
        ):
            ahead = _of_zones(zones, kind, at_s, place)
            return math.nan if abs(ahead / _TURN_S - east_deg) > _FAR_DEG else ahead
    return None


_TIME_SAID = (
    r"(?:times?\b|clock|zeit|\buhr|heures?\b|\bhor[aá]|\bor[ae]\b|orari|tid\b|tijd|\bczas|aika|[čc]as\b|stamp|"
    r"horodat|時)"
)
_OF_TIME = re.compile(f"(?i){_TIME_SAID}")
LOCAL = re.compile(  # a time that is said to be the place's own
    rf"(?i)(?=.*{_TIME_SAID}).*(?:\blo[ck]aa?l|\bl[ée]gal|orts|\blok\.|plaatselijk|miejscow|paikallis|m[ií]stn[ií]|"
    r"sommer|sommar|zomer|verano|ver[aã]o|d['’]été|estiv|letni|kesä|peninsular|現地)"
)
_UTC_WORDS = frozenset(["UTC", "GMT", "WET"])
_FAR_DEG = 53.0  # three and a half hours: China's west has 3
_AHEAD = re.compile(
    r"(?:UTC|GMT)\s?([+−-] ?\d{1,2}(?::?\d\d)?)\b|:\d\d(?:[.,]\d+)?\s?([+−-]\d\d:?\d\d)\b"
    r"|(?<![\w:.-])([+−][01]\d:[0134][05])\b|\(([+−-][01]\d(?::?[0134][05])?)\)|(\d\d:\d\d[\d:.,]*Z)\b"
)
_ZONE_SAID = re.compile(
    r"(?i)(?<![^\W_])(?:tz|fuso|huso|fuseau|\w*zon[ae]|\w*sone|strefa|(?:utc|gmt|time|clock)[ _]?offset|utc_\w+)"
    r"[^\w+−-]+([^,;|]+)"
)


@cache
def _zones_in_words() -> dict[str, tuple[tuple[str, ...], str]]:
    """Names of zones, longest first → (places that have it, standard or daylight)."""
    from babel import Locale
    from babel.core import get_global

    places: dict[str, tuple[str, ...]] = {}
    for place, meta in get_global("meta_zones").items():
        places[meta] = (*places.get(meta, ()), place)
    found = {
        name.lower().replace("’", "'").removesuffix(" time"): (places[meta], kind)
        for tongue in LANGUAGES
        for meta, names in Locale(tongue).meta_zones.items()
        for kind, name in (names.get("long") or {}).items()
        if meta in places
    }
    return dict(sorted(found.items(), key=lambda pair: -len(pair[0])))


def _of_zones(places: tuple[str, ...], kind: str, at_s: float, place: Place) -> float:
    """Offset of places of one zone: in winter, in summer, or at a moment: that of the flight's, if one has it. [s]"""
    if kind != "generic":
        winter = min(_named_zone(p, t) for p in places for t in (1.767e9, 1.783e9))  # January, July 2026
        return winter + (3_600.0 if kind == "daylight" else 0.0)
    able = Counter(_named_zone(p, at_s) for p in places)
    if len(able) > 1 and (here := zone_at(place, at_s)[1]) in able:
        return here
    ahead, count = able.most_common(1)[0]
    return ahead if count >= _MOST * len(places) else math.nan


_MOST = 0.8
_WORDY = re.compile(r"[^\W\d_]{4,}.* | .*[^\W\d_]{4,}|[^\x00-\xff]{3}")


def named_zone_s(text: str, at_s: float) -> float:
    """How far ahead of UTC an offset or a zone's own name is (+2, UTC-06:00, MDT, Europe/Paris); NaN of others. [s]"""
    match = re.match(r"^\s*(?:UTC|GMT)?\s*([+−-]?)(\d{1,2})(?::?(\d\d))?\s*$", text, re.IGNORECASE)
    if match is None:
        return _named_zone(text.strip(), at_s)
    seconds = int(match[2]) * 3600.0 + int(match[3] or 0) * 60.0
    return -seconds if match[1] in {"-", "−"} else seconds


def _named_zone(name: str, at_s: float) -> float:
    if name.upper() in ZONES_H:
        return 3_600.0 * ZONES_H[name.upper()]
    try:
        moment = datetime.fromtimestamp(at_s if math.isfinite(at_s) else 0.0, UTC)
        apart = ZoneInfo(name).utcoffset(moment) if re.fullmatch(r"[A-Z][A-Za-z_]+(?:/[A-Za-z_+-]+)+", name) else None
    except (OSError, ValueError, KeyError, OverflowError):
        return math.nan
    return math.nan if apart is None or not math.isfinite(at_s) else apart.total_seconds()
