"""Daylight, civil twilight and night at a place, asked by LOCAL date. Times are aware datetimes in UTC.

A UTC day west of Greenwich holds the evening of the local day before; asking by UTC date gives yesterday's sunset.
Here a day's events are the ones around the solar noon nearest to that date's local clock noon, so that always
dawn < sunrise < noon < sunset < dusk; in high summer a sunset may fall after local midnight.

Ideal sea horizon: terrain and refraction move sunrise and sunset by a minute or more ([USNO]).
"""

from __future__ import annotations

import math
from bisect import bisect
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from functools import lru_cache
from typing import Any, Literal

from airwork.errors import InputError

SUNRISE_ELEVATION_DEG = -50.0 / 60.0  # upper limb on the horizon ([USNO]): 34′ refraction + 16′ radius (from memory)
CIVIL_ELEVATION_DEG = -6.0  # center, geometric ([AIM] glossary)
_HALF_DAY_S = 12 * 3600

Shines = Literal["rises and sets", "up all day", "down all day"]


@dataclass(frozen=True, slots=True)
class SunDay:
    """The Sun's day at a place; an event that does not happen is None. Two are equal when all fields are."""

    noon: datetime
    dawn: datetime | None  # beginning of morning civil twilight
    sunrise: datetime | None
    sunset: datetime | None
    dusk: datetime | None  # end of evening civil twilight
    sun: Shines


def _observer(latitude_rad: float, longitude_rad: float) -> Any:
    from astral import Observer

    latitude, longitude = math.degrees(latitude_rad), math.degrees(longitude_rad)
    if not (abs(latitude) <= 90.0 + 1e-9 and abs(longitude) <= 180.0 + 1e-9):
        raise InputError(f"no such place: latitude {latitude:.4f}°, longitude {longitude:.4f}°.")
    return Observer(latitude, longitude, 0.0)


@lru_cache(maxsize=256)  # a lesson asks for the same day at the same place again at every changed value
def sun_day(latitude_rad: float, longitude_rad: float, local_date: date, zone: tzinfo) -> SunDay:
    """Dawn, sunrise, noon, sunset and dusk of a local date.

    Parameters
    ----------
    latitude_rad, longitude_rad : north and east positive, longitude in [−π, π].
    local_date : the date on the calendar at the place.
    zone : the place's time zone; it only settles which day is meant.

    References
    ----------
    [AIM] and 14 CFR 1.1 for civil twilight; computed by the package astral (NOAA's equations),
    ±1 min at middle latitudes.
    """
    observer = _observer(latitude_rad, longitude_rad)
    clock_noon = datetime.combine(local_date, time(12), tzinfo=zone).astimezone(UTC)
    noon = min(_noons(observer, clock_noon.date()), key=lambda t: abs(t - clock_noon))
    rise, sets = (_nearest(observer, noon, SUNRISE_ELEVATION_DEG, rising) for rising in (True, False))
    dawn, dusk = (_nearest(observer, noon, CIVIL_ELEVATION_DEG, rising) for rising in (True, False))
    up = _elevation_deg(observer, noon) > SUNRISE_ELEVATION_DEG
    sun: Shines = "rises and sets" if rise or sets else "up all day" if up else "down all day"
    return SunDay(noon, dawn, rise, sets, dusk, sun)


def _noons(observer: Any, day: date) -> list[datetime]:
    from astral import sun

    return [sun.noon(observer, day + timedelta(days=d)) for d in (-1, 0, 1)]


def _nearest(observer: Any, noon: datetime, elevation_deg: float, rising: bool) -> datetime | None:
    """The crossing of an elevation before (rising) or after (setting) a noon, within half a day of it, to the second.

    Away from noon the Sun only sinks, so the second is bisected. The library's own search solves with the neighboring
    UTC day where the event is near 00 UTC, and loses some sunrises between 75° and 110° E.
    """

    def depth_deg(seconds: int) -> float:
        away = timedelta(seconds=seconds)
        return -_elevation_deg(observer, noon - away if rising else noon + away)

    found = bisect(range(_HALF_DAY_S + 1), -elevation_deg, key=depth_deg)
    if not 0 < found <= _HALF_DAY_S:  # the Sun stays below or above all day
        return None
    return noon - timedelta(seconds=found) if rising else noon + timedelta(seconds=found)


def _elevation_deg(observer: Any, instant: datetime) -> float:
    from astral import sun

    return float(sun.elevation(observer, instant, with_refraction=False))


def sun_elevation_rad(latitude_rad: float, longitude_rad: float, instant: datetime) -> float:
    """Geometric elevation of the Sun's center, without refraction. [rad]

    Raises
    ------
    InputError : the instant has no time zone, or there is no such place.
    """
    if instant.tzinfo is None:
        raise InputError("the time has no zone; give UTC or the place's zone.")
    return math.radians(_elevation_deg(_observer(latitude_rad, longitude_rad), instant.astimezone(UTC)))


def is_night(latitude_rad: float, longitude_rad: float, instant: datetime) -> bool:
    """Night as it is logged: the Sun's center more than 6° below the horizon (14 CFR 1.1, civil twilight)."""
    return math.degrees(sun_elevation_rad(latitude_rad, longitude_rad, instant)) < CIVIL_ELEVATION_DEG


def sun_position_rad(latitude_rad: float, longitude_rad: float, instant: datetime) -> tuple[float, float]:
    """(elevation, azimuth from true north) of the Sun's center, without refraction. [rad]

    Raises
    ------
    InputError : as `sun_elevation_rad`.
    """
    from astral import sun

    elevation = sun_elevation_rad(latitude_rad, longitude_rad, instant)
    found = sun.azimuth(_observer(latitude_rad, longitude_rad), instant.astimezone(UTC))
    return elevation, math.radians(float(found))
