"""What the verdict says of heights and hours: the airplane's highest altitude, climb, oxygen, night and daylight."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np

from airwork.airdata.geodesy import zone_at
from airwork.airplane.performance import Condition, Setting
from airwork.airplane.performance.climbing import climb
from airwork.errors import AirworkError
from airwork.lesson.case import Case
from airwork.lesson.cruise import DESCENT_MPS, climb_rate
from airwork.lesson.legs import Leg, Planner
from airwork.lesson.legs import climb as climb_of
from airwork.lesson.verdict import OWN, Level, Reason
from airwork.values import sourced

DUSK_SPARE_S = 30 * 60.0  # landing later than this before sunset is worth a thought (common practice)
COOLER = "less weight, cooler air, or lower exercises"


def height_reasons(case: Case) -> Iterator[Reason]:
    """The airplane's highest altitude, density altitude and climb, oxygen."""
    highest = case.airplane.limits.max_altitude_m
    if highest is not None and case.top_m > highest + 1.0:
        text = (
            f"planned to {case.style.altitude(case.top_m)}, above the airplane's maximum operating "
            f"altitude {case.style.altitude(highest)}"
        )
        yield Reason("maximum altitude", "no-go", text, "airplane file", "lower exercises")
    yield from _climb(case)
    yield from _flaps_full(case)
    yield from _oxygen(case)


def _climb(case: Case) -> Iterator[Reason]:
    """Density altitude at the field, and the climb there and at the highest altitude planned."""
    style, air, planner = case.style, case.day.air, case.flight.planner
    density = float(air.density_altitude_m(case.field_m))
    said = f"density altitude {style.altitude(density)}"
    if case.day.temperature.value is None or case.day.setting.value is None:
        yield Reason("density altitude", "unknown", f"{said} in standard air only")
    for role, pilot in case.pilots.items():
        limit = pilot.limits.density_altitude_m
        if limit is not None and density > limit + 1.0:
            text = f"{said}, {role}'s limit {style.altitude(limit)}"
            yield Reason(f"density altitude, {role}", case.over(role), text, "lesson", "a cooler hour")
    rates, printed = [], True
    for words, altitude in (("at the field", case.field_m), (f"at {style.altitude(case.top_m)}", case.top_m)):
        at = float(air.pressure_altitude_m(altitude)), float(air.temperature_at_k(altitude))
        try:
            rate, in_book = climb_rate(planner.airplane, planner.performance, planner.mass_kg, *at)
        except AirworkError as refused:
            yield Reason("climb", "unknown", f"climb {words}: {refused}")
            continue
        rates.append((words if in_book else f"{words} (not in the handbook's table: fitted)", rate))
        printed = printed and in_book
    if not rates:
        return
    text = f"{said}; climb " + ", ".join(f"{style.book.rate(r)} {w}" for w, r in rates)
    source = "handbook table" if printed else "fitted airplane, beyond the handbook's table"
    least = min(rate for _, rate in rates)
    level, step = case.cautions.judge("climb", least)
    if step is not None:
        text += f": {'no-go' if level == 'no-go' else 'a thought'} below {style.book.rate(step.value)}"
        source = f"{source}; {step.source}"
    elif not printed:
        level = "think"
    yield Reason("density altitude and climb", level, text, source, COOLER if level != "go" else "")


def _flaps_full(case: Case) -> Iterator[Reason]:
    """The climb of a go-around before the flaps come up, at the field with the landing weight."""
    airplane, performance = case.airplane, case.flight.planner.performance
    notch, mass = airplane.flaps_full, case.flight.balance.points[-1].mass_kg
    try:
        cas = airplane.speed_cas_mps("approach_flaps_full", mass)
        air = float(case.day.air.pressure_altitude_m(case.field_m)), float(case.day.air.temperature_at_k(case.field_m))
        found = climb(performance, cas, Condition(mass, *air, notch), Setting())
        rate = float(np.asarray(found.climb_rate_mps))
        clean, _ = climb_rate(airplane, performance, mass, *air)
    except AirworkError:
        return
    if not np.isfinite(rate):
        return
    level, step = case.cautions.judge("climb_flaps_full", min(rate, clean))
    # no airplane climbs better with its flaps out than the climb that is said for it with them up
    shown = f"less than the {case.style.book.rate(clean)}" if rate > clean else case.style.book.rate(rate)
    text = f"go-around with full flaps climbs {shown}{' of flaps up' if rate > clean else ''} at the field"
    source = "fitted airplane"
    if step is not None:
        text += f", a thought below {case.style.book.rate(step.value)}: flaps up in steps at once"
        source = f"{source}; {step.source}"
    change = "land with less flap, less weight, a cooler hour" if level != "go" else ""
    yield Reason("go-around with full flaps", level, text, source, change)


def _oxygen(case: Case) -> Iterator[Reason]:
    """Oxygen by the authority's rule, and the caution about hypoxia below it."""
    air, style = case.day.air, case.style
    top = max(float(air.pressure_altitude_m(max(leg.altitude_from_m, leg.altitude_to_m))) for leg in case.flight.legs)
    if case.lesson.plan.oxygen:
        return
    change = "oxygen aboard (oxygen = true in [plan]), or lower exercises"
    after, always = case.authority.rule("oxygen", "after"), case.authority.rule("oxygen", "always")
    if always is not None and always.number is not None and top > always.number + 1.0:
        text = (
            f"oxygen: pressure altitude to {style.altitude(top)}, the pilots need it above "
            f"{style.altitude(always.number)}"
        )
        yield Reason("oxygen", "no-go", text, always.source, change)
        return
    if after is not None and after.number is not None and top > after.number + 1.0:
        above = seconds_above(case.flight.planner, case.flight.legs, after.number)
        free = after.longer_than_s or 0.0
        level = "no-go" if above > free + 1.0 else "think"
        text = (
            f"oxygen: {style.minutes(above)} above pressure altitude {style.altitude(after.number)} if the way home "
            f"goes down at once, needed by the pilots beyond {style.minutes(free)}"
        )
        yield Reason("oxygen", level, text, after.source, change)  # type: ignore[arg-type]
        return
    name = "hypoxia_night" if case.night else "hypoxia_day"
    level2, step = case.cautions.judge(name, top, 1.0)
    if step is not None:
        when = "at night" if case.night else "by day"
        text = (
            f"hypoxia: pressure altitude to {style.altitude(top)}; {when} oxygen is advised from "
            f"{style.altitude(step.value)}"
        )
        yield Reason("hypoxia", level2, text, f"{sourced('AIM 8-1-2', 'M')}; {step.source}", change)


def seconds_above(planner: Planner, legs: Iterable[Leg], pressure_altitude_m: float) -> float:
    """How long a plan stays above a pressure altitude, of a climb or descent the part above it alone. [s]

    A climb gets there at today's rate and a way home leaves it at once, both as the plan counts them; an exercise
    that climbs or descends does so evenly.
    """
    limit, above, burned = pressure_altitude_m + 1.0, 0.0, 0.0
    for leg in legs:
        low_m, high_m = sorted((leg.altitude_from_m, leg.altitude_to_m))
        low, high = (float(planner.air.pressure_altitude_m(h)) for h in (low_m, high_m))
        if high > limit:
            share = 1.0 if low > limit else (high - limit) / (high - low)
            spent = share * leg.duration_s
            if share < 1.0 and leg.kind != "exercise":
                crossed_m = high_m - share * (high_m - low_m)
                if leg.altitude_to_m < leg.altitude_from_m:
                    spent = (high_m - crossed_m) / DESCENT_MPS
                else:
                    spent = leg.duration_s - climb_of(planner, low_m, crossed_m, planner.mass_after(burned)).time_s
            above += min(max(spent, 0.0), leg.duration_s)
        burned += leg.fuel_m3
    return above


def daylight_reasons(case: Case) -> Iterator[Reason]:
    """Sunrise, sunset and night against the lesson's start and end; whose clock it is."""
    yield from _clock(case)
    lesson, daylight, style = case.lesson, case.daylight, case.style
    start, end, sunrise, sunset = lesson.start_utc_s, case.end_utc_s, daylight.sunrise_utc_s, daylight.sunset_utc_s
    if case.night:
        yield from _night(case)
    elif daylight.lights_needed:
        when = []
        if sunrise is not None and start < sunrise:
            when.append(f"start {style.clock(start)} before sunrise {style.clock(sunrise)}")
        if sunset is not None and end > sunset:
            when.append(f"end {style.clock(end)} after sunset {style.clock(sunset)}")
        lights = case.authority.rule("night", "lights")
        text = f"{'; '.join(when) or 'the Sun is down'}: {'lights on' if lights is None else lights.text}"
        yield Reason("daylight", "think", text, OWN if lights is None else lights.source, "another hour")
    elif sunset is not None and sunset - end < DUSK_SPARE_S:
        text = f"ends {style.minutes(sunset - end)} before sunset {style.clock(sunset)}"
        yield Reason("daylight", "think", text, OWN, "an earlier start")
    else:
        text = "the Sun is up all day" if sunset is None else f"sunset {style.clock(sunset)}"
        spare = "" if sunset is None else f", {style.minutes(sunset - end)} after the end"
        yield Reason("daylight", "go", f"{text}{spare}")


def _clock(case: Case) -> Iterator[Reason]:
    """The lesson's zone against the one kept at the field: another clock shifts the whole day."""
    place, start = case.lesson.place, case.lesson.start_utc_s
    theirs = zone_at(place.latitude_rad, place.longitude_rad)
    if not theirs:
        return
    ours, there = (datetime.fromtimestamp(start, ZoneInfo(zone)).utcoffset() for zone in (case.style.zone, theirs))
    if ours != there:
        text = f"the lesson's clock is {case.style.zone}, {place.ident} keeps {theirs}: at the start it is "
        text += f"{datetime.fromtimestamp(start, ZoneInfo(theirs)):%H:%M} there"
        yield Reason("clock", "think", text, OWN, f'zone = "{theirs}", if its time was meant')


def _night(case: Case) -> Iterator[Reason]:
    daylight, style = case.daylight, case.style
    banned = [words for words in case.prohibited if re.search(r"\bnight\b|\bnvfr\b", words)]
    if banned:
        text = f"the airplane file prohibits {banned[0].replace('_', ' ')}, and some of the lesson lies in the night"
        yield Reason("night, airplane", "no-go", text, "airplane file", "a lesson by day")
    both = daylight.night_at_start and daylight.night_at_end
    dawn = daylight.night_at_start and daylight.dawn_utc_s is not None and case.lesson.start_utc_s < daylight.dawn_utc_s
    turn, does = (daylight.dawn_utc_s, "begins") if dawn else (daylight.dusk_utc_s, "ends")
    twilight = "" if turn is None else f"; civil twilight {does} {style.clock(turn)}"
    alone = case.authority.rule("student_alone", "night") if case.student_pilot else None
    period = case.authority.rule("night", "period")
    sources = [rule.source for rule in (period, alone) if rule is not None]
    text = (
        f"{'all of it' if both else 'part of it'} at night: currency, night reserve, a light for each pilot{twilight}"
    )
    text += "" if alone is None else f"; {alone.text}"
    level: Level = "no-go" if case.solo else "think"
    yield Reason("night", level, text, "; ".join(sources) or OWN, "a lesson by day")
    equipment = case.authority.rule("night", "equipment")
    if equipment is not None:
        yield Reason(
            "night equipment", "think", f"night equipment: {equipment.text}", equipment.source, "looked at, all working"
        )
    passengers = case.authority.rule("night", "passengers")
    if passengers is not None and any(p.role == "passenger" for p in case.lesson.people):
        yield Reason("night: passengers", "think", passengers.text, passengers.source, "a logbook that shows it")
    area = case.lesson.area
    if area is not None and area.landing_places and not all(p.lit for p in area.landing_places):
        dark = ", ".join(p.name for p in area.landing_places if not p.lit)
        text = f"at night an unlit field is no landing place to glide to: {dark}"
        yield Reason(
            "glide reach at night",
            "think",
            text,
            OWN,
            "lit = true on a place with lights; stay within glide of the airport",
        )
