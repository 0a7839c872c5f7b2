"""A float low over the runway is flown until a recorded sink ends; one that lags, or is not recorded, moves nothing."""

from __future__ import annotations

import numpy as np
import pytest

from airwork.recording.flight import Column
from airwork.recording.rolls import without_float
from airwork.recording.wheels import without_fast
from airwork.recording.work import Work
from airwork.units import FPM_MPS

T = np.arange(0.0, 40.0, 0.5)
ON = T >= 20.0  # as speed and height say


def touched_s(rate_fpm: np.ndarray | None, sinks_m: float) -> float:
    """When the wheels are said to have met the runway: sunk so far from 20 s to 24 s, level from there."""
    altitude = 300.0 + np.interp(T, [0.0, 20.0, 24.0], [80.0, sinks_m, 0.0])
    columns = {} if rate_fpm is None else {"vertical_speed_mps": Column(rate_fpm * FPM_MPS, "measured")}
    work = Work(T, columns)
    return float(T[np.argmax(without_float(work, ON, altitude))])


@pytest.mark.parametrize(
    ("rate", "sinks_m", "at_s"),
    [
        (np.where(T < 24.0, -100.0, 0.0), 2.0, 24.0),  # floats for four seconds
        (np.where(T < 24.0, -100.0, 0.0), 0.0, 20.0),  # the needle lags at one height
        (np.where(T < 20.0, -100.0, 0.0), 0.0, 20.0),  # down where it seemed to be
        (None, 2.0, 20.0),
    ],
)
def test_the_wheels_meet_it_where_the_sink_ends(rate: np.ndarray | None, sinks_m: float, at_s: float) -> None:
    """100 fpm for 4 s are 2 m."""
    assert touched_s(rate, sinks_m) == at_s


def met_s(
    slows: list[tuple[float, float]], *, sink_mps: float = 1.0, bounce_m: float = 0.0, step_s: float = 1.0
) -> float:
    """When the wheels met it, of positions alone: 33 m/s to 20 s, then so fast at so many seconds, at one height."""
    t = np.arange(0.0, 60.0, step_s)
    rng = np.random.default_rng(5)
    speed = np.interp(t, [0.0, 20.0, *(at for at, _ in slows)], [33.0, 30.0, *(v for _, v in slows)])
    altitude = 300.0 + np.interp(t, [0.0, 17.0, 20.0], [60.0, 3.0 * sink_mps, 0.0])
    altitude += bounce_m * np.exp(-(((t - 23.0) / 1.5) ** 2)) + rng.normal(0.0, 0.4, t.size)
    at = without_fast(Work(t, {}), t >= 20.0, altitude, speed + rng.normal(0.0, 0.1, t.size))
    return float(t[np.argmax(at)])


@pytest.mark.parametrize("step_s", [0.2, 1.0, 2.0])
@pytest.mark.parametrize("floats_s", [4.0, 6.0, 8.0])
def test_a_float_ends_where_it_slows_harder(floats_s: float, step_s: float) -> None:
    """0.8 m/s² over the runway, 1.4 on the wheels."""
    v = 30.0 - 0.8 * floats_s
    assert met_s([(20.0 + floats_s, v), (50.0, v - 1.4 * (30.0 - floats_s))], step_s=step_s) == pytest.approx(
        20.0 + floats_s, abs=2.0
    )


def test_what_may_as_well_have_rolled_is_put_off_by_seconds_only() -> None:
    """One loss of speed throughout tells no touch: 1.1 of the stall after an approach at 1.3, or 5 s at most."""
    assert met_s([(45.0, 8.0)]) == pytest.approx(22.5, abs=1.5)
    assert met_s([(60.0, 27.0)]) == 20.0  # never so slow
    assert met_s([(45.0, 22.0)]) == pytest.approx(25.0, abs=1.0)


def test_what_comes_down_unflared_or_bounces_has_touched() -> None:
    """The controls: the same speeds as a float of 8 s."""
    slows = [(28.0, 23.6), (50.0, 0.0)]
    assert met_s(slows) == pytest.approx(28.0, abs=2.0)
    assert met_s(slows, sink_mps=3.2) == 20.0
    assert met_s(slows, bounce_m=8.0) == 20.0
