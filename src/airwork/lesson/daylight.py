"""Daylight for the lesson: sunrise, sunset and civil twilight of the local date, and which part is night."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from airwork.airdata.sun import is_night, sun_day


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
