"""Engine: full throttle with height, power of a propeller and of a manifold pressure, and their way back."""

import numpy as np
import pytest

from airwork.airdata.atmosphere import standard_air
from airwork.airplane.performance.engine import (
    FixedPitchEngine,
    PowerPoints,
    fit_fixed_pitch_engine,
    fit_manifold_engine,
    full_throttle_share,
)
from airwork.units import FT_M, HP_W, INHG_PA, KT_MPS
from invented_truth import truths

# Source: Gagg and Farrar's law 1.132·σ − 0.132 as quoted in worked-examples K6: 5,000, 8,000, 10,000 ft standard [V/D].
# C is 0.1166 there and 0.12 here (Lowry): 0.1 to 0.2 points less, hence the tolerance.
PUBLISHED = [(5000, 0.843), (8000, 0.758), (10_000, 0.704)]


@pytest.mark.parametrize(("feet", "share"), PUBLISHED)
def test_full_throttle_power_with_height_published(feet, share):
    density = float(standard_air(feet * FT_M).density_kgpm3)
    assert float(full_throttle_share(density)) == pytest.approx(share, abs=0.0025)


def test_full_throttle_share_is_one_at_sea_level_and_never_negative():
    assert float(full_throttle_share(1.225)) == pytest.approx(1.0, abs=1e-4)
    assert float(full_throttle_share(0.05)) == 0.0


def points(cp, diameter, count=30, seed=2):
    rng = np.random.default_rng(seed)
    n, v, rho = rng.uniform(32, 45, count), rng.uniform(35, 60, count), rng.uniform(0.9, 1.2, count)
    j = v / (n * diameter)
    power = (cp[0] + cp[1] * j + cp[2] * j * j) * rho * n**3 * diameter**5
    return PowerPoints(n, v, rho, power, np.full(count, 0.005), np.ones(count))


def test_the_power_coefficient_of_the_invented_propeller_is_found_again():
    """CP(J) of the Larkmoor from exact points: power within 0.3 % over the range of the points."""
    t = truths()["larkmoor_155"]
    d = t["prop_diameter_ft"] * FT_M
    given = points(t["power_coefficient_poly_in_J"], d)
    engine = fit_fixed_pitch_engine(given, 155 * HP_W, 2700, d, known=True)
    assert engine.power_w(given.tas_mps, given.n_rps, given.density_kgpm3) == pytest.approx(given.power_w, rel=0.003)


def test_at_full_throttle_the_propeller_takes_what_the_engine_gives():
    t = truths()["wrenbrook_108"]
    d = t["prop_diameter_ft"] * FT_M
    engine = FixedPitchEngine(108 * HP_W, 2600, d, np.array(t["power_coefficient_poly_in_J"]), np.zeros((3, 3)))
    speed, density = np.array([20.0, 40.0, 55.0]), np.array([1.2, 1.1, 0.95])
    n = engine.full_throttle_n(speed, density)
    given = 108 * HP_W * full_throttle_share(density) * n * 60 / 2600
    assert engine.power_w(speed, n, density) == pytest.approx(given, rel=1e-12)
    assert np.all(np.diff(engine.full_throttle_n(np.array([20.0, 40.0, 55.0]), np.full(3, 1.1))) > 0)


def test_the_spread_of_power_follows_from_coefficients_and_rpm():
    """Against drawing coefficients and RPM at random."""
    d = 1.9
    given = points((0.058, 0.01, -0.04), d, count=12)
    engine = fit_fixed_pitch_engine(given, 1e5, 2700, d, known=True)
    at = (np.array([45.0]), np.array([38.0]), np.array([1.1]))
    rng = np.random.default_rng(9)
    drawn = []
    for cp in rng.multivariate_normal(engine.cp, engine.cov, size=4000):
        other = FixedPitchEngine(1e5, 2700, d, cp, engine.cov)
        drawn.append(other.power_w(at[0], at[1] + rng.normal(0, 0.4), at[2])[0])
    assert engine.power_sd_w(*at, np.array([0.4]))[0] == pytest.approx(np.std(drawn), rel=0.06)


def test_manifold_pressure_and_power_invert_each_other_and_follow_the_table():
    """A table of the straight-line engine: rows within rounding, pressure for a power gives that power."""
    rows = [
        (h, n, p * INHG_PA, n / 2700 * ((p - 4) / 24.9 + 0.006 * h / 304.8))
        for h in (0.0, 1500.0) for n in (2200, 2500) for p in (16, 20, 24)
    ]  # fmt: skip
    engine = fit_manifold_engine(1.5e5, 2700, np.array(rows), 0.96)
    assert engine.rms < 1e-6
    pressure = engine.manifold_pressure_pa(0.6e5, 2300, 1000.0, 290.0)
    assert float(engine.power_w(2300, pressure, 1000.0, 290.0)) == pytest.approx(0.6e5)
    cold, hot = (float(engine.power_w(2300, 20 * INHG_PA, 1000.0, t)) for t in (263.0, 303.0))
    assert hot < cold


def test_without_a_table_the_engine_is_assumed_and_says_so():
    engine = fit_manifold_engine(1.5e5, 2700, np.empty((0, 4)))
    assert not engine.known
    assert float(engine.power_w(2700, 28.9 * INHG_PA, 0.0, 288.15)) == pytest.approx(1.5e5, rel=0.01)


def test_a_geared_propeller_is_one_turning_slower() -> None:
    """Power by the engine's RPM with a gear is the ungeared propeller's at RPM / gear; full throttle likewise."""
    cp, cov, gear = np.array([0.062, 0.012, -0.045]), np.zeros((3, 3)), 2.43
    direct = FixedPitchEngine(73_500.0, 5800 / gear, 1.7, cp, cov)
    geared = FixedPitchEngine(73_500.0, 5800, 1.7, cp, cov, gear=gear)
    v, n, density = np.array([25.0, 50.0]), np.array([35.0, 38.0]), np.array([1.2, 1.0])
    np.testing.assert_allclose(geared.power_w(v, gear * n, density), direct.power_w(v, n, density), rtol=1e-12)
    np.testing.assert_allclose(
        geared.full_throttle_n(v, density), gear * direct.full_throttle_n(v, density), rtol=1e-12
    )


def test_a_well_known_geared_engine_has_a_usual_propeller_published() -> None:
    """100 hp (73.5 kW) at 5,800 RPM, gear 2.43: the propeller turns at 2,387 (figures published with it, from memory).

    Its power coefficient at 1.7 m then lies where propellers' do, 0.03 to 0.12; by the crank's RPM it would be 0.005.
    """
    assert pytest.approx(2387, abs=0.5) == 5800 / 2.43
    geared = FixedPitchEngine(73_500.0, 5800, 1.7, np.array([1.0, 0.0, 0.0]), np.zeros((3, 3)), gear=2.43)
    per_cp = float(geared.power_w(np.array([40.0]), np.array([5800 / 60]), np.array([1.225]))[0])
    assert 73_500.0 / per_cp == pytest.approx(0.067, abs=0.001)


@pytest.mark.parametrize(
    "powers", [(0.55, 0.66, 0.76, 0.53, 0.63, 0.77), (0.62, 0.655, 0.69, 0.61, 0.64, 0.70)], ids=["steep", "flat"]
)
def test_full_throttle_never_turns_slower_in_flight_than_standing(powers):
    """A cruise table of few speeds, misprinted or rounded, tells nothing of a propeller's shape far from them.

    The RPM rises with airspeed, and by no more than a tenth of itself up to a climb (common practice, no source).
    """
    rpm, ktas = np.array([2200, 2400, 2550, 2200, 2400, 2600]), np.array([93, 104, 111, 93, 104, 114])
    density = standard_air(np.repeat([2000.0, 4000.0], 3) * FT_M).density_kgpm3
    n, v, power = np.append(rpm / 60, 2330 / 60), np.append(ktas * KT_MPS, 0.0), np.append(powers, 2330 / 2650)
    sure = np.append(np.full(6, 0.02), 0.04)
    given = PowerPoints(n, v, np.append(density, 1.225), power * 160 * HP_W, sure, np.ones(7))
    engine = fit_fixed_pitch_engine(given, 160 * HP_W, 2650.0, 1.9, known=True)
    turns = 60.0 * engine.full_throttle_n(np.array([0.0, 50.0, 76.0, 100.0]) * KT_MPS, np.full(4, 1.1))
    assert turns[0] < turns[1] + 15.0 < turns[2] + 30.0 < turns[3] + 45.0
    assert turns[2] < 1.12 * turns[0]
