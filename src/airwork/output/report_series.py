"""The flight's samples as a debrief report plots them: thinned, in printed units, gaps kept. Computes nothing else."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from airwork.airdata.angles import unwrap_rad
from airwork.debrief import Graded
from airwork.maneuvers.episode import Finding
from airwork.maneuvers.setup import Trace
from airwork.recording.flight import Flight
from airwork.units import from_unit, to_unit

Array = NDArray[np.float64]

STEP_S = 0.5  # two samples a second show a maneuver; a two-hour flight stays under a megabyte
LEAD_S = 8.0  # shown before and after a maneuver
BOTH_WAYS_DEG = 100.0  # turned less than this in all: banked to both sides, so the band lies on both


class Plot(NamedTuple):
    """What a plot shows.

    columns : to take it from, best first; name : "" for the column's own (`NAMES`); room : least height of its scale,
    in its unit.
    """

    columns: tuple[str, ...]
    unit: str
    digits: int
    name: str
    room: float


PLOTS = {
    "altitude": Plot(("altitude_m", "gps_altitude_m"), "ft", 0, "altitude", 120.0),
    "speed": Plot(("ias_mps", "cas_mps", "tas_mps", "groundspeed_mps"), "kt", 1, "", 12.0),
    "bank": Plot(("bank_rad",), "deg", 1, "bank", 14.0),
    "heading": Plot(("heading_mag_rad", "heading_rad", "track_rad"), "deg", 0, "", 24.0),
    "pitch": Plot(("pitch_rad",), "deg", 1, "pitch", 8.0),
    "load": Plot(("load_factor",), "g", 2, "load factor", 0.4),
    "vertical_speed": Plot(("vertical_speed_mps",), "fpm", 0, "vertical speed", 300.0),
    "rpm": Plot(("rpm",), "rpm", 0, "engine speed", 200.0),
}
ON_DIAL = ("ias_mps", "cas_mps")  # shown in the unit of the airplane's airspeed indicator
# What the panel shows beside the plots, mostly the same for minutes: name -> (column, unit, rounded to)
SELDOM = {
    "flaps": ("flap_deg", "", 1.0), "notch": ("flap_notch", "", 1.0), "warning": ("stall_warning", "", 1.0),
    "wind_from": ("wind_from_rad", "deg", 5.0), "wind": ("wind_mps", "kt", 1.0), "power": ("power_ratio", "%", 1.0),
    "manifold": ("manifold_pressure_pa", "inHg", 0.5),
}  # fmt: skip
BALL_DIGITS = 2
# quantity of a criterion -> (plot its limits are drawn in, what a target of it is called)
BANDED = {
    "altitude": ("altitude", "altitude_ft"), "pattern_altitude": ("altitude", "altitude_ft"),
    "ias": ("speed", "ias_kt"), "pattern_ias": ("speed", "ias_kt"), "bank": ("bank", "bank_deg"),
    "bank_range": ("bank", ""), "bank_limit": ("bank", ""),
}  # fmt: skip
ABSOLUTE = {"bank_range", "bank_limit"}  # limits by themselves, with nothing aimed at between them
ROLLED_RAD = np.radians(10.0)  # more bank than wandering: a roll-in
NAMES = {
    "ias_mps": "indicated airspeed", "cas_mps": "calibrated airspeed", "tas_mps": "true airspeed",
    "groundspeed_mps": "ground speed", "heading_mag_rad": "magnetic heading", "heading_rad": "true heading",
    "track_rad": "track over the ground",
}  # fmt: skip


def column_for(flight: Flight, plot: str) -> str | None:
    """The house column a plot is drawn from, None when the flight has none with samples."""
    for name in PLOTS[plot].columns:
        values = flight.get(name)
        if values is not None and bool(np.isfinite(values).any()):
            return name
    return None


def plot_name(flight: Flight, plot: str) -> str:
    """What stands over a plot, with a word when the quantity was derived."""
    column = column_for(flight, plot) or ""
    name = PLOTS[plot].name or NAMES.get(column, plot)
    return name if not column or flight.columns[column].known == "measured" else f"{name} (derived)"


def unit_for(plot: str, column: str, dial: str) -> str:
    """The unit a plot's column is shown in: an indicated speed in the dial's."""
    return dial if column in ON_DIAL else PLOTS[plot].unit


def printed(values: Array, plot: str, column: str, dial: str = "kt") -> Array:
    """SI samples in the plot's unit; headings without jumps at north."""
    unit = unit_for(plot, column, dial)
    if plot == "heading":
        return np.degrees(unwrap_rad(values))
    if unit in {"g", "rpm"}:
        return values
    return np.asarray(to_unit(values, unit))


def as_list(values: Array, digits: int) -> list[float | int | None]:
    """Rounded numbers with None for gaps, ready for JSON."""
    rounded = np.round(values, digits)
    if digits == 0:
        return [int(v) if math.isfinite(v) else None for v in rounded.tolist()]
    return [v if math.isfinite(v) else None for v in rounded.tolist()]


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


def series(flight: Flight, dial: str = "kt") -> dict[str, Any]:
    """Plot columns of the whole flight, indicated speeds in the dial's unit: {"t": […], "altitude": […], …}."""
    times = sample_times(flight)
    at = nearest(flight, times)
    out: dict[str, Any] = {"t": as_list(times, 1)}
    for plot, of in PLOTS.items():
        column = column_for(flight, plot)
        if column is not None:
            out[plot] = as_list(printed(flight[column], plot, column, dial)[at], of.digits)
    ball = flight.get("lateral_g")
    if ball is not None and np.isfinite(ball).any():
        out["ball"] = as_list(ball[at], BALL_DIGITS)
    return out


def part_of(flight: Flight, start_s: float, end_s: float, dial: str = "kt") -> dict[str, Any]:
    """The plot columns of a stretch alone, and what changes seldom as samples beside them."""
    whole = series(flight, dial)
    for name, changes in seldom(flight).items():
        ends = [start for start, _ in changes[1:]] + [len(whole["t"])]
        whole[name] = [
            v for (start, v), end in zip(changes, ends, strict=True) for _ in range(int(start or 0), int(end or 0))
        ]
    inside = [k for k, t in enumerate(whole["t"]) if start_s <= t <= end_s]
    return {name: [values[k] for k in inside] for name, values in whole.items()}


def seldom(flight: Flight) -> dict[str, list[list[float | int | None]]]:
    """What changes seldom (flaps, stall warning, wind, power) as [sample of `series`, value from there on]."""
    at = nearest(flight, sample_times(flight))
    out = {}
    for name, (column, unit, to) in SELDOM.items():
        values = flight.get(column)
        if values is None or not np.isfinite(values).any():
            continue
        shown = np.asarray(to_unit(values[at], unit)) if unit else values[at]
        shown = np.round(shown / to) * to
        new = np.ones(shown.size, dtype=bool)
        new[1:] = ~((shown[1:] == shown[:-1]) | (np.isnan(shown[1:]) & np.isnan(shown[:-1])))
        out[name] = [[k, v] for k, v in zip(np.flatnonzero(new).tolist(), as_list(shown[new], 1), strict=True)]
    return out


def roll_in_s(flight: Flight, start_s: float, end_s: float) -> float:
    """When a maneuver's first turn begins, by which two attempts are laid over one another; else its start. [s]"""
    bank = flight.get("bank_rad")
    part = flight.span(start_s, end_s)
    turning = np.zeros(0) if bank is None else np.flatnonzero(np.abs(np.nan_to_num(bank[part])) > ROLLED_RAD)
    return start_s if not turning.size else float(flight.time_s[part][turning[0]])


def ideal_series(trace: Trace, start_s: float, flight: Flight, dial: str = "kt") -> dict[str, Any]:
    """An ideal trace laid from a time on, in the plots' units; a speed or heading only of the kind the flight has."""
    out: dict[str, Any] = {"t": as_list(np.asarray(trace.time_s) + start_s, 2)}
    for plot, of in PLOTS.items():
        for column in (column_for(flight, plot) or "",) if plot in {"speed", "heading"} else of.columns:
            if column in trace.columns:
                values = printed(np.asarray(trace.columns[column], dtype=float), plot, column, dial)
                out[plot] = as_list(values, of.digits)
                break
    return out


def bands(graded: Graded, speed_unit: str = "kt") -> dict[str, list[dict[str, float | None]]]:
    """Tolerance bands of one maneuver, absolute, where each was judged: plot -> stretches in time.

    Each has from, to [s], aim (None: a limit without one), low and high (None: open on that side) and slack, what the
    recorder resolves on top; speeds in the dial's unit.
    """
    target = graded.grade.target
    out: dict[str, list[dict[str, float | None]]] = {}
    turned = float(graded.grade.measured.get("heading_change_deg", 0.0))
    for f in graded.grade.findings:
        plot, key = BANDED.get(f.quantity, ("", ""))
        if not plot or not f.over_s or (f.low is None and f.high is None):
            continue
        for start, end, aim in _held(graded, f, target.get(key)):
            unit = speed_unit if plot == "speed" else ""
            low, high = (None if x is None else _on(aim + x, unit) for x in (f.low, f.high))
            shown = None if f.quantity in ABSOLUTE else _on(aim, unit)
            band = {"from": start, "to": end, "aim": shown, "low": low, "high": high,
                    "slack": _on(f.allowance or 0.0, unit)}  # fmt: skip
            out.setdefault(plot, []).extend(_sides(band, turned) if plot == "bank" else [band])
    return out


def _held(graded: Graded, f: Finding, target: float | None) -> list[tuple[float, float, float]]:
    """(from, to, what it was held at) of a criterion: each level stretch at its own altitude."""
    if f.aim or f.quantity in ABSOLUTE:
        return [(a, b, f.aim or 0.0) for a, b in f.over_s]
    levels = [s for s in graded.grade.stretches if s.altitude_m is not None]
    if f.quantity == "altitude" and levels:
        return [(s.start_s, s.end_s, to_unit(s.altitude_m, "ft")) for s in levels if s.altitude_m is not None]
    return [] if target is None else [(a, b, float(target)) for a, b in f.over_s]


def _sides(band: dict[str, float | None], turned_deg: float) -> list[dict[str, float | None]]:
    """A size of bank as limits on the side turned to, on both where both were."""

    def other(x: float | None) -> float | None:
        return None if x is None else -x

    left = {**band, "aim": other(band["aim"]), "low": other(band["high"]), "high": other(band["low"])}
    if band["low"] is None:  # "at most": one band, from the limit to the left to the one to the right
        return [{**band, "low": other(band["high"])}]
    return [band, left] if abs(turned_deg) < BOTH_WAYS_DEG else [left] if turned_deg < 0.0 else [band]


def _on(value: float, unit: str) -> float:
    """Knots on the dial; anything else as it is."""
    return round(float(to_unit(from_unit(value, "kt"), unit)) if unit else value, 1)
