"""The debrief as one self-contained page: it opens from an e-mail, works offline, prints tidily. Computes nothing."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from functools import lru_cache
from importlib import resources
from typing import Any

from airwork.debrief import Debrief
from airwork.logbook.debrief_json import limit_ratio, read_debrief
from airwork.maneuvers import room
from airwork.maneuvers.setup import Trace
from airwork.output.debrief_doc import DebriefDoc, Marks, dial_of, make_debrief_doc
from airwork.output.debrief_words import judged
from airwork.output.html_template import render
from airwork.output.report_drawings import map_svg, strip_svg
from airwork.output.report_map import Around, track_data
from airwork.output.report_series import (
    LEAD_S,
    PLOTS,
    bands,
    column_for,
    ideal_series,
    plot_name,
    roll_in_s,
    sample_times,
    seldom,
    series,
    unit_for,
)
from airwork.recording.flight import Flight
from airwork.units import NM_M

SHEETS, SCRIPTS = ("base", "report"), ("plots", "gauges", "compare", "beside", "screen", "report")
SHOWN = {"deg": "°"}
USUAL = ("altitude", "speed", "bank", "heading")


def report_html(
    found: Debrief, *, zone: str = "UTC", ideals: Mapping[int, Trace] | None = None, marks: Marks | None = None,
    around: Around | None = None, whose: str = "",
) -> str:  # fmt: skip
    """The page of a debrief, complete in one file.

    Parameters
    ----------
    zone : time zone of the place, for the clock times shown.
    ideals : ideal traces by the episode's position in the debrief, to be laid over the flown ones.
    marks : as people gave them.
    around : what the map shows around the flight (`report_map.track_data`); the track alone if not given.
    whose : who flew it, who taught, who has signed it, where that is known.

    Raises
    ------
    InputError : the zone is unknown.
    """
    return render(
        "report.html",
        whose=whose,
        **report_values(found, make_debrief_doc(found, zone=zone, marks=marks), ideals=ideals),
        map_data=safe_json(track_data(found.flight, found.plan.corners_rad, ideals or {}, around=around)),
        m_per_nm=NM_M,
        css="".join([_vendor("uplot.css"), _vendor("leaflet.css"), *(_asset(f"{name}.css") for name in SHEETS)]),
        scripts=[*(_vendor(f"{name}.js") for name in ("uplot", "leaflet")), _own("land_map.js"),
                 *(_asset(f"{name}.js") for name in SCRIPTS)],
    )  # fmt: skip


def report_values(found: Debrief, doc: DebriefDoc, *, ideals: Mapping[int, Trace] | None = None) -> dict[str, Any]:
    """The document as the template `report_body.html` shows it, with drawings and the samples its plots draw."""
    traces, flight, values = ideals or {}, found.flight, asdict(doc)
    rows, dial, data = values["rows"], dial_of(found), found.as_json()
    empty = len(flight) < 2
    told = read_debrief(data).episodes
    episodes = [
        {
            **_shown(found, row, e, traces),
            "judged": judged(((c.name, c.worst, c.unit, limit_ratio(c), c.verdict) for c in as_told.criteria), dial),
        }
        for row, e, as_told in zip(rows, data["episodes"], told, strict=True)
    ]
    blob = screen_data(flight, dial, episodes, values["three"][1]["opens_s"])
    for shown, part in zip(values["maneuvers"], doc.maneuvers, strict=True):
        shown["plots"] = plots_of(part.kind, flight)
    facts = blob["plots"]
    return {
        **values, "plot_names": {p: f"{facts[p]['name']}, {facts[p]['unit']}" for p in facts},
        "strip": "" if empty else strip_svg(flight, rows, fix_s=blob["start"], fix=doc.three[1].on_the_strip),
        "data": safe_json(blob),
        "chart": "" if empty else map_svg(flight, rows, sample_times(flight), traces),
    }  # fmt: skip


def screen_data(
    flight: Flight, dial: str, episodes: Sequence[Mapping[str, Any]], start_s: float | None = None
) -> dict[str, Any]:
    """What the screen draws: the samples, the plots there are, the maneuvers; start_s : the moment it opens at."""
    empty = len(flight) < 2
    return {
        "series": {"t": []} if empty else series(flight, dial), "seldom": {} if empty else seldom(flight),
        "plots": {p: plot_facts(flight, p, dial) for p in PLOTS if column_for(flight, p)}, "episodes": episodes,
        "start": start_s,
    }  # fmt: skip


def plots_of(kind: str, flight: Flight) -> list[str]:
    """The plots a maneuver is shown with: those the flight has samples for."""
    return [p for p in dict.fromkeys((*USUAL, *room(kind).plots)) if column_for(flight, p)]


def plot_facts(flight: Flight, plot: str, dial: str) -> dict[str, Any]:
    """What stands over a plot: its name, unit, and the least room of its scale."""
    unit = unit_for(plot, column_for(flight, plot) or "", dial)
    return {"name": plot_name(flight, plot), "unit": SHOWN.get(unit, unit), "room": PLOTS[plot].room}


def _shown(
    found: Debrief, row: Mapping[str, Any], episode: Mapping[str, Any], ideals: Mapping[int, Trace]
) -> dict[str, Any]:
    """One maneuver as the screen shows it: its words, its stretch, its plots with their limits and the ideal."""
    k, flight, dial = row["index"], found.flight, dial_of(found)
    on_speed = unit_for("speed", column_for(flight, "speed") or "", dial)
    return {
        **{name: row[name] for name in ("number", "kind", "title", "mark", "sign", "word")},
        "worst": row["worst"], "cause": row["cause"],
        "start": episode["start_s"], "end": episode["end_s"], "from": episode["start_s"] - LEAD_S,
        "to": episode["end_s"] + LEAD_S, "plain": row["plain"], "plots": plots_of(row["kind"], flight),
        "bands": bands(found.episodes[k], on_speed), "roll": roll_in_s(flight, episode["start_s"], episode["end_s"]),
        **({"ideal": ideal_series(ideals[k], episode["start_s"], flight, dial)} if k in ideals else {}),
    }  # fmt: skip


@lru_cache
def _asset(name: str) -> str:
    return resources.files("airwork.output").joinpath("assets", name).read_text(encoding="utf-8")


@lru_cache
def _own(name: str) -> str:
    return resources.files("airwork").joinpath("web", "static", name).read_text(encoding="utf-8")


def _vendor(name: str) -> str:
    return _own(f"vendor/{name}")


def safe_json(blob: Any) -> str:
    """JSON that can't end the script element it stands in."""
    return json.dumps(blob, separators=(",", ":"), ensure_ascii=False, allow_nan=False).replace("<", "\\u003c")
