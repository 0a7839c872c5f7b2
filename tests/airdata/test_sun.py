"""Daylight and twilight against an almanac's printed minutes and an independent position of the Sun."""

from __future__ import annotations

import math
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import ephem
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from airwork.airdata.sun import is_night, sun_day, sun_elevation_rad, sun_position_rad
from airwork.errors import InputError

LONDON = (math.radians(51.4733), math.radians(-0.0008))

# Source: almanac minutes in astral's src/test/test_sun_utc.py (worked-examples N1–N6) [V]. UTC. Tolerance 60 s against
# the printed minute; N6 90 s. id, date, civil dawn, sunrise, sunset, civil dusk
ALMANAC = [
    ("N1", date(2015, 12, 1), "07:04", "07:43", "15:55", "16:34", 60),
    ("N2", date(2015, 12, 2), "07:05", "07:45", "15:54", "16:34", 60),
    ("N3", date(2015, 12, 12), "07:16", "07:56", "15:51", "16:31", 60),
    ("N4", date(2015, 12, 25), "07:25", "08:05", "15:55", "16:36", 60),
    ("N5", date(2015, 1, 1), None, "08:06", "16:01", None, 60),
    ("N6", date(2019, 8, 29), "04:32", "05:08", "18:54", "19:30", 90),
]


@pytest.mark.parametrize("row", ALMANAC, ids=lambda r: r[0])
def test_london_matches_the_almanac_published(row) -> None:
    _, day, *printed, tolerance = row
    got = sun_day(*LONDON, day, UTC)
    for event, minute in zip((got.dawn, got.sunrise, got.sunset, got.dusk), printed, strict=True):
        if minute is not None:
            expected = datetime.fromisoformat(f"{day}T{minute}:00+00:00")
            assert event is not None
            assert abs((event - expected).total_seconds()) <= tolerance


# Source: worked-examples N7–N11 [D], a NOAA-type algorithm; local date, UTC clock, 60 s.
# id, latitude, longitude, zone, local date, dawn, sunrise, sunset, dusk (+ = next UTC day)
LOCAL_DATES = [
    ("N7", 40, -105, "America/Denver", date(2025, 6, 21), "10:58:32", "11:31:25", "+02:32:26", "+03:05:18"),
    ("N8", 40, -105, "America/Denver", date(2025, 12, 21), "13:47:54", "14:18:30", "23:38:10", "+00:08:46"),
    ("N9", 33, -97, "America/Chicago", date(2025, 6, 21), "10:51:11", "11:19:56", "+01:39:55", "+02:08:40"),
    ("N10", 33, -97, "America/Chicago", date(2026, 3, 20), "12:06:54", "12:31:32", "+00:39:40", "+01:04:21"),
    ("N11", 0, 0, "UTC", date(2025, 3, 20), "05:43:26", "06:04:06", "18:10:37", "18:31:16"),
]


@pytest.mark.parametrize("row", LOCAL_DATES, ids=lambda r: r[0])
def test_a_local_date_keeps_its_own_evening_published(row) -> None:
    """The date trap: the evening of a local day west of Greenwich falls on the next UTC day."""
    _, latitude, longitude, zone, day, *printed = row
    got = sun_day(math.radians(latitude), math.radians(longitude), day, ZoneInfo(zone))
    for event, clock in zip((got.dawn, got.sunrise, got.sunset, got.dusk), printed, strict=True):
        utc_day = day + timedelta(days=1) if clock.startswith("+") else day
        expected = datetime.fromisoformat(f"{utc_day}T{clock.lstrip('+')}+00:00")
        assert event is not None
        assert abs((event - expected).total_seconds()) <= 60
        assert event.astimezone(ZoneInfo(zone)).date() == day


def _independent_elevation_deg(latitude: float, longitude: float, instant: datetime) -> float:
    """Low-precision formulas of the astronomical almanac [M], good to 0.01°; not the ones the package uses."""
    d = (instant - datetime(2000, 1, 1, 12, tzinfo=UTC)).total_seconds() / 86400
    g = math.radians(357.529 + 0.98560028 * d)
    ecliptic = math.radians(280.459 + 0.98564736 * d + 1.915 * math.sin(g) + 0.020 * math.sin(2 * g))
    tilt = math.radians(23.439 - 0.00000036 * d)
    ascension = math.atan2(math.cos(tilt) * math.sin(ecliptic), math.cos(ecliptic))
    declination = math.asin(math.sin(tilt) * math.sin(ecliptic))
    sidereal = math.radians(15 * (18.697374558 + 24.06570982441908 * d)) + longitude
    sine = math.sin(latitude) * math.sin(declination) + math.cos(latitude) * math.cos(declination) * math.cos(
        sidereal - ascension
    )
    return math.degrees(math.asin(sine))


latitudes = st.floats(-60.0, 60.0).map(math.radians)
longitudes = st.floats(-180.0, 180.0).map(math.radians)
days = st.dates(date(2024, 1, 1), date(2032, 12, 31))


def _zone(longitude: float) -> ZoneInfo:
    """A zone with about the place's time; Etc/GMT signs are reversed."""
    hours = round(math.degrees(longitude) / 15)
    return ZoneInfo(f"Etc/GMT{-hours:+d}" if hours else "UTC")


def _ephemeris(latitude: float, longitude: float, noon: datetime, elevation: float, rising: bool) -> datetime | None:
    """The same event by PyEphem (the planetary theory VSOP87), within half a day of noon."""
    there = ephem.Observer()
    there.lat, there.lon, there.pressure, there.horizon = latitude, longitude, 0, str(elevation)
    there.date = noon.replace(tzinfo=None)
    try:
        found = (there.previous_rising if rising else there.next_setting)(ephem.Sun(), use_center=True)
    except (ephem.AlwaysUpError, ephem.NeverUpError):
        return None
    instant = found.datetime().replace(tzinfo=UTC)
    return instant if abs(instant - noon) <= timedelta(hours=12) else None


# Days on which the search of the library astral 3.2 loses the event near 00 UTC, or answers with the day beside.
NEAR_00_UTC = [
    (56.0, 102.5, date(2024, 10, 23)),
    (-6.0, 86.4, date(2027, 10, 1)),
    (-48.0, 77.0, date(2025, 10, 13)),
    (51.0, 97.4, date(2026, 3, 9)),
    (23.6, 78.3, date(2029, 4, 19)),
    (33.7, 85.6, date(2027, 3, 18)),
    (58.7, 79.1, date(2024, 9, 27)),
    (-55.3, 110.0, date(2029, 5, 24)),
]


def _held_to_the_ephemeris(latitude: float, longitude: float, day: date) -> None:
    got = sun_day(latitude, longitude, day, _zone(longitude))
    for event, elevation, rising in (
        (got.dawn, -6, True),
        (got.sunrise, -5 / 6, True),
        (got.sunset, -5 / 6, False),
        (got.dusk, -6, False),
    ):
        expected = _ephemeris(latitude, longitude, got.noon, elevation, rising)
        assert (event is None) == (expected is None)
        if event is not None:
            assert abs((event - expected).total_seconds()) <= 15  # worst of 24,000 looked at, to 60°: 10.1 s


@pytest.mark.parametrize(("latitude", "longitude", "day"), NEAR_00_UTC)
def test_an_event_near_00_utc_is_neither_lost_nor_another_days(latitude: float, longitude: float, day: date) -> None:
    _held_to_the_ephemeris(math.radians(latitude), math.radians(longitude), day)


@given(latitudes, longitudes, days)
@settings(deadline=None)
def test_events_agree_with_an_ephemeris(latitude: float, longitude: float, day: date) -> None:
    _held_to_the_ephemeris(latitude, longitude, day)


@given(latitudes, longitudes, days)
@example(math.radians(56.0), math.radians(102.5), date(2024, 10, 23))  # sunrise within seconds of 00 UTC
@settings(max_examples=50, deadline=None)
def test_events_stand_in_order_and_the_sun_is_where_it_should_be(latitude: float, longitude: float, day: date) -> None:
    """dawn < sunrise < noon < sunset < dusk, all near the local date; elevations by independent formulas, to 0.06°."""
    got = sun_day(latitude, longitude, day, _zone(longitude))
    events = [got.dawn, got.sunrise, got.noon, got.sunset, got.dusk]
    assert None not in events  # to 60° every day has them all
    assert events == sorted(events)
    assert got.noon.astimezone(_zone(longitude)).date() == day
    for event, elevation in ((got.dawn, -6), (got.sunrise, -5 / 6), (got.sunset, -5 / 6), (got.dusk, -6)):
        assert _independent_elevation_deg(latitude, longitude, event) == pytest.approx(elevation, abs=0.06)


@given(latitudes, longitudes, st.datetimes(datetime(2024, 1, 1), datetime(2032, 12, 31), timezones=st.just(UTC)))
@settings(deadline=None)
def test_elevation_agrees_with_independent_formulas(latitude: float, longitude: float, instant: datetime) -> None:
    got = math.degrees(sun_elevation_rad(latitude, longitude, instant))
    expected = _independent_elevation_deg(latitude, longitude, instant)
    assert got == pytest.approx(expected, abs=0.03)
    if abs(expected + 6) > 0.05:
        assert is_night(latitude, longitude, instant) == (expected < -6)


def test_polar_day_and_polar_night_say_so() -> None:
    tromso, oslo = (math.radians(69.65), math.radians(18.96)), ZoneInfo("Europe/Oslo")
    summer = sun_day(*tromso, date(2025, 6, 21), oslo)
    assert summer.sun == "up all day"
    assert summer.sunrise is summer.sunset is summer.dawn is summer.dusk is None
    winter = sun_day(*tromso, date(2025, 12, 21), oslo)
    assert winter.sun == "down all day"
    assert winter.dawn is not None
    assert sun_day(math.radians(85), 0.0, date(2025, 12, 21), UTC).dawn is None
    assert sun_day(math.radians(90), 0.0, date(2025, 6, 21), UTC).sun == "up all day"
    assert sun_day(math.radians(-90), 0.0, date(2025, 6, 21), UTC).sun == "down all day"


def test_a_sunset_after_local_midnight_belongs_to_its_day() -> None:
    """64.84° N, 147.7° W in June: the sunset of the 21st is at 00:48 on the 22nd by the clock; no dawn, no dusk."""
    got = sun_day(math.radians(64.84), math.radians(-147.7), date(2025, 6, 21), ZoneInfo("America/Anchorage"))
    assert got.sunset is not None
    assert got.sunset.astimezone(ZoneInfo("America/Anchorage")).date() == date(2025, 6, 22)
    assert got.dusk is None


def test_a_zone_14_hours_ahead_still_means_its_own_date() -> None:
    kiritimati = ZoneInfo("Pacific/Kiritimati")
    got = sun_day(math.radians(1.87), math.radians(-157.4), date(2025, 6, 21), kiritimati)
    for event in (got.dawn, got.sunrise, got.noon, got.sunset, got.dusk):
        assert event is not None
        assert event.astimezone(kiritimati).date() == date(2025, 6, 21)


def test_night_begins_at_dusk_and_a_time_needs_its_zone() -> None:
    got = sun_day(*LONDON, date(2025, 3, 1), UTC)
    assert got.dusk is not None
    assert not is_night(*LONDON, got.dusk - timedelta(minutes=1))
    assert is_night(*LONDON, got.dusk + timedelta(minutes=1))
    local = (got.dusk + timedelta(minutes=1)).astimezone(ZoneInfo("Asia/Tokyo"))
    assert is_night(*LONDON, local)
    with pytest.raises(InputError, match="zone"):
        is_night(*LONDON, datetime(2025, 3, 1, 18, 0))
    with pytest.raises(InputError, match="no such place"):
        sun_day(2.0, 0.0, date(2025, 3, 1), UTC)


@pytest.mark.parametrize("hour", [6, 9, 12, 15, 18])
@pytest.mark.parametrize("latitude", [52.0, -33.0])
def test_the_suns_azimuth_agrees_with_an_ephemeris(latitude: float, hour: int) -> None:
    """PyEphem, without refraction: within a twentieth of a degree, from true north over east."""
    instant = datetime(2025, 9, 3, hour, tzinfo=UTC)
    there = ephem.Observer()
    there.lat, there.lon, there.pressure, there.date = (
        math.radians(latitude),
        math.radians(10.0),
        0,
        datetime(2025, 9, 3, hour),
    )
    sun = ephem.Sun(there)
    elevation, azimuth = sun_position_rad(math.radians(latitude), math.radians(10.0), instant)
    assert math.degrees(elevation) == pytest.approx(math.degrees(sun.alt), abs=0.05)
    assert abs(math.remainder(azimuth - float(sun.az), math.tau)) < math.radians(0.05)
