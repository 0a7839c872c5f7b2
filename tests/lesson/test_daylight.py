"""Daylight of a lesson by its local date: published almanac times, midnight, clock changes."""

from __future__ import annotations

import math
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest

from airwork.lesson.day import make_daylight

LONDON = (math.radians(51.4733), math.radians(-0.0008))


def local(text: str, zone: str) -> float:
    return datetime.fromisoformat(text).replace(tzinfo=ZoneInfo(zone)).timestamp()


def minute(utc_s: float) -> float:
    t = datetime.fromtimestamp(utc_s, UTC)
    return t.hour * 60 + t.minute + t.second / 60


# Source: public almanac rows in astral's tests (N1, N3, N4, N6 [V]); tolerance 60 s, N6 90 s against printed minutes.
@pytest.mark.parametrize(
    ("date", "dawn", "sunrise", "sunset", "dusk"),
    [
        ("2015-12-01", 7 * 60 + 4, 7 * 60 + 43, 15 * 60 + 55, 16 * 60 + 34),
        ("2015-12-12", 7 * 60 + 16, 7 * 60 + 56, 15 * 60 + 51, 16 * 60 + 31),
        ("2015-12-25", 7 * 60 + 25, 8 * 60 + 5, 15 * 60 + 55, 16 * 60 + 36),
        ("2019-08-29", 4 * 60 + 32, 5 * 60 + 8, 18 * 60 + 54, 19 * 60 + 30),
    ],
)
def test_n_rows_sun_times_in_london_published(date: str, dawn: float, sunrise: float, sunset: float, dusk: float):
    noon = local(f"{date} 12:00", "UTC")
    d = make_daylight(*LONDON, noon, noon + 3600, "UTC")
    for got, expected in zip(
        (d.dawn_utc_s, d.sunrise_utc_s, d.sunset_utc_s, d.dusk_utc_s), (dawn, sunrise, sunset, dusk), strict=True
    ):
        assert got is not None
        assert minute(got) == pytest.approx(expected, abs=1.5)


# Source: row N7 [D, NOAA-type algorithm]: 40N 105W, LOCAL date 21 June: sunset falls on the next UTC day.
def test_n7_the_evening_of_the_local_date_is_meant_published():
    start = local("2025-06-21 18:00", "America/Denver")
    d = make_daylight(math.radians(40), math.radians(-105), start, start + 3600, "America/Denver")
    assert d.sunset_utc_s == pytest.approx(datetime(2025, 6, 22, 2, 32, 26, tzinfo=UTC).timestamp(), abs=60)
    assert not d.lights_needed
    assert not d.night_at_end


def test_a_lesson_across_midnight_belongs_to_the_day_it_starts_on():
    start = local("2025-09-20 23:30", "America/Denver")
    d = make_daylight(math.radians(41.1), math.radians(-101.8), start, start + 3600, "America/Denver")
    assert d.local_date == "2025-09-20"
    assert d.night_at_start
    assert d.night_at_end
    assert d.lights_needed
    assert d.sunset_utc_s < start


def test_a_lesson_that_ends_after_sunset_needs_lights_but_is_not_yet_night():
    start = local("2025-09-20 18:00", "America/Denver")
    d = make_daylight(math.radians(41.1195), math.radians(-101.77), start, start + 3600, "America/Denver")
    assert d.lights_needed
    assert not d.night_at_end


def test_the_arctic_summer_has_no_sunset():
    start = local("2025-06-21 12:00", "UTC")
    d = make_daylight(math.radians(78), math.radians(15), start, start + 3600, "UTC")
    assert d.sunset_utc_s is None
    assert not d.lights_needed
