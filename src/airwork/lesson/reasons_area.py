"""What the verdict says of the practice area: does the path stay inside, in its altitudes, within glide of a field."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from airwork.lesson.area import Area, farthest_m
from airwork.lesson.case import Case
from airwork.lesson.exercises import Run
from airwork.lesson.path import GLIDE_SPARE_M, Laid
from airwork.lesson.style import Style
from airwork.lesson.verdict import OWN, Reason
from airwork.units import FT_M, NM_M

SLACK_M = 0.05 * NM_M  # what a tenth of a mile, as it is printed, can't show
FAR_M = 100.0 * NM_M  # nobody practices so far out: a position is mistyped (our own choice)
GLIDE = "higher, nearer to a field, or another field named"
LESS_GLIDE = 0.10  # within glide even where it is a tenth worse than the handbook's (airwork's own choice)


def area_reasons(case: Case) -> Iterator[Reason]:
    """Margins of the path to the edge, the floor and the ceiling of the area; glide reach."""
    area, runs, laid, style = case.flight.area, case.flight.runs, case.flight.laid, case.style
    if area is None:
        if any(not r.at_field for r in runs):
            yield Reason("practice area", "unknown", "no practice area given")
        return
    wanted = area.wanted
    away = farthest_m(case.lesson)
    if away > FAR_M:
        text = (
            f"{wanted.name} lies {style.distance(away)} from {case.lesson.place.ident}: a slip in one of the positions?"
        )
        yield Reason("practice area", "no-go", text, OWN, "the positions of field and area as on the chart")
    given = {p.name: p.elevation_m for p in wanted.landing_places if p.elevation_m is not None}
    if high := {name: m for name, m in given.items() if m > wanted.ground_m + 50.0 * FT_M}:
        names = ", ".join(f"{name} at {style.altitude(m)}" for name, m in high.items())
        text = f"{names}, above {style.altitude(wanted.ground_m)}, the highest ground given for {wanted.name}"
        yield Reason("ground", "think", text, "lesson", "the highest ground in and around the area, or its elevation")
    by_number = {r.number: r for r in runs}
    if laid:
        number, tightest = min(laid.items(), key=lambda item: item[1].margin_m)
        title = by_number[number].title
        if tightest.margin_m < 0.0:
            text = (
                f"{title} leaves {wanted.name} by {style.distance(-tightest.margin_m)} in this wind, wherever it begins"
            )
            yield Reason("practice area", "no-go", text, OWN, "less wind, a larger area, a shorter exercise")
        elif tightest.margin_m < area.margin_m - SLACK_M:
            text = f"{title} stays inside {wanted.name} by only {style.distance(tightest.margin_m)}"
            yield Reason("practice area", "think", text, OWN, "a larger area, or less margin")
        else:
            yield Reason(
                "practice area", "go", f"all inside {wanted.name}, {style.distance(tightest.margin_m)} to spare"
            )
    yield from _altitudes(area, by_number, laid, style)
    missing = [r.title for r in runs if r.set_up is not None and not r.at_field and r.number not in laid]
    if missing:
        names = ", ".join(dict.fromkeys(missing))
        yield Reason("path", "unknown", f"no path to lay out for {names}: keep the margin yourself")
    if laid:
        yield from _glide(area, by_number, laid, style)


def _altitudes(area: Area, runs: Mapping[int, Run], laid: Mapping[int, Laid], style: Style) -> Iterator[Reason]:
    wanted = area.wanted
    said = set()
    for number, run in runs.items():
        if run.set_up is None or run.at_field or run.exercise in said:
            continue
        path = laid.get(number)
        low = run.set_up.entry_altitude_m if path is None else float(path.altitude_m.min())
        high = run.set_up.entry_altitude_m if path is None else float(path.altitude_m.max())
        floor = max(wanted.floor_m, run.set_up.floor_m)
        if low < floor - FT_M:
            said.add(run.exercise)
            text = f"{run.title} goes down to {style.altitude(low)}, below the floor {style.altitude(floor)}"
            yield Reason(
                "altitude",
                "no-go",
                text,
                run.set_up.floor_why if floor > wanted.floor_m else "practice area",
                "begin higher",
            )
        if high > wanted.ceiling_m + FT_M:
            said.add(run.exercise)
            top = style.altitude(wanted.ceiling_m)
            yield Reason(
                "altitude",
                "no-go",
                f"{run.title} goes up to {style.altitude(high)}, above the ceiling {top}",
                "practice area",
                "begin lower",
            )
    if not said and runs:
        span = f"{style.altitude(wanted.floor_m)} to {style.altitude(wanted.ceiling_m)}"
        yield Reason("altitude", "go", f"all within {span}", "practice area")


def _height_m(area: Area, path: Laid) -> float:
    """Height of an exercise's lowest point above the ground. [m]"""
    return max(float(path.altitude_m.min()) - area.wanted.ground_m, 0.0)


def _glide(area: Area, runs: Mapping[int, Run], laid: Mapping[int, Laid], style: Style) -> Iterator[Reason]:
    if not area.wanted.landing_places:
        yield Reason("glide reach", "unknown", "no landing places named in the area")
        return
    number, worst = min(laid.items(), key=lambda item: item[1].glide_spare_m)
    title = runs[number].title
    if worst.glide_spare_m < 0.0:
        yield Reason("glide reach", "think", f"{title}: no named landing place within glide everywhere", OWN, GLIDE)
    elif worst.glide_spare_m < min(GLIDE_SPARE_M, LESS_GLIDE * _height_m(area, worst)):
        text = (
            f"{title}: {worst.glide_field} just within glide, {style.altitude(worst.glide_spare_m)} above it on arrival"
        )
        yield Reason("glide reach", "think", text, OWN, GLIDE)
    else:
        least = f"least {style.altitude(worst.glide_spare_m)} over {worst.glide_field}"
        yield Reason("glide reach", "go", f"a named landing place always within glide, {least}", "handbook glide, wind")
