"""What the verdict says of visibility and cloud: minima, people's own, a student alone, fog to come, haze and Sun."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import UTC, datetime

from airwork.airdata.sun import sun_position_rad
from airwork.lesson.case import Case
from airwork.lesson.moments import Found, Moment, worst, worst_of
from airwork.lesson.rules import vfr_minima
from airwork.lesson.verdict import ORDER, OWN, Level, Reason
from airwork.units import FT_M, SM_M, from_unit
from airwork.values import sourced

LOW_SUN_RAD = math.radians(15.0)  # the haze between glares ahead of a Sun lower than this (our own choice)
BLINDING_RAD, INTO_IT_RAD, AHEAD_RAD = math.radians(15.0), math.radians(20.0), math.radians(40.0)  # our own too
DEEP_M = 3000.0 * FT_M  # few clouds so far below the exercises are climbed past: their tops are lower (our own)
HAZY_M = 6.0 * SM_M
NEAR_SUNRISE_S = 2.0 * 3600.0  # radiation fog comes around sunrise ([AWH] ch. 16); the span is our own
NEAR_SUNSET_S = 1.0 * 3600.0
LIGHT_FOG_WIND_MPS = from_unit(8.0, "kt")
WAIT = "higher cloud, better visibility, or lower exercises"


def sky_reasons(case: Case) -> Iterator[Reason]:
    """Visibility and cloud of the lesson, each fact at its worst moment."""
    if not case.day.visibility.known:
        yield Reason("visibility", "unknown", "visibility not given")
    if not case.day.ceiling_known:
        yield Reason("cloud", "unknown", "cloud not given")
    yield from _minima(case)
    yield from _own_minima(case)
    yield from _student_alone(case)
    yield from _scattered(case)
    yield from _fog(case)
    yield from _low_sun(case)


def _minima(case: Case) -> Iterator[Reason]:
    """VFR minima in the area at the highest altitude planned, and in the pattern."""
    lesson, style, top = case.lesson, case.style, case.top_m
    ground = lesson.area.ground_m if lesson.area else case.field_m
    named = (lesson.area.airspace if lesson.area else None) or lesson.airspace
    airspace, taken = (named, "") if named else ("E", ", class not given: E taken")
    minima = vfr_minima(airspace, top, top - ground, case.night, lesson.plan.rules)
    both = f" in the area, {lesson.airspace} at the field" if lesson.airspace not in {None, "", airspace} else ""
    source = f"{sourced(minima.source, minima.label)}, class {airspace}{both}{taken}"
    zone = case.authority.rule("airspace", "lowest_ceiling") if lesson.airspace in {"B", "C", "D"} else None
    lowest = 1000 * FT_M if zone is None or zone.number is None else zone.number
    field = case.field_m
    pattern = vfr_minima(
        lesson.airspace or airspace, field + 1000 * FT_M, 1000 * FT_M, case.night, lesson.plan.rules
    ).visibility_m  # fmt: skip
    if airspace == "A":
        yield Reason("airspace", "no-go", "class A: no VFR", minima.source, "another area, or lower")
        return

    def look(moment: Moment) -> Found | None:
        seen, ceiling = moment.seen, moment.seen.ceiling_m
        base_of = case.field_m if not moment.where else ground
        said: list[tuple[Level, str]] = []
        weight = 0.0
        if seen.visibility_m is not None:
            shown = style.visibility(seen.visibility_m, seen.visibility_bound)
            bound = seen.visibility_bound
            least = minima.visibility_m if moment.where else max(minima.visibility_m, pattern)
            weight -= seen.visibility_m / SM_M
            if seen.visibility_m < least - 1.0 or (bound == "<" and seen.visibility_m <= least):
                said.append(("no-go", f"visibility {shown}, VFR needs {style.visibility(least)}"))
            elif seen.visibility_m <= 5 * SM_M + 1.0 and bound != ">":
                said.append(("think", f"visibility {shown}, VFR needs {style.visibility(least)}"))
        if seen.ceiling_known and ceiling is not None:
            base, needed = base_of + ceiling, (minima.below_m or 0.0) + top
            text = f"ceiling {style.altitude(ceiling)} above the {'field' if not moment.where else 'area'}"
            weight -= ceiling / (1000 * FT_M)
            low, why = (1000 * FT_M, "") if moment.where or zone is None else (lowest, f" {zone.text}")
            if ceiling < low - 0.5:
                said.append(("no-go", f"{text}: below {style.altitude(low)}{why}"))
            elif base < needed - 0.5:
                room = style.altitude(base - (minima.below_m or 0.0))
                cloud = f"cloud at {style.altitude(base)}, VFR to {room}, the lesson goes to {style.altitude(top)}"
                said.append(("no-go", f"{text}: {cloud}"))
            elif ceiling <= 3000 * FT_M + 0.5:
                said.append(("think", text))
        if said:
            level = min((how for how, _ in said), key=ORDER.index)
            words = "; ".join(text for how, text in said if how == level)
            return Found(level, weight, f"{words} ({case.when(moment)})", moment)
        if seen.visibility_m is None or not seen.ceiling_known:
            return None
        sky = "no ceiling" if ceiling is None else f"ceiling {style.altitude(ceiling)}"
        shown = style.visibility(seen.visibility_m, seen.visibility_bound)
        return Found("go", weight, f"{shown}, {sky} ({case.when(moment)})", moment)

    found = worst_of(case.day.moments, look)
    if found is not None:
        source += f"; {zone.source}" if zone is not None and zone.text in found.text else ""
        yield Reason("cloud and visibility", found.level, found.text, source, WAIT if found.level != "go" else "")


def _own_minima(case: Case) -> Iterator[Reason]:
    style = case.style
    for role, pilot in case.pilots.items():
        ceiling, visibility = pilot.limits.ceiling_m, pilot.limits.visibility_m
        for what, limit in (("ceiling", ceiling), ("visibility", visibility)):
            if limit is None:
                continue
            values = []
            for moment in case.day.moments:
                seen = moment.seen
                value = seen.visibility_m if what == "visibility" else seen.ceiling_m if seen.ceiling_known else None
                if value is not None and value < limit - (1.0 if what == "visibility" else 0.5):
                    values.append(Found(case.over(role), -value, "", moment))
            found = worst(values)
            if found is not None:
                write = style.visibility if what == "visibility" else style.altitude
                text = f"{what} {write(-found.weight)} ({case.when(found.moment)}), {role}'s limit {write(limit)}"
                yield Reason(f"{what}, {role}", found.level, text, "lesson", WAIT)


def _student_alone(case: Case) -> Iterator[Reason]:
    """A student pilot's own minima by day and night, and the surface in sight."""
    if not case.student_pilot:
        return
    rule = case.authority.rule("student_alone", "visibility_night" if case.night else "visibility_day")
    if rule is not None and rule.number is not None:
        least = rule.number

        def short(moment: Moment) -> Found | None:
            seen = moment.seen.visibility_m
            if seen is None or seen >= least - 1.0:
                return None
            by = "by night" if case.night else "by day"
            text = (
                f"visibility {case.style.visibility(seen)} ({case.when(moment)}): a student alone needs "
                f"{case.style.visibility(least)} {by}"
            )
            return Found("no-go", -seen, text, moment)

        found = worst_of(case.day.moments, short)
        if found is not None:
            yield Reason("student alone: visibility", found.level, found.text, rule.source, "better visibility")
    surface = case.authority.rule("student_alone", "surface_in_sight")
    if surface is None:
        return

    def above(moment: Moment) -> Found | None:
        base = case.field_m if not moment.where else (case.lesson.area.ground_m if case.lesson.area else case.field_m)
        bases = [base + c.base_agl_m for c in moment.seen.clouds or () if c.is_ceiling and c.base_agl_m is not None]
        if not bases or min(bases) >= case.top_m:
            return None
        text = (
            f"a student alone keeps the surface in sight: cloud at {case.style.altitude(min(bases))} "
            f"({case.when(moment)}), exercises to {case.style.altitude(case.top_m)}"
        )
        return Found("no-go", -min(bases), text, moment)

    found = worst_of(case.day.moments, above)
    if found is not None:
        yield Reason("student alone: above cloud", found.level, found.text, surface.source, "exercises below the cloud")


def _scattered(case: Case) -> Iterator[Reason]:
    """A layer that makes no ceiling but stands where the exercises are flown."""
    heights = [r.set_up.entry_altitude_m for r in case.flight.runs if r.set_up is not None and not r.at_field]
    if not heights:
        return
    top, room = max(heights), 500.0 * FT_M
    lowest = min(heights)

    def look(moment: Moment) -> Found | None:
        field = case.field_m
        bases = [
            field + c.base_agl_m
            for c in moment.seen.clouds or ()
            if not c.is_ceiling
            and c.base_agl_m is not None
            and not (c.cover == "FEW" and field + c.base_agl_m < lowest - DEEP_M)
        ]
        low = min((b for b in bases if b < top + room), default=None)
        if low is None:
            return None
        cover = next(
            c.cover
            for c in moment.seen.clouds or ()
            if c.base_agl_m is not None and abs(field + c.base_agl_m - low) < 1.0
        )
        word = {"FEW": "few clouds", "SCT": "scattered cloud"}.get(cover, "cloud")
        text = f"{word} at {case.style.altitude(low)} ({case.when(moment)}), exercises at {case.style.altitude(top)}"
        return Found("think", -low, text, moment)

    found = worst_of(case.day.moments, look)
    if found is not None:
        yield Reason(
            "cloud at the exercises",
            found.level,
            found.text,
            OWN,
            "500 ft below, 1,000 ft above and 2,000 ft beside it, or another height",
        )


def _fog(case: Case) -> Iterator[Reason]:
    """Temperature near the dew point in the hours when fog forms."""
    temperature, dewpoint = case.day.temperature.value, case.day.dewpoint.value
    if temperature is None or dewpoint is None:
        return
    spread = max(temperature - dewpoint, 0.0)
    level, step = case.cautions.judge("spread", spread)
    if step is None:
        return
    daylight, start, end = case.daylight, case.lesson.start_utc_s, case.end_utc_s
    rise, dusk = daylight.sunrise_utc_s, daylight.sunset_utc_s
    dawn = rise is not None and start < rise + NEAR_SUNRISE_S
    evening = dusk is not None and end > dusk - NEAR_SUNSET_S
    calm = case.day.wind is not None and case.day.wind.speed_mps <= LIGHT_FOG_WIND_MPS
    if not (case.night or ((dawn or evening) and calm) or spread <= 1.0):
        return
    when = "near dawn" if dawn else "toward evening" if evening else "now"
    text = (
        f"fog: temperature {case.style.temperature(temperature)}, dew point "
        f"{case.style.temperature(dewpoint)}, spread {round(spread, 1):g} °C {when}"
    )
    yield Reason(
        "fog spread", level, text, f"AWH ch. 16; {step.source}", "a growing spread, more wind; an open field to land at"
    )


def _low_sun(case: Case) -> Iterator[Reason]:
    """Haze with a low Sun: nothing is seen against it, traffic least of all. A clear one blinds along the runway."""

    def look(moment: Moment) -> Found | None:
        seen = moment.seen
        hazy = any(code in w for w in seen.weather for code in ("HZ", "FU", "BR", "DU", "SA"))
        poor = seen.visibility_m is not None and seen.visibility_m <= HAZY_M and seen.visibility_bound != ">"
        return Found("think", 1.0, case.when(moment), moment) if hazy or poor else None

    found = worst_of(case.day.moments, look)
    place, runway = case.lesson.place, case.runway.runway
    start, legs = case.lesson.start_utc_s, case.flight.legs
    suns = [
        (*sun_position_rad(place.latitude_rad, place.longitude_rad, datetime.fromtimestamp(utc_s, UTC)), when)
        for utc_s, when in ((start + legs[0].end_s, "at takeoff"), (start + legs[-1].start_s, "at landing"))
    ]
    for elevation, azimuth, when in sorted(suns):  # the lower blinds more
        off = math.pi
        if runway is not None and runway.heading_rad is not None:
            off = abs(math.remainder(azimuth - runway.heading_rad, math.tau))
        at = f"{math.degrees(elevation):.0f}° high in {math.degrees(azimuth) % 360:03.0f}°"
        ahead = f", ahead on runway {runway.name}" if runway is not None and off < AHEAD_RAD else ""
        if found is not None and 0.0 < elevation < LOW_SUN_RAD:
            text = f"haze and a low sun {when}: {at}{ahead} ({found.text})"
            yield Reason("haze and low sun", "think", text, OWN, "a later start, the Sun behind you")
            return
        if 0.0 < elevation < BLINDING_RAD and off < INTO_IT_RAD and case.day.ceiling.value is None:
            text = f"a low sun {when}: {at}{ahead}: it blinds on {'final' if when == 'at landing' else 'takeoff'}"
            yield Reason("low sun", "think", text, OWN, "another hour, the other runway, a visor and a clean screen")
            return
