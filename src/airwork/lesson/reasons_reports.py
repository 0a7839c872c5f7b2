"""What the verdict says of the reports themselves: of which day, of which station, do they cover the lesson."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from airwork.airdata.atmosphere import pressure_altitude_m
from airwork.airdata.geodesy import leg
from airwork.airdata.magnetic import MODEL
from airwork.errors import InputError
from airwork.lesson.case import Case
from airwork.lesson.day import OLD_REPORT_S, OTHER_DAY_S, stands_aside
from airwork.lesson.places import find_place, tidy_runway_name
from airwork.lesson.reasons_notes import alarming
from airwork.lesson.reasons_wind import wind_change_mps
from airwork.lesson.verdict import OWN, Reason
from airwork.lesson.weather import Report
from airwork.units import FT_M, INHG_PA, KT_MPS, NM_M, from_unit

ELSEWHERE_M = 100.0 * NM_M  # another air mass; a slip of a letter (our own choice)
NEAR_M = 10.0 * NM_M  # near enough to stand for a strip without a station (our own choice)
# "R17/SNOCLO" is a group of reports (ICAO Annex 3, from memory); the others are NOTAMs' words in remarks or outlook.
_CLOSED = re.compile(
    r"\bR(?P<snow>\d\d[LCR]?)?/SNOCLO\b|\bSNOCLO\b"
    r"|\b(?:RWYS?|RUNWAYS?)(?P<runways>[ \d/LCR,&]*?)(?: IS| ARE)? (?:CLSD|CLOSED)\b"
    r"|\b(?P<field>AD|AP|ARPT|AERODROME|AIRPORT|AIRFIELD|FIELD)(?: IS)? (?:CLSD|CLOSED)\b"
)
_FOR_HOURS = re.compile(r"\b(?:OPEN|YESTERDAY|TIL|TILL|UNTIL|FROM|BTN|BETWEEN|AFTER|BEFORE)\b|\d{4}")
_NEWER = "the report of the hour"
_FORECAST = "a forecast for the lesson's hours, or your own outlook after reading the area's"


LOWEST_PA, HIGHEST_PA = 28.00 * INHG_PA, 31.50 * INHG_PA  # what altimeters can be set to, about (from memory)
# what an hour hardly does (our own choice): 100 ft of altitude, and a slip between °C and °F
OTHER_SETTING_PA, OTHER_TEMPERATURE_K = 0.10 * INHG_PA, 10.0
OTHER_WIND_MPS, OTHER_GUST_MPS = 10.0 * KT_MPS, 5.0 * KT_MPS  # likewise; a gust left out is felt on final
# rising dry air cools by 3 °C per 1,000 ft ([AWH]), and only by a hot ground by more; what an inversion hardly reaches
MOST_COLDER_K, MOST_LAPSE_K_PER_M, MOST_WARMER_K = 8.0, 4.0 / (1000.0 * FT_M), 20.0
ROUNDED_K = 1.0  # both are reported in whole degrees


def report_reasons(case: Case) -> Iterator[Reason]:
    """METAR and TAF against the lesson's day, hour and place; what had to be assumed to compute with."""
    yield from _reported(case)
    yield from _forecast(case)
    yield from _closed(case)
    yield from _slips(case)
    yield from _taken(case)


def air_reasons(case: Case) -> Iterator[Reason]:
    """What every distance, climb and altitude hangs on: before the rest that isn't known."""
    if case.day.temperature.value is None:
        text = "temperature not given: distances, climb and density altitude are for standard air"
        yield Reason("temperature", "unknown", text)
    if case.day.setting.value is None:
        yield Reason("altimeter setting", "unknown", "altimeter setting not given")


def _reported(case: Case) -> Iterator[Reason]:
    """Reports of another day, of another station, or none."""
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


def _forecast(case: Case) -> Iterator[Reason]:
    """What says how the lesson's hours will be: a TAF that covers them, else the report's trend, else the user."""
    day, taf, outlook = case.day, case.lesson.weather.taf, case.lesson.weather.outlook
    trend = day.trend_until_utc_s
    if day.forecast_covers:
        if outlook:
            yield _outlook("outlook", f"your own outlook: {outlook}", outlook)
    elif taf is not None:
        span = f"{_utc(case, taf.start_utc_s)} to {_utc(case, taf.end_utc_s)}"
        yield Reason("forecast", "unknown", f"the TAF ({span}) doesn't cover the lesson", "", _FORECAST)
    elif trend is not None and case.end_utc_s <= trend:
        text = f"no TAF; the METAR's own trend is the forecast, to {_utc(case, trend)}"
        yield Reason("forecast", "go", text, "ICAO Annex 3 (from memory)")
    elif outlook:
        yield _outlook("forecast", f"no TAF; your own outlook: {outlook}", outlook)
    else:
        yield Reason("forecast", "unknown", "no forecast given", "", _FORECAST)


def _taken(case: Case) -> Iterator[Reason]:
    """What is not known, and what was taken in its place to compute with."""
    day = case.day
    for text in day.assumed:
        if "not given" not in text:
            yield Reason("assumed", "go", text)
    if day.variation_rad is None:
        yield Reason("variation", "unknown", day.variation_source)
    elif day.compass:
        yield Reason("compass", "think", day.compass, MODEL, "headings by the track over the ground, a gyro set by it")


def _outlook(topic: str, text: str, words: str) -> Reason:
    """What the user expects, quoted; a word of alarm or of weather that stops lessons in it is worth a thought."""
    if alarming(words, outlook=True):
        return Reason(topic, "think", text, OWN, "wait for it to pass, or come back before it; or settle it")
    return Reason(topic, "go", text, "lesson")


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
    if far > ELSEWHERE_M:
        text = f"the {name} is for {station}{away}, not {place.ident}: no weather to fly by here"
        yield Reason(f"station of the {what}", "no-go", text, OWN, f"a {what} from near the field")
        return
    near = place.ident == place.name and far <= NEAR_M  # a strip of the user's own, which no report is made for
    text = f"the {name} is for {station}{away}, not {place.ident}: taken for the field"
    change = f"a {what} of the field, your own values, or a look at the sky there"
    yield Reason(f"station of the {what}", "go" if near else "think", text, OWN, "" if near else change)


def _closed(case: Case) -> Iterator[Reason]:
    """The runway in use, or the field, closed by its own report, the outlook or a note; another's counts not."""
    weather, runway = case.lesson.weather, case.runway.runway
    own = weather.metar is not None and weather.metar.station == case.lesson.place.ident
    texts = {"METAR": weather.metar.text if weather.metar and own else "", "outlook": weather.outlook}
    texts["note"] = ". ".join(e.note for e in case.lesson.exercises)
    for whence, text in texts.items():
        for found in _CLOSED.finditer(text.upper()):
            named = [tidy_runway_name(n) for n in re.findall(r"\d{1,2}[LCR]?", found["snow"] or found["runways"] or "")]
            if named and runway is not None and tidy_runway_name(runway.name) not in named:
                continue
            what = "the field" if found["field"] or runway is None else f"runway {runway.name}"
            words = re.split(r"[.;=]|\s(?:RMK|BECMG|TEMPO)\s", text[found.start() :], maxsplit=1, flags=re.I)[0].strip()
            hours = _FOR_HOURS.search(words.upper()) is not None
            change = "another field" if found["field"] else "another runway; read the NOTAMs"
            said = f"{what} is closed{' for some hours' if hours else ''}: {words} ({whence})"
            source = "METAR" if whence == "METAR" else "lesson"
            yield Reason("closed", "think" if hours else "no-go", said, source, change)
            return


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

    yield from _lapse(case)
    yield from _two_settings(case)
    yield from _beside_the_report(case)


def _lapse(case: Case) -> Iterator[Reason]:
    """Temperatures aloft that no air has over the field's: a sign, °F or an altitude mistyped."""
    field, style = case.day.temperature.value, case.style
    for layer in case.lesson.weather.winds_aloft:
        rise_m = layer.altitude_m - case.field_m
        if field is None or layer.temperature_k is None or rise_m < 100.0:
            continue
        colder = field - layer.temperature_k
        if colder > MOST_COLDER_K + MOST_LAPSE_K_PER_M * rise_m or colder < -MOST_WARMER_K:
            text = (
                f"{style.temperature(layer.temperature_k)} at {style.altitude(layer.altitude_m)} over "
                f"{style.temperature(field)} at the field can't be: which is the slip?"
            )
            yield Reason(
                "temperature aloft", "unknown", text, f"AWH, 3 °C per 1,000 ft of dry air; {OWN}", "both as given"
            )
            return


def _two_settings(case: Case) -> Iterator[Reason]:
    """A report that prints its setting in both units, and not the same."""
    metar = case.lesson.weather.metar
    body = "" if metar is None else metar.text.partition(" RMK")[0]
    hectopascals, inches = re.search(r"\bQ(\d{4})\b", body), re.search(r"\bA(\d{4})\b", body)
    if hectopascals is None or inches is None:
        return
    one, other = from_unit(float(hectopascals[1]), "hPa"), from_unit(float(inches[1]) / 100.0, "inHg")
    if abs(one - other) > OTHER_SETTING_PA:
        feet = case.style.altitude(abs(float(pressure_altitude_m(one) - pressure_altitude_m(other))))
        text = f"the METAR has {hectopascals[0]} and {inches[0]}, {feet} apart: which is it?"
        yield Reason("altimeter setting in two units", "think", text, OWN, "the setting from another source")


def _beside_the_report(case: Case) -> Iterator[Reason]:
    """Own values far from the report of the hour they stand beside: they win, and the difference is said."""
    weather = case.lesson.weather
    metar = weather.metar
    if metar is None or abs(case.lesson.start_utc_s - metar.utc_s) > OLD_REPORT_S:
        return
    style, own, reported = case.style, weather.setting_pa, metar.setting_pa
    if own is not None and reported is not None and abs(own - reported) > OTHER_SETTING_PA:
        feet = style.altitude(abs(float(pressure_altitude_m(own) - pressure_altitude_m(reported))))
        text = f"altimeter setting {style.pressure(own)} given, the METAR says {style.pressure(reported)}: {feet} apart"
        yield Reason("altimeter setting", "think", text, OWN, "the setting as reported, or a newer report")
    own, reported = weather.temperature_k, metar.temperature_k
    if own is not None and reported is not None and abs(own - reported) > OTHER_TEMPERATURE_K:
        text = f"temperature {style.temperature(own)} given, the METAR says {style.temperature(reported)}"
        yield Reason("temperature", "think", text, OWN, "the temperature as reported, or a newer report")
    mine, theirs = case.day.wind, metar.seen.wind
    if weather.wind is None or mine is None or theirs is None:
        return
    calmer = theirs.gust_mps is not None and theirs.peak_mps - mine.peak_mps > OTHER_GUST_MPS
    if calmer or wind_change_mps(mine, theirs) > OTHER_WIND_MPS:
        text = f"wind {style.wind(mine)} given, the METAR says {style.wind(theirs)}"
        yield Reason("wind given", "think", text, OWN, "the wind as reported, with its gusts, or a newer report")


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
