"""Wind from turns and from full air data, on flights whose wind is known exactly."""

from __future__ import annotations

import math

import numpy as np
import pytest

from airwork.airdata.wind import wind_from_vector
from airwork.recording.speed_habits import Path
from airwork.recording.wind import fit_air_data, fit_turns
from airwork.recording.wind_fit import fit_wind
from recording.made_flight import KT, fly, lesson


def turn(side: float, **more: float):  # type: ignore[no-untyped-def]
    """A 360 at 45° of bank and 100 kt, entered and left smoothly."""
    rate = 9.80665 * math.tan(math.radians(45.0)) / (100.0 * KT)
    end = 10.0 + 2 * math.pi / rate + 4.0
    bank = [(6.0, 0.0), (10.0, side * 45.0), (end, side * 45.0), (end + 4.0, 0.0)]
    return fly(bank, [(0.0, 100.0), (60.0, 100.0)], [(0.0, 3000.0), (60.0, 3000.0)], duration_s=end + 10.0,
               rate_hz=1.0, **more)  # fmt: skip


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_one_steep_turn_tells_wind_and_airspeed(side: float) -> None:
    made = turn(side, wind_from_deg=310.0, wind_kt=22.0)
    fits = fit_turns(made.time_s, made.ground_east_mps, made.ground_north_mps, made.altitude_m)
    best = int(np.argmin(fits.error_mps))
    direction, speed = wind_from_vector(fits.east_mps[best], fits.north_mps[best])
    assert math.degrees(float(direction)) == pytest.approx(310.0, abs=1.0)
    assert float(speed) / KT == pytest.approx(22.0, abs=0.3)
    assert fits.tas_mps[best] / KT == pytest.approx(100.0, abs=0.3)


def test_left_and_right_360_agree_in_true_airspeed_within_two_knots() -> None:
    """The two estimates of the issue: with 0.3 m/s of receiver noise and ±3 kt of wandering airspeed."""
    rng = np.random.default_rng(4)
    speeds = []
    for side in (1.0, -1.0):
        made = turn(side, wind_from_deg=200.0, wind_kt=18.0)
        wander = 1.0 + 0.03 * np.sin(made.time_s / 11.0)
        ge = (
            made.ground_east_mps
            + (wander - 1.0) * made.tas_mps * np.sin(made.heading_rad)
            + rng.normal(0, 0.3, made.time_s.size)
        )
        gn = (
            made.ground_north_mps
            + (wander - 1.0) * made.tas_mps * np.cos(made.heading_rad)
            + rng.normal(0, 0.3, made.time_s.size)
        )
        fits = fit_turns(made.time_s, ge, gn, made.altitude_m)
        speeds.append(float(np.average(fits.tas_mps, weights=fits.error_mps**-2.0)) / KT)
    assert abs(speeds[0] - speeds[1]) < 2.0


def test_straight_flight_tells_nothing() -> None:
    made = fly(
        [(0.0, 0.0), (1.0, 0.0)],
        [(0.0, 100.0), (1.0, 100.0)],
        [(0.0, 3000.0), (1.0, 3000.0)],
        duration_s=900.0,
        rate_hz=1.0,
    )
    rng = np.random.default_rng(1)
    east = made.ground_east_mps + rng.normal(0.0, 0.4, made.time_s.size)
    north = made.ground_north_mps + rng.normal(0.0, 0.4, made.time_s.size)
    assert len(fit_turns(made.time_s, east, north, made.altitude_m)) == 0
    aloft = np.ones(east.size, dtype=bool)
    field = fit_wind(Path(made.time_s, east, north, made.altitude_m, aloft), None, (0.0, 0.0))
    assert field is None or field.at(made.time_s[:1], made.altitude_m[:1]).worst_mps()[0] > 4.0


def test_the_said_error_covers_the_real_one() -> None:
    """With 2 kt of wandering airspeed the field's own standard errors hold the truth within three of them."""
    made = lesson(2400.0, 1.0, wind_from_deg=120.0, wind_kt=16.0)
    wander = 2.0 * KT * np.sin(made.time_s / 23.0)
    east = made.ground_east_mps + wander * np.sin(made.heading_rad)
    north = made.ground_north_mps + wander * np.cos(made.heading_rad)
    flying = made.tas_mps > 55.0 * KT
    field = fit_wind(Path(made.time_s, east, north, made.altitude_m, flying), None, (0.0, 0.0))
    assert field is not None
    at = flying & (made.altitude_m > 3000 * 0.3048)
    found = field.at(made.time_s[at], made.altitude_m[at])
    off = np.hypot(
        found.east_mps + 16 * KT * math.sin(math.radians(120)), found.north_mps + 16 * KT * math.cos(math.radians(120))
    )
    assert np.all(off < 3.0 * found.worst_mps())
    assert float(off.max()) / KT < 2.0


def test_a_wind_that_changes_with_height_is_told_apart() -> None:
    low = lesson(1500.0, 1.0, wind_from_deg=200.0, wind_kt=8.0)
    high = lesson(1500.0, 1.0, wind_from_deg=200.0, wind_kt=24.0)
    t = np.concatenate((low.time_s, high.time_s + 1600.0))
    east = np.concatenate((low.ground_east_mps, high.ground_east_mps))
    north = np.concatenate((low.ground_north_mps, high.ground_north_mps))
    height = np.concatenate((low.altitude_m, high.altitude_m + 1500.0))
    flying = np.concatenate((low.tas_mps, high.tas_mps)) > 28.0
    field = fit_wind(Path(t, east, north, height, flying), None, (0.0, 0.0))
    assert field is not None
    found = field.at(np.array([800.0, 2400.0]), np.array([1100.0, 2600.0]))
    assert np.hypot(found.east_mps, found.north_mps) / KT == pytest.approx([8.0, 24.0], abs=2.0)


def test_full_air_data_tell_scale_and_heading_error() -> None:
    made = lesson(1800.0, 1.0, wind_from_deg=60.0, wind_kt=12.0)
    wrong = 1.1507794  # an airspeed in mph taken for knots
    off = math.radians(5.0)
    air = made.tas_mps * wrong
    flying = made.tas_mps > 28.0
    fit = fit_air_data(
        made.time_s, np.where(flying, made.ground_east_mps, np.nan), made.ground_north_mps,
        air * np.sin(made.heading_rad + off), air * np.cos(made.heading_rad + off),
    )  # fmt: skip
    assert fit.turned
    assert fit.scale == pytest.approx(1.0 / wrong, abs=0.01)
    assert math.degrees(fit.heading_error_rad) == pytest.approx(-5.0, abs=0.7)
