"""NMEA 0183 sentences: RMC, GGA, GNS, VTG, GLL, ZDA and headings, grouped by their time; checksums checked.

The checksum is the exclusive or of all characters between "$" and "*", two hexadecimal digits (NMEA 0183; from memory).
"""

from __future__ import annotations

import re
from collections import Counter
from datetime import date, time
from functools import reduce
from operator import xor
from typing import Any

import numpy as np
import pynmea2

from airwork import units as u
from airwork.airdata.geodesy import EARTH_M
from airwork.errors import InputError
from airwork.recording.flight import Mend
from airwork.recording.recorded import Recorded
from airwork.recording.stamps import DAY_S

_SENTENCE = re.compile(rb"\$([A-Z]{2}|P)([A-Z]{3})([^*\n\r]*)(?:\*([0-9A-Fa-f]{2}))?")
_MINUS, _OTHER = re.compile(rb",-(\d{3,5}\.\d+),([NSEW])\b"), {b"N": b"S", b"S": b"S", b"E": b"W", b"W": b"W"}
_NAMES = (
    "time", "day", "latitude_rad", "longitude_rad", "groundspeed_mps", "track_rad", "gps_altitude_m",
    "heading_rad", "heading_mag_rad", "magnetic_variation", "pressure_altitude_m",
)  # fmt: skip
_TIMED = (b"RMC", b"GGA", b"GNS", b"GLL", b"ZDA")
_FIXES = (b"RMC", b"GGA", b"GNS", b"GLL")
_NAN = float("nan")
_ANOTHER_M = 100.0  # no receiver moves so far between two sentences of one moment


class _Epoch(dict[str, float]):
    """What the sentences of one moment said."""


def read(data: bytes, where: str) -> Recorded:
    """Fixes of an NMEA log, one row per moment.

    Raises
    ------
    InputError : no sentence with a time and a position.
    """
    rows: list[_Epoch] = []
    now = _Epoch()
    bad = unsigned = void = 0
    adrift = False  # a sentence that told a moment was left out: what tells none isn't of the moment before
    apart: list[float] = []
    others: Counter[str] = Counter()
    sentences, shown = 0, b""
    for match in _SENTENCE.finditer(data):
        sentences += 1
        kind, body, checksum = match[2], match[3], match[4]
        if checksum is not None and reduce(xor, match[1] + kind + body) != int(checksum, 16):
            bad, shown = bad + 1, shown or match[0]
            adrift |= kind in _TIMED
            continue
        try:
            said = fields_of(pynmea2.parse(_usual(match[0]).decode("ascii", "replace")))
        except (pynmea2.ParseError, ValueError, TypeError, OverflowError):
            bad, shown = bad + 1, shown or match[0]
            continue
        unsigned += checksum is None
        if said is None:
            others[kind.decode()] += 1
            continue
        void += kind in _FIXES and "latitude_rad" not in said
        adrift &= "time" not in said
        if adrift:
            continue
        apart.append(_apart_m(said, now))
        if "time" in said and "time" in now and said["time"] != now["time"]:
            rows.append(now)
            now = _Epoch(day=now["day"]) if "day" in now and said["time"] > now["time"] else _Epoch()
        now.update({name: value for name, value in said.items() if value == value or name not in now})
    rows.append(now)
    if (two := sum(x > _ANOTHER_M for x in apart)) > 0.3 * len(rows):
        twice = (
            f"holds the sentences of two receivers at once, {np.median([x for x in apart if x > _ANOTHER_M]):,.0f} m"
        )
        raise InputError(f"{twice} apart in {two:,} moments; part it into a file for each.", where=where)
    rows = [row for row in rows if "time" in row and row.keys() & {"latitude_rad", "groundspeed_mps", "gps_altitude_m"}]
    if len(rows) < 2:
        first = shown[:60].decode("ascii", "replace")
        lost = (
            f"{bad:,} of its {sentences:,} NMEA sentences can't be read ({first}); the others tell no time and place."
        )
        few = "has no NMEA sentences with time and position (RMC, GGA, GLL)."
        few = "tells one moment only; a recording is fixes at many." if rows else few
        none = (
            f"holds {void:,} NMEA fixes, every one of them void (status V or quality 0): the receiver had no position."
        )
        raise InputError(lost if bad else none if void > 1 else few, where=where)
    recorded = _columns(rows, bad, unsigned, others)
    if sentences < data.count(b"\n") and (foreign := _other_lines(data)):
        many = "lines hold" if foreign > 1 else "line holds"
        recorded.say(f"{foreign:,} {many} no NMEA sentence; left out", foreign)
    return recorded


def _usual(sentence: bytes) -> bytes:
    """A sentence without a checksum as the standard has it: a minus is the other side, a day of nought is none.

    >>> _usual(b"$GPRMC,115434,A,-3003.1914,N,-5126.2728,E,0.0,261.0,000070,,,A")
    b'$GPRMC,115434,A,3003.1914,S,5126.2728,W,0.0,261.0,,,,A'
    """
    if b"*" in sentence:
        return sentence
    sentence = _MINUS.sub(lambda m: b",%s,%s" % (m[1], _OTHER[m[2]]), sentence)
    return re.sub(rb",00(?:00\d\d|\d\d\d\d)(?=,)", b",", sentence) if sentence[3:6] == b"RMC" else sentence


def _apart_m(said: dict[str, float], now: _Epoch) -> float:
    """How far two sentences of one moment put it apart. [m]"""
    if said.get("time") != now.get("time") or not {"latitude_rad", "time"} <= said.keys() & now.keys():
        return 0.0
    east = (said["longitude_rad"] - now["longitude_rad"]) * np.cos(now["latitude_rad"])
    return float(EARTH_M * np.hypot(said["latitude_rad"] - now["latitude_rad"], east))


def _other_lines(data: bytes) -> int:
    """Lines that hold something, but neither a sentence ("!": traffic, not ours) nor a remark."""
    lines = (line.strip() for line in data.split(b"\n"))
    return sum(1 for line in lines if line and line[:1] not in b"#!" and not _SENTENCE.search(line))


def _columns(rows: list[_Epoch], bad: int, unsigned: int, others: Counter[str]) -> Recorded:
    table = {name: np.array([row.get(name, _NAN) for row in rows]) for name in _NAMES}
    time_s, day = table.pop("time"), table.pop("day")
    recorded = Recorded("NMEA 0183", time_s, "time of day", {})
    if np.isfinite(day).any():
        known = np.flatnonzero(np.isfinite(day))
        last = known[np.maximum(np.searchsorted(known, np.arange(day.size), side="right") - 1, 0)]
        recorded.time_s, recorded.clock = time_s + day[last], "utc"
    variation = table.pop("magnetic_variation")
    if np.isfinite(variation).any():
        recorded.extra["magnetic_variation"] = variation
    recorded.columns = {name: values for name, values in table.items() if np.isfinite(values).any()}
    if bad:
        recorded.mends.append(Mend(f"{bad} sentences with a wrong checksum or form left out", bad))
    if unsigned:
        recorded.mends.append(Mend(f"{unsigned} sentences came without a checksum; taken as they are", unsigned))
    recorded.facts.update(rows_in_file=len(rows), not_needed=sorted(others))
    return recorded


def fields_of(sentence: Any) -> dict[str, float] | None:
    """What a sentence of pynmea2 says, in SI, with "time" of day and "day" [s]; None for a kind that isn't needed.

    Raises
    ------
    ValueError, TypeError : a field that is no number, time or date.
    """
    m, kind = sentence, getattr(sentence, "sentence_type", "")
    if kind == "RMC":
        out = _clock(m.timestamp) | {"day": _day(m.datestamp)}
        if m.status == "A":
            out |= _position(m) | {"groundspeed_mps": _number(m.spd_over_grnd) * u.KT_MPS}
            out["track_rad"] = _number(m.true_course) * u.DEG_RAD
            if m.mag_variation:
                west = -1.0 if m.mag_var_dir == "W" else 1.0
                out["magnetic_variation"] = _number(m.mag_variation) * u.DEG_RAD * west
        return out
    if kind == "GGA":
        fix = _position(m) | {"gps_altitude_m": _number(m.altitude)} if m.gps_qual else {}
        return _clock(m.timestamp) | fix
    if kind == "GNS":
        fixed = set(m.mode_indicator or "N") - {"N"}
        return _clock(m.timestamp) | (_position(m) | {"gps_altitude_m": _number(m.altitude)} if fixed else {})
    if kind == "GLL":
        return _clock(m.timestamp) | (_position(m) if m.status == "A" else {})
    if kind == "VTG":
        return {"track_rad": _number(m.true_track) * u.DEG_RAD,
                "groundspeed_mps": _number(m.spd_over_grnd_kts) * u.KT_MPS}  # fmt: skip
    if kind == "ZDA":
        return _clock(m.timestamp) | {"day": _day(date(m.year, m.month, m.day) if m.year else None)}
    if kind == "HDT":
        return {"heading_rad": _number(m.heading) * u.DEG_RAD}
    if kind in {"HDM", "HDG"}:
        return {"heading_mag_rad": _number(m.heading) * u.DEG_RAD}
    if kind == "GRMZ":  # the barometer's, in the standard atmosphere
        factor = u.FT_M if m.altitude_unit in {"f", "F"} else 1.0
        return {"pressure_altitude_m": _number(m.altitude) * factor}
    return None


def _number(value: Any) -> float:
    return _NAN if value in (None, "") else float(value)


def _position(m: Any) -> dict[str, float]:
    known = m.lat and m.lat_dir and m.lon and m.lon_dir
    latitude, longitude = (m.latitude, m.longitude) if known else (_NAN, _NAN)
    return {"latitude_rad": latitude * u.DEG_RAD, "longitude_rad": longitude * u.DEG_RAD}


def _clock(at: Any) -> dict[str, float]:
    if at is None:
        return {}
    if not isinstance(at, time):
        raise ValueError("no time of day")
    return {"time": at.hour * 3600.0 + at.minute * 60.0 + at.second + 1e-6 * at.microsecond}


def _day(on: Any) -> float:
    return (on - date(1970, 1, 1)).days * DAY_S if isinstance(on, date) else _NAN
