"""The debrief as one self-contained page: opens from a mail, works offline, prints tidily. Computes nothing."""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import lru_cache
from importlib import resources
from typing import TYPE_CHECKING, Any

import jinja2

from airwork.maneuvers import room
from airwork.maneuvers.setup import Trace
from airwork.output.debrief_doc import DebriefDoc, Marks, Part, make_debrief_doc
from airwork.output.report_drawings import map_svg, timeline_svg
from airwork.output.report_series import (
    LEAD_S,
    PLOTS,
    bands,
    column_for,
    ideal_series,
    plot_name,
    sample_times,
    series,
)

if TYPE_CHECKING:
    from airwork.debrief import Debrief
    from airwork.recording.flight import Flight

SHOWN = {"deg": "°"}
USUAL = ("altitude", "speed", "bank", "heading")


def report_html(
    found: Debrief, *, zone: str = "UTC", ideals: Mapping[int, Trace] | None = None, marks: Marks | None = None
) -> str:
    """The page of a debrief, complete in one file.

    Parameters
    ----------
    zone : time zone of the place, for the clock times shown.
    ideals : ideal traces by the episode's position in the debrief, to be laid over the flown ones.
    marks : as people gave them.

    Raises
    ------
    InputError : the zone is unknown.
    """
    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("airwork.output", "templates"), autoescape=True, undefined=jinja2.StrictUndefined
    )
    return environment.get_template("report.html").render(
        **report_values(found, make_debrief_doc(found, zone=zone, marks=marks), ideals=ideals),
        css=_asset("assets", "base.css") + _asset("assets", "report.css"),
        plots_js=_asset("assets", "plots.js"),
        report_js=_asset("assets", "report.js"),
        uplot=_vendor("uplot.js"),
        uplot_css=_vendor("uplot.css"),
    )


def report_values(found: Debrief, doc: DebriefDoc, *, ideals: Mapping[int, Trace] | None = None) -> dict[str, Any]:
    """The document as the template `report_body.html` shows it, with drawings and the samples its plots draw."""
    traces, flight, values = ideals or {}, found.flight, doc.as_json()
    rows = values["rows"]
    chart, points = map_svg(flight, rows, sample_times(flight), traces) if len(flight) else ("", {})
    blob = {
        "series": {**(series(flight) if len(flight) else {"t": []}), **points},
        "episodes": [_plot_data(k, e, traces) for k, e in enumerate(found.as_json()["episodes"])],
    }
    for shown, part in zip(values["maneuvers"], doc.maneuvers, strict=True):
        shown["plots"] = plots_of(part, flight)
    drawn = timeline_svg(flight, rows) if len(flight) > 1 else ""
    return {**values, "timeline": drawn, "chart": chart, "data": _safe_json(blob)}


def plots_of(part: Part, flight: Flight) -> list[dict[str, Any]]:
    """The plots a maneuver is shown with: those the flight has samples for."""
    names = [p for p in (*USUAL, *room(part.kind).plots) if column_for(flight, p)]
    units = {p: SHOWN.get(PLOTS[p][1], PLOTS[p][1]) for p in names}
    return [
        {"column": p, "unit": units[p], "room": PLOTS[p][4], "name": f"{plot_name(flight, p)}, {units[p]}"}
        for p in names
    ]


def _plot_data(k: int, episode: Mapping[str, Any], ideals: Mapping[int, Trace]) -> dict[str, Any]:
    out = {"from": episode["start_s"] - LEAD_S, "to": episode["end_s"] + LEAD_S, "bands": bands(episode)}
    if k in ideals:
        out["ideal"] = ideal_series(ideals[k], episode["start_s"])
    return out


@lru_cache
def _asset(folder: str, name: str) -> str:
    return resources.files("airwork.output").joinpath(folder, name).read_text(encoding="utf-8")


@lru_cache
def _vendor(name: str) -> str:
    return resources.files("airwork").joinpath("web", "static", "vendor", name).read_text(encoding="utf-8")


def _safe_json(blob: Any) -> str:
    """JSON that can't end the script element it stands in."""
    return json.dumps(blob, separators=(",", ":"), ensure_ascii=False, allow_nan=False).replace("<", "\\u003c")
