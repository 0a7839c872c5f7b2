"""What the verdict says of visibility and cloud: minima, people's own, a student alone, fog to come, haze and Sun."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime

from airwork.airdata.sun import sun_position_rad
from airwork.lesson.case import PATTERN_M, Case
from airwork.lesson.moments import Found, Moment, worst, worst_of
from airwork.lesson.rules import Minima, Rule, vfr_minima
from airwork.lesson.verdict import ORDER, OWN, Level, Reason
from airwork.units import FT_M, SM_M, from_unit
from airwork.values import sourced

LOW_SUN_RAD = math.radians(15.0)  # the haze between glares ahead of a Sun lower than this (our own choice)
BLINDING_RAD, INTO_IT_RAD, AHEAD_RAD = math.radians(15.0), math.radians(20.0), math.radians(40.0)  # our own too
DEEP_M = 3000.0 * FT_M  # few clouds so far below the exercises are climbed past: their tops are lower (our own)
HAZY_M = 6.0 * SM_M
HARD_TO_SEE_M = 5.0 * SM_M  # worth a thought, whatever the rules say (our own)
LOW_CEILING_M = 3000.0 * FT_M  # worth a thought, whatever the rules say (our own)
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


@dataclass(frozen=True, slots=True)
class _Wanted:
    """What VFR and the airspace ask of the sky. `zone`: the field's own rule for the ceiling, where it has one."""

    minima: Minima
    ground_m: float  # under the area
    zone: Rule | None

    @property
    def below_m(self) -> float:
        """Room to keep below the cloud. [m]"""
        return self.minima.below_m or 0.0

    def lowest(self, moment: Moment) -> tuple[float, str]:
        """The lowest ceiling there may be, above ground [m], and the rule's words for it."""
        if moment.where or self.zone is None:
            return PATTERN_M, ""
        return (PATTERN_M if self.zone.number is None else self.zone.number), f" {self.zone.text}"


def _minima(case: Case) -> Iterator[Reason]:
    """VFR minima in the area at the highest altitude planned, and in the pattern."""
    lesson, top = case.lesson, case.top_m
    ground = lesson.area.ground_m if lesson.area else case.field_m
    minima = vfr_minima(case.airspace, top, top - ground, case.night, lesson.plan.rules)
    if "A" in {case.airspace, lesson.field.airspace}:
        yield Reason("airspace", "no-go", "class A: no VFR", minima.source, "another area, or lower")
        return
    zone = case.authority.rule("airspace", "lowest_ceiling") if lesson.field.airspace in {"B", "C", "D"} else None
    wanted = _Wanted(minima, ground, zone)
    found = worst_of(case.day.moments, lambda moment: _against_minima(case, wanted, moment))
    if found is not None:
        both = (
            f" in the area, {lesson.field.airspace} at the field"
            if lesson.field.airspace not in {None, "", case.airspace}
            else ""
        )
        taken = "" if case.airspace_said else ", class not given: E taken"
        source = f"{sourced(minima.source, minima.label)}, class {case.airspace}{both}{taken}"
        source += f"; {zone.source}" if zone is not None and zone.text in found.text else ""
        change = "" if found.level == "go" else WAIT if "ceiling" in found.text else "better visibility"
        yield Reason("cloud and visibility", found.level, found.text, source, change)


def _against_minima(case: Case, wanted: _Wanted, moment: Moment) -> Found | None:
    """Visibility and ceiling of one moment, the worse of them in words; None where too little is known."""
    seen = moment.seen
    said = [s for s in (_low_visibility(case, wanted, moment), _low_ceiling(case, wanted, moment)) if s is not None]
    weight = 0.0 if seen.visibility_m is None else -seen.visibility_m / SM_M
    weight -= seen.ceiling_m / PATTERN_M if seen.ceiling_known and seen.ceiling_m is not None else 0.0
    if said:
        level = min((how for how, _ in said), key=ORDER.index)
        words = "; ".join(text for how, text in said if how == level)
        return Found(level, weight, f"{words} ({case.when(moment)})", moment)
    if seen.visibility_m is None or not seen.ceiling_known:
        return None
    sky = "no ceiling" if seen.ceiling_m is None else f"ceiling {case.style.altitude(seen.ceiling_m)}"
    shown = case.style.visibility(seen.visibility_m, seen.visibility_bound)
    return Found("go", weight, f"{shown}, {sky} ({case.when(moment)})", moment)


def _low_visibility(case: Case, wanted: _Wanted, moment: Moment) -> tuple[Level, str] | None:
    """Below what VFR needs there, or not much above it."""
    visibility, bound = moment.seen.visibility_m, moment.seen.visibility_bound
    if visibility is None:
        return None
    least = wanted.minima.visibility_m
    least = least if moment.where else max(least, case.pattern_visibility_m)
    text = f"visibility {case.style.visibility(visibility, bound)}, VFR needs {case.style.visibility(least)}"
    if visibility < least - 1.0 or (bound == "<" and visibility <= least):
        return "no-go", text
    hazy = f"{text}: up to {case.style.visibility(HARD_TO_SEE_M)} horizon and traffic are hard to see"
    return ("think", hazy) if visibility <= HARD_TO_SEE_M + 1.0 and bound != ">" else None


def _low_ceiling(case: Case, wanted: _Wanted, moment: Moment) -> tuple[Level, str] | None:
    """Below the lowest one allowed, too low for the lesson's altitudes, or low all the same."""
    ceiling, style, top = moment.seen.ceiling_m, case.style, case.top_m
    if not moment.seen.ceiling_known or ceiling is None:
        return None
    text = f"ceiling {style.altitude(ceiling)} above the {'field' if not moment.where else 'area'}"
    base = ceiling + (wanted.ground_m if moment.where else case.field_m)
    lowest, why = wanted.lowest(moment)
    if ceiling < lowest - 0.5:
        return "no-go", f"{text}: below {style.altitude(lowest)}{why}"
    if base < wanted.below_m + top - 0.5:
        room = style.altitude(base - wanted.below_m)
        cloud = f"cloud at {style.altitude(base)}, VFR to {room}, the lesson goes to {style.altitude(top)}"
        return "no-go", f"{text}: {cloud}"
    marginal = f"{text}: up to {style.altitude(LOW_CEILING_M)} it is marginal, VFR asks {style.altitude(lowest)}"
    return ("think", marginal) if ceiling <= LOW_CEILING_M + 0.5 else None


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
        if cover == "SCT" and not moment.where and low < field + PATTERN_M + room:
            text += f", the pattern at {case.style.altitude(field + PATTERN_M)} in it"
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
