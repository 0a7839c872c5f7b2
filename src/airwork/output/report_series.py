"""The flight's samples as a debrief report plots them: thinned, in printed units, gaps kept. Computes nothing else."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from airwork.airdata.angles import unwrap_rad
from airwork.maneuvers.setup import Trace
from airwork.recording.flight import Flight
from airwork.units import to_unit

Array = NDArray[np.float64]

STEP_S = 0.5  # two samples a second show a maneuver; a two-hour flight stays under a megabyte
LEAD_S = 8.0  # shown before and after a maneuver
BOTH_WAYS_DEG = 100.0  # turned less than this in all: banked to both sides, so the band lies on both

# plot column -> (columns to take it from, best first; printed unit; digits; name; least room of the scale)
PLOTS: dict[str, tuple[tuple[str, ...], str, int, str, float]] = {
    "altitude": (("altitude_m", "gps_altitude_m"), "ft", 0, "altitude", 120.0),
    "speed": (("ias_mps", "cas_mps", "tas_mps", "groundspeed_mps"), "kt", 1, "", 12.0),
    "bank": (("bank_rad",), "deg", 1, "bank", 14.0),
    "heading": (("heading_mag_rad", "heading_rad", "track_rad"), "deg", 0, "", 24.0),
    "pitch": (("pitch_rad",), "deg", 1, "pitch", 8.0),
    "load": (("load_factor",), "g", 2, "load factor", 0.4),
    "vertical_speed": (("vertical_speed_mps",), "fpm", 0, "vertical speed", 300.0),
    "rpm": (("rpm",), "rpm", 0, "engine speed", 200.0),
}
NAMES = {
    "ias_mps": "indicated airspeed", "cas_mps": "calibrated airspeed", "tas_mps": "true airspeed",
    "groundspeed_mps": "ground speed", "heading_mag_rad": "magnetic heading", "heading_rad": "true heading",
    "track_rad": "track over the ground",
}  # fmt: skip


def column_for(flight: Flight, plot: str) -> str | None:
    """The house column a plot is drawn from, None when the flight has none with samples."""
    for name in PLOTS[plot][0]:
        values = flight.get(name)
        if values is not None and bool(np.isfinite(values).any()):
            return name
    return None


def plot_name(flight: Flight, plot: str) -> str:
    """What stands over a plot, with a word when the quantity was derived."""
    column = column_for(flight, plot) or ""
    name = PLOTS[plot][3] or NAMES.get(column, plot)
    return name if not column or flight.columns[column].known == "measured" else f"{name} (derived)"


def printed(values: Array, plot: str, column: str) -> Array:
    """SI samples in the plot's unit; headings without jumps at north."""
    unit = PLOTS[plot][1]
    if plot == "heading":
        return np.degrees(unwrap_rad(values))
    if unit in {"g", "rpm"}:
        return values
    return np.asarray(to_unit(values, unit))


def as_list(values: Array, digits: int) -> list[float | int | None]:
    """Rounded numbers with None for gaps, ready for JSON."""
    rounded = np.round(values, digits)
    if digits == 0:
        return [None if not np.isfinite(v) else int(v) for v in rounded.tolist()]
    return [None if not np.isfinite(v) else v for v in rounded.tolist()]


def sample_times(flight: Flight) -> Array:
    """Times of the plotted samples: every half second, or the recording's own where it is slower. [s]"""
    step = max(STEP_S, float(np.median(np.diff(flight.time_s))) if len(flight) > 2 else STEP_S)
    last = float(flight.time_s[-1]) if len(flight) else 0.0
    return np.arange(0.0, last + step / 2, step)


def nearest(flight: Flight, times: Array) -> NDArray[np.int64]:
    """Index of the sample nearest to each time."""
    right = np.clip(np.searchsorted(flight.time_s, times), 1, max(len(flight) - 1, 1))
    left = right - 1
    return np.where(
        times - flight.time_s[left] <= flight.time_s[np.minimum(right, len(flight) - 1)] - times, left, right
    )


def series(flight: Flight) -> dict[str, Any]:
    """Plot columns of the whole flight: {"t": […], "altitude": […], …}."""
    times = sample_times(flight)
    at = nearest(flight, times)
    out: dict[str, Any] = {"t": as_list(times, 1)}
    for plot, (_, _, digits, _, _) in PLOTS.items():
        column = column_for(flight, plot)
        if column is not None:
            out[plot] = as_list(printed(flight[column], plot, column)[at], digits)
    return out


def ideal_series(trace: Trace, start_s: float) -> dict[str, Any]:
    """An ideal trace laid from a time on, in the plots' units."""
    out: dict[str, Any] = {"t": as_list(np.asarray(trace.time_s) + start_s, 2)}
    for plot, (columns, _, digits, _, _) in PLOTS.items():
        for column in columns:
            if column in trace.columns:
                out[plot] = as_list(printed(np.asarray(trace.columns[column], dtype=float), plot, column), digits)
                break
    return out


def bands(episode: Mapping[str, Any]) -> dict[str, list[dict[str, float | None]]]:
    """Tolerance bands of one episode, absolute, from its criteria and target: plot -> stretches with low and high."""
    target, out = episode["target"], {}
    established = [p for p in episode["phases"] if p["name"] == "established"]
    start = established[0]["start_s"] if established else episode["start_s"]
    end = established[-1]["end_s"] if established else episode["end_s"]
    for name, plot, key in (
        ("altitude", "altitude", "altitude_ft"), ("airspeed", "speed", "ias_kt"), ("bank", "bank", "bank_deg"),
    ):  # fmt: skip
        limit = next((c for c in episode["criteria"] if c["name"] == name), None)
        if limit is None or key not in target or (limit.get("low") is None and limit.get("high") is None):
            continue
        centre = float(target[key])
        low = None if limit.get("low") is None else centre + limit["low"]
        high = None if limit.get("high") is None else centre + limit["high"]
        if plot != "bank":
            out[plot] = [{"from": episode["start_s"], "to": episode["end_s"], "low": low, "high": high}]
            continue
        right = {"from": start, "to": end, "low": low, "high": high}
        left = {**right, "low": None if high is None else -high, "high": None if low is None else -low}
        turned = float(episode["measured"].get("heading_change_deg", 0.0))
        out[plot] = [right, left] if abs(turned) < BOTH_WAYS_DEG else [left] if turned < 0.0 else [right]
    return out
