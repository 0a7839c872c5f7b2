"""How far clocks are ahead of UTC: offsets of any form, zones by their letters (MDT) or their place (Europe/Paris)."""

from __future__ import annotations

import math
import re
from datetime import UTC, datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo, available_timezones

import numpy as np
import polars as pl

from airwork.recording.recorded import Array

if TYPE_CHECKING:
    import polars as pl

ZONES_H: dict[str, float] = {
            "UTC": 0, "GMT": 0, "WET": 0, "BST": 1, "CET": 1, "CEST": 2, "EET": 2, "EEST": 3, "EST": -5, "EDT": -4,
            "CST": -6, "CDT": -5, "MST": -7, "MDT": -6, "PST": -8, "PDT": -7, "AKST": -9, "AKDT": -8, "HST": -10,
            "Z": 0, "MEZ": 1, "MESZ": 2, "AEST": 10, "AEDT": 11, "ACST": 9.5, "ACDT": 10.5, "AWST": 8,
            "NZST": 12, "NZDT": 13, "JST": 9, "SAST": 2}  # fmt: skip
_SEVERAL_H = {"IST": (5.5, 2.0, 1.0), "CST": (-6.0, 8.0), "BST": (1.0, 6.0), "AST": (-4.0, 3.0)}
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
    seen = {text: _offset(str(text), at_s) for text in column.unique().to_list()[:200]}
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


def zone_of_name(name: str, at_s: float, east_deg: float = math.nan) -> float:
    """How far the zone that a text tells is ahead of UTC ("Uhrzeit (MESZ)", "heure (Paris)", UTC+2); NaN if none. [s]

    east_deg : longitude of the flight: letters that stand for several zones mean the nearest.
    """
    if (said := re.search(r"(?:UTC|GMT) ?([+−-] ?\d{1,2}(?::?\d\d)?)\b", name)) is not None:
        return _offset(said[1].replace(" ", ""), at_s)
    for word in re.findall(r"(?<![A-Za-z])[A-Z]{3,4}\b", name):
        if word in _SEVERAL_H and math.isfinite(east_deg):
            return 3_600.0 * min(_SEVERAL_H[word], key=lambda h: abs(15.0 * h - east_deg))
        if word in ZONES_H:
            return 3_600.0 * ZONES_H[word]
    for path in re.findall(r"\b[A-Z][a-z]+(?:/[A-Z][A-Za-z_]+)+", name):
        if math.isfinite(ahead := _named_zone(path, at_s)):
            return ahead
    for word in re.findall(r"[\[(]\s*([A-Z][A-Za-z_/ ]{2,30}?)\s*[\])]", name):
        path = word.replace(" ", "_")
        known = next((z for z in available_timezones() if z == path or z.rpartition("/")[2] == path), "")
        if known and "/" in known:
            return _named_zone(known, at_s)
    return math.nan


def _offset(text: str, at_s: float) -> float:
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
