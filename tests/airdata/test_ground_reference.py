"""Circles over the ground in wind, against a simulated circle and the handbook's form."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from airwork.airdata import ground_reference as gr
from airwork.airdata.atmosphere import G0_MPS2
from airwork.airdata.turn import pivotal_altitude_m
from airwork.airdata.wind import wind_triangle
from airwork.errors import NotPossible
from airwork.units import DEG_RAD, FT_M, KT_MPS
from strategies import directions_rad

winds = st.floats(0.0, 0.6)  # as a part of the airspeed


def _simulated_circle(v: float, w: float, radius: float, laps: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Fly a right-hand ground circle with plain vectors and Runge-Kutta: (time, track − wind from, heading).

    Wind blows FROM north (angle 0). The ground velocity is g·u(χ) with |g·u − wind| = v: the positive root.
    """

    def ground_speed(chi: float) -> float:
        # air = g·u − wind, wind = −w·north → |air|² = g² + 2·g·w·cos χ + w² = v²
        c = math.cos(chi)
        return -w * c + math.sqrt(v * v - w * w * math.sin(chi) ** 2)

    chi, t, dt = 0.3, 0.0, 2 * math.pi * radius / v / 3000
    times, tracks, headings = [], [], []
    for _ in range(int(3000 * laps)):
        g = ground_speed(chi)
        times.append(t)
        tracks.append(chi)
        headings.append(math.atan2(g * math.sin(chi), g * math.cos(chi) + w))
        k1 = ground_speed(chi) / radius
        k2 = ground_speed(chi + 0.5 * dt * k1) / radius
        k3 = ground_speed(chi + 0.5 * dt * k2) / radius
        k4 = ground_speed(chi + dt * k3) / radius
        chi += dt * (k1 + 2 * k2 + 2 * k3 + k4) / 6
        t += dt
    return np.array(times), np.array(tracks), np.unwrap(headings)


@pytest.mark.parametrize("share", [0.0, 0.1, 0.3, 0.6])
def test_bank_is_that_of_a_simulated_circle(share: float) -> None:
    """tan φ = V·ψ̇/g with the heading's rate by numerical differentiation of the simulated flight."""
    v, radius = 46.0, 600.0
    time, track, heading = _simulated_circle(v, share * v, radius, 1.0)
    rate = (heading[2:] - heading[:-2]) / (time[2:] - time[:-2])
    expected = np.arctan(v * rate / 9.80665)
    got = gr.ground_reference_bank_rad(v, share * v, radius, track[1:-1])
    assert_allclose(got, expected, atol=2e-6)


@given(winds, directions_rad)
def test_bank_mirrors_about_the_wind(share: float, chi: float) -> None:
    """Left and right turns need the same bank at mirrored tracks."""
    right = float(gr.ground_reference_bank_rad(45.0, 45.0 * share, 500.0, chi))
    assert float(gr.ground_reference_bank_rad(45.0, 45.0 * share, 500.0, -chi)) == pytest.approx(right, rel=1e-9)


def test_straight_up_and_downwind_the_handbooks_form_is_exact() -> None:
    """F13 [D]: 2,000 ft, 90 KTAS, wind 20 kt: 28.2° downwind, 12.2° upwind."""
    v, w, r = 90 * KT_MPS, 20 * KT_MPS, 2000 * FT_M
    down, up = gr.ground_reference_bank_rad(v, w, r, np.array([math.pi, 0.0]))
    assert math.tan(down) == pytest.approx((v + w) ** 2 / (G0_MPS2 * r), rel=1e-12)
    assert math.tan(up) == pytest.approx((v - w) ** 2 / (G0_MPS2 * r), rel=1e-12)
    assert float(down) / DEG_RAD == pytest.approx(28.2, abs=0.1)
    assert float(up) / DEG_RAD == pytest.approx(12.2, abs=0.1)


@given(winds)
def test_the_bank_is_steepest_downwind_and_shallowest_upwind(share: float) -> None:
    """AFH ch. 7 [V] in words."""
    chi = np.linspace(0.0, 2 * math.pi, 361)
    bank = gr.ground_reference_bank_rad(45.0, 45.0 * share, 500.0, chi)
    assert bank.max() == pytest.approx(float(bank[180]), rel=1e-9)
    assert bank.min() == pytest.approx(float(bank[0]), rel=1e-9)


@given(winds, directions_rad)
def test_ground_speed_is_that_of_the_wind_triangle(share: float, chi: float) -> None:
    expected = wind_triangle(chi, 45.0, 0.0, 45.0 * share).groundspeed_mps
    got = gr.groundspeed_on_track_mps(45.0, 45.0 * share, chi)
    assert float(got) == pytest.approx(float(expected), rel=1e-9)


@pytest.mark.parametrize(
    ("chi", "gs", "feet"),
    [(0.0, 85, 640), (math.pi / 2, 98.87, 866), (math.pi, 115, 1171)],
    ids=["up", "cross", "down"],
)
def test_pivotal_altitude_round_the_pylons_published(chi: float, gs: float, feet: float) -> None:
    """G8 [D]: 100 KTAS, wind 15 kt; tolerance 2 ft."""
    got = gr.groundspeed_on_track_mps(100 * KT_MPS, 15 * KT_MPS, chi)
    assert float(got) / KT_MPS == pytest.approx(gs, abs=0.00501)
    assert float(pivotal_altitude_m(got)) / FT_M == pytest.approx(feet, abs=2)


def test_a_wind_as_strong_as_the_airspeed_allows_no_circle() -> None:
    assert np.isnan(gr.ground_reference_bank_rad(45.0, 45.0, 500.0, 0.0))
    with pytest.raises(NotPossible, match="no circle over the ground"):
        gr.turn_about_point(20.0, 0.0, 21.0, 500.0, "left")


def test_steepest_bank_settles_the_radius() -> None:
    r = gr.radius_for_steepest_bank_m(45.0, 8.0, math.radians(45))
    assert float(gr.ground_reference_bank_rad(45.0, 8.0, r, math.pi)) == pytest.approx(math.radians(45), rel=1e-12)


@pytest.mark.parametrize("turn", ["left", "right"])
def test_quarters_begin_downwind_and_close_the_lap(turn) -> None:
    wind_from = math.radians(300)
    q = gr.turn_about_point(45.0, wind_from, 8.0, 600.0, turn)
    assert [p.name.split(",")[0] for p in q] == ["downwind", "crosswind", "upwind", "crosswind", "downwind"]
    assert q[0].track_rad == pytest.approx(math.radians(120))
    assert q[2].track_rad == pytest.approx(math.radians(300))
    first = "left" if turn == "left" else "right"  # turning left from downwind, the wind comes from the left
    assert q[1].name.endswith(first)
    assert q[1].track_rad == pytest.approx(math.radians(30 if turn == "left" else 210))
    assert math.copysign(1, q[1].correction_rad) == (-1 if turn == "left" else 1)  # into the wind
    assert all(p.bank_rad < 0 for p in q) == (turn == "left")
    assert [p.time_s for p in q] == sorted(p.time_s for p in q)
    assert q[0].groundspeed_mps == pytest.approx(53.0)
    assert q[2].groundspeed_mps == pytest.approx(37.0)


@pytest.mark.parametrize("share", [0.0, 0.2, 0.5])
def test_time_of_a_lap_agrees_with_the_simulated_circle(share: float) -> None:
    v, radius = 46.0, 600.0
    time, track, _ = _simulated_circle(v, share * v, radius, 2.0)
    lap = float(np.interp(track[0] + 2 * math.pi, track, time))
    got = gr.arc_time_s(v, share * v, radius, 0.0, 2 * math.pi)
    assert got == pytest.approx(lap, abs=2e-3)
    if share == 0.0:
        assert got == pytest.approx(2 * math.pi * radius / v, rel=1e-12)


def test_wind_makes_the_lap_longer() -> None:
    laps = [gr.arc_time_s(46.0, w, 600.0, 0.0, 2 * math.pi) for w in np.linspace(0.0, 30.0, 20)]
    assert np.all(np.diff(laps) > 0)
