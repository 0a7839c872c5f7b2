"""What the verdict says of wind: its strength and gusts by themselves, across and along the runway, aloft, shear."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence

import numpy as np

from airwork.airdata.wind import headwind_mps, wind_vector_mps
from airwork.lesson.case import Case
from airwork.lesson.moments import Found, Moment, worst, worst_of
from airwork.lesson.runway_plan import Components, field_winds
from airwork.lesson.verdict import ORDER, OWN, Level, Reason
from airwork.lesson.weather import Wind
from airwork.maneuvers.seeing.signal import median
from airwork.units import DEG_RAD, FT_M, KT_MPS, from_unit
from airwork.values import sourced

LOW_LEVEL_M = from_unit(2000.0, "ft")  # low-level wind shear is that below 2,000 ft above the field ([AWH] 27.3)
RIDGE_WIND_MPS = from_unit(25.0, "kt")  # across ridges, from which on waves and turbulence are usual (AIM, from memory)
HIGH_GROUND_M = from_unit(2000.0, "ft")  # above the field: hills that make a lee (our own choice)
GROWS = 2.0  # above the layer that the ground slows ([PHAK] ch. 12) it is often twice as strong (the factor is our own)
CONTRADICTS_MPS = from_unit(15.0, "kt")  # what two forecasts of one hour don't differ by (our own choice)
_GROUP = re.compile(r"WS(\d{3})/(\d{3})(\d{2,3})KT")
SLACK_MPS = 0.05 * KT_MPS
SLIGHT_MPS = from_unit(5.0, "kt")  # a tailwind up to it is a thought though the other end has none (common practice)
_NAMES = {"wind": "mean wind", "gust": "gusts", "gust_spread": "gusts over the mean wind"}


def wind_reasons(case: Case) -> Iterator[Reason]:
    """Wind by itself, on the runway, aloft, and its shear."""
    if case.day.wind is None:
        yield Reason("wind", "unknown", "surface wind not given")
    yield from strength_reasons(case)
    yield from _own_limits(case)
    if case.runway.runway is None:
        yield Reason("runway in use", "unknown", case.runway.why)
    elif case.runway.winds:
        yield from _crosswind(case, case.runway.runway.name)
        yield from _tailwind(case)
    yield from _aloft(case)
    yield from _over_ridges(case)
    yield from _shear(case)
    yield from _told_aloft(case)


def _parts(moment: Moment) -> dict[str, float]:
    """The wind's strength at a moment by the cautions' names. [m/s]"""
    wind = moment.seen.wind
    if wind is None:
        return {}
    out = {"wind": wind.speed_mps}
    if wind.gust_mps is not None:
        out |= {"gust": wind.gust_mps, "gust_spread": max(wind.gust_mps - wind.speed_mps, 0.0)}
    peak = moment.remarks.peak
    if peak is not None and peak[1] * KT_MPS > out.get("gust", 0.0):
        out["gust"] = peak[1] * KT_MPS
    return out


def strength_reasons(case: Case) -> Iterator[Reason]:
    """The wind and its gusts by themselves, whatever the runway."""
    style = case.style

    def look(moment: Moment) -> Found | None:
        parts, wind = _parts(moment), moment.seen.wind
        if wind is None:
            return None
        level: Level = "go"
        said, sources = [], []
        for name, value in parts.items():
            found, step = case.cautions.judge(name, value, SLACK_MPS)
            if step is not None:
                level = min(level, found, key=ORDER.index)
                word = "no-go" if found == "no-go" else "a thought"
                said.append(f"{_NAMES[name]} {style.knots(value)}, {word} from {style.knots(step.value)}")
                sources.append(step.source)
        peak = moment.remarks.peak
        remark = f", peak wind {peak[0]:03.0f}° {peak[1]:.0f} kt in the remarks" if peak else ""
        text = f"wind {style.wind(wind)}{remark} ({case.when(moment)})"
        text += f": {'; '.join(said)}" if said else ""
        return Found(level, max(parts.values()), text + (f" [{sources[0]}]" if sources else ""), moment)

    found = worst_of(case.day.moments, look)
    if found is None:
        return
    text, _, source = found.text.partition(" [")
    kept = [
        f"{role}'s limit {style.knots(limit)}" for role, w, limit, f in _limits(case) if w == "wind" and f.level == "go"
    ]
    text += f"; within {', '.join(kept)}" if kept else ""
    change = "less wind; or other numbers of the school's or instructor's own" if found.level != "go" else ""
    yield Reason("wind strength", found.level, text, source.rstrip("]"), change)


def _limits(case: Case) -> Iterator[tuple[str, str, float, Found]]:
    """(role, "wind" or "gust spread", limit, the worst of the moments) of what a person or the school states."""
    for role, pilot in case.pilots.items():
        for words, limit in (("wind", pilot.limits.wind_mps), ("gust spread", pilot.limits.gust_spread_mps)):
            if limit is None:
                continue
            values = []
            for moment in case.day.moments:
                if parts := _parts(moment):
                    value = parts.get("gust_spread", 0.0) if words == "gust spread" else max(parts.values())
                    values.append(Found(case.over(role) if value > limit + SLACK_MPS else "go", value, "", moment))
            found = worst(values)
            if found is not None:
                yield role, words, limit, found


def _own_limits(case: Case) -> Iterator[Reason]:
    """Wind and gust spread beyond what a person or the school states."""
    style = case.style
    for role, words, limit, found in _limits(case):
        if found.level != "go":
            value, when = style.knots(found.weight, limit), case.when(found.moment)
            text = f"{words} {value} ({when}), {role}'s limit {style.knots(limit)}"
            yield Reason(f"{words}, {role}", found.level, text, "lesson", "less wind")


def _worst_across(winds: Sequence[Components]) -> Components:
    return max(winds, key=lambda w: w.crosswind_mps)


def _crosswind(case: Case, name: str) -> Iterator[Reason]:
    style, worst_wind = case.style, _worst_across(case.runway.winds)
    across = worst_wind.crosswind_mps
    side = {True: " from the right", False: " from the left", None: ""}[worst_wind.from_right]

    said = f"crosswind {style.crosswind(across)}{side} on runway {name} ({worst_wind.label})"

    shown = case.airplane.limits.max_crosswind_mps
    limits = {"demonstrated": shown} | {f"{role}'s limit": p.limits.crosswind_mps for role, p in case.pilots.items()}
    if shown is None:
        yield Reason("crosswind, airplane", "unknown", "the airplane file names no demonstrated crosswind")
    known = {whose: limit for whose, limit in limits.items() if limit is not None}
    within = [f"{whose} {style.knots(limit)}" for whose, limit in known.items() if across <= limit + SLACK_MPS]
    more = f"; within {', '.join(within)}" if within else ""
    over = [(whose, limit) for whose, limit in known.items() if across > limit + SLACK_MPS]
    for whose, limit in over:
        text = f"{said}, {whose} {style.knots(limit)}"
        role = whose.removesuffix("'s limit")
        level: Level = "no-go" if whose == "demonstrated" else case.over(role)
        topic = "crosswind, airplane" if whose == "demonstrated" else f"crosswind, {role}"
        source = "airplane file" if whose == "demonstrated" else "lesson"
        level = "think" if worst_wind.perhaps else level
        yield Reason(topic, level, text, source, "another runway, or less wind")
    if worst_wind.from_right is None and across > 0.0:
        text = f"variable wind {style.crosswind(across)}: all of it counted as crosswind ({worst_wind.label})"
        yield Reason("wind direction", "think", text, OWN, "a wind with a direction")
    if within and not over:
        yield Reason("crosswind", "go", f"{said}{more}")


def _tailwind(case: Case) -> Iterator[Reason]:
    """A tailwind on the runway in use, and the runway that would be better."""
    style, runway = case.style, case.runway.runway
    assert runway is not None
    out = []
    for moment, wind in zip(field_winds(case.day), case.runway.winds, strict=True):
        tail = -wind.headwind_mps
        level, _step = case.cautions.judge("tailwind", tail, SLACK_MPS)
        if level == "go":
            continue
        better = _better(case, moment.seen.wind, wind.headwind_mps)
        text = f"tailwind {style.knots(tail)} on runway {runway.name} ({wind.label})"
        if better is not None:
            name, head = better
            along = f"{style.knots(head)} headwind" if head > 0.25 else "no tailwind"
            text += f"; runway {name} has {along}"
            here = moment.kind == "now" or not _blows_now(case)
            level = "no-go" if here and tail > SLIGHT_MPS else "think"
        out.append(Found(level, tail, text, moment))
    found = worst(out)
    if found is not None:
        change = "the better runway" if "; runway" in found.text else "less wind"
        yield Reason("tailwind", found.level, found.text, OWN, change)


def _blows_now(case: Case) -> bool:
    wind = case.day.wind
    return wind is not None and wind.from_rad is not None and wind.speed_mps > 1.5


def _better(case: Case, wind: Wind | None, head_mps: float) -> tuple[str, float] | None:
    """(name, headwind) of the runway with the most headwind, where it is clearly more than this one's."""
    if wind is None or wind.from_rad is None:
        return None
    heads = [
        (r.name, float(headwind_mps(wind.from_rad, wind.speed_mps, r.heading_rad)))
        for r in case.lesson.place.runways
        if r.heading_rad is not None and r.surface != "water"
    ]
    best = max(heads, key=lambda item: item[1], default=None)
    return best if best is not None and best[1] > max(head_mps + 1.0, -0.5) else None


def _aloft(case: Case) -> Iterator[Reason]:
    """Wind at an exercise's height near the exercise's own speed; where nobody gave it, as it often is up there."""
    found = _against_speed(case, lambda altitude_m: float(case.day.air.wind_at(altitude_m)[1]))
    if found is not None:
        level, text, source = found
        yield Reason("wind aloft", level, text, source, "less wind, or another exercise")
    if case.lesson.weather.winds_aloft:
        return
    taken = "winds aloft not given: the surface wind is taken all the way up"
    surface = max((_parts(m).get("wind", 0.0) for m in field_winds(case.day) if not m.perhaps), default=0.0)
    stronger = _against_speed(case, lambda _: GROWS * surface)
    if stronger is not None and found is None:
        text = f"{taken}; at twice that it is {stronger[1]}"
        yield Reason("winds aloft", "think", text, f"PHAK ch. 12; {OWN}", "winds aloft, typed or pasted")
    elif _high_ground(case):
        text = f"{taken}, over ground that makes waves and rotors in a strong one"
        yield Reason("winds aloft", "think", text, sourced("AIM 7-6", "M"), "winds aloft, typed or pasted")
    else:
        yield Reason("winds aloft", "go", taken)


def _against_speed(case: Case, wind_mps: Callable[[float], float]) -> tuple[Level, str, str] | None:
    """(level, in words, source) of the exercise whose own speed the wind at its height [m] comes nearest to, where a
    caution speaks of it.
    """
    style, out = case.style, []
    for run in case.flight.runs:
        if run.set_up is None or run.trace is None or run.at_field or "tas_mps" not in run.trace.columns:
            continue
        tas, altitude_m = median(run.trace.columns["tas_mps"]), run.set_up.entry_altitude_m
        speed = wind_mps(altitude_m)
        name = "wind_to_speed_ground" if run.room.tied_to_ground else "wind_to_speed"
        level, step = case.cautions.judge(name, speed / tas)
        if step is not None:
            text = (
                f"wind {style.knots(speed)} at {style.altitude(altitude_m)} for {run.room.named} "
                f"at {style.knots(tas)} true: from {step.value:.0%} of the speed it is hard to keep place"
            )
            out.append((speed / tas, (level, text, step.source)))
    return max(out, key=lambda item: item[0])[1] if out else None


def _high_ground(case: Case) -> bool:
    """Ground about the area so far above the field that it makes a lee."""
    area = case.lesson.area
    return area is not None and area.ground_m - case.field_m >= HIGH_GROUND_M


def _over_ridges(case: Case) -> Iterator[Reason]:
    """A strong wind at the height of high ground about the area: waves, rotors and downdrafts in its lee."""
    area, style = case.lesson.area, case.style
    if area is None or not _high_ground(case):
        return
    speed = float(case.day.air.wind_at(area.ground_m)[1])
    if speed < RIDGE_WIND_MPS:
        return
    text = (
        f"wind {style.knots(speed)} at the height of the ground there, {style.altitude(area.ground_m)}: "
        f"mountain wave, rotor and downdrafts from {style.knots(RIDGE_WIND_MPS)} on"
    )
    yield Reason("mountain wave", "think", text, sourced("AIM 7-6", "M"), "less wind, or away from the ridges' lee")


def _decoded(case: Case, group: str, moment: Moment) -> tuple[float, str] | None:
    """(change against the wind on the ground [m/s], in words) of a group such as WS020/22045KT; None: no such group.

    [AWH] 27.3: height above the field in hundreds of feet, then direction and speed as any wind.
    """
    found = _GROUP.fullmatch(group)
    here = moment.seen.wind or case.day.wind
    if found is None or here is None:
        return None
    style, height = case.style, from_unit(100.0 * int(found[1]), "ft")
    there = Wind(int(found[2]) * DEG_RAD, int(found[3]) * KT_MPS)
    change_mps = wind_change_mps(here, there)
    text = (
        f"{style.wind(there)} at {style.altitude(height)} above the field, {style.wind(here)} on it, "
        f"{style.knots(change_mps)} of change"
    )
    return change_mps, text + _contradicted(case, case.field_m + height, there)


def _contradicted(case: Case, altitude_m: float, there: Wind) -> str:
    """In words, where the winds aloft given are far from another source's at an altitude."""
    if not case.lesson.weather.winds_aloft:
        return ""
    from_rad, speed_mps = case.day.air.wind_at(altitude_m)
    given = Wind(float(from_rad), float(speed_mps))
    far = wind_change_mps(given, there) > CONTRADICTS_MPS
    return f"; your winds aloft have {case.style.wind(given)} there: which is it?" if far else ""


def _told_aloft(case: Case) -> Iterator[Reason]:
    """A wind at a height in the remarks, as fields below hills report it."""

    def look(moment: Moment) -> Found | None:
        told = moment.remarks.aloft
        here = moment.seen.wind or case.day.wind
        if told is None or here is None:
            return None
        there, height = Wind(told.from_rad, told.speed_mps), told.altitude_m
        change_mps, which = wind_change_mps(here, there), _contradicted(case, height, there)
        level, _ = case.cautions.judge("shear", change_mps, 0.5 * KT_MPS)
        text = (
            f"wind {case.style.wind(there)} at {case.style.altitude(height)} in the remarks, "
            f"{case.style.wind(here)} on the field, {case.style.knots(change_mps)} of change{which} "
            f"({told.words}, {case.when(moment)})"
        )
        return Found("think" if which and level == "go" else level, change_mps, text, moment)

    found = worst_of(case.day.moments, look)
    if found is not None:
        change = "wait until it is gone; ask those who landed" if found.level != "go" else ""
        yield Reason("wind in the remarks", found.level, found.text, f"METAR remarks; {OWN}", change)


def wind_change_mps(one: Wind, other: Wind) -> float:
    """Length of the difference of two winds; without a direction one counts as calm. [m/s]"""
    vectors = [
        np.array(wind_vector_mps(w.from_rad or 0.0, 0.0 if w.from_rad is None else w.speed_mps)) for w in (one, other)
    ]
    return float(np.hypot(*(vectors[1] - vectors[0])))


def _shear(case: Case) -> Iterator[Reason]:
    """Wind shear as reported or forecast, and as the winds given show it."""

    def look(moment: Moment) -> Found | None:
        if not moment.seen.shear:
            return None
        level: Level = "no-go" if moment.kind == "now" else "think"
        changes = [found for group in moment.seen.shear if (found := _decoded(case, group, moment)) is not None]
        if not changes:
            return Found(level, 1.0, f"wind shear {', '.join(moment.seen.shear)} ({case.when(moment)})", moment)
        change_mps, words = max(changes)
        level = min(level, case.cautions.judge("shear", change_mps, 0.5 * KT_MPS)[0], key=ORDER.index)
        return Found(level, change_mps, f"wind shear: {words} ({moment.seen.shear[0]}, {case.when(moment)})", moment)

    change = "wait until it is gone; ask those who landed"
    found = worst_of(case.day.moments, look)
    if found is not None:
        yield Reason("wind shear", found.level, found.text, "AWH 27.3; " + OWN, change)
    lowest = min(
        (a.altitude_m for a in case.lesson.weather.winds_aloft if a.altitude_m > case.field_m + 30.0), default=0
    )
    over = [
        a for a in case.lesson.weather.winds_aloft
        if 30.0 < a.altitude_m - case.field_m <= max(LOW_LEVEL_M + FT_M, lowest - case.field_m)
    ]  # fmt: skip
    wind = case.day.wind
    if found is not None or wind is None:
        return
    for layer in sorted(over, key=lambda a: a.altitude_m):
        change_mps = wind_change_mps(wind, layer.wind)
        low = min(1.0, (LOW_LEVEL_M + FT_M) / (layer.altitude_m - case.field_m))
        level, step = case.cautions.judge("shear", low * change_mps, 0.5 * KT_MPS)
        if step is not None:
            text = (
                f"wind shear: {case.style.wind(wind)} at the field, {case.style.wind(layer.wind)} at "
                f"{case.style.altitude(layer.altitude_m)}, {case.style.knots(change_mps)} of change"
            )
            text += (
                ""
                if low == 1.0
                else f", {case.style.knots(low * change_mps)} in the lowest 2,000 ft if it grows evenly"
            )
            yield Reason("wind shear", level, text, step.source, change)
            return
