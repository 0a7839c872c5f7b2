"""Reports, forecasts and winds aloft as pasted: one or several, which is the field's and which stand for the area."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import TypeVar

from airwork.errors import InputError, UnitError, Where
from airwork.lesson.lesson import AreaWanted, WeatherGiven
from airwork.lesson.schema import WeatherPart
from airwork.lesson.weather import Aloft, Forecast, Report

ABOUT_S = 600.0  # a report of ten minutes after the start is still the hour's (our own choice)
Decoded = TypeVar("Decoded", Report, Forecast)
_EACH_METAR = re.compile(r"\s*=\s*(?=\S)|\s+(?=(?:METAR|SPECI)\s)|\n\s*(?=[A-Z][A-Z0-9]{3}\s+\d{6}Z)")
_EACH_TAF = re.compile(r"\s*=\s*(?=\S)|\s+(?=TAF\s)|\n\s*(?=[A-Z][A-Z0-9]{3}\s+\d{6}Z)")


def weather_of(
    part: WeatherPart, area: AreaWanted | None, ident: str, start_utc_s: float, where: Where
) -> WeatherGiven:
    """The weather a lesson gives. `ident` : the field's, to find its report among several pasted.

    Raises
    ------
    InputError : a report or forecast that can't be read, named by its field.
    """
    metars, tafs = _read(part.metar, part.taf, start_utc_s, where.at("weather"))
    over_metar, over_taf = (None, None) if area is None else (area.metar, area.taf)
    area_metars, area_tafs = _read(over_metar, over_taf, start_utc_s, where.at("area"))
    metar, other_metars = _own(_newest(metars, start_utc_s), ident)
    taf, other_tafs = _own(tafs, ident)
    return WeatherGiven(
        metar=metar,
        taf=taf,
        wind=part.wind,
        visibility_m=part.visibility,
        ceiling_m=None if isinstance(part.ceiling, str) else part.ceiling,
        no_ceiling=part.ceiling == "none",
        temperature_k=part.temperature,
        dewpoint_k=part.dewpoint,
        setting_pa=part.altimeter,
        winds_aloft=_aloft(part.winds_aloft, ident, where.at("weather", "winds_aloft")),
        outlook=part.outlook or "",
        visible_moisture=part.in_cloud_or_precipitation,
        area_reports=(*other_metars, *_newest(area_metars, start_utc_s)),
        area_forecasts=(*other_tafs, *area_tafs),
    )


def _read(metar: str | None, taf: str | None, start: float, where: Where) -> tuple[list[Report], list[Forecast]]:
    if metar is None and taf is None:
        return [], []
    from airwork.lesson.reports import read_metar, read_taf  # late: two parsers

    def each(text: str | None, split: re.Pattern[str], read: Callable[..., Decoded], field: str) -> list[Decoded]:
        texts = [t for t in split.split((text or "").strip()) if t.strip(" =\n")]
        return [read(t, near_utc_s=start, where=where.at(field)) for t in texts]

    return each(metar, _EACH_METAR, read_metar, "metar"), each(taf, _EACH_TAF, read_taf, "taf")


def _newest(reports: Sequence[Report], start_utc_s: float) -> list[Report]:
    """Of each station its newest report before the start, whichever was pasted first; corrected, the correction.

    Without one before it, the first after.
    """

    def rank(one: Report) -> tuple[bool, float, bool]:
        before = one.utc_s <= start_utc_s + ABOUT_S
        return before, one.utc_s if before else -one.utc_s, " COR " in one.text

    found: dict[str, Report] = {}
    for one in reports:
        kept = found.get(one.station)
        found[one.station] = one if kept is None or rank(one) > rank(kept) else kept
    return list(found.values())


def _own(found: Sequence[Decoded], ident: str) -> tuple[Decoded | None, Sequence[Decoded]]:
    """(the field's own, else the first; the others)."""
    if not found:
        return None, ()
    own = next((one for one in found if one.station == ident), found[0])
    return own, [one for one in found if one is not own]


def _aloft(given: str | tuple[Aloft, ...], ident: str, where: Where) -> tuple[Aloft, ...]:
    if not isinstance(given, str):
        return given
    from airwork.lesson.wind_text import parse_aloft, parse_aloft_forecast

    try:
        if re.search(r"^\s*FT\s+\d{4}", given, re.MULTILINE | re.IGNORECASE):
            return parse_aloft_forecast(given, (ident,))
        return tuple(parse_aloft(line) for line in re.split(r"[\n;]", given) if line.strip())
    except UnitError as problem:
        raise InputError(problem.problem, where=where) from None
