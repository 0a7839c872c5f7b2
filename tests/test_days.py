"""Date arithmetic: calendar months, month ends, leap days, zones, daylight saving."""

from __future__ import annotations

from calendar import monthrange
from datetime import UTC, date, datetime, timedelta

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from airwork import days
from airwork.errors import InputError

DATES = st.dates(date(1950, 1, 1), date(2090, 12, 31))

# Source: 14 CFR 61.23(d) as explained on a public page: "certified on May 15, 2015 … the 24th month after the month of
# the exam is May 2017. Your medical is good to 31 May 2017"; exam on May 1, 2015 ends the same day. [V, worked there]
# 14 CFR 61.56(c): "since the beginning of the 24th calendar month before the month in which that pilot acts". [V]
PUBLISHED = [(date(2015, 5, 15), 24, date(2017, 5, 31)), (date(2015, 5, 1), 24, date(2017, 5, 31))]


@pytest.mark.parametrize(("exam", "months", "last"), PUBLISHED)
def test_calendar_months_end_with_the_month_published(exam: date, months: int, last: date) -> None:
    assert days.end_of_calendar_months(exam, months) == last


@pytest.mark.parametrize(
    ("day", "months", "last"),
    [
        (date(2024, 2, 29), 12, date(2025, 2, 28)),  # a leap day to a common year
        (date(2023, 2, 28), 12, date(2024, 2, 29)),  # and into a leap year: the whole month counts
        (date(2024, 1, 31), 1, date(2024, 2, 29)),
        (date(2025, 12, 31), 2, date(2026, 2, 28)),  # over the year's end
        (date(2096, 2, 29), 60, date(2101, 2, 28)),  # 2100 is no leap year
    ],
)
def test_calendar_months_at_month_ends_and_leap_days(day: date, months: int, last: date) -> None:
    """Derived by hand. [D]"""
    assert days.end_of_calendar_months(day, months) == last


@given(DATES, st.integers(0, 120))
def test_calendar_months_agree_with_a_reference_library(day: date, months: int) -> None:
    """python-dateutil: first of the month, so many months and one more later, less a day."""
    expected = day.replace(day=1) + relativedelta(months=months + 1) - timedelta(days=1)
    assert days.end_of_calendar_months(day, months) == expected


@given(DATES, st.integers(-240, 240))
def test_months_later_agree_with_a_reference_library(day: date, months: int) -> None:
    assert days.plus_months(day, months) == day + relativedelta(months=months)
    assert days.month_start(day, months) == day.replace(day=1) + relativedelta(months=months)


@given(DATES, DATES)
def test_the_flight_review_rule_read_forwards_is_the_rule_read_backwards(review: date, flight: date) -> None:
    """14 CFR 61.56(c) looks back from the flight; the logbook looks forward from the review. Both must agree."""
    back = review >= days.month_start(flight, -24)
    forward = flight <= days.end_of_calendar_months(review, 24)
    assert back == forward


def test_age_counts_from_the_birthday() -> None:
    """14 CFR 61.23(d): under 40 on the date of the examination."""
    born = date(1986, 6, 15)
    assert days.age_on(born, date(2026, 6, 14)) == 39
    assert days.age_on(born, date(2026, 6, 15)) == 40
    assert days.age_on(date(1988, 2, 29), date(2028, 2, 28)) == 39
    assert days.age_on(date(1988, 2, 29), date(2028, 2, 29)) == 40
    assert days.age_on(date(1987, 2, 28), date(2027, 2, 28)) == 40


@given(DATES, DATES)
def test_age_agrees_with_a_reference_library_but_for_leap_day_births(born: date, day: date) -> None:
    if day < born:
        return
    expected = relativedelta(day, born).years
    found = days.age_on(born, day)
    assert found == expected or ((born.month, born.day) == (2, 29) and (day.month, day.day) == (2, 28))


def test_the_local_date_is_not_the_utc_date_west_of_greenwich() -> None:
    evening = datetime(2026, 3, 8, 3, 30, tzinfo=UTC).timestamp()  # 20:30 on the 7th in Denver
    assert days.local_date(evening, "America/Denver") == date(2026, 3, 7)
    assert days.local_date(evening, "UTC") == date(2026, 3, 8)
    assert days.local_date(evening, "Pacific/Auckland") == date(2026, 3, 8)


def test_times_around_the_spring_change() -> None:
    """United States, 8 March 2026: 02:00 MST becomes 03:00 MDT (IANA time zone database)."""
    before = days.read_moment("2026-03-08 01:59", "America/Denver")
    after = days.read_moment("2026-03-08 03:00", "America/Denver")
    assert after - before == 60.0
    with pytest.raises(InputError, match="does not exist"):
        days.read_moment("2026-03-08 02:30", "America/Denver")


def test_times_around_the_autumn_change() -> None:
    """1 November 2026: 01:30 happens twice; an offset settles which."""
    with pytest.raises(InputError, match="happens twice"):
        days.read_moment("2026-11-01 01:30", "America/Denver")
    first = days.read_moment("2026-11-01 01:30-06:00", "America/Denver")
    second = days.read_moment("2026-11-01 01:30-07:00", "America/Denver")
    assert second - first == 3600.0
    assert days.local_date(first, "America/Denver") == days.local_date(second, "America/Denver")


def test_a_moment_with_z_is_utc() -> None:
    assert (
        days.read_moment("2026-06-15T18:00:00Z", "America/Denver") == datetime(2026, 6, 15, 18, tzinfo=UTC).timestamp()
    )


@pytest.mark.parametrize("text", ["", "yesterday", "2026-02-30 10:00", "2026-06-15", "2026-06-15 25:00"])
def test_what_is_no_time_is_refused_in_words(text: str) -> None:
    with pytest.raises(InputError, match="time"):
        days.read_moment(text, "America/Denver")


@pytest.mark.parametrize("name", ["", "Mars/Base", "../etc/passwd", "America", "MST8MDTX"])
def test_an_unknown_zone_is_refused_in_words(name: str) -> None:
    with pytest.raises(InputError, match="time zone"):
        days.zone(name)


@given(DATES, st.integers(0, 23), st.integers(0, 59))
def test_a_local_time_that_exists_once_comes_back(day: date, hour: int, minute: int) -> None:
    text = f"{day} {hour:02d}:{minute:02d}"
    try:
        moment = days.read_moment(text, "America/Denver")
    except InputError:
        return
    assert days.local_text(moment, "America/Denver").startswith(text)


def test_the_last_day_of_each_month_is_the_calendars() -> None:
    for month in range(1, 13):
        assert days.last_day_of_month(date(2024, month, 3)).day == monthrange(2024, month)[1]
