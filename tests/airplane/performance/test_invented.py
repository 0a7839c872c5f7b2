"""The invented airplanes: what the fit to their tables and nine readings says, against what they were computed from.

Source: performance-model notes, section 8 (Larkmoor 155, [checked]), and `tests/invented_truth.py`, which computes
level flight with a few lines of its own.
"""

from dataclasses import replace

import numpy as np
import pytest

from airwork.airdata.atmosphere import standard_temperature_k
from airwork.airplane.performance.climbing import climb
from airwork.airplane.performance.condition import Condition
from airwork.airplane.performance.level import level_flight
from airwork.airplane.performance.turning import sustained_bank
from airwork.units import FT_M, HP_W, KT_MPS, LB_KG
from invented_truth import true_level, truths

H3000 = 3000 * FT_M
T3000 = float(standard_temperature_k(H3000))


def asked(weight_lb, altitude_ft=3000.0, isa_k=0.0):
    h = altitude_ft * FT_M
    temp = float(standard_temperature_k(h)) + isa_k
    return Condition(weight_lb * LB_KG, h, temp)


# weight lb: RPM at 60 KCAS clean, at 1.15 Vs clean, full flaps at 1.15 Vs; Larkmoor 155, 3,000 ft standard
WEIGHTS = [(2300, 1950, 1950, 2215), (1965, 1808, 1803, 2047), (1700, 1704, 1677, 1904)]


@pytest.mark.parametrize(("weight", "at_60", "slow", "slow_full"), WEIGHTS)
def test_slow_flight_rpm_by_weight_published(fitted, weight, at_60, slow, slow_full):
    """Section 8, first row: RPM within 30, that is within the stated band."""
    p = fitted["larkmoor_155"]
    q = asked(weight)
    stall, stall_full = (float(p.airplane.stall_cas_mps(q.mass_kg, n)) for n in (0, 3))
    for cas, notch, printed in ((60 * KT_MPS, 0, at_60), (1.15 * stall, 0, slow), (1.15 * stall_full, 3, slow_full)):
        answer = level_flight(p, cas, q.with_flaps(notch))
        assert float(answer.rpm) == pytest.approx(printed, abs=30)
        assert abs(float(answer.rpm) - printed) <= 1.2 * float(answer.rpm_90)


@pytest.mark.parametrize(("altitude", "printed"), [(0, 1730), (3000, 1808), (6000, 1892), (9000, 1982)])
def test_slow_flight_rpm_by_density_altitude_published(fitted, altitude, printed):
    """Section 8, second row: 1,965 lb, 60 KCAS, about 27 RPM per 1,000 ft."""
    answer = level_flight(fitted["larkmoor_155"], 60 * KT_MPS, asked(1965, altitude))
    assert float(answer.rpm) == pytest.approx(printed, abs=25)


def test_twenty_degrees_warmer_published(fitted):
    """Section 8, third row: +63 RPM and −91 ft/min at 3,000 ft (the RPM row is of 1,965 lb and 60 KCAS)."""
    p = fitted["larkmoor_155"]
    cold, hot = asked(1965), asked(1965, isa_k=20)
    more = float(level_flight(p, 60 * KT_MPS, hot).rpm - level_flight(p, 60 * KT_MPS, cold).rpm)
    assert more == pytest.approx(63, abs=8)
    rates = [float(climb(p, 60 * KT_MPS, q).climb_rate_mps) / (FT_M / 60) for q in (cold, hot)]
    assert rates[1] - rates[0] == pytest.approx(-91, abs=25)


@pytest.mark.parametrize(
    ("weight", "printed"), [(1965, (49, 43, 35, 21)), (2300, (39, 31, 17, None))]
)  # fmt: skip
def test_sustained_bank_with_full_flaps_published(fitted, weight, printed):
    """Section 8: full flaps, 60 KCAS, 0, 3, 6, 9 thousand feet; none means level flight is not possible."""
    p = fitted["larkmoor_155"]
    for altitude, bank in zip((0, 3000, 6000, 9000), printed, strict=True):
        answer = sustained_bank(p, 60 * KT_MPS, asked(weight, altitude).with_flaps(3))
        if bank is None:
            assert not bool(answer.possible) or np.degrees(float(answer.bank_rad)) < 12
        else:
            assert str(answer.limit) == "power"
            assert np.degrees(float(answer.bank_rad)) == pytest.approx(bank, abs=5)


@pytest.mark.parametrize(("bank", "more"), [(20, 45), (30, 110), (45, 310)])
def test_rpm_for_a_level_turn_published(fitted, bank, more):
    """Section 8: 1,965 lb, 65 KCAS; +45, +110, +310 RPM at 20, 30, 45°. Within 10 %, or 10 RPM."""
    p = fitted["larkmoor_155"]
    level = float(level_flight(p, 65 * KT_MPS, asked(1965)).rpm)
    turn = float(level_flight(p, 65 * KT_MPS, asked(1965).banked(np.radians(bank))).rpm)
    assert turn - level == pytest.approx(more, rel=0.10, abs=10)


@pytest.mark.parametrize("name", ["larkmoor_155", "wrenbrook_108"])
def test_level_rpm_and_power_follow_the_truth_over_weight_height_and_temperature(fitted, name):
    """Clean and full flaps: median within 12 RPM and 1 point of power, all inside 1.7 of the 90 % half-width."""
    p, t = fitted[name], truths()[name]
    heavy = p.airplane.file.airplane.maximum_takeoff_weight_lb
    off, share_off, bands = [], [], []
    for weight in (0.8 * heavy, heavy):
        for altitude, isa in ((0, 0), (3000, 15), (7000, 0)):
            for notch in (0, p.airplane.flaps_full):
                q = asked(weight, altitude, isa)
                stall = float(p.airplane.stall_cas_mps(q.mass_kg, notch))
                for factor in (1.1, 1.25, 1.5, 1.8):
                    rpm, power = true_level(t, factor * stall, weight, altitude, isa, notch)
                    answer = level_flight(p, factor * stall, q.with_flaps(notch))
                    off.append(float(answer.rpm) - rpm)
                    bands.append(abs(off[-1]) / float(answer.rpm_90))
                    share_off.append(float(answer.power_ratio) - power / (t["rated_power_hp"] * HP_W))
    assert np.median(np.abs(off)) <= 12
    assert np.median(np.abs(share_off)) <= 0.01
    assert max(bands) <= 1.7
    assert np.mean(np.array(bands) <= 1.0) >= 0.85


def test_notches_without_a_reading_have_bands_that_hold_the_truth(fitted):
    """Larkmoor notches 1 and 2: nobody read them, the band is wide, the truth is inside."""
    p, t = fitted["larkmoor_155"], truths()["larkmoor_155"]
    for notch in (1, 2):
        stall = float(p.airplane.stall_cas_mps(2200 * LB_KG, notch))
        rpm, _ = true_level(t, 1.2 * stall, 2200, 3000, 0.0, notch)
        answer = level_flight(p, 1.2 * stall, asked(2200).with_flaps(notch))
        assert abs(float(answer.rpm) - rpm) <= float(answer.rpm_90)
        assert float(answer.rpm_90) > 50


def test_full_throttle_climb_follows_the_handbook_tables(fitted):
    """Within 60 ft/min and 4 %: its own readings may move it by what the table's rows share (3 %)."""
    for p in fitted.values():
        for row in p.airplane.file.performance.climb.rows[::7]:
            q = asked(row.weight_lb, row.pressure_altitude_ft)
            q = replace(q, temperature_k=row.oat_c + 273.15)
            cas = float(p.airplane.calibration[0].cas(row.climb_speed_kias * KT_MPS))
            answer = climb(p, cas, q)
            assert float(answer.climb_rate_mps) / (FT_M / 60) == pytest.approx(row.rate_of_climb_fpm, rel=0.04, abs=60)


def test_caldmere_manifold_pressure_follows_its_readings(fitted):
    """Each level reading within 0.5 inHg of what the fit says at its RPM."""
    p = fitted["caldmere_200"]
    for r in p.learned.readings_used:
        if r.kind != "level":
            continue
        answer = level_flight(p, r.cas_mps, replace(r.condition, bank_rad=0.0), rpm=r.rpm)
        assert float(answer.manifold_pressure_pa) == pytest.approx(r.manifold_pressure_pa, abs=0.5 * 3386.4)
