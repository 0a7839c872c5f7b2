"""What the recording of a debriefed flight holds: what it is known from, its columns and mends, the wind found."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from airwork.airdata.wind import wind_from_vector
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.seeing.signal import Mask, known_share
from airwork.maneuvers.seeing.view import View
from airwork.maneuvers.seeing.view_building import COARSEST_S
from airwork.recording.flight import COLUMNS, Column, Flight
from airwork.recording.summary import wind_error_mps
from airwork.units import to_unit

WIND_BLOCK_S = 600.0
PRINTED = {"m": "ft", "m/s": "kt", "rad": "deg", "Pa": "inHg", "K": "°C", "m³": "gal", "m³/s": "gph"}


def nothing_seen(flight: Flight) -> str:
    """Why nothing could be recognized."""
    if flight.step_s > COARSEST_S:
        return f"One fix in {flight.step_s / 60.0:,.0f} minutes: a coarse track, in which no maneuver can be seen."
    missing = [
        words for words, names in (
            ("altitude", ("altitude_m", "pressure_altitude_m", "gps_altitude_m")),
            ("position or speed", ("latitude_rad", "groundspeed_mps", "tas_mps", "ias_mps")),
        ) if not any(name in flight.columns for name in names)
    ]  # fmt: skip
    why = f"no {' and no '.join(missing)} was found in it" if missing else "too little was recorded"
    unknown = ", ".join(str(name) for name in flight.source.get("not_understood") or ())
    settle = f" Not understood: {unknown}; settle with: airwork recording map FILE." if unknown and missing else ""
    return f"Nothing can be recognized: {why}.{settle}"


def in_the_air(evidence: Evidence) -> Mask:
    """Where the view is in the air, less the stops on the ground that nothing received."""
    t, out = evidence.view.time_s, evidence.view.airborne.copy()
    for begin, end in evidence.flight.source.get("unseen_stops") or ():
        out &= ~((t > begin) & (t < end))
    return out


def known_from(view: View) -> dict[str, str]:
    return {
        "airspeed": view.speed_from, "heading": view.heading_from,
        "bank": "recorded" if view.bank_measured else "the turn rate", "stall_speed": view.stall_from,
    }  # fmt: skip


def wind_found(evidence: Evidence) -> list[dict[str, Any]]:
    """Mean wind and height in blocks of ten minutes in the air."""
    flight, wind = evidence.flight, evidence.view.wind_mps
    if wind is None:
        return []
    good = evidence.airborne & np.isfinite(wind[0]) & np.isfinite(wind[1])
    column = flight.columns["wind_mps"]
    out = []
    for start in np.arange(0.0, float(flight.time_s[-1]) + 1.0, WIND_BLOCK_S):
        part = flight.span(start, start + WIND_BLOCK_S)
        use = good[part]
        if use.sum() < 2:
            continue
        east, north = (blown[part][use].mean() for blown in wind)
        direction, strength = wind_from_vector(east, north)
        times = flight.time_s[part][use]
        row: dict[str, Any] = {
            "start_s": round(float(times[0]), 1), "end_s": round(float(times[-1]), 1),
            "from_deg": round(to_unit(float(direction), "deg")), "speed_kt": round(to_unit(float(strength), "kt"), 1),
            "known": column.known, "note": column.note,
        }  # fmt: skip
        altitude = evidence.altitude_m[part][use]
        height = float(np.nanmean(altitude)) if np.isfinite(altitude).any() else math.nan
        if math.isfinite(height):
            row["altitude_ft"] = round(to_unit(height, "ft"))
        if column.error is not None and math.isfinite(column.error):
            row["error_kt"] = round(to_unit(wind_error_mps(flight, height), "kt"), 2)
        out.append(row)
    return out


def quality_json(flight: Flight) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = [_column_json(name, column) for name, column in flight.columns.items()]
    for mend in sorted(flight.mends, key=lambda m: not m.asks):
        row: dict[str, Any] = {"about": "mended", "what": mend.what, "count": mend.count}
        if mend.column:
            row["column"] = mend.column
        if mend.first_s is not None:
            row["first_s"] = round(mend.first_s, 2)
        if mend.last_s is not None:
            row["last_s"] = round(mend.last_s, 2)
        rows.append(row)
    return rows


def _column_json(name: str, column: Column) -> dict[str, Any]:
    unit = COLUMNS.get(name, ("", ""))[0]
    row: dict[str, Any] = {
        "about": "column", "column": name, "known": column.known,
        "filled_fraction": round(known_share(column.values), 4),
    }  # fmt: skip
    if column.error is not None and np.isfinite(column.error):
        printed = PRINTED.get(unit, unit)
        scale = 1.0 if unit == "K" or printed == unit else to_unit(1.0, printed)
        row["error"], row["error_unit"] = round(column.error * scale, 3), "K" if unit == "K" else printed
    if column.note:
        row["note"] = column.note
    return row
