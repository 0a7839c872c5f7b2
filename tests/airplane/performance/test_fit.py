"""The fit: against SciPy's least squares, with a prior alone, with wild readings."""

import numpy as np
import pytest

from airwork.airplane.performance.condition import Condition
from airwork.airplane.performance.fit import KNEE, Block, Evidence, Posterior, fit, outlooks, resample
from airwork.airplane.performance.fixed_pitch import FixedPitch
from airwork.airplane.performance.priors import general_prior
from airwork.airplane.performance.question import question
from airwork.airplane.performance.state import state
from airwork.units import FPM_MPS

LAW = FixedPitch(15.3, 1.88, 1)
PRIOR = general_prior(LAW, 7.0, np.array([1.0]))
TRUE = np.array([0.112, 1.05, 0.5, 0.031, 0.07, 0.1, 0.015, 0.01, 0.045, 0.02])


def readings(noise=0.15, count=9, seed=3):
    """Level points, one climb, one glide of a known airplane."""
    rng = np.random.default_rng(seed)
    speed = np.linspace(29, 55, count)
    notch = np.where(np.arange(count) % 4 == 3, 1, 0)
    at = state(speed, 1.1, 9500.0, (26.0 / speed) ** 2, notch)
    n = LAW.control(TRUE, at) + rng.normal(0, noise, count)
    one = np.ones(count)
    level = Block(at, n, n, 0.25 * one, 0.3 * one, np.empty(0), one)
    up = state([38.0], 1.1, 9500.0, 0.45)
    rate = LAW.excess_n(TRUE, up, np.array([41.0])) * 38.0 / 9500.0
    climb = Block(up, np.array([41.0]), rate, np.array([0.15]), np.zeros(1), np.array([0.2]), np.ones(1))
    down = state([36.0], 1.1, 9500.0, 0.5)
    sink = LAW.polar.drag_n(TRUE, down, windmilling=True) * 36.0 / 9500.0
    glide = Block(down, np.empty(0), sink, np.array([0.3]), np.zeros(1), np.empty(0), np.ones(1))
    return Evidence(level, climb, glide)


def scipy_fit(evidence, theta0, robust):
    """The same minimum by SciPy's `least_squares`, standard deviations held as ours ended."""
    from scipy.optimize import least_squares

    from airwork.airplane.performance.fit import _residuals

    residuals = _residuals(LAW, evidence, theta0)
    root = np.linalg.cholesky(np.linalg.inv(PRIOR.cov)).T
    count = len(evidence)

    def loss(z):
        rho = np.empty((3, z.size))
        rho[0], rho[1], rho[2] = z, 1.0, 0.0  # the prior's rows stay squared
        y = z[:count] / KNEE**2
        rho[0, :count] = 2 * KNEE**2 * (np.sqrt(1 + y) - 1)
        rho[1, :count] = 1 / np.sqrt(1 + y)
        rho[2, :count] = -0.5 / KNEE**2 * (1 + y) ** -1.5
        return rho

    return least_squares(
        lambda t: np.r_[residuals(t)[0], root @ (t - PRIOR.mean)],
        PRIOR.mean, jac=lambda t: np.vstack([residuals(t)[1], root]), loss=loss if robust else "linear",
        x_scale=np.sqrt(np.diag(PRIOR.cov)), xtol=1e-14, ftol=1e-14, gtol=1e-12, max_nfev=500,
    )  # fmt: skip


def test_it_finds_the_minimum_that_scipy_finds():
    """SciPy's trust-region least squares, a general-purpose reference."""
    evidence = readings(noise=0.6)
    ours = fit(LAW, PRIOR, evidence)
    theirs = scipy_fit(evidence, ours.theta, True)
    spread = np.sqrt(np.diag(ours.cov))
    assert np.abs(ours.theta - theirs.x).max() / spread.max() < 0.02
    assert ours.theta == pytest.approx(theirs.x, abs=float((0.02 * spread).max()))


def test_without_readings_the_prior_stands():
    """No evidence, nothing learned."""
    found = fit(LAW, PRIOR, Evidence())
    assert np.array_equal(found.theta, PRIOR.mean)
    assert np.array_equal(found.cov, PRIOR.cov)


def test_readings_narrow_every_answer():
    """The posterior is never wider than the prior, for level RPM anywhere."""
    found = fit(LAW, PRIOR, readings())
    speed = np.linspace(29, 60, 20)
    _, gradient = LAW.control_gradient(found.theta, state(speed, 1.0, 9000.0, (26 / speed) ** 2, 0))
    wide = np.sqrt(np.einsum("ij,jk,ik->i", gradient, PRIOR.cov, gradient))
    assert np.all(found.half_width(gradient) < 0.5 * wide)


def test_one_wild_reading_moves_a_robust_fit_less():
    """A reading 200 RPM off among nine."""
    good = readings(noise=0.1)
    value = good.level.value.copy()
    value[2] += 200 / 60
    bad = Evidence(
        Block(good.level.at, value, value, good.level.sd, good.level.speed_sd_mps, np.empty(0), good.level.weight),
        good.climb,
        good.glide,
    )
    at = state(np.array([31.0, 36.0]), 1.1, 9500.0, (26.0 / np.array([31.0, 36.0])) ** 2, 0)
    true = LAW.control(TRUE, at)
    found = fit(LAW, PRIOR, bad).theta
    robust = np.abs(LAW.control(found, at) - true).max()
    plain = np.abs(LAW.control(scipy_fit(bad, found, False).x, at) - true).max()
    assert robust < 0.6 * plain


def test_resampled_fits_scatter_about_the_fit():
    """As many as asked for, centered, and not all the same."""
    evidence = readings(count=16)
    found = fit(LAW, PRIOR, evidence)
    drawn = resample(LAW, PRIOR, evidence, found.theta, times=30)
    assert drawn.shape == (30, found.theta.size)
    at = state(40.0, 1.1, 9500.0, (26 / 40) ** 2)
    n = np.array([LAW.control(t, at)[0] for t in drawn])
    assert 0.0 < n.std() < 0.5
    assert n.mean() == pytest.approx(LAW.control(found.theta, at)[0], abs=0.2)


def test_parameters_stay_inside_their_bounds():
    """Absurd readings (idle RPM in cruise) don't drive the formulas out of physics."""
    good = readings()
    value = np.full(len(good.level), 8.0)
    bad = Evidence(
        Block(good.level.at, value, value, good.level.sd, good.level.speed_sd_mps, np.empty(0), good.level.weight)
    )
    found = fit(LAW, PRIOR, bad)
    assert np.all(found.theta >= PRIOR.low)
    assert np.all(found.theta <= PRIOR.high)
    assert np.all(np.isfinite(found.cov))


def test_a_table_s_rows_share_an_error_however_many_they_are(fitted):
    """Derived rows: the fit to the book is no surer of climb and cruise than what the table was made from."""
    p = fitted["larkmoor_155"]
    learned = p.learned
    cas = 1.5 * float(p.airplane.stall_cas_mps(p.airplane.handbook_mass_kg))
    q = question(p, cas, Condition(p.airplane.handbook_mass_kg, 900.0, 288.15))
    n = p.law.control(learned.book.theta, q.at)
    _, slope = p.law.excess_gradient(learned.book.theta, q.at, 1.3 * n)
    per = float(q.at.tas_mps[0] / q.weight_n[0])
    rows_alone = float(learned.book.half_width(slope)[0]) * per
    with_shared = float(np.sqrt((slope @ learned.prior.cov @ slope.T)[0, 0])) * per
    assert rows_alone < 30 * FPM_MPS
    assert with_shared > rows_alone + 15 * FPM_MPS


def test_how_a_reading_looks_is_model_less_read_with_what_its_speed_and_rpm_leave():
    """By difference quotients of the law: a knot wrong in the speed, a revolution in a climb's RPM, each parameter."""
    evidence = readings(noise=0.0)
    theta = 1.02 * TRUE
    level, up, down = evidence.level, evidence.climb, evidence.glide

    def rate(control, t=theta):
        return LAW.excess_n(t, up.at, control) * 38.0 / 9500.0

    def said(t):
        sink = LAW.polar.drag_n(t, down.at, windmilling=True) * 36.0 / 9500.0
        return np.concatenate([LAW.control(t, level.at), rate(np.array([41.0]), t), sink])

    off, sd, slope = outlooks(LAW, Posterior(theta, np.eye(theta.size), np.empty(0)), evidence)
    np.testing.assert_allclose(off, said(theta) - said(TRUE), atol=1e-9)
    speed, notch = np.linspace(29, 55, 9), level.at.notch
    faster = [
        LAW.control(theta, state(speed + h, 1.1, 9500.0, (26.0 / (speed + h)) ** 2, notch)) for h in (0.01, -0.01)
    ]
    per_speed = (faster[0] - faster[1]) / 0.02
    np.testing.assert_allclose(sd[:9], np.hypot(0.25, 0.3 * per_speed), rtol=2e-3)
    per_turn = (rate(np.array([41.01])) - rate(np.array([40.99]))) / 0.02
    np.testing.assert_allclose(sd[9], np.hypot(0.15, 0.2 * per_turn[0]), rtol=2e-3)
    assert sd[10] == 0.3
    for k in range(theta.size):
        step = np.zeros(theta.size)
        step[k] = 1e-6 * max(abs(theta[k]), 0.1)
        np.testing.assert_allclose(slope[:, k], (said(theta + step) - said(theta - step)) / (2.0 * step[k]),
                                   rtol=1e-4, atol=1e-5 * np.abs(slope).max())  # fmt: skip
