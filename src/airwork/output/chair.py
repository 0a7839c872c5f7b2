"""A briefed lesson as a flight to be rehearsed in a chair: the ideal of each exercise, in today's wind and numbers.

The exercises are laid one after another as one Flight, so that the debrief's own screen shows it. What is not flown as
an ideal (the way between, an exercise the day does not allow) is left out and said.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, cast

import numpy as np
from numpy.typing import NDArray

from airwork.airdata.angles import wrap_positive_rad
from airwork.airdata.atmosphere import G0_MPS2, RHO0_KGPM3
from airwork.airplane.performance import Performance
from airwork.lesson.briefing import Briefing, PlannedExercise
from airwork.maneuvers import room
from airwork.maneuvers.seeing.signal import runs
from airwork.maneuvers.setup import Trace
from airwork.output.chair_steps import due
from airwork.output.dial import on_dial
from airwork.output.report import plots_of, safe_json, screen_data
from airwork.output.report_drawings import strip_svg
from airwork.output.report_map import Around, track_data
from airwork.recording.flight import Column, Flight
from airwork.recording.geodesy import radii_m
from airwork.standards import Standard
from airwork.units import to_unit

Array = NDArray[np.float64]

BETWEEN_S = 5.0  # of nothing between two exercises, so that they stand apart
ROLLING_MPS = 18.0  # slower than any of them flies: rolling, the wheels carry
SLACK = 1e-6  # of rounding: an ideal flown on the limit is inside


def chair_values(
    b: Briefing, traces: Mapping[int, Trace], performance: Performance, standard: Standard, *,
    around: Around | None = None,
) -> dict[str, Any]:  # fmt: skip
    """What the page shows; the blob of samples is that of a debrief, its episodes carry `steps`: (moment, what to do).

    Parameters
    ----------
    traces : by the exercise's number (`lesson.plan.ideals`).
    around : what the map shows around the flight (`report_map.track_data`).
    """
    parts: list[tuple[PlannedExercise, float, Array, dict[str, Array]]] = []
    left_out, at = [], 0.0
    for e in b.exercises:
        trace = traces.get(e.number)
        if e.set_up is None or trace is None:
            left_out.append((e.title, e.problem or "its ideal can't be worked out for today"))
            continue
        time = np.asarray(trace.time_s, dtype=float)
        parts.append((e, at, time, _columns(b, e, trace, performance)))
        at += float(time[-1]) + BETWEEN_S
    flight = _joined(parts)
    rows = [_row(k, e, start, time) for k, (e, start, time, _) in enumerate(parts)]
    dial, shown = b.dial_unit, []
    for row, (e, start, time, columns) in zip(rows, parts, strict=True):
        assert e.set_up is not None
        limits = " · ".join(f"{t.name} {on_dial(t.text, dial)}" for t in e.set_up.tolerances)
        steps = list(
            zip((round(start + s, 1) for s in due(e.set_up.steps, time, columns)), e.set_up.steps, strict=True)
        )
        shown.append({
            **row, "worst": "", "cause": limits, "next": "", "start": row["start_s"], "end": row["end_s"],
            "from": row["start_s"], "to": row["end_s"], "plots": plots_of(e.kind, flight),
            "bands": _limits(e, start, time, columns, standard, dial), "roll": row["start_s"], "steps": steps,
        })  # fmt: skip
    return {
        "title": b.title, "left_out": left_out, "airplane": b.airplane_name,
        "data": safe_json(screen_data(flight, dial, shown)),
        "strip": strip_svg(flight, rows) if parts else "",
        "exercises": [{"number": r["number"], "title": r["title"], "steps": e.set_up.steps if e.set_up else ()}
                      for r, (e, *_) in zip(rows, parts, strict=True)],
        "map_data": safe_json(track_data(flight, b.area.corners_rad if b.area else (), {}, around=around)),
    }  # fmt: skip


def _row(k: int, e: PlannedExercise, start: float, time: Array) -> dict[str, Any]:
    return {
        "index": k, "number": k + 1, "kind": e.kind, "title": e.title, "start_s": start,
        "end_s": start + float(time[-1]), "mark": "held", "sign": "", "word": "to be flown", "plain": False,
    }  # fmt: skip


def _columns(b: Briefing, e: PlannedExercise, trace: Trace, performance: Performance) -> dict[str, Array]:
    """The trace turned to the heading it is planned on and laid over the ground, with the pitch it is flown at."""
    out = {name: np.asarray(values, dtype=float) for name, values in trace.columns.items()}
    time, heading = np.asarray(trace.time_s, dtype=float), out["heading_rad"]
    turn = 0.0 if e.path is None or room(e.kind).tied_to_ground else e.path.heading_rad - float(heading[0])
    for name in ("heading_rad", "heading_mag_rad"):
        if name in out:
            out[name] = wrap_positive_rad(out[name] + turn)
    climb = out.get("flight_path_rad", np.zeros_like(time))
    level = out["tas_mps"] * np.cos(climb)
    wind, blows_from = out.get("wind_mps", np.zeros_like(time)), out.get("wind_from_rad", np.zeros_like(time))
    step = np.diff(time, prepend=time[0])
    over = [(level * f(heading + turn) - wind * f(blows_from)) * step for f in (np.sin, np.cos)]
    moving = out.get("groundspeed_mps", level) > 0.5  # a take-off begins standing: the wind doesn't push it back
    east, north = (np.cumsum(np.where(moving, part, 0.0)) for part in over)
    lat, lon = (b.place.latitude_rad, b.place.longitude_rad) if e.path is None else e.path.points[0][1:3]
    meridian, parallel = (float(r) for r in radii_m(lat))
    out["latitude_rad"], out["longitude_rad"] = lat + north / meridian, lon + east / parallel
    out["pitch_rad"] = climb + _angle_of_attack_rad(b, out, performance) * np.cos(out.get("bank_rad", 0.0 * time))
    return {name: out[name] for name in out if name not in {"east_m", "north_m", "track_rad"}}


def _angle_of_attack_rad(b: Briefing, columns: Mapping[str, Array], performance: Performance) -> Array:
    """From the lift that carries the weight, times the load, at that speed."""
    pressure = 0.5 * RHO0_KGPM3 * np.maximum(columns["cas_mps"], 1.0) ** 2
    load = columns.get("load_factor", np.ones_like(pressure))
    lift = load * b.balance.points[0].mass_kg * G0_MPS2 / (pressure * performance.learned.geometry.wing_area_m2)
    notch = columns.get("flap_notch", np.zeros_like(pressure)).astype(np.int64)
    lift = np.where(columns["cas_mps"] > ROLLING_MPS, lift, 0.0)
    return performance.attitude.angle_of_attack_rad(lift, cast("Any", _Notch(notch)))


class _Notch:
    """What the lift curve asks of a state of flight."""

    def __init__(self, notch: NDArray[np.int64]) -> None:
        self.notch = notch


def _joined(parts: list[tuple[PlannedExercise, float, Array, dict[str, Array]]]) -> Flight:
    """The exercises as one flight; nothing is known between them."""
    times: list[Array] = []
    columns: dict[str, list[Array]] = {name: [] for *_, own in parts for name in own}
    for _, start, time, own in parts:
        times += [start + time, np.array([start + float(time[-1]) + 0.5])]
        for name, pieces in columns.items():
            pieces += [own.get(name, np.full(time.size, np.nan)), np.array([np.nan])]
    joined = {n: Column(np.concatenate(p), "measured", note="the ideal") for n, p in columns.items()}
    return Flight(float("nan"), np.concatenate(times) if times else np.zeros(0), joined)


def _limits(
    e: PlannedExercise, start: float, time: Array, columns: Mapping[str, Array], standard: Standard, dial: str
) -> dict[str, list[dict[str, float | None]]]:
    """The standard's limits round what is aimed at, where the ideal itself is inside them."""
    assert e.set_up is not None
    task, targets = standard.task(room(e.kind).judged_by), e.set_up.targets
    out: dict[str, list[dict[str, float | None]]] = {}
    for quantity, plot, name, aim, unit in (
        ("altitude", "altitude", "altitude_m", e.set_up.entry_altitude_m, "ft"),
        ("ias", "speed", "ias_mps", targets.get("ias_mps"), dial),
        ("bank", "bank", "bank_rad", targets.get("bank_rad"), "deg"),
    ):  # fmt: skip
        c = task.criterion(quantity)
        if c is None or aim is None or name not in columns or (c.low is None and c.high is None):
            continue
        low, high = (None if x is None else round(float(to_unit(aim + x, unit)), 1) for x in (c.low, c.high))
        flown = columns[name]
        size = np.abs(flown) if quantity == "bank" else flown
        inside = (size >= aim + (c.low if c.low is not None else -np.inf) - SLACK) & (
            size <= aim + (c.high if c.high is not None else np.inf) + SLACK
        )
        if quantity == "altitude" and not inside.all():
            continue  # it climbs or descends: no altitude is held
        shown = round(float(to_unit(aim, unit)), 1)
        for first, last in runs(inside):
            band = {"from": start + float(time[first]), "to": start + float(time[last - 1]), "aim": shown, "low": low,
                    "high": high, "slack": 0.0}  # fmt: skip
            if quantity == "bank" and flown[first] < 0.0:
                band |= {"aim": -shown, "low": None if high is None else -high, "high": None if low is None else -low}
            if last - first > 3:
                out.setdefault(plot, []).append(band)
    return out
