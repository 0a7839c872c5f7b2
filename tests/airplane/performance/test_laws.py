"""The two laws of steady flight: identities, gradients, the collapse, and that they rise where physics rises."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from airwork.airplane.performance.constant_speed import ConstantSpeed
from airwork.airplane.performance.fixed_pitch import FixedPitch
from airwork.airplane.performance.state import state

FIXED, GOVERNED = FixedPitch(15.3, 1.88, 2), ConstantSpeed(15.8, 1.93, 2)
THETA = {
    "FixedPitch": np.array([0.11, 1.1, 0.5, 0.033, 0.065, 0.12, 0.012, 0.01, 0.012, 0.045, 0.01, 0.03]),
    "ConstantSpeed": np.array([0.85, 0.027, 0.062, 0.1, 0.012, 0.01, 0.012, 0.045, 0.01, 0.03]),
}
LAWS = pytest.mark.parametrize("law", [FIXED, GOVERNED], ids=["fixed pitch", "constant speed"])


def theta(law):
    return THETA[type(law).__name__]


def some_states(count=40, seed=1):
    rng = np.random.default_rng(seed)
    return state(
        rng.uniform(28, 65, count), rng.uniform(0.85, 1.25, count), rng.uniform(7500, 11000, count),
        rng.uniform(0.1, 0.9, count), rng.integers(0, 3, count),
    )  # fmt: skip


@LAWS
def test_at_the_control_of_level_flight_thrust_equals_drag(law):
    """Identity of `control` with `excess_n`, to rounding."""
    at = some_states()
    excess = law.excess_n(theta(law), at, law.control(theta(law), at))
    assert np.abs(excess).max() < 1e-6  # of about 1,000 N


@LAWS
def test_gradients_are_those_of_the_functions(law):
    """∂control/∂θ and ∂excess/∂θ against central differences."""
    at, t = some_states(), theta(law)
    control, gradient = law.control_gradient(t, at)
    setting = control * 1.07
    _, excess_gradient = law.excess_gradient(t, at, setting)
    for i in range(t.size):
        step = np.zeros(t.size)
        step[i] = 1e-6 * max(1.0, abs(t[i]))
        by_hand = (law.control(t + step, at) - law.control(t - step, at)) / (2 * step[i])
        assert gradient[:, i] == pytest.approx(by_hand, rel=1e-4, abs=1e-4 * np.abs(control).max())
        by_hand = (law.excess_n(t + step, at, setting) - law.excess_n(t - step, at, setting)) / (2 * step[i])
        assert excess_gradient[:, i] == pytest.approx(by_hand, rel=1e-4, abs=0.05)


def test_without_the_added_terms_it_is_the_law_of_level_flight_in_its_first_form():
    """n² = p·n·V + g·V² + h·(W/ρ)²/V² with p = −a1/(a0·d), g = S·CD0/(2·a0·d⁴) − a2/(a0·d²), h = 2k/(a0·d⁴·S).

    Source: performance-model notes, section 3 [text/checked].
    """
    t = THETA["FixedPitch"].copy()
    t[5], t[6], t[8:] = 0.0, 0.0, 0.0
    at = some_states()
    a0, j0, b, cd0, k = t[:5]
    a1, a2, d, s = -a0 * b / j0, -a0 * (1 - b) / j0**2, FIXED.diameter_m, FIXED.wing_area_m2
    p, g, h = -a1 / (a0 * d), s * cd0 / (2 * a0 * d**4) - a2 / (a0 * d**2), 2 * k / (a0 * d**4 * s)
    v, x = at.tas_mps, at.lift_n / at.density_kgpm3
    first = 0.5 * (p * v + np.sqrt((p * v) ** 2 + 4 * (g * v**2 + h * x**2 / v**2)))
    assert FIXED.control(t, at) == pytest.approx(first, rel=1e-12)


def test_thrust_of_a_governed_propeller_inverts_its_power():
    """T·(V + v(T)) = η·P, for static to fast, none to full power."""
    at = state(np.array([0.1, 5.0, 30.0, 60.0, 80.0]), 1.1, 9000.0, 0.3)
    for power in (0.0, 5e3, 60e3, 150e3):
        thrust = GOVERNED.thrust_n(theta(GOVERNED), at, np.full(5, power))
        added = 0.5 * (np.sqrt(at.tas_mps**2 + 2 * thrust / (at.density_kgpm3 * GOVERNED.disk_m2)) - at.tas_mps)
        assert thrust * (at.tas_mps + added) == pytest.approx(0.85 * power, abs=1e-3)


@given(
    cas=st.floats(30.0, 60.0), weight=st.floats(0.6, 1.3), sigma=st.floats(0.6, 1.05), notch=st.integers(0, 2)
)  # fmt: skip
def test_all_weights_and_densities_of_a_flap_setting_collapse_on_one_curve(cas, weight, sigma, notch):
    """n·√(σ·Ws/W) depends on V_cal·√(Ws/W) alone (and P·√σ·(Ws/W)^1.5 with a governor)."""
    stall = 26.0

    def control(law, v_cal, w, s):
        at = state(v_cal / np.sqrt(s), 1.225 * s, 10_000 * w, (stall * np.sqrt(w) / v_cal) ** 2, notch)
        return float(law.control(theta(law), at)[0])

    scaled = cas * np.sqrt(weight)
    assert control(FIXED, scaled, weight, sigma) * np.sqrt(sigma / weight) == pytest.approx(
        control(FIXED, cas, 1.0, 1.0), rel=1e-9
    )
    assert control(GOVERNED, scaled, weight, sigma) * np.sqrt(sigma) / weight**1.5 == pytest.approx(
        control(GOVERNED, cas, 1.0, 1.0), rel=1e-9
    )


@given(
    speed=st.floats(30.0, 65.0), density=st.floats(0.8, 1.25), lift=st.floats(7000.0, 11_000.0),
    more=st.floats(1.01, 1.3), notch=st.integers(0, 2),
)  # fmt: skip
def test_more_weight_more_bank_more_flap_and_thinner_air_take_more_rpm(speed, density, lift, more, notch):
    """Where the lift is above that of least drag, which is everywhere an airplane flies level below cruise."""
    share = 2 * lift / (density * speed**2 * FIXED.wing_area_m2) / 1.6
    if not 0.25 < share < 0.95 / more:  # a level flight of such an airplane
        return
    at = state(speed, density, lift, share, notch)
    heavier = state(speed, density, lift * more, share * more, notch)
    for law in (FIXED, GOVERNED):
        assert law.control(theta(law), heavier) > law.control(theta(law), at)
        if notch < 2:
            lower = state(speed, density, lift, share, notch + 1)
            assert law.control(theta(law), lower) > law.control(theta(law), at)
    # at the same calibrated speed in thinner air
    thin = state(speed * np.sqrt(more), density / more, lift, share, notch)
    assert FIXED.control(theta(FIXED), thin) > FIXED.control(theta(FIXED), at)


@LAWS
def test_one_question_and_many_get_the_same_answer(law):
    """A joined array of states answers as each by itself."""
    at = some_states(12)
    many = law.control(theta(law), at)
    one = [law.control(theta(law), at.take(np.array([i])))[0] for i in range(12)]
    assert many == pytest.approx(one, rel=1e-14)
    twice = at.take(np.tile(np.arange(12), 2))
    assert law.control(theta(law), twice) == pytest.approx(np.concatenate([many, many]), rel=1e-14)


def test_a_geared_propeller_flies_as_the_same_one_slower() -> None:
    t, at = theta(FIXED), some_states()
    geared = FixedPitch(15.3, 1.88, 2, gear=2.43)
    np.testing.assert_allclose(geared.control(t, at), 2.43 * FIXED.control(t, at), rtol=1e-12)
    n = FIXED.control(t, at) * 1.1
    np.testing.assert_allclose(geared.excess_n(t, at, 2.43 * n), FIXED.excess_n(t, at, n), rtol=1e-9)
    np.testing.assert_allclose(
        geared.excess_gradient(t, at, 2.43 * n)[1], FIXED.excess_gradient(t, at, n)[1], rtol=1e-9, atol=1e-9
    )
