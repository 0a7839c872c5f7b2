"""Time columns of many forms become the same seconds."""

from __future__ import annotations

import math
from datetime import UTC, datetime

import numpy as np
import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from airwork.recording import clock
from airwork.recording.clock import dates_of_numbers, seconds_of_numbers, seconds_of_text
from airwork.recording.zones import offsets

NOON = 1_777_816_800.0  # 2026-05-03T14:00:00Z, worked out with the calendar: 20,576 days and 14 hours


@pytest.mark.parametrize(
    "text",
    [
        "2026-05-03T14:00:00Z",
        "2026-05-03T14:00:00.000Z",
        "2026-05-03 14:00:00",
        "2026/05/03 14:00:00",
        "2026-05-03T16:00:00+02:00",
        "2026-05-03 14:00:00 UTC",
        "20260503T140000Z",
        "03.05.2026 14:00:00",
        "3 May 2026 14:00:00",
        '"2026-05-03 14:00:00"',
    ],
)
def test_a_moment_is_read_in_any_usual_form(text: str) -> None:
    seconds, kind, _ = seconds_of_text(pl.Series([text, text]))
    assert kind == "moment"
    assert seconds == pytest.approx([NOON, NOON])


def test_every_form_of_time_looks_as_it_is_looked_for() -> None:
    """A form whose look is wrong would never be tried; Python's own calendar writes the cells."""
    moment = datetime(2026, 5, 3, 14, 0, 7, tzinfo=UTC)
    for form in (*(f for f, _ in clock._all_moments(("%m/%d/%Y",))), *clock._DATES, *clock._TIMES):
        text = moment.strftime(form.replace("%.f", ".5" if "p" not in form else "").replace("%#z", "%z"))
        assert clock._look_of(form).fullmatch(text), form
        assert not clock._look_of(form).fullmatch("9" * 40)


def test_the_quick_way_and_the_general_way_agree() -> None:
    stamps = [f"2026-05-03T{h:02d}:{m:02d}:07.{f:03d}Z" for h in (0, 9, 23) for m in (0, 59) for f in (0, 125, 999)]
    quick, _, _ = seconds_of_text(pl.Series(stamps))
    general, _, _ = seconds_of_text(pl.Series([*stamps, ""]))  # an empty cell sends it the general way
    assert quick == pytest.approx(general[:-1], abs=1e-6)
    assert math.isnan(general[-1])


def test_one_number_above_twelve_settles_day_and_month() -> None:
    day_first, _, said = seconds_of_text(pl.Series(["01/05/2026 14:00:00", "13/05/2026 14:00:00"]))
    assert day_first[1] == pytest.approx(NOON + 10 * 86_400)
    assert said == ""


def test_an_unsettled_date_is_read_month_first_and_said() -> None:
    seconds, _, said = seconds_of_text(pl.Series(["05/03/2026 14:00:00", "05/03/2026 14:00:01"]))
    assert seconds[0] == pytest.approx(NOON)
    assert "month/day" in said


@pytest.mark.parametrize(("date", "order"), [("10-01-14", "month/day/year"), ("14-01-10", "day/month/year"),
                                             ("01-14-10", "")])  # fmt: skip
def test_a_year_of_two_digits_is_said_to_be_the_last(date: str, order: str) -> None:
    """Some write 2014-01-10 as 14-01-10; a fourteenth month there is none."""
    said = seconds_of_text(pl.Series([date, date]))[2]
    assert said == (f"date {date} read as {order}" if order else "")


@pytest.mark.parametrize("text", ["14:00:00", "14:00:00.0", "2:00:00 PM", "02:00 PM", "14:00"])
def test_a_clock_time_is_seconds_since_midnight(text: str) -> None:
    seconds, kind, _ = seconds_of_text(pl.Series([text, text]))
    assert kind == "time of day"
    assert seconds[0] == pytest.approx(14 * 3600)


@pytest.mark.parametrize("factor", [1.0, 1e3, 1e6, 1e9])
def test_an_epoch_is_known_by_its_size(factor: float) -> None:
    seconds, kind, _ = seconds_of_numbers(np.array([NOON, NOON + 1]) * factor, None, has_date=False)
    assert kind == "moment"
    assert seconds == pytest.approx([NOON, NOON + 1])


def test_clock_numbers_are_known_by_their_steps() -> None:
    seconds, kind, said = seconds_of_numbers(np.array([140058.0, 140059.0, 140100.0, 140101.0]), None, has_date=False)
    assert kind == "time of day"
    assert seconds == pytest.approx([50458.0, 50459.0, 50460.0, 50461.0])
    assert "hhmmss" in said


def test_small_numbers_count_from_the_start() -> None:
    seconds, kind, _ = seconds_of_numbers(np.array([0.0, 0.1, 0.2]), None, has_date=False)
    assert kind == "elapsed"
    assert seconds == pytest.approx([0.0, 0.1, 0.2])


def test_milliseconds_are_taken_by_name_and_by_step() -> None:
    by_name, _, _ = seconds_of_numbers(np.array([0.0, 100.0]), 1e-3, has_date=False)
    by_step, _, said = seconds_of_numbers(np.arange(400_000.0, 500_000.0, 100.0), None, has_date=False)
    assert by_name[1] == pytest.approx(0.1)
    assert by_step[1] - by_step[0] == pytest.approx(0.1)
    assert "milliseconds" in said


def test_dates_written_as_numbers() -> None:
    days, _ = dates_of_numbers(np.array([20260503.0, 30526.0, 99999999.0]))
    assert days[0] == days[1] == pytest.approx(NOON - 14 * 3600)
    assert np.isnan(days[2])


@pytest.mark.parametrize(("text", "hours"), [("-06:00", -6), ("+2", 2), ("-0600", -6), ("UTC+1", 1), ("+05:30", 5.5)])
def test_offsets_from_utc(text: str, hours: float) -> None:
    assert offsets(pl.Series([text, text]))[0] == pytest.approx(hours * 3600)


@given(st.lists(st.text(max_size=30), min_size=1, max_size=6))
def test_any_text_is_answered_with_numbers(cells: list[str]) -> None:
    seconds, _, _ = seconds_of_text(pl.Series(cells))
    assert seconds.shape == (len(cells),)


@given(st.lists(st.floats(allow_nan=True, allow_infinity=True), min_size=1, max_size=8), st.booleans())
def test_any_numbers_are_answered_with_numbers(values: list[float], has_date: bool) -> None:
    with np.errstate(all="ignore"):
        seconds, _, _ = seconds_of_numbers(np.array(values), None, has_date=has_date)
    assert seconds.shape == (len(values),)


@pytest.mark.parametrize(
    ("clock", "hours"),
    [
        (["12:58:00", "12:59:00", "1:00:00", "1:01:00"], [12.9667, 12.9833, 13.0, 13.0167]),  # noon passed at twelve
        (["23:58:00", "23:59:00", "0:00:00", "0:01:00"], [23.9667, 23.9833, 0.0, 0.0167]),  # midnight: a day's matter
        (["12:58:00", "1:00:00", "12:59:00", "1:01:00"], [12.9667, 1.0, 12.9833, 1.0167]),  # out of order: not that
        (["9:58:00", "9:59:00", "10:00:00", "10:01:00"], [9.9667, 9.9833, 10.0, 10.0167]),
    ],
)
def test_a_clock_of_twelve_hours_passes_one_oclock(clock: list[str], hours: list[float]) -> None:
    seconds, kind, remark = seconds_of_text(pl.Series(clock))
    assert kind == "time of day"
    assert seconds / 3600.0 == pytest.approx(hours, abs=1e-3)
    assert ("twelve hours" in remark) == (hours[2] == 13.0)
