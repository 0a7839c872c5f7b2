"""Dirty clocks: each trouble is mended towards the order of the rows, and said."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airwork.errors import InputError
from airwork.recording.recorded import Clock, Recorded
from airwork.recording.time_base import mend_time

DAY = 86_400.0
BASE = 1_780_000_000.0


def recorded(time_s: np.ndarray, clock: Clock = "utc", values: np.ndarray | None = None) -> Recorded:
    x = np.arange(len(time_s), dtype=float) if values is None else values
    return Recorded("test", np.asarray(time_s, dtype=float), clock, {"altitude_m": x})


def mended(rec: Recorded) -> Recorded:
    mend_time(rec, "test")
    assert np.all(np.diff(rec.time_s) > 0)
    return rec


def said(rec: Recorded) -> str:
    return "; ".join(m.what for m in rec.mends)


def test_a_clean_clock_is_left_alone() -> None:
    rec = mended(recorded(BASE + np.arange(100) * 0.1))
    assert rec.time_s.size == 100
    assert rec.mends == []


def test_single_impossible_times_are_put_back_between_their_neighbors() -> None:
    t = BASE + np.arange(200) * 0.2
    t[[20, 90, 91]] = 48_591.1
    rec = mended(recorded(t))
    assert rec.time_s.size == 200
    assert rec.time_s == pytest.approx(BASE + np.arange(200) * 0.2)
    assert "3 rows with an impossible time" in said(rec)
    assert rec.mends[0].first_s == pytest.approx(4.0)


def test_an_impossible_time_in_a_gap_is_left_out() -> None:
    t = BASE + np.concatenate((np.arange(50) * 1.0, 400.0 + np.arange(50)))
    t = np.insert(t, 50, 7.0)
    rec = mended(recorded(t))
    assert rec.time_s.size == 100
    assert "left out" in said(rec)


def test_a_clock_set_by_the_first_fix_joins_the_rows_before_it() -> None:
    t = np.concatenate((946_684_800.0 + np.arange(60), BASE + np.arange(600)))
    rec = mended(recorded(t))
    assert rec.time_s.size == 660
    assert rec.time_s[59] == pytest.approx(BASE - 1.0)
    assert "clock was set" in said(rec)


def test_midnight_without_a_date_adds_a_day() -> None:
    t = np.mod(DAY - 50.0 + np.arange(100), DAY)
    rec = mended(recorded(t, "time of day"))
    assert np.ptp(rec.time_s) == pytest.approx(99.0)
    assert "midnight" in said(rec)


def test_points_a_day_apart_stay_so() -> None:
    """A whole moment beside each, the same time of day: nothing went back at midnight."""
    t = BASE + np.array([0.0, 89_880.0, 255_480.0, 341_880.0])
    assert mended(recorded(t)).time_s == pytest.approx(t)


@pytest.mark.parametrize("late", [-3, 4])
def test_a_date_that_changes_rows_too_early_or_late_is_put_right(late: int) -> None:
    k = np.arange(200)
    clock = np.mod(DAY - 100.0 + k, DAY)
    day = np.where(k >= 100 + late, DAY, 0.0)
    rec = mended(recorded(BASE // DAY * DAY + day + clock))
    assert rec.time_s.size == 200
    assert np.diff(rec.time_s) == pytest.approx(1.0)


def test_several_rows_with_one_gps_time_are_spread() -> None:
    t = BASE + np.repeat(np.arange(60.0), 5)
    rec = mended(recorded(t))
    assert np.diff(rec.time_s) == pytest.approx(0.2)
    assert "spread" in said(rec)


def test_true_doubles_are_left_out() -> None:
    t = BASE + np.sort(np.concatenate((np.arange(50.0), [10.0, 20.0])))
    rec = mended(recorded(t, values=np.floor(t - BASE)))
    assert rec.time_s.size == 50
    assert "2 repeated rows" in said(rec)


def test_rows_out_of_order_are_sorted_with_their_readings() -> None:
    t = BASE + np.arange(30.0)
    t[[10, 11]] = t[[11, 10]]
    rec = mended(recorded(t))
    assert rec.columns["altitude_m"][10] == 11.0
    assert "out of order in one place" in said(rec)


def test_gaps_are_reported_with_their_times() -> None:
    t = BASE + np.concatenate((np.arange(50.0), 90.0 + np.arange(50.0)))
    rec = mended(recorded(t))
    gap = rec.mends[-1]
    assert "one gap of 41 s" in gap.what
    assert (gap.first_s, gap.last_s) == (49.0, 90.0)


def test_two_flights_on_two_days_stay_two() -> None:
    t = np.concatenate((BASE + np.arange(100.0), BASE + 26 * 3600.0 + np.arange(300.0)))
    rec = mended(recorded(t))
    assert np.ptp(rec.time_s) == pytest.approx(26 * 3600.0 + 299.0)


def test_a_date_before_satellite_recorders_is_doubted() -> None:
    rec = mended(recorded(619_709_293.0 + np.arange(50.0)))
    assert "can't be right" in said(rec)


def test_no_usable_time_is_refused() -> None:
    with pytest.raises(InputError, match="fewer than two rows"):
        mend_time(recorded(np.array([np.nan, np.nan, 3.0])), "x")


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.one_of(st.floats(-1e12, 1e12), st.just(float("nan")), st.integers(0, 30).map(float)), min_size=2, max_size=60
    ),
    st.sampled_from(["utc", "time of day", "elapsed"]),
)
def test_any_clock_ends_strictly_increasing_or_is_refused(times: list[float], clock: Clock) -> None:
    rec = recorded(np.array(times), clock)
    try:
        mend_time(rec, "x")
    except InputError:
        return
    assert np.all(np.diff(rec.time_s) > 0)
    assert rec.columns["altitude_m"].size == rec.time_s.size
