"""Night in the two senses a logbook needs: as it is logged, and as it counts for carrying passengers."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from itertools import pairwise

from airwork.airdata.sun import is_night, sun_day
from airwork.days import local_date, zone
from airwork.logbook.rules import Night

_MINUTE_S = 60.0


def night_s(
    start_utc_s: float,
    end_utc_s: float,
    departure_rad: tuple[float, float],
    arrival_rad: tuple[float, float],
) -> float:
    """Time of a flight that lies between evening and morning civil twilight. [s]

    Judged each minute at a place that moves evenly from departure to arrival; within a minute or two on the longest
    legs of a light airplane, exact for a flight that stays near its field.

    Parameters
    ----------
    start_utc_s, end_utc_s : seconds since 1970 UTC.
    departure_rad, arrival_rad : latitude and longitude, north and east positive.
    """
    length = end_utc_s - start_utc_s
    steps = max(1, round(length / _MINUTE_S))
    dark = 0
    for step in range(steps):
        share = (step + 0.5) / steps
        latitude, longitude = (a + share * (b - a) for a, b in zip(departure_rad, arrival_rad, strict=True))
        dark += is_night(latitude, longitude, datetime.fromtimestamp(start_utc_s + share * length, tz=UTC))
    return length * dark / steps


def is_logged_night(utc_s: float, position_rad: tuple[float, float]) -> bool:
    """After evening and before morning civil twilight at a place."""
    return is_night(*position_rad, datetime.fromtimestamp(utc_s, tz=UTC))


def is_late_night(utc_s: float, position_rad: tuple[float, float], zone_name: str, rule: Night) -> bool:
    """In the period that counts for passengers by night: from so long after sunset to so long before sunrise.

    A landing 40 minutes after sunset is logged as night once civil twilight has ended, and is still too early here.
    """
    moment = datetime.fromtimestamp(utc_s, tz=UTC)
    after = timedelta(minutes=rule.passenger_after_sunset_min)
    before = timedelta(minutes=rule.passenger_before_sunrise_min)
    here, today = zone(zone_name), local_date(utc_s, zone_name)
    days = [sun_day(*position_rad, today + timedelta(days=n), here) for n in (-1, 0, 1)]
    for evening, morning in pairwise(days):
        starts = evening.sunset + after if evening.sunset else None
        ends = morning.sunrise - before if morning.sunrise else None
        if evening.sun == "down all day" and evening.noon <= moment <= morning.noon:
            return True
        if starts is not None and moment >= starts and moment <= (ends if ends is not None else morning.noon):
            return True
    return False
