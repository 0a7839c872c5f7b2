"""The plots of one maneuver as SVG for paper: flown, the ideal laid over, the tolerance band. Computes nothing."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from airwork.output.drawing import Axis, Line, clock_ticks, on_paper, steps, xy_svg
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
