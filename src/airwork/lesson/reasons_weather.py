"""What the verdict says of weather and daylight: wind, crosswind, cloud and visibility, icing, day and night."""

from __future__ import annotations

from collections.abc import Iterator

from airwork.airdata.altimetry import cold_temperature_correction_m
from airwork.airdata.cloud import cloud_base_agl_m
from airwork.airdata.icing import SOURCE, carburetor_icing
from airwork.airplane import Airplane
from airwork.errors import InputError
from airwork.lesson.day import OLD_REPORT_S, OTHER_DAY_S, Day
from airwork.lesson.daylight import Daylight
from airwork.lesson.lesson import Lesson, Limits, Pilot
from airwork.lesson.rules import vfr_minima
from airwork.lesson.runway_plan import Components, RunwayPlan
from airwork.lesson.style import Style
from airwork.lesson.verdict import Level, Reason
from airwork.lesson.weather import Seen
from airwork.units import FT_M, KT_MPS, SM_M, from_unit
from airwork.values import sourced

DUSK_SPARE_S = 30 * 60.0  # landing later than this before sunset is worth a thought (common practice)
TAILWIND_MPS = 0.5
COLD_ERROR_M = from_unit(100.0, "ft")  # an altimeter error worth a thought: our own choice, the standards' tolerance
_STORM, _FREEZING = ("TS",), ("FZ", "PL", "GR", "GS", "+FC", "FC", "SQ", "SS", "DS", "VA")
_POOR = ("RA", "SN", "DZ", "SG", "FG", "BR", "HZ", "FU", "DU", "SA", "SH", "UP")


def pilots(lesson: Lesson) -> tuple[tuple[str, Pilot], ...]:
    """("student", …) and, aboard, ("instructor", …)."""
    out = [("student", lesson.student)]
    if lesson.instructor is not None and not lesson.student.solo:
        out.append(("instructor", lesson.instructor))
    return tuple(out)


def _over(role: str, solo: bool) -> Level:
    """A student's own limit is passed with an instructor aboard: worth a thought; else it stops the flight."""
    return "think" if role == "student" and not solo else "no-go"


def wind_reasons(lesson: Lesson, airplane: Airplane, day: Day, runway: RunwayPlan, style: Style) -> Iterator[Reason]:
    """Crosswind against airplane, instructor and student; wind and gusts against the pilots' own limits; tailwind."""
    if runway.runway is None:
        yield Reason("runway in use", "unknown", runway.why)
        return
    if day.wind is None:
        yield Reason("wind", "unknown", "surface wind not given")
    if not runway.winds:
        return
    worst = max(runway.winds, key=lambda w: w.crosswind_mps)
    yield from _crosswind(lesson, airplane, runway.runway.name, worst, style)
    if worst.crosswind_mps > 0 and worst.from_right is None and worst.wind_mps > 0:
        yield Reason("wind direction", "think", "variable wind: all of it counted as crosswind, none as headwind")
    tail = min(runway.winds, key=lambda w: w.headwind_mps)
    if tail.headwind_mps < -TAILWIND_MPS:
        text = f"tailwind {style.knots(-tail.headwind_mps)} on runway {runway.runway.name} ({tail.label})"
        yield Reason("tailwind", "think", text)
    for role, pilot in pilots(lesson):
        yield from _wind_limits(role, pilot.limits, lesson.student.solo, runway.winds, style)


def _crosswind(lesson: Lesson, airplane: Airplane, name: str, worst: Components, style: Style) -> Iterator[Reason]:
    side = {True: " from the right", False: " from the left", None: ""}[worst.from_right]

    def said(limit_mps: float | None = None) -> str:
        return f"crosswind {style.knots(worst.crosswind_mps, limit_mps)}{side} on runway {name} ({worst.label})"

    shown = airplane.limits.max_crosswind_mps
    slack = 0.05 * KT_MPS
    within = []
    if shown is None:
        yield Reason("crosswind, airplane", "unknown", "the airplane file names no demonstrated crosswind")
    elif worst.crosswind_mps > shown + slack:
        yield Reason(
            "crosswind, airplane", "no-go", f"{said(shown)}, demonstrated {style.knots(shown)}", "airplane file"
        )
    else:
        within.append(f"demonstrated {style.knots(shown)}")
    for role, pilot in pilots(lesson):
        limit = pilot.limits.crosswind_mps
        if limit is None:
            continue
        if worst.crosswind_mps > limit + slack:
            level = _over(role, lesson.student.solo)
            yield Reason(f"crosswind, {role}", level, f"{said(limit)}, {role}'s limit {style.knots(limit)}", "lesson")
        else:
            within.append(f"{role} {style.knots(limit)}")
    if within:
        yield Reason("crosswind", "go", f"{said()}; within {', '.join(within)}")


def _wind_limits(
    role: str, limits: Limits, solo: bool, winds: tuple[Components, ...], style: Style
) -> Iterator[Reason]:
    for words, limit, value in (
        ("wind", limits.wind_mps, max(w.peak_mps for w in winds)),
        ("gust spread", limits.gust_spread_mps, max(w.peak_mps - w.wind_mps for w in winds)),
    ):
        if limit is not None:
            over = value > limit + 0.05 * KT_MPS
            text = f"{words} {style.knots(value, limit)}, {role}'s limit {style.knots(limit)}"
            yield Reason(f"{words}, {role}", _over(role, solo) if over else "go", text, "lesson")


def cloud_reasons(lesson: Lesson, day: Day, daylight: Daylight, top_m: float, style: Style) -> Iterator[Reason]:
    """Visibility and cloud, now and as forecast, against VFR minima and the pilots' own limits.

    top_m : highest altitude planned, above sea level.
    """
    ceiling_seen = Seen(None, day.visibility.value, day.visibility_bound, None, day.weather)
    if day.visibility.value is None:
        yield Reason("visibility", "unknown", "visibility not given")
    if not day.ceiling_known:
        yield Reason("cloud", "unknown", "cloud not given")
    if day.report_age_s is not None and abs(day.report_age_s) > OTHER_DAY_S:
        days = abs(day.report_age_s) / 86400.0
        apart = f"{days:.0f} days" if days >= 2.0 else style.minutes(abs(day.report_age_s))
        side = "older" if day.report_age_s > 0.0 else "later"
        text = f"the report is {apart} {side} than the start: not this lesson's weather; get the day's own"
        yield Reason("report", "no-go", text)
    elif day.report_age_s is not None and day.report_age_s > OLD_REPORT_S:
        yield Reason("report", "think", f"the report is {style.minutes(day.report_age_s)} older than the start")
    if not day.forecast_covers:
        why = "the forecast doesn't cover the lesson" if day.forecast or lesson.weather.taf else "no forecast given"
        yield Reason("forecast", "think" if lesson.weather.taf else "unknown", why)
    stretches: list[tuple[str, float | None, bool, float | None, str, tuple[str, ...]]] = [
        ("now", day.ceiling.value, day.ceiling_known, day.visibility.value, day.visibility_bound, ceiling_seen.weather)
    ]
    for label, seen in day.forecast:
        stretches.append(
            (label, seen.ceiling_m, seen.ceiling_known, seen.visibility_m, seen.visibility_bound, seen.weather)
        )
    for label, ceiling, known, visibility, bound, weather in stretches:
        yield from _weather_codes(label, weather)
        yield from _minima(lesson, daylight, label, ceiling if known else None, known, visibility, bound, top_m, style)
        for role, pilot in pilots(lesson):
            yield from _own_minima(role, pilot.limits, lesson.student.solo, label, ceiling, known, visibility, style)


def _weather_codes(label: str, weather: tuple[str, ...]) -> Iterator[Reason]:
    for code in weather:
        if code.startswith("VC") and not any(c in code for c in _STORM):
            continue
        if any(c in code for c in _STORM):
            yield Reason("weather", "no-go", f"thunderstorm ({code}, {label})")
        elif any(c in code for c in _FREEZING):
            yield Reason("weather", "no-go", f"{code} ({label})")
        elif any(c in code for c in _POOR):
            yield Reason("weather", "think", f"{code} ({label})")


def _minima(
    lesson: Lesson, daylight: Daylight, label: str, ceiling: float | None, known: bool, visibility: float | None,
    bound: str, top_m: float, style: Style,
) -> Iterator[Reason]:  # fmt: skip
    """VFR minima in the area at the highest altitude planned, and in the pattern."""
    night = daylight.night_at_start or daylight.night_at_end
    field = lesson.place.elevation_m or 0.0
    ground = lesson.area.ground_m if lesson.area else field
    named = (lesson.area.airspace if lesson.area else None) or lesson.airspace
    airspace, taken = (named, "") if named else ("E", ", class not given: E taken")
    minima = vfr_minima(airspace, top_m, top_m - ground, night, lesson.plan.rules)
    source = f"{sourced(minima.source, minima.label)}, class {airspace}{taken}"
    if airspace == "A":
        yield Reason("airspace", "no-go", "class A: no VFR", minima.source)
        return
    problems, think = [], []
    if visibility is not None:
        said = style.visibility(visibility, bound)
        least = style.visibility(minima.visibility_m)
        if visibility < minima.visibility_m - 1.0 or (bound == "<" and visibility <= minima.visibility_m):
            problems.append(f"visibility {said}, VFR needs {least}")
        elif visibility <= 5 * SM_M + 1.0 and bound != ">":
            think.append(f"visibility {said}")
    if known and ceiling is not None:
        base = field + ceiling
        needed = (minima.below_m or 0.0) + top_m
        text = f"ceiling {style.altitude(ceiling)} above the field"
        if ceiling < 1000 * FT_M - 0.5:
            problems.append(f"{text}: below 1,000 ft")
        elif base < needed - 0.5:
            room = style.altitude(base - (minima.below_m or 0.0))
            problems.append(
                f"{text}: cloud at {style.altitude(base)}, the lesson goes to {style.altitude(top_m)}, at most {room}"
            )
        elif ceiling <= 3000 * FT_M + 0.5:
            think.append(text)
    if problems:
        yield Reason("cloud and visibility", "no-go", f"{'; '.join(problems)} ({label})", source)
    elif think:
        yield Reason("cloud and visibility", "think", f"{'; '.join(think)} ({label})", source)
    elif visibility is not None and known:
        sky = "no ceiling" if ceiling is None else f"ceiling {style.altitude(ceiling)}"
        yield Reason("cloud and visibility", "go", f"{style.visibility(visibility, bound)}, {sky} ({label})", source)


def _own_minima(
    role: str, limits: Limits, solo: bool, label: str, ceiling: float | None, known: bool, visibility: float | None,
    style: Style,
) -> Iterator[Reason]:  # fmt: skip
    if limits.ceiling_m is not None and known and ceiling is not None and ceiling < limits.ceiling_m - 0.5:
        text = f"ceiling {style.altitude(ceiling)} ({label}), {role}'s limit {style.altitude(limits.ceiling_m)}"
        yield Reason(f"ceiling, {role}", _over(role, solo), text, "lesson")
    if limits.visibility_m is not None and visibility is not None and visibility < limits.visibility_m - 1.0:
        least = style.visibility(limits.visibility_m)
        text = f"visibility {style.visibility(visibility)} ({label}), {role}'s limit {least}"
        yield Reason(f"visibility, {role}", _over(role, solo), text, "lesson")


def icing_reasons(airplane: Airplane, lesson: Lesson, day: Day, style: Style) -> Iterator[Reason]:
    """Carburetor ice from temperature and dew point; airframe ice where the user said there is moisture."""
    temperature, dewpoint = day.temperature.value, day.dewpoint.value
    if airplane.file.engine.fuel_system != "carburetor":
        yield Reason("carburetor ice", "go", "fuel injection: no carburetor", "airplane file")
    elif temperature is None or dewpoint is None:
        lacking = " and ".join(
            word for word, value in (("temperature", temperature), ("dew point", dewpoint)) if value is None
        )
        yield Reason("carburetor ice", "unknown", f"carburetor ice: {lacking} not given")
    else:
        try:
            risk = carburetor_icing(temperature, min(dewpoint, temperature))
        except InputError as problem:
            yield Reason("carburetor ice", "unknown", str(problem))
            return
        level: Level = "think" if risk.level == "most likely" else "go"
        words = {"most likely": "likely", "possible": "possible"}.get(risk.level, "not expected")
        yield Reason("carburetor ice", level, f"carburetor ice {words}: {risk.reason}", SOURCE)
    if lesson.weather.visible_moisture and temperature is not None and temperature <= 278.15:
        yield Reason("airframe ice", "no-go", f"cloud or precipitation at {style.temperature(temperature)}")
    if temperature is not None and dewpoint is not None and not day.ceiling_known:
        base = float(cloud_base_agl_m(temperature, min(dewpoint, temperature)))
        text = f"cumulus would form from about {style.altitude(base)} above the field"
        yield Reason("cloud base by the spread", "not checked", text, "AWH ch. 12, an estimate")


def cold_reasons(lesson: Lesson, day: Day, top_m: float, style: Style) -> Iterator[Reason]:
    """How much less than the altimeter says is under the airplane in cold air, at the area's floor or else the top."""
    temperature = day.temperature.value
    if temperature is None:
        return
    field = lesson.place.elevation_m or 0.0
    where = top_m if lesson.area is None else lesson.area.floor_m
    missing = float(cold_temperature_correction_m(max(where - field, 0.0), temperature, field))
    if missing >= COLD_ERROR_M:
        text = (
            f"cold air, {style.temperature(temperature)}: to be {style.altitude(where)} high the altimeter must show "
            f"{style.altitude(where + missing)}; heights above ground are less than they look"
        )
        yield Reason("cold air", "think", text, "AIM 7-3; formula from memory")


def daylight_reasons(lesson: Lesson, daylight: Daylight, end_utc_s: float, style: Style) -> Iterator[Reason]:
    """Sunrise, sunset and night against the lesson's start and end."""
    start, sunrise, sunset = lesson.start_utc_s, daylight.sunrise_utc_s, daylight.sunset_utc_s
    night = daylight.night_at_start or daylight.night_at_end
    if night:
        which = "all of it" if daylight.night_at_start and daylight.night_at_end else "part of it"
        level: Level = "no-go" if lesson.student.solo else "think"
        dusk = "" if daylight.dusk_utc_s is None else f"; civil twilight ends {style.clock(daylight.dusk_utc_s)}"
        yield Reason("night", level, f"{which} at night: lights, currency, night reserve{dusk}", "14 CFR 1.1")
    elif daylight.lights_needed:
        when = []
        if sunrise is not None and start < sunrise:
            when.append(f"start {style.clock(start)} before sunrise {style.clock(sunrise)}")
        if sunset is not None and end_utc_s > sunset:
            when.append(f"end {style.clock(end_utc_s)} after sunset {style.clock(sunset)}")
        yield Reason(
            "daylight",
            "think",
            f"{'; '.join(when) or 'the Sun is down'}: position lights on",
            sourced("14 CFR 91.209", "M"),
        )
    elif sunset is not None and sunset - end_utc_s < DUSK_SPARE_S:
        yield Reason(
            "daylight", "think", f"ends {style.minutes(sunset - end_utc_s)} before sunset {style.clock(sunset)}"
        )
    else:
        text = "the Sun is up all day" if sunset is None else f"sunset {style.clock(sunset)}"
        spare = "" if sunset is None else f", {style.minutes(sunset - end_utc_s)} after the end"
        yield Reason("daylight", "go", f"{text}{spare}")


def altimeter_reasons(day: Day, style: Style) -> Iterator[Reason]:
    """What had to be assumed to compute with."""
    if day.temperature.value is None:
        yield Reason("temperature", "unknown", "temperature not given")
    if day.setting.value is None:
        yield Reason("altimeter setting", "unknown", "altimeter setting not given")
    for text in day.assumed:
        if "not given" not in text or "aloft" in text:
            yield Reason("assumed", "think" if "report is from" in text or "aloft" in text else "go", text)
    if day.variation_rad is None:
        yield Reason("variation", "unknown", day.variation_source)
