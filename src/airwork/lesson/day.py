"""The day as the lesson will meet it: weather from report, forecast and own values, the air column, daylight.

Each fact knows where it came from; a fact nobody gave is None, and what had to be assumed to compute at all is listed.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from airwork.airdata.angles import wrap_positive_rad
from airwork.airdata.atmosphere import P0_PA
from airwork.airdata.column import AirColumn, WindLayer
from airwork.airdata.magnetic import MODEL, decimal_year, variation
from airwork.airdata.sun import is_night, sun_day
from airwork.errors import InputError, OutOfRange
from airwork.lesson.lesson import Lesson
from airwork.lesson.moments import TREND_S, Moment, moments_of, seen_now
from airwork.lesson.weather import Report, Seen, Wind

OLD_REPORT_S = 2 * 3600.0  # a routine report is hourly; older than two hours says little of now (common practice)
OTHER_DAY_S = 12 * 3600.0  # another half day: no weather to fly by (our own choice)
DAY_BEFORE_S = 36 * 3600.0  # planned in the evening, flown the next day


@dataclass(frozen=True, slots=True)
class Fact:
    """A number with where it came from; None is not known."""

    value: float | None
    source: str = "not given"

    @property
    def known(self) -> bool:
        """Somebody said it."""
        return self.value is not None


@dataclass(frozen=True, slots=True)
class Day:
    """The weather at the field now, what is forecast for the lesson, and the air to compute with. SI.

    ceiling : above ground; `ceiling_known` with value None means a sky without a ceiling.
    moments : conditions now and as forecast for the lesson's time, at the field and for the area.
    trend_until_utc_s : the end of the trend at the field report's end ("NOSIG" too), which is a forecast; None without.
    assumed : what had to be assumed, for the user.
    """

    wind: Wind | None
    wind_source: str
    visibility: Fact
    visibility_bound: str
    ceiling: Fact
    ceiling_known: bool
    temperature: Fact
    dewpoint: Fact
    setting: Fact
    moments: tuple[Moment, ...]
    forecast_covers: bool
    trend_until_utc_s: float | None
    variation_rad: float | None
    variation_source: str
    compass: str  # what is wrong with it here; "" nearly everywhere
    air: AirColumn
    assumed: tuple[str, ...]


def stands_aside(report: Report | None, lesson: Lesson, end_utc_s: float) -> bool:
    """A report of the day before, beside a forecast that covers the lesson: worse than none."""
    taf = lesson.weather.taf
    if report is None or taf is None or not taf.covers(lesson.start_utc_s, end_utc_s):
        return False
    return OTHER_DAY_S < lesson.start_utc_s - report.utc_s <= DAY_BEFORE_S


def make_day(lesson: Lesson, end_utc_s: float) -> Day:
    """The day of a lesson that ends at a given moment.

    The user's own value wins over the report; the report over nothing. Beside a report the forecast is held against
    it; where it is all there is, as when tomorrow is planned, it stands in its place, marked: calm beside a forecast of
    gusts is no plan.
    """
    taf = lesson.weather.taf
    covered = taf is not None and taf.covers(lesson.start_utc_s, end_utc_s)
    if stands_aside(lesson.weather.metar, lesson, end_utc_s):
        lesson = replace(lesson, weather=replace(lesson.weather, metar=None))
    given, metar = lesson.weather, lesson.weather.metar
    seen = metar.seen if metar else Seen()
    report = f"METAR {metar.station} {datetime.fromtimestamp(metar.utc_s, UTC):%d %H%MZ}" if metar else ""
    typed = given.wind or given.visibility_m is not None or given.ceiling_m is not None or given.no_ceiling
    if metar is None and taf is not None and covered and not typed:
        seen, report = taf.prevailing_at(lesson.start_utc_s), f"TAF {taf.station}, forecast"
    assumed: list[str] = []

    def fact(own: float | None, reported: float | None) -> Fact:
        if own is not None:
            return Fact(own, "given")
        return Fact(reported, report) if reported is not None else Fact(None)

    east, east_source, compass = _variation(lesson)
    wind, wind_source = (given.wind, "given") if given.wind else (seen.wind, report if seen.wind else "not given")
    if wind and wind.magnetic and wind.from_rad is not None:
        if east is None:
            raise InputError(f"weather.wind is magnetic, and the variation is {east_source}.", where=lesson.source)
        wind = replace(wind, from_rad=float(wrap_positive_rad(wind.from_rad + east)), magnetic=False)
    visibility = fact(given.visibility_m, seen.visibility_m)
    ceiling, ceiling_known = fact(given.ceiling_m, seen.ceiling_m), True
    if given.no_ceiling:
        ceiling = Fact(None, "given")
    elif given.ceiling_m is None:
        ceiling_known = seen.ceiling_known
        ceiling = replace(ceiling, source=report if ceiling_known else "not given")
    temperature = fact(given.temperature_k, metar.temperature_k if metar else None)
    dewpoint = fact(given.dewpoint_k, metar.dewpoint_k if metar else None)
    setting = fact(given.setting_pa, metar.setting_pa if metar else None)
    bound = seen.visibility_bound if given.visibility_m is None else ""
    ceiling_given = given.no_ceiling or given.ceiling_m is not None
    now = seen_now(seen, wind, visibility.value, bound, ceiling.value, ceiling_given)
    return Day(
        wind=wind,
        wind_source=wind_source,
        visibility=visibility,
        visibility_bound=bound,
        ceiling=ceiling,
        ceiling_known=ceiling_known,
        temperature=temperature,
        dewpoint=dewpoint,
        setting=setting,
        moments=moments_of(lesson, now, end_utc_s, "now" if metar or typed or not covered else "prevailing"),
        forecast_covers=covered,
        trend_until_utc_s=metar.utc_s + TREND_S if metar and (metar.no_change or metar.trends) else None,
        variation_rad=east,
        variation_source=east_source,
        compass=compass,
        air=_air(lesson, wind, temperature, setting, assumed),
        assumed=tuple(assumed),
    )


def _variation(lesson: Lesson) -> tuple[float | None, str, str]:
    """(variation, its source, what is wrong with a compass there)."""
    if lesson.field.variation_rad is not None:
        return lesson.field.variation_rad, "given", ""
    when = datetime.fromtimestamp(lesson.start_utc_s, UTC).date()
    try:
        found = variation(lesson.place.latitude_rad, lesson.place.longitude_rad, decimal_year(when))
    except OutOfRange:
        return None, "not known: the date is outside the magnetic model; give variation in [place]", ""
    return found.variation_rad, MODEL, found.caution


def _air(lesson: Lesson, wind: Wind | None, temperature: Fact, setting: Fact, assumed: list[str]) -> AirColumn:
    """The column of air to compute with; what nobody gave is standard, and said."""
    elevation = lesson.field_m
    column = AirColumn(setting_pa=P0_PA if setting.value is None else setting.value)
    if setting.value is None:
        assumed.append("altimeter setting not given: standard 29.92 inHg (1013 hPa)")
    if temperature.value is None:
        column = replace(
            column, temperature_altitude_m=elevation, temperature_k=float(column.temperature_at_k(elevation))
        )
        assumed.append("temperature not given: standard")
    else:
        column = replace(column, temperature_altitude_m=elevation, temperature_k=temperature.value)
    layers = []
    if wind is None:
        assumed.append("surface wind not given: calm")
    elif wind.from_rad is not None:
        layers.append(WindLayer(elevation, wind.from_rad, wind.speed_mps))
    else:
        layers.append(WindLayer(elevation, 0.0, 0.0))
        if wind.speed_mps > 0.0:
            assumed.append("variable wind: no direction, counted as calm for the path, above 6 kt in full as crosswind")
    aloft = sorted(lesson.weather.winds_aloft, key=lambda a: a.altitude_m)
    for layer in aloft:
        if layer.altitude_m <= elevation + 100.0:
            continue  # below the field, or the surface wind itself
        direction = layer.wind.from_rad
        layers.append(WindLayer(layer.altitude_m, direction or 0.0, 0.0 if direction is None else layer.wind.speed_mps))
    if not aloft:
        assumed.append("winds aloft not given: the surface wind is taken all the way up")
    return replace(column, winds=tuple(layers))


@dataclass(frozen=True, slots=True)
class Daylight:
    """Events of the local date of the lesson's start, seconds since 1970 UTC; None where it doesn't happen.

    night_at_start, night_at_end : by civil twilight (14 CFR 1.1).
    lights_needed : some of the lesson lies between sunset and sunrise (91.209, from memory).
    """

    dawn_utc_s: float | None
    sunrise_utc_s: float | None
    sunset_utc_s: float | None
    dusk_utc_s: float | None
    night_at_start: bool
    night_at_end: bool
    lights_needed: bool
    local_date: str


def make_daylight(
    latitude_rad: float, longitude_rad: float, start_utc_s: float, end_utc_s: float, zone: str
) -> Daylight:
    """Daylight of a lesson, asked by the LOCAL date of its start (it may run past midnight)."""
    place = ZoneInfo(zone)
    start, end = (datetime.fromtimestamp(t, UTC) for t in (start_utc_s, end_utc_s))
    local_date = start.astimezone(place).date()
    day = sun_day(latitude_rad, longitude_rad, local_date, place)

    def seconds(event: datetime | None) -> float | None:
        return None if event is None else event.timestamp()

    sunrise, sunset = seconds(day.sunrise), seconds(day.sunset)
    if day.sun == "rises and sets":
        lights = (sunrise is not None and start_utc_s < sunrise) or (sunset is not None and end_utc_s > sunset)
    else:
        lights = day.sun == "down all day"
    return Daylight(
        dawn_utc_s=seconds(day.dawn),
        sunrise_utc_s=sunrise,
        sunset_utc_s=sunset,
        dusk_utc_s=seconds(day.dusk),
        night_at_start=is_night(latitude_rad, longitude_rad, start),
        night_at_end=is_night(latitude_rad, longitude_rad, end),
        lights_needed=lights,
        local_date=local_date.isoformat(),
    )
