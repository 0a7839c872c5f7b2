"""Predicting airplanes of an independent flight model from what an instructor could gather.

Source: JSBSim 1.3.3 (PyPI), its sample airplanes trimmed by `bench/performance_truth.py`; points in
`tests/sources/jsbsim_trims.csv`. A reduced run of `bench/performance_accuracy.py`: three noise draws for each weight
and altitude. Aims: level RPM within 20 (median) and 55 (90th percentile), climb at a
given RPM within 30 ft/min (median), bank that power sustains within 4°, 90 % bands that hold 85–97 % of the truth.
"""

import numpy as np
import pytest

import jsbsim_trims as trims
from airwork.airplane.performance.climbing import climb as climb_at
from airwork.airplane.performance.condition import Setting
from airwork.airplane.performance.learn import learn
from airwork.airplane.performance.level import level_flight
from airwork.airplane.performance.model import Performance
from airwork.airplane.performance.readings import readings_of
from airwork.airplane.performance.turning import sustained_bank
from airwork.units import FPM_MPS

DRAWS = 3


def fits(name, *, noise=None):
    rng = np.random.default_rng(7)
    for weight, altitude in trims.conditions(name) * DRAWS:
        taken = trims.training(name, weight, altitude, rng, noise or trims.Noise())
        airplane = trims.airplane(name, taken.observations)
        yield Performance(airplane, learn(airplane, readings_of(airplane))), taken


@pytest.fixture(scope="module")
def errors():
    """name -> errors on what was not fitted."""
    out = {}
    for name in trims.FIXED_PITCH:
        level, climb, turn = (trims.usable(name, kind) for kind in ("level", "climb", "turn"))
        found = {"level": [], "slow": [], "in": [], "climb": [], "bank": []}
        for p, taken in fits(name):
            held = np.setdiff1d(np.arange(level["rpm"].size), taken.level_index)
            answer = level_flight(p, *trims.asked(level))
            off = (answer.rpm - level["rpm"])[held]
            good = np.isfinite(off)
            found["level"].append(off[good])
            found["slow"].append(off[good & (level["over_stall"][held] < 1.3)])
            found["in"].append((np.abs(off) <= answer.rpm_90[held])[good])
            rate = climb_at(p, *trims.asked(climb), Setting(rpm=climb["rpm"])).climb_rate_mps / FPM_MPS
            found["climb"].append((rate - climb["rate_of_climb_fpm"])[np.isfinite(rate)])
            bank = sustained_bank(p, *trims.asked(turn), Setting(rpm=turn["rpm"])).by_power_rad
            truth = np.arccos(1 / turn["load_factor"])
            here = np.isfinite(bank) & (turn["load_factor"] > 1.03)
            found["bank"].append(np.degrees(bank - truth)[here])
        out[name] = {what: np.concatenate(parts) for what, parts in found.items()}
    return out


@pytest.mark.parametrize("name", trims.FIXED_PITCH)
def test_level_rpm_is_predicted_within_the_aim(errors, name):
    """Other weights, altitudes, speeds, a hot day: median ≤ 20, 90th percentile ≤ 55 RPM, slow flight and overall."""
    for what in ("slow", "level"):
        off = np.abs(errors[name][what])
        assert np.median(off) <= 20
        assert np.quantile(off, 0.9) <= 55


def test_climb_at_a_given_rpm_is_predicted_within_the_aim(errors):
    """Six airplanes together: median ≤ 30 ft/min; none above 45."""
    assert np.median(np.abs(np.concatenate([e["climb"] for e in errors.values()]))) <= 30
    assert max(np.median(np.abs(e["climb"])) for e in errors.values()) <= 45


def test_the_bank_that_power_sustains_is_predicted_within_the_aim(errors):
    """Median of each airplane within 2°, nine in ten of all within 4.5° (near level, little force is much bank)."""
    assert max(np.median(np.abs(e["bank"])) for e in errors.values()) <= 2.0
    assert np.quantile(np.abs(np.concatenate([e["bank"] for e in errors.values()])), 0.9) <= 4.5


def test_the_90_percent_bands_hold_what_they_should(errors):
    """85 to 97 % of the truth, all airplanes together; each at least 80 %."""
    inside = np.concatenate([e["in"] for e in errors.values()])
    assert 0.85 <= inside.mean() <= 0.97
    assert min(e["in"].mean() for e in errors.values()) >= 0.80


def test_without_reading_noise_the_law_describes_the_flight_model():
    """Exact readings: what is left is the form of the law, a median of 12 RPM at most over all airplanes."""
    off = []
    for name in trims.FIXED_PITCH:
        level = trims.usable(name, "level")
        p, _ = next(fits(name, noise=trims.Noise(0, 0, 0, 0, 0)))
        off.append(level_flight(p, *trims.asked(level)).rpm - level["rpm"])
    assert np.nanmedian(np.abs(np.concatenate(off))) <= 12


def test_power_of_a_governed_propeller_is_predicted():
    """The airframe behind a constant-speed propeller of JSBSim: power within 2.5 points median, bands hold 80 %."""
    name = trims.CONSTANT_SPEED[0]
    level = trims.usable(name, "level")
    share = level["hp"] / trims.SIZES[name][3]
    off, inside = [], []
    for p, _ in fits(name):
        answer = level_flight(p, *trims.asked(level))
        good = np.isfinite(answer.power_ratio)
        off.append((answer.power_ratio - share)[good])
        inside.append((np.abs(answer.power_ratio - share) <= answer.power_90)[good])
    assert np.median(np.abs(np.concatenate(off))) <= 0.025
    assert np.concatenate(inside).mean() >= 0.80


def test_the_same_readings_interpolated_in_airspeed_err_several_times_more():
    """The baseline: no weight, no density."""
    name = "c172x"
    level = trims.usable(name, "level", flaps=(0.0,))
    p, taken = next(fits(name))
    points = sorted((o["kcas"], o["rpm"]) for o in taken.observations if o["kind"] == "level" and o["flap_notch"] == 0)
    naive = np.interp(level["kcas"], [k for k, _ in points], [n for _, n in points])
    ours = level_flight(p, *trims.asked(level)).rpm
    assert np.nanmedian(np.abs(ours - level["rpm"])) < 0.25 * np.median(np.abs(naive - level["rpm"]))


def test_angle_of_attack_lies_in_its_band():
    """The fuselage's zero is no handbook's: nine in ten angles of six airplanes inside the stated band."""
    inside, off = [], []
    for name in trims.FIXED_PITCH:
        p, _ = next(fits(name))
        level = trims.usable(name, "level")
        answer = level_flight(p, *trims.asked(level))
        good = np.isfinite(answer.angle_of_attack_rad)
        away = np.degrees(answer.angle_of_attack_rad - np.radians(level["alpha_deg"]))[good]
        inside.append(np.abs(away) <= np.degrees(answer.pitch_90_rad)[good])
        off.append(away)
    assert np.concatenate(inside).mean() >= 0.85
    assert np.median(np.abs(np.concatenate(off))) <= 2.0


def test_two_pitch_readings_set_the_zero_of_the_attitude():
    """With pitch read at two speeds, angles between them come within 1.5° of JSBSim's."""
    name = "c172p"
    weight, altitude = trims.conditions(name)[0]
    taken = trims.training(name, weight, altitude, np.random.default_rng(3))
    level = trims.usable(name, "level")
    for row, index in zip(taken.observations, taken.level_index, strict=False):
        if row["flap_notch"] == 0:
            row["pitch_deg"] = round(float(level["alpha_deg"][index]))
    airplane = trims.airplane(name, taken.observations)
    p = Performance(airplane, learn(airplane, readings_of(airplane)))
    up = {k: v[(level["flap"] == 0) & (level["over_stall"] > 1.15)] for k, v in level.items()}
    answer = level_flight(p, *trims.asked(up))
    assert np.nanmax(np.abs(np.degrees(answer.angle_of_attack_rad) - up["alpha_deg"])) < 2.0
    assert np.nanmean(np.degrees(answer.pitch_90_rad)) < 2.5
