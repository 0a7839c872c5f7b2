"""The debrief on paper: a summary, then each maneuver with its criteria, causes and plots, set by typst."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from airwork.debrief import Debrief
from airwork.maneuvers.setup import Trace
from airwork.output.debrief_doc import Marks, make_debrief_doc
from airwork.output.drawing import FONT, Axis, Line, clock_ticks, on_paper, steps, xy_svg
from airwork.output.report import report_values
from airwork.output.report_drawings import map_svg, strip_svg
from airwork.output.report_series import LEAD_S, sample_times
from airwork.output.typeset import Paper, typeset
from airwork.units import clock

WIDE, HIGH = 452, 146
Numbers = Sequence[float | int | None]


@dataclass(frozen=True, slots=True)
class Plot:
    """What stands in a plot beside what was flown.

    name : quantity and unit, set over the plot. room : least height of the scale, in the plot's unit.
    maneuver_s : its start and end, marked by dotted lines. ideal : its (times, values). bands : what was asked for.
    compass : a heading, drawn without its jump at north and read as on the compass.
    """

    name: str
    room: float
    maneuver_s: tuple[float, float]
    ideal: tuple[Numbers, Numbers] | None = None
    bands: Sequence[Mapping[str, Any]] = ()
    compass: bool = False


def plot_svg(times: Numbers, flown: Numbers, plot: Plot, box: tuple[int, int] = (WIDE, HIGH)) -> str:
    """One plot.

    Parameters
    ----------
    times, flown : samples of the stretch, seconds from the start of the recording and the plot's printed unit; None
        where there is none.
    box : width and height. [px]
    """
    good = [(float(t), float(v)) for t, v in zip(times, flown, strict=True) if t is not None and v is not None]
    if len(good) < 2:
        return ""
    first, last = good[0][0], good[-1][0]
    laid = [] if plot.ideal is None else _line(*plot.ideal, first, last)
    values = [v for _, v in (*good, *laid) if math.isfinite(v)]
    values += [float(band[k]) for band in plot.bands for k in ("low", "high") if band[k] is not None]
    pad = max((max(values) - min(values)) * 0.06, plot.room / 2.0)
    low, high = min(values) - pad, max(values) + pad
    lines = []
    for band in plot.bands:
        bottom, top = (end if band[k] is None else float(band[k]) for k, end in (("low", low), ("high", high)))
        a, b = float(band["from"]), float(band["to"])
        lines.append(Line("", [(a, bottom), (a, top), (b, top), (b, bottom)], "band"))
    lines += [Line("", [(t, low), (t, high)], "bound") for t in plot.maneuver_s]
    lines += [Line("", laid, "c1"), Line("", _line(times, flown, first, last))]
    shown = [(v, f"{(round(v) - 1) % 360 + 1:03d}" if plot.compass else f"{v:,g}".replace("-", "−"))
             for v in steps(low, high, 5)]  # fmt: skip
    times_shown = clock_ticks(first, last, clock, box[0] // 75)
    within = (first, low), (last, high)
    return on_paper(
        xy_svg(
            lines, [], Axis(ticks=times_shown), Axis(ticks=shown), label=plot.name, size=box, within=within, titled=True
        )
    )


def _line(times: Numbers, values: Numbers, first: float, last: float) -> list[tuple[float, float]]:
    """A line within the plot, no number where it is broken."""
    points = [(math.nan, math.nan) if t is None or v is None else (float(t), float(v))
              for t, v in zip(times, values, strict=True)]  # fmt: skip
    return [p for p in points if not (p[0] < first or p[0] > last)]


# The drawings' style sheet on paper: black and white but for what was not held, told apart by its hatching too.
PAPER_STYLE = (
    f'<style>text{{font:12px "{FONT}";fill:#000}}.track{{fill:none;stroke:#777;stroke-width:1}}'
    ".stretch{fill:none;stroke:#0b5a6b;stroke-width:2.6}.axis{stroke:#ccc;stroke-width:1}"
    ".ideal{fill:none;stroke:#8a1226;stroke-width:1.6;stroke-dasharray:6 4}.profile{fill:#f2f2f2;stroke:#555}"
    ".block{fill:#d9e6ea;stroke:#0b5a6b}.passing{fill:#f2f2f2;stroke:#777}.unknown{fill:none}.ground{fill:#fff}"
    ".brief{stroke:#6b4500;stroke-dasharray:2 2}.out{fill:url(#hatch);stroke:#8a1226}.stroke{stroke:#8a1226}"
    ".count,.sign,.tick{text-anchor:middle}.halo{text-anchor:start}.sign{font-weight:bold}"
    ".sign.out{fill:#8a1226;stroke:none}.sign.brief{fill:#6b4500;stroke:none}"
    ".fix{stroke:#0b5a6b;stroke-width:2;stroke-dasharray:5 3}"
    "text.fix{fill:#0b5a6b;stroke:none;font-weight:bold}</style>"
)
MOST_ROWS = 20  # of the student's sheet; what was held gives way first
STRIP_PX, MAP_PX, SHEET_PLOT_PX = 760, (640, 420), (306, 150)  # so that figures stay legible


def debrief_pdf(
    found: Debrief, *, zone: str = "UTC", ideals: Mapping[int, Trace] | None = None, paper: Paper | None = None,
    marks: Marks | None = None, student: str = "",
) -> bytes:  # fmt: skip
    """The debrief on paper: one sheet for the student, then the evidence.

    Parameters
    ----------
    zone : time zone of the place, for the clock times shown.
    ideals : ideal traces by the episode's position in the debrief.
    paper : A4 for a European standard, else letter, if not given.
    marks : (who, mark and remark) by the episode's position, as given by people.
    student : whose flight it is, where that is known.

    Raises
    ------
    InputError : the zone is unknown.
    """
    data = debrief_data(found, zone=zone, ideals=ideals, marks=marks, student=student)
    return typeset("debrief.typ", data, paper or paper_for(found.standard.id))


def paper_for(standard: str) -> Paper:
    """The paper of the part of the world a standard is from."""
    return "a4" if standard.startswith("easa") else "letter"


def debrief_data(
    found: Debrief, *, zone: str = "UTC", ideals: Mapping[int, Trace] | None = None, marks: Marks | None = None,
    student: str = "",
) -> dict[str, Any]:  # fmt: skip
    """What the paper shows, as plain data; parameters as `debrief_pdf`."""
    doc = make_debrief_doc(found, zone=zone, marks=marks)
    values = report_values(found, doc, ideals=ideals)
    blob = json.loads(values.pop("data"))
    for m in values["maneuvers"]:
        m["columns"] = m["plots"]
        m["plots"] = [plot for one in m["plots"] if (plot := _plot(m, one, blob))]
    flight, rows = found.flight, values["rows"]

    def over_ground(box: tuple[int, int]) -> str:
        drawn = map_svg(flight, rows, sample_times(flight), ideals or {}, box=box) if len(flight) > 1 else ""
        return on_paper(drawn, PAPER_STYLE)

    said = doc.three[1].on_the_strip
    strip = strip_svg(flight, rows, wide=STRIP_PX, fix_s=blob["start"], fix=said) if len(flight) > 1 else ""
    return {
        **values, "strip": on_paper(strip, PAPER_STYLE), "chart": over_ground(MAP_PX), "student": student,
        "sheet": {**student_sheet(values, blob), "chart": over_ground((240, 250)),
                  "low_chart": over_ground((240, 165))},
    }  # fmt: skip


def student_sheet(values: Mapping[str, Any], blob: Mapping[str, Any]) -> dict[str, Any]:
    """The student's sheet: the exercises worth a line, and the one to look at with its plots."""
    rows = [r for r in values["rows"] if r.get("marks") or not r["plain"]]
    by_need = sorted(rows, key=lambda r: ("out", "brief", "unknown", "held").index(r["mark"]))
    marked = sorted(by_need, key=lambda r: not r.get("marks"))  # what an instructor said always stands
    shown = sorted(marked[:MOST_ROWS], key=lambda r: r["number"])
    moment = values["three"][1]["opens_s"]
    parts = [m for m in values["maneuvers"] if not m["plain"]]
    needed = next((m for r in by_need for m in parts if m["index"] == r["index"]), None)
    near = None if moment is None else min(parts, key=lambda m: _beside(m, moment), default=None)
    look = near or needed or next(iter(parts), None)
    if look is not None:
        plots = [plot for one in look["columns"] if (plot := _plot(look, one, blob, SHEET_PLOT_PX))]
        look = {**look, "plots": plots[:4], "causes": look["causes"][:2]}
    return {"rows": shown, "more": len(rows) - len(shown), "look": look}


def _beside(m: Mapping[str, Any], moment_s: float) -> float:
    """How far a moment lies outside a maneuver; 0 in it. [s]"""
    return max(m["start_s"] - moment_s, moment_s - m["end_s"], 0.0)


def _plot(m: Mapping[str, Any], column: str, blob: Mapping[str, Any], box: tuple[int, int] = (WIDE, HIGH)) -> str:
    """One plot of a maneuver from the page's own data."""
    episode, series, facts = blob["episodes"][m["index"]], blob["series"], blob["plots"][column]
    inside = [k for k, t in enumerate(series["t"]) if m["start_s"] - LEAD_S <= t <= m["end_s"] + LEAD_S]
    ideal = episode.get("ideal", {})
    plot = Plot(
        f"{facts['name']}, {facts['unit']}", facts["room"], (m["start_s"], m["end_s"]),
        (ideal["t"], ideal[column]) if column in ideal else None, episode["bands"].get(column, ()), column == "heading",
    )  # fmt: skip
    return plot_svg([series["t"][k] for k in inside], [series[column][k] for k in inside], plot, box)
