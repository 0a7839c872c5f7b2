"""What the verdict says of the practice area: does the path stay inside, in its altitudes, within glide of a field."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from airwork.lesson.area import Area, farthest_m
from airwork.lesson.case import Case
from airwork.lesson.exercises import Run
from airwork.lesson.flight_plan import glide_of
from airwork.lesson.glide import Field, best_place
from airwork.lesson.legs import PATTERN_AGL_M
from airwork.lesson.path import GLIDE_SPARE_M, Laid
from airwork.lesson.style import Style
from airwork.lesson.verdict import OWN, Reason
from airwork.units import FT_M, NM_M

Array = NDArray[np.float64]

SLACK_M = 0.05 * NM_M  # what a tenth of a mile, as it is printed, can't show
FAR_M = 100.0 * NM_M  # nobody practices so far out: a position is mistyped (our own choice)
AROUND_M = 5.0 * NM_M  # an airport farther from the area says nothing of its ground (our own choice)
CLEAR_M = 500.0 * FT_M  # above the highest ground (common practice, no source)
GLIDE = "higher, nearer to a field, or another field named; over water life vests on"
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
    given = {
        p.name: p.elevation_m
        for p in wanted.landing_places
        if p.elevation_m is not None
        and float(area.inside_m(*case.flight.flat.east_north_m(*p.position_rad))) > -AROUND_M
    }
    if high := {name: m for name, m in given.items() if m > wanted.ground_m + 50.0 * FT_M}:
        names = ", ".join(f"{name} at {style.altitude(m)}" for name, m in high.items())
        text = f"{names}, above {style.altitude(wanted.ground_m)}, the highest ground given for {wanted.name}"
        yield Reason("ground", "think", text, "lesson", "the highest ground in and around the area, or its elevation")
    yield from _climb_over_ground(case, area)
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
        yield from _glide(case, area, by_number)


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


def _climb_over_ground(case: Case, area: Area) -> Iterator[Reason]:
    """The climb into an area whose highest ground lies above it; where in the area that ground is nobody said."""
    style, ground = case.style, area.wanted.ground_m
    if ground - case.field_m <= PATTERN_AGL_M or not case.flight.laid:
        return
    east, north, altitude, _ = _way_out(case)
    inside = np.flatnonzero(area.inside_m(east, north) > 0.0)
    if inside.size and altitude[inside[0]] < ground + CLEAR_M:
        text = (
            f"the climb comes into {area.wanted.name} at {style.altitude(float(altitude[inside[0]]))}, where ground up "
            f"to {style.altitude(ground)} is given"
        )
        yield Reason("climb over ground", "think", text, OWN, "climb over the field first, and come home as high")


def _way_out(case: Case) -> tuple[Array, Array, Array, Array]:
    """East, north, altitude and time from takeoff along the straight way from the field to the first exercise."""
    flight = case.flight
    first = next(iter(flight.laid.values()))
    away = np.hypot(first.east_m[0] - flight.planner.field_m[0], first.north_m[0] - flight.planner.field_m[1])
    legs = [leg for leg in flight.legs if leg.kind in {"climb", "transit"}][:2]
    climbing = max(next((leg.distance_m for leg in legs if leg.kind == "climb"), 0.0), 1.0)
    share = np.linspace(0.0, 1.0, 200)
    east, north = (
        f + share * (t - f) for f, t in zip(flight.planner.field_m, (first.east_m[0], first.north_m[0]), strict=True)
    )
    up = np.minimum(share * away / climbing, 1.0)
    altitude = case.field_m + up * (float(first.altitude_m[0]) - case.field_m)
    return east, north, altitude, share * sum(leg.duration_s for leg in legs)


def _out_of_glide(case: Case, titles: Mapping[str, Sequence[Run]]) -> str:
    """How long of exercises and way out no place is within glide, and how far off the nearest is, in words."""
    flight, style = case.flight, case.style
    glide = glide_of(case.lesson, case.airplane, case.day, flight.flat, flight.planner.mass_kg)
    if glide is None:
        return ""
    home = Field(case.lesson.place.ident, *flight.planner.field_m, case.field_m)
    fields = (*glide.fields, home)

    def out(east: Array, north: Array, altitude: Array) -> NDArray[np.bool_]:
        found, _ = best_place(east, north, altitude, fields, glide.ratio, glide.tas_mps, case.day.air)
        return np.asarray(found < 0.0)

    seconds, far, near = 0.0, 0.0, home
    for runs in titles.values():
        for run in runs:
            laid = flight.laid[run.number]
            lost = out(laid.east_m, laid.north_m, laid.altitude_m)
            seconds += float(lost.mean()) * run.duration_s
            for e, n in zip(laid.east_m[lost], laid.north_m[lost], strict=True):
                best = min(fields, key=lambda f: float(np.hypot(f.east_m - e, f.north_m - n)))
                if (gap := float(np.hypot(best.east_m - e, best.north_m - n))) > far:
                    far, near = gap, best
    east, north, altitude, time = _way_out(case)
    way = float(out(east, north, altitude).mean()) * float(time[-1])
    if far <= 0.0:
        return ""
    also = f" and {style.minutes(way)} of the way out (home again)" if way >= 60.0 else ""
    return f": {style.minutes(seconds)}{also}, up to {style.distance(far)} from {near.name}"


def _glide(case: Case, area: Area, runs: Mapping[int, Run]) -> Iterator[Reason]:
    laid, style = case.flight.laid, case.style
    if not area.wanted.landing_places:
        yield Reason("glide reach", "unknown", "no landing places named in the area")
        return
    number, worst = min(laid.items(), key=lambda item: item[1].glide_spare_m)
    title = runs[number].title
    if worst.glide_spare_m < 0.0:
        short: dict[str, list[Run]] = {}
        for n, path in laid.items():
            if path.glide_spare_m < 0.0:
                short.setdefault(runs[n].title, []).append(runs[n])
        text = f"{', '.join(short)}: no named landing place within glide everywhere{_out_of_glide(case, short)}"
        yield Reason("glide reach", "think", text, OWN, GLIDE)
    elif worst.glide_spare_m < min(GLIDE_SPARE_M, LESS_GLIDE * _height_m(area, worst)):
        text = (
            f"{title}: {worst.glide_field} just within glide, {style.altitude(worst.glide_spare_m)} above it on arrival"
        )
        yield Reason("glide reach", "think", text, OWN, GLIDE)
    else:
        least = f"least {style.altitude(worst.glide_spare_m)} over {worst.glide_field}"
        yield Reason("glide reach", "go", f"a named landing place always within glide, {least}", "handbook glide, wind")
