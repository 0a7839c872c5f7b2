"""NMEA 0183 sentences: RMC, GGA, VTG, GLL, ZDA and headings, grouped by their time; checksums checked.

The checksum is the exclusive or of all characters between "$" and "*", two hexadecimal digits (NMEA 0183; from memory).
"""

from __future__ import annotations

import re
from collections import Counter
from functools import reduce
from operator import xor

import numpy as np

from airwork import units as u
from airwork.errors import InputError
from airwork.recording.clock import DAY_S
from airwork.recording.flight import Mend
from airwork.recording.recorded import Recorded

_SENTENCE = re.compile(rb"\$([A-Z]{2}|P)([A-Z]{3})([^*\n\r]*)(?:\*([0-9A-Fa-f]{2}))?")
_NAMES = (
    "time", "day", "latitude_rad", "longitude_rad", "groundspeed_mps", "track_rad", "gps_altitude_m",
    "heading_rad", "heading_mag_rad", "magnetic_variation",
)  # fmt: skip
_NAN = float("nan")


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
    bad = unsigned = 0
    others: Counter[str] = Counter()
    sentences = 0
    for match in _SENTENCE.finditer(data):
        sentences += 1
        kind, body, checksum = match[2], match[3], match[4]
        if checksum is None:
            unsigned += 1
        elif reduce(xor, match[1] + kind + body) != int(checksum, 16):
            bad += 1
            continue
        fields = body[1:].split(b",")
        try:
            said = _sentence(kind, fields)
        except (ValueError, IndexError, OverflowError):
            bad += 1
            continue
        if said is None:
            others[kind.decode()] += 1
            continue
        if "time" in said and "time" in now and said["time"] != now["time"]:
            rows.append(now)
            now = _Epoch(day=now["day"]) if "day" in now and said["time"] > now["time"] else _Epoch()
        now.update({name: value for name, value in said.items() if value == value or name not in now})
    rows.append(now)
    rows = [row for row in rows if "time" in row and row.keys() & {"latitude_rad", "groundspeed_mps", "gps_altitude_m"}]
    if len(rows) < 2:
        raise InputError("has no NMEA sentences with time and position (RMC, GGA, GLL).", where=where)
    recorded = _columns(rows, bad, unsigned, others)
    if sentences < data.count(b"\n") and (lost := _other_lines(data)):
        recorded.mends.append(Mend(f"{lost:,} lines hold no NMEA sentence; left out", lost))
    return recorded


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


def _sentence(kind: bytes, f: list[bytes]) -> dict[str, float] | None:
    if kind == b"RMC":
        good = f[1] == b"A"
        out = {"time": _clock(f[0]), "day": _day(f[8])}
        if good:
            out |= {"latitude_rad": _angle(f[2], f[3]), "longitude_rad": _angle(f[4], f[5])}
            out |= {"groundspeed_mps": _number(f[6]) * u.KT_MPS, "track_rad": _number(f[7]) * u.DEG_RAD}
            if len(f) > 10 and f[9]:
                out["magnetic_variation"] = _number(f[9]) * u.DEG_RAD * (-1.0 if f[10] == b"W" else 1.0)
        return out
    if kind == b"GGA":
        out = {"time": _clock(f[0])}
        if f[5] not in {b"", b"0"}:
            out |= {"latitude_rad": _angle(f[1], f[2]), "longitude_rad": _angle(f[3], f[4])}
            out["gps_altitude_m"] = _number(f[8])
        return out
    if kind == b"GLL":
        out = {"time": _clock(f[4])}
        if f[5] == b"A":
            out |= {"latitude_rad": _angle(f[0], f[1]), "longitude_rad": _angle(f[2], f[3])}
        return out
    if kind == b"VTG":
        return {"track_rad": _number(f[0]) * u.DEG_RAD, "groundspeed_mps": _number(f[4]) * u.KT_MPS}
    if kind == b"ZDA":
        return {"time": _clock(f[0]), "day": _day(f[1] + f[2] + f[3][-2:])}
    if kind == b"HDT":
        return {"heading_rad": _number(f[0]) * u.DEG_RAD}
    if kind in {b"HDM", b"HDG"}:
        return {"heading_mag_rad": _number(f[0]) * u.DEG_RAD}
    return None


def _number(text: bytes) -> float:
    return float(text) if text else _NAN


def _clock(text: bytes) -> float:
    if len(text) < 6:
        raise ValueError("no time")
    return int(text[:2]) * 3600.0 + int(text[2:4]) * 60.0 + float(text[4:])


def _day(text: bytes) -> float:
    if len(text) != 6:
        return _NAN
    day, month, year = int(text[:2]), int(text[2:4]), int(text[4:6])
    stamp = np.datetime64(f"{1900 + year if year >= 80 else 2000 + year:04d}-{month:02d}-{day:02d}", "D")
    return float(stamp.astype(np.int64)) * DAY_S


def _angle(text: bytes, side: bytes) -> float:
    """ddmm.mmmm and its side, in radians; NaN when empty."""
    if not text or not side:
        return _NAN
    value = float(text)
    degrees = int(value / 100.0)
    size = degrees + (value - 100.0 * degrees) / 60.0
    return (-size if side in {b"S", b"W"} else size) * u.DEG_RAD
