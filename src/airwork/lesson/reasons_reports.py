"""What the verdict says of the reports themselves: of which day, of which station, do they cover the lesson."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from airwork.airdata.geodesy import leg
from airwork.errors import InputError
from airwork.lesson.case import Case
from airwork.lesson.day import OLD_REPORT_S, OTHER_DAY_S, stands_aside
from airwork.lesson.places import find_place
from airwork.lesson.verdict import OWN, Reason
from airwork.lesson.weather import Report
from airwork.units import INHG_PA, NM_M

NEAR_M = 10.0 * NM_M  # near enough to stand for a strip without a station (our own choice)
_NEWER = "the report of the hour"
_FORECAST = "a forecast for the lesson's hours, or your own outlook after reading the area's"


LOWEST_PA, HIGHEST_PA = 28.00 * INHG_PA, 31.50 * INHG_PA  # what altimeters can be set to, about (from memory)
ROUNDED_K = 1.0  # both are reported in whole degrees


def report_reasons(case: Case) -> Iterator[Reason]:
    """METAR and TAF against the lesson's day, hour and place; what had to be assumed to compute with."""
    lesson, day = case.lesson, case.day
    metar, taf = lesson.weather.metar, lesson.weather.taf
    if metar is not None:
        yield from _age(case, metar, "METAR")
        yield from _station(case, metar.station, "METAR", "report")
    elif any(s.startswith("TAF") for s in (day.wind_source, day.visibility.source, day.ceiling.source)):
        yield Reason("report", "think", "no METAR yet: the TAF's wind, visibility and cloud are taken", OWN, _NEWER)
    for report in lesson.weather.area_reports:
        yield from _age(case, report, f"METAR {report.station}")
    if taf is not None:
        yield from _station(case, taf.station, "TAF", "forecast")
    trend = day.trend_until_utc_s
    if not day.forecast_covers and taf is None and trend is not None and case.end_utc_s <= trend:
        text = f"no TAF; the METAR's own trend is the forecast, to {_utc(case, trend)}"
        yield Reason("forecast", "go", text, "ICAO Annex 3 (from memory)")
    elif not day.forecast_covers and taf is None and lesson.weather.outlook:
        yield Reason("forecast", "go", f"no TAF; your own outlook: {lesson.weather.outlook}", "lesson")
    elif not day.forecast_covers:
        text = "no forecast given"
        if taf is not None:
            span = f"{_utc(case, taf.start_utc_s)} to {_utc(case, taf.end_utc_s)}"
            text = f"the TAF ({span}) doesn't cover the lesson"
        yield Reason("forecast", "unknown", text, "", _FORECAST)
    yield from _slips(case)
    if day.temperature.value is None:
        yield Reason("temperature", "unknown", "temperature not given")
    if day.setting.value is None:
        yield Reason("altimeter setting", "unknown", "altimeter setting not given")
    for text in day.assumed:
        if "not given" not in text or "aloft" in text:
            level = "think" if "aloft" in text else "go"
            change = "winds aloft, typed or pasted" if level == "think" else ""
            yield Reason("assumed", level, text, OWN if level == "think" else "", change)  # type: ignore[arg-type]
    if day.variation_rad is None:
        yield Reason("variation", "unknown", day.variation_source)


def _station(case: Case, station: str, name: str, what: str) -> Iterator[Reason]:
    """A report or forecast of another station, how far away, taken for the field all the same."""
    place = case.lesson.place
    if station == place.ident:
        return
    try:
        there = find_place(station)
        far = leg(place.latitude_rad, place.longitude_rad, there.latitude_rad, there.longitude_rad).distance_m
    except InputError:
        far = float("nan")
    away = f", {case.style.distance(far)} away" if far == far else ""
    near = place.ident == place.name and far <= NEAR_M  # a strip of the user's own, which no report is made for
    text = f"the {name} is for {station}{away}, not {place.ident}: taken for the field"
    change = f"a {what} of the field, your own values, or a look at the sky there"
    yield Reason(f"station of the {what}", "go" if near else "think", text, OWN, "" if near else change)


def _utc(case: Case, utc_s: float) -> str:
    return datetime.fromtimestamp(utc_s, UTC).astimezone(ZoneInfo(case.style.zone)).strftime("%d %b %H:%M")


def _slips(case: Case) -> Iterator[Reason]:
    """Values no station reports: a slip of the one who typed or pasted them, asked back."""
    dew, temperature, setting = case.day.dewpoint, case.day.temperature, case.day.setting
    if dew.value is not None and temperature.value is not None and dew.value > temperature.value + ROUNDED_K:
        text = (
            f"dew point {case.style.temperature(dew.value)} above the temperature "
            f"{case.style.temperature(temperature.value)} can't be: which is the slip? ({dew.source})"
        )
        yield Reason("dew point", "unknown", text, OWN, "both as reported")
    if setting.value is not None and not LOWEST_PA <= setting.value <= HIGHEST_PA:
        text = (
            f"altimeter setting {case.style.pressure(setting.value)}: no station has that; a slip? ({setting.source})"
        )
        yield Reason("altimeter setting", "unknown", text, OWN, "the setting as reported")


def _age(case: Case, report: Report, name: str) -> Iterator[Reason]:
    """How old a report is at the lesson's start, and whether it is of another day or month."""
    age = case.lesson.start_utc_s - report.utc_s
    zone = ZoneInfo(case.style.zone)
    theirs, ours = (datetime.fromtimestamp(t, UTC).astimezone(zone) for t in (report.utc_s, case.lesson.start_utc_s))
    when = f"{theirs:%a} {theirs.day} {theirs:%b %H:%M}"
    side = "before" if age > 0.0 else "after"
    gap = f"{abs(age) / 3600.0:.0f} h" if abs(age) < 2 * 86400.0 else f"{abs(age) / 86400.0:.0f} days"
    if abs(age) > OTHER_DAY_S:
        another = "month" if theirs.month != ours.month else "day"
        text = f"the {name} is of another {another}: {when}, {gap} {side} the lesson: "
        if stands_aside(report, case.lesson, case.end_utc_s):
            text += "not used; the TAF's wind, visibility and cloud are taken"
            yield Reason("report", "think", text, OWN, _NEWER)
        else:
            yield Reason("report", "no-go", f"{text}no weather to fly by", OWN, _NEWER)
    elif age > OLD_REPORT_S or age < -OLD_REPORT_S:
        text = f"the {name} is of {when}, {case.style.minutes(abs(age))} {side} the start"
        yield Reason("report", "think", text, OWN, _NEWER)
