"""The weather of the whole lesson as moments: now, what is forecast for its time, at the field and over the area.

Each fact of the verdict is the worst of these moments, said once.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from airwork.airdata.geodesy import leg
from airwork.errors import InputError
from airwork.lesson.lesson import Lesson
from airwork.lesson.places import find_place
from airwork.lesson.remarks import Remarks
from airwork.lesson.style import Style
from airwork.lesson.verdict import ORDER, Level
from airwork.lesson.weather import Cloud, Forecast, Report, Seen, Trend, Wind, overlay
from airwork.units import from_unit, to_unit

FAR_M = from_unit(40.0, "NM")  # a storm that moves with 40 kt is here in an hour (our own choice)
# Hail, squalls, a funnel cloud make a storm severe, heavy rain doesn't (NWS, from memory): its gusts run ahead of it,
# and nobody says which way it moves
SEVERE = re.compile(r"GR|SQ|FC")
TREND_S = 2 * 3600.0  # a report's trend speaks of the two hours after it (ICAO Annex 3, from memory)


@dataclass(frozen=True, slots=True)
class Moment:
    """Conditions at one time and place.

    kind : "now", or as the forecast says: "prevailing", "becoming", "TEMPO", "PROB30" …
    where : "" at the field; else the station, and that it stands for the area.
    report : the one that "now" is from, for its remarks.
    far : from a station too far away to be the area's own weather.
    """

    kind: str
    start_utc_s: float
    end_utc_s: float
    seen: Seen
    where: str = ""
    report: Report | None = None
    far: bool = False

    @property
    def perhaps(self) -> bool:
        """Forecast with a probability only, or far away: a reason to think, never alone a reason to stay."""
        return self.kind.startswith("PROB") or self.far

    @property
    def remarks(self) -> Remarks:
        """What its report says beside its main groups."""
        return Remarks() if self.report is None else self.report.remarks

    def label(self, style: Style, start_utc_s: float) -> str:
        """When and where in words: "now", "forecast from 09:00", "now and then 08:00 to 11:00, TEMPO; KIML"."""
        span = f"{style.clock(self.start_utc_s)} to {style.clock(self.end_utc_s)}"
        when = self.kind
        if self.kind in {"prevailing", "becoming"}:
            word = "forecast" if self.kind == "prevailing" else "forecast to become"
            when = f"{word} from {style.clock(self.start_utc_s)}" if self.start_utc_s > start_utc_s else word
        elif self.kind.startswith("PROB"):
            when = f"forecast at {self.kind[4:6]} % {span}, {self.kind}"
        elif self.kind != "now":
            when = f"forecast now and then {span}, {self.kind}"
        return f"{when}; {self.where}" if self.where else when


def moments_of(lesson: Lesson, now: Seen, end_utc_s: float, kind: str = "now") -> tuple[Moment, ...]:
    """Every moment of a lesson. `now` is the field's weather with the user's own values in it; kind : how it is had."""
    start, given = lesson.start_utc_s, lesson.weather
    out = [Moment(kind, start, start, now, report=given.metar)]
    if given.metar:
        out += _trends(given.metar, now, start, end_utc_s)
    out += _forecast(given.taf, start, end_utc_s)
    for report in given.area_reports:
        theirs = [Moment("now", start, start, report.seen, report=report)]
        out += _of_station(report.station, lesson, [*theirs, *_trends(report, report.seen, start, end_utc_s)])
    for forecast in given.area_forecasts:
        out += _of_station(forecast.station, lesson, _forecast(forecast, start, end_utc_s))
    return tuple(out)


def _of_station(station: str, lesson: Lesson, theirs: list[Moment]) -> list[Moment]:
    """Moments of a station for the area; beyond `FAR_M` another place's weather."""
    area, place = lesson.area, lesson.place
    where = f"{station}, for {area.name if area else 'nearby'}"
    try:
        there = find_place(station)
    except InputError:
        return [replace(m, where=where) for m in theirs]
    corners = area.corners_rad or ((area.center_rad,) if area.center_rad else ()) if area else ()
    away = min(leg(*at, there.latitude_rad, there.longitude_rad).distance_m
               for at in ((place.latitude_rad, place.longitude_rad), *corners))  # fmt: skip
    far = away > FAR_M
    if far:
        where = f"{station}, {to_unit(away, 'NM'):.0f} NM away"
    return [replace(m, where=where, far=far) for m in theirs]


def _forecast(taf: Forecast | None, start: float, end: float) -> list[Moment]:
    if taf is None:
        return []
    return [Moment(s.kind, s.start_utc_s, s.end_utc_s, s.seen) for s in taf.between(start, end)]


def _trends(report: Report, now: Seen, start: float, end: float) -> list[Moment]:
    """The trend at the end of a report, where it reaches into the lesson."""
    out = []
    for trend in report.trends:
        begin, until = _span(trend, report.utc_s)
        if begin < end and start < until:
            kind = "TEMPO" if trend.kind == "TEMPO" else "becoming"
            out.append(Moment(kind, begin, until, _over(now, trend.seen)))
    return out


def _span(trend: Trend, utc_s: float) -> tuple[float, float]:
    midnight = datetime.fromtimestamp(utc_s, UTC).replace(hour=0, minute=0, second=0, microsecond=0).timestamp()

    def moment(seconds: float | None, default: float) -> float:
        if seconds is None:
            return default
        found = midnight + seconds
        return found + 86400.0 if found < utc_s - 3600.0 else found

    begin = moment(trend.from_s if trend.at_s is None else trend.at_s, utc_s)
    return begin, max(
        moment(trend.until_s, utc_s + TREND_S), begin + 60.0
    ) if trend.kind == "TEMPO" else utc_s + TREND_S


def _over(now: Seen, trend: Seen) -> Seen:
    """A trend names the weather and shear it brings; what it says nothing of stays."""
    return replace(overlay(now, trend), weather=trend.weather, shear=trend.shear)


def seen_now(
    reported: Seen, wind: Wind | None, visibility_m: float | None, visibility_bound: str, ceiling_m: float | None,
    ceiling_given: bool,
) -> Seen:  # fmt: skip
    """What is reported with the user's own values over it: a ceiling given takes the place of the reported layers."""
    clouds = reported.clouds
    if ceiling_given:
        kept = tuple(c for c in clouds or () if not c.is_ceiling)
        storm = tuple(replace(c, cover="SCT") for c in clouds or () if c.is_ceiling and c.kind)
        clouds = (*kept, *storm, *(() if ceiling_m is None else (Cloud("BKN", ceiling_m),)))
    return replace(reported, wind=wind, visibility_m=visibility_m, visibility_bound=visibility_bound, clouds=clouds)


@dataclass(frozen=True, slots=True)
class Found:
    """One fact at one moment: how bad, how bad within that, in words without the moment.

    reaches : from wherever it is, as a severe storm's gusts do. at_all : stops if it is forecast at all.
    """

    level: Level
    weight: float
    text: str
    moment: Moment
    reaches: bool = False
    at_all: bool = False

    @property
    def stops(self) -> bool:
        """Whether it is a reason to stay by itself."""
        surely = not self.moment.perhaps or (self.reaches if self.moment.far else self.at_all)
        return self.level == "no-go" and surely


def worst(found: Iterable[Found]) -> Found | None:
    """The worst of the moments; what is only perhaps forecast stops nobody by itself."""
    softened = [replace(f, level="think") if f.level == "no-go" and not f.stops else f for f in found]
    return min(softened, key=lambda f: (ORDER.index(f.level), -f.weight), default=None)


def worst_of(moments: Iterable[Moment], look: Callable[[Moment], Found | None]) -> Found | None:
    """`worst` of what a look at each moment finds."""
    return worst(f for m in moments if (f := look(m)) is not None)
