"""The two laws of steady flight: identities, gradients, the collapse, and that they rise where physics rises."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from airwork.airplane.performance.constant_speed import ConstantSpeed
from airwork.airplane.performance.engine import FixedPitchEngine
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


# Worked examples L1–L5: J. T. Lowry's bootstrap plate of a 160 hp four-seater [M], outputs computed there from its
# formulas [D]. W lb, σ, Vx, Vy, VM, Vm, Vbg, Vmd in KCAS (L4: KTAS), ROC(Vy) fpm, glide ratio; 0.1 kt, 1 fpm.
BOOTSTRAP = {
    "L1": (2400, 1.0, 63.20, 75.85, 115.26, 34.65, 72.00, 54.71, 700.3, 10.62),
    "L2": (2000, 1.0, 57.69, 74.16, 116.95, 28.46, 65.73, 49.94, 961.2, 10.62),
    "L3": (2400, 0.7860, 63.20, 69.06, 96.11, 41.56, 72.00, 54.71, 343.8, 10.62),
    "L5": (2400, 0.8617, 63.20, 71.49, 103.54, 38.58, 72.00, 54.71, 474.5, 10.62),
}
L4_KTAS = (71.29, 77.90, 108.40, 46.88, 81.21, 61.71)


@pytest.mark.parametrize("name", BOOTSTRAP)
def test_law_and_engine_together_are_the_bootstrap_of_a_sample_airplane_published(name):
    """Full throttle, a plain parabola: S 174 ft², A 7.38, M0 311.2 ft·lbf, C 0.12, d 6.25 ft, CD0 0.037, e 0.72,
    m 1.70, b −0.0564. Its propeller polar CT/J² = m·CP/J² + b leaves CP(J) open; any CP gives the same thrust."""
    pounds, sigma, vx, vy, v_most, v_least, vbg, vmd, roc_fpm, ratio = BOOTSTRAP[name]
    cp = np.array([0.05, 0.0, -0.02])
    a0, slope = 1.70 * cp[0], 1.70 * cp[2] - 0.0564  # CT = m·CP + b·J² = a0 + slope·J²
    law = FixedPitch(174 * 0.09290304, 6.25 * 0.3048, 0)
    parts = {"a0": a0, "j0": np.sqrt(a0 / -slope), "b": 0.0, "cd0": 0.037, "k": 1 / (np.pi * 0.72 * 7.38)}
    t = np.array([parts.get(n, 0.0) for n in law.names])
    torque = 311.2 * 1.3558179  # N·m of 1 ft·lbf: NIST SP 811 [V]
    engine = FixedPitchEngine(torque * 2 * np.pi * 45, 2700, 6.25 * 0.3048, cp, np.zeros((3, 3)))
    weight, knot = pounds * 4.4482216, 0.5144444
    kcas = np.arange(28.0, 125.0, 0.01)
    at = state(kcas * knot / np.sqrt(sigma), 1.225 * sigma, weight, 0.0)
    excess = law.excess_n(t, at, engine.full_control(at))
    climb = excess * at.tas_mps / weight
    drag = law.polar.drag_n(t, at)
    up = kcas[climb > 0]
    found = (kcas[excess.argmax()], kcas[climb.argmax()], up[-1], up[0], kcas[drag.argmin()],
             kcas[(drag * at.tas_mps).argmin()])  # fmt: skip
    assert found == pytest.approx((vx, vy, v_most, v_least, vbg, vmd), abs=0.1)
    assert climb.max() * 196.850394 == pytest.approx(roc_fpm, abs=1.0)
    assert weight / drag.min() == pytest.approx(ratio, abs=0.01)
    if name == "L3":
        assert np.array(found) / np.sqrt(sigma) == pytest.approx(L4_KTAS, abs=0.1)


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
