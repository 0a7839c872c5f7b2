"""A rehearsed lesson as the debrief's own screen shows it: the ideals in place of what was flown, with their steps."""

from __future__ import annotations

from typing import Any

import numpy as np

from airwork.jobs.rehearsing import Rehearsal, Rehearsed
from airwork.maneuvers import room
from airwork.masks import runs
from airwork.output.dial import on_dial
from airwork.output.report import plots_of, safe_json, screen_data
from airwork.output.report_drawings import strip_svg
from airwork.output.report_map import Around, track_data
from airwork.standards import Standard
from airwork.units import to_unit

SLACK = 1e-6  # of rounding: an ideal flown on the limit is inside
LEAST_SAMPLES = 4  # a limit kept for fewer is not drawn


def chair_values(rehearsal: Rehearsal, standard: Standard, *, around: Around | None = None) -> dict[str, Any]:
    """What the page shows; the blob of samples is that of a debrief, its episodes carry `steps`: (moment, what to do).

    Parameters
    ----------
    around : what the map shows around the flight (`report_map.track_data`).
    """
    b, flight = rehearsal.briefing, rehearsal.flight
    rows = [_row(k, one) for k, one in enumerate(rehearsal.exercises)]
    shown = [
        {
            **row, "worst": "", "cause": _limits_in_words(one, b.dial_unit), "start": one.start_s,
            "end": one.end_s, "from": one.start_s, "to": one.end_s, "plots": plots_of(one.exercise.kind, flight),
            "bands": _bands(one, standard, b.dial_unit), "roll": one.start_s,
            "steps": [(round(at, 1), step) for at, step in zip(one.due_s, one.set_up.steps, strict=True)],
        }
        for row, one in zip(rows, rehearsal.exercises, strict=True)
    ]  # fmt: skip
    return {
        "title": b.title, "left_out": rehearsal.left_out, "airplane": b.airplane_name,
        "data": safe_json(screen_data(flight, b.dial_unit, shown)),
        "strip": strip_svg(flight, rows) if rows else "",
        "exercises": [{"number": row["number"], "title": row["title"], "steps": one.set_up.steps}
                      for row, one in zip(rows, rehearsal.exercises, strict=True)],
        "map_data": safe_json(track_data(flight, b.area.corners_rad if b.area else (), {}, around=around)),
    }  # fmt: skip


def _row(k: int, one: Rehearsed) -> dict[str, Any]:
    return {
        "index": k, "number": k + 1, "kind": one.exercise.kind, "title": one.exercise.title, "start_s": one.start_s,
        "end_s": one.end_s, "mark": "held", "sign": "", "word": "to be flown", "plain": False,
    }  # fmt: skip


def _limits_in_words(one: Rehearsed, dial: str) -> str:
    return " · ".join(f"{t.name} {on_dial(t.text, dial)}" for t in one.set_up.tolerances)


def _bands(one: Rehearsed, standard: Standard, dial: str) -> dict[str, list[dict[str, float | None]]]:
    """The standard's limits around what is aimed at, where the ideal itself is inside them."""
    task, targets = standard.task(room(one.exercise.kind).judged_by), one.set_up.targets
    out: dict[str, list[dict[str, float | None]]] = {}
    for quantity, plot, name, aim, unit in (
        ("altitude", "altitude", "altitude_m", one.set_up.entry_altitude_m, "ft"),
        ("ias", "speed", "ias_mps", targets.get("ias_mps"), dial),
        ("bank", "bank", "bank_rad", targets.get("bank_rad"), "deg"),
    ):  # fmt: skip
        c = task.criterion(quantity)
        if c is None or aim is None or name not in one.columns or not c.has_limit:
            continue
        low, high = (None if x is None else round(float(to_unit(aim + x, unit)), 1) for x in (c.low, c.high))
        flown = one.columns[name]
        size = np.abs(flown) if quantity == "bank" else flown
        inside = (size >= aim + (-np.inf if c.low is None else c.low) - SLACK) & (
            size <= aim + (np.inf if c.high is None else c.high) + SLACK
        )
        if quantity == "altitude" and not inside.all():
            continue  # it climbs or descends: no altitude is held
        shown = round(float(to_unit(aim, unit)), 1)
        for first, last in runs(inside):
            start, end = (one.start_s + float(one.time_s[k]) for k in (first, last - 1))
            band = {"from": start, "to": end, "aim": shown, "low": low, "high": high, "slack": 0.0}
            if quantity == "bank" and flown[first] < 0.0:
                band |= {"aim": -shown, "low": None if high is None else -high, "high": None if low is None else -low}
            if last - first >= LEAST_SAMPLES:
                out.setdefault(plot, []).append(band)
    return out
