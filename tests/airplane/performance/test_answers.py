"""What the performance model answers beyond level RPM: limits, refusals in words, climbs, glides, turns, times."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airwork.airdata.turn import load_factor
from airwork.airplane.performance import turning
from airwork.airplane.performance.brackets import stall_recovery_m, turn_back_m
from airwork.airplane.performance.changing import change_speed
from airwork.errors import NotPossible, OutOfRange
from airwork.units import FPM_MPS, FT_M, INHG_PA, KT_MPS, LB_KG

DAY = {"mass_kg": 2000 * LB_KG, "pressure_altitude_m": 3000 * FT_M, "temperature_k": 282.2}


def day(p, share=0.9, altitude_ft=3000.0, temp_k=282.2):
    mass = share * p.airplane.max_takeoff_mass_kg
    return {"mass_kg": mass, "pressure_altitude_m": altitude_ft * FT_M, "temperature_k": temp_k}


def test_slower_than_1_05_times_the_stall_speed_is_refused_with_the_range_named(fitted):
    """One question raises, arrays give NaN and say why."""
    p = fitted["larkmoor_155"]
    stall = float(p.airplane.stall_cas_mps(DAY["mass_kg"]))
    with pytest.raises(OutOfRange, match=r"1.05 times the stall speed"):
        p.level(1.04 * stall, **DAY)
    many = p.level(np.array([1.04, 1.06]) * stall, **DAY)
    assert np.isnan(many.rpm[0])
    assert not many.possible[0]
    assert many.limit[0] == "stall"
    assert np.isfinite(many.rpm[1])
    # the bank raises the stall speed with it
    with pytest.raises(OutOfRange):
        p.level(1.15 * stall, bank_rad=np.radians(45), **DAY)


def test_faster_than_never_exceed_is_refused(fitted):
    """No answer that invites to exceed a limit."""
    p = fitted["wrenbrook_108"]
    with pytest.raises(OutOfRange):
        p.level(150 * KT_MPS, **day(p))


def test_answers_have_the_shape_of_the_question(fitted):
    """Scalars, columns against rows, and one by one the same numbers."""
    p = fitted["larkmoor_155"]
    cas = np.linspace(60, 100, 5)[:, None] * KT_MPS
    altitude = np.array([0.0, 1000.0, 2000.0])
    grid = p.level(cas, 0, mass_kg=900.0, pressure_altitude_m=altitude, temperature_k=280.0)
    assert grid.rpm.shape == (5, 3)
    one = p.level(cas[2, 0], 0, mass_kg=900.0, pressure_altitude_m=1000.0, temperature_k=280.0)
    assert one.rpm.shape == ()
    assert float(one.rpm) == pytest.approx(grid.rpm[2, 1], rel=1e-14)
    assert float(one.rpm_90) == pytest.approx(grid.rpm_90[2, 1], rel=1e-12)
    notches = p.level(80 * KT_MPS, np.array([0, 1, 2, 3]), **DAY)
    assert np.all(np.diff(notches.rpm) > 0)


def test_level_flight_that_is_not_possible_is_said_in_words(fitted):
    """Full flaps, full weight, hot and high: `possible` is false, and asking for it names the sink."""
    p = fitted["larkmoor_155"]
    hot = {"mass_kg": 2300 * LB_KG, "pressure_altitude_m": 9500 * FT_M, "temperature_k": 300.0}
    cas = 1.15 * float(p.airplane.stall_cas_mps(hot["mass_kg"], 3))
    answer = p.level(cas, 3, **hot)
    assert not bool(answer.possible)
    assert str(answer.limit) == "power"
    with pytest.raises(NotPossible, match=r"Level flight at .*mph.*flap notch 3.*not possible.*sinks about \d+ ft/min"):
        p.require_level(cas, 3, **hot)
    assert bool(p.require_level(cas, 3, **DAY).possible)


def test_a_bank_that_power_can_not_hold_says_the_bank(fitted):
    """Level turn at 55° of bank with full flaps."""
    p = fitted["wrenbrook_108"]
    q = day(p, 1.0, 7000)
    cas = 1.5 * float(p.airplane.stall_cas_mps(q["mass_kg"], 2))
    with pytest.raises(NotPossible, match="55° bank"):
        p.require_level(cas, 2, bank_rad=np.radians(55), **q)


def test_at_the_rpm_of_level_flight_it_neither_climbs_nor_sinks(fitted):
    """Consistency of `level` and `climb`, wings level and banked; with the manifold pressure for constant speed."""
    for p in fitted.values():
        q = day(p)
        cas = np.linspace(1.3, 1.9, 5) * float(p.airplane.stall_cas_mps(q["mass_kg"]))
        for bank in (0.0, np.radians(25)):
            level = p.level(cas, 0, bank_rad=bank, **q)
            setting = {"rpm": level.rpm}
            if not p.airplane.fixed_pitch:
                setting["manifold_pressure_pa"] = level.manifold_pressure_pa
            rate = p.climb(cas, 0, bank_rad=bank, **setting, **q).climb_rate_mps
            assert np.abs(rate).max() < 1e-6


@settings(max_examples=25, deadline=None)
@given(
    factor=st.floats(1.2, 2.0), notch=st.sampled_from([0, 3]), altitude=st.floats(0, 8000), warm=st.floats(-15, 25),
    share=st.floats(0.75, 1.0),
)  # fmt: skip
def test_heavier_higher_warmer_and_banked_take_more_rpm_and_climb_less(fitted, factor, notch, altitude, warm, share):
    """Monotonic where physics is."""
    p = fitted["larkmoor_155"]
    q = day(p, share, altitude, 288.15 - 0.0019812 * altitude + warm)
    cas = factor * float(p.airplane.stall_cas_mps(q["mass_kg"], notch))
    base = float(p.level(cas, notch, **q).rpm)
    heavier = {**q, "mass_kg": 1.02 * q["mass_kg"]}
    higher = {**q, "pressure_altitude_m": q["pressure_altitude_m"] + 300}
    warmer = {**q, "temperature_k": q["temperature_k"] + 5}
    for other in (heavier, higher, warmer):
        assert float(p.level(cas, notch, **other).rpm) > base
        rate = float(p.climb(cas, notch, **q).climb_rate_mps)
        # a heavier airplane that can't hold level sinks less for the same lack of thrust
        assert rate < 0 or float(p.climb(cas, notch, **other).climb_rate_mps) < rate
    assert float(p.level(cas, notch, bank_rad=0.2, **q).rpm) > base


def test_power_limited_bank_is_where_thrust_equals_drag_of_the_load(fitted):
    """Level flight in that bank takes exactly the RPM the bank was asked for."""
    for name in ("larkmoor_155", "wrenbrook_108"):
        p = fitted[name]
        q = day(p)
        cas = 1.7 * float(p.airplane.stall_cas_mps(q["mass_kg"]))
        bank = p.sustained_bank(cas, 0, rpm=2450, **q)
        assert str(bank.limit) == "power"
        assert float(p.level(cas, 0, bank_rad=float(bank.bank_rad), **q).rpm) == pytest.approx(2450, abs=1e-3)


def test_power_limited_load_agrees_with_the_closed_form_of_the_first_law(fitted):
    """L = (ρV/W)·√((n² − p·n·V − g·V²)/h) where the drag is a parabola about zero lift (notes, section 5.2)."""
    p = fitted["larkmoor_155"]
    q = p.question(70 * KT_MPS, 0, *DAY.values())
    t = p.theta.copy()
    t[5], t[6] = 0.0, 0.0  # CL0 and q off
    a0, j0, b, cd0, k = t[:5]
    law, at = p.law, q.at
    a1, a2, d, area = -a0 * b / j0, -a0 * (1 - b) / j0**2, law.diameter_m, law.wing_area_m2
    pp, g, h = -a1 / (a0 * d), area * cd0 / (2 * a0 * d**4) - a2 / (a0 * d**2), 2 * k / (a0 * d**4 * area)
    n, v = 2500 / 60, float(at.tas_mps[0])
    closed = float(at.density_kgpm3[0]) * v / float(at.lift_n[0]) * np.sqrt((n**2 - pp * n * v - g * v**2) / h)
    found = turning.loads_by_power(p, t, at, np.array([n]))
    assert float(found[0]) == pytest.approx(closed, rel=1e-8)


def test_the_least_of_power_stall_and_load_factor_limits_the_turn(fitted):
    """Slow: the stall. Fast: power. Full flaps, light and low: the limit load factor of 2 can act."""
    p = fitted["larkmoor_155"]
    stall = float(p.airplane.stall_cas_mps(DAY["mass_kg"]))
    slow = p.sustained_bank(1.1 * stall, 0, **DAY)
    assert str(slow.limit) == "stall"
    assert float(slow.bank_rad) == pytest.approx(np.arccos(1 / 1.1**2), abs=1e-9)
    fast = p.sustained_bank(2.2 * stall, 0, **DAY)
    assert str(fast.limit) == "power"
    light = {"mass_kg": 1500 * LB_KG, "pressure_altitude_m": -300.0, "temperature_k": 268.0}
    full = p.sustained_bank(1.6 * float(p.airplane.stall_cas_mps(light["mass_kg"], 3)), 3, **light)
    assert float(full.by_load_rad) == pytest.approx(np.radians(60))
    assert float(full.bank_rad) <= np.radians(60) + 1e-9


def test_stall_recovery_of_the_sustained_turn_uses_the_load_factor(fitted):
    """Bank of each limit never exceeds the load it stands for."""
    p = fitted["caldmere_200"]
    q = day(p)
    bank = p.sustained_bank(np.linspace(1.2, 2.0, 5) * float(p.airplane.stall_cas_mps(q["mass_kg"])), 0, **q)
    least = np.minimum(np.minimum(bank.by_power_rad, bank.by_stall_rad), bank.by_load_rad)
    assert bank.bank_rad == pytest.approx(least)
    assert np.all(load_factor(bank.bank_rad) >= 1.0)


def test_fastest_level_flight_lies_where_full_throttle_just_holds(fitted):
    """Climb rate zero there, or the maximum RPM reached; a lower setting is slower."""
    for p in fitted.values():
        q = day(p)
        top = p.max_level_speed(*q.values())
        assert top.limit in {"power", "redline", "never-exceed speed"}
        rate = float(p.climb(top.cas_mps, 0, **q).climb_rate_mps)
        assert rate == pytest.approx(0.0, abs=0.05)
        assert 0 < top.cas_90_mps < 6 * KT_MPS
    less = fitted["larkmoor_155"].max_level_speed(*DAY.values(), rpm=2400)
    assert less.cas_mps < fitted["larkmoor_155"].max_level_speed(*DAY.values()).cas_mps
    with pytest.raises(NotPossible, match="No level flight"):
        fitted["larkmoor_155"].max_level_speed(*DAY.values(), rpm=1500)


def test_the_back_side_of_the_power_curve(fitted):
    """Below the speed of least power a knot slower costs power and climb; the least RPM lies slower still."""
    for p in fitted.values():
        q = day(p)
        back = p.back_side(*q.values())
        assert back.on_back_side
        assert back.power_per_kt > 0
        assert back.climb_rate_per_kt_mps < 0
        cas = back.min_power_cas_mps
        around = p.level(np.array([0.97, 1.0, 1.03]) * cas, 0, **q).power_ratio
        assert around[1] <= min(around[0], around[2])
        if p.airplane.fixed_pitch:  # notes, section 3: about 4 kt below, clean
            assert 1 * KT_MPS < cas - back.min_rpm_cas_mps < 8 * KT_MPS
        fast = p.back_side(*q.values(), at_cas_mps=1.3 * cas)
        assert not fast.on_back_side
        assert fast.power_per_kt < 0


def test_glides_come_from_the_handbook_with_flaps_up_and_from_the_polar_else(fitted):
    """The printed ratio and speed; the polar's own best glide within 12 % of it; least sink slower and lower."""
    for p in fitted.values():
        q = day(p, 1.0)
        best, sink = p.best_glide(*q.values()), p.min_sink(*q.values())
        assert best.source == "handbook, glide"
        assert best.glide_ratio == pytest.approx(p.airplane.glide_ratio)
        assert sink.cas_mps < best.cas_mps
        assert sink.sink_mps < best.sink_mps * 1.02
        assert sink.glide_ratio < best.glide_ratio * 1.02
        full = p.best_glide(*q.values(), p.airplane.flaps_full)
        assert full.source.startswith("fitted")
        assert full.glide_ratio < 0.9 * best.glide_ratio


def test_height_lost_in_a_gliding_turn_is_the_constant_lift_coefficient_formula(fitted):
    """Worked examples F15 [D]: 65 KTAS, ratio 9, 180°: 261 ft at 45°, 302 at 30°."""
    from airwork.airplane.performance.answers import Glide

    glide = Glide(0.0, 65 * KT_MPS, 9.0, 0.0, 0.0, 0.0, "")
    assert glide.height_per_turn_m(np.radians(45), np.pi) / FT_M == pytest.approx(261, abs=1)
    assert glide.height_per_turn_m(np.radians(30), np.pi) / FT_M == pytest.approx(302, abs=1)
    assert fitted["larkmoor_155"].best_glide(*DAY.values()).height_per_turn_m(np.radians(45)) > 0


def test_time_to_change_speed_agrees_with_stepping_the_point_mass(fitted):
    """m·dV/dt = T − D, stepped by hand at 20 Hz, both ways."""
    p = fitted["larkmoor_155"]
    stall = float(p.airplane.stall_cas_mps(DAY["mass_kg"]))
    for start, end, options in ((2.0, 1.25, {"idle": True}), (1.25, 1.8, {})):
        found = change_speed(p, start * stall, end * stall, **DAY)
        from airwork.airdata.airspeed import tas_from_cas_mps

        speed, goal = (float(tas_from_cas_mps(f * stall, 3000 * FT_M, 282.2)) for f in (start, end))
        time, way = 0.0, 0.0
        while (speed < goal) == (start < end):
            speed += float(p.excess_thrust_n(speed, 0, *DAY.values(), **options)) / DAY["mass_kg"] * 0.05
            time, way = time + 0.05, way + speed * 0.05
        assert found.time_s == pytest.approx(time, rel=0.01)
        assert found.distance_m == pytest.approx(way, rel=0.02)


def test_a_power_that_can_not_carry_it_to_the_speed_is_said(fitted):
    """Slowing to slow flight with cruise power never ends."""
    p = fitted["larkmoor_155"]
    stall = float(p.airplane.stall_cas_mps(DAY["mass_kg"]))
    with pytest.raises(NotPossible, match="settles"):
        change_speed(p, 2.0 * stall, 1.2 * stall, rpm=2400, **DAY)


def test_rpm_falls_with_speed_at_one_throttle(fitted):
    """Fixed pitch: the throttle stands, the airplane slows, the tachometer sinks; full throttle is share 1."""
    p = fitted["larkmoor_155"]
    air = (DAY["pressure_altitude_m"], DAY["temperature_k"])
    share = float(p.throttle_share(2300, 95 * KT_MPS, *air))
    assert 0.4 < share < 1.0
    rpm = p.rpm_at_throttle(share, np.array([95, 80, 65]) * KT_MPS, *air)
    assert rpm[0] == pytest.approx(2300, abs=1e-6)
    assert np.all(np.diff(rpm) < 0)
    full = float(p.full_throttle_rpm(80 * KT_MPS, *air))
    assert float(p.throttle_share(full, 80 * KT_MPS, *air)) == pytest.approx(1.0)
    with pytest.raises(NotPossible, match="governor"):
        fitted["caldmere_200"].throttle_share(2300, 95 * KT_MPS, *air)


def test_excess_thrust_takes_its_setting_in_every_way(fitted):
    """RPM, power, throttle and idle agree where they mean the same; the stall is passed without a refusal."""
    p = fitted["larkmoor_155"]
    tas = np.array([35.0, 45.0])
    by_rpm = p.excess_thrust_n(tas, 0, *DAY.values(), rpm=2300)
    power = p.fixed.power_w(
        tas, np.full(2, 2300 / 60), np.full(2, p.question(40.0, 0, *DAY.values()).at.density_kgpm3[0])
    )
    by_power = p.excess_thrust_n(tas, 0, *DAY.values(), power_ratio=power / p.airplane.rated_power_w)
    assert by_power == pytest.approx(by_rpm, abs=1e-6)
    assert np.all(p.excess_thrust_n(tas, 0, *DAY.values(), idle=True) < by_rpm)
    assert np.isfinite(p.excess_thrust_n(15.0, 0, *DAY.values(), load_factor=1.2))
    c = fitted["caldmere_200"]
    full = c.excess_thrust_n(45.0, 0, *day(c).values())
    set_ = c.excess_thrust_n(45.0, 0, *day(c).values(), rpm=2300, manifold_pressure_pa=20 * INHG_PA)
    assert full > set_


def test_brackets_have_two_ends_and_a_caution(fitted):
    """Stall recovery: tens to hundreds of feet, more with full flaps and slow hands; a turn back: hundreds of feet."""
    for p in fitted.values():
        q = day(p, 1.0)
        clean, full = (stall_recovery_m(p, *q.values(), n) for n in (0, p.airplane.flaps_full))
        assert 20 * FT_M < clean.low < clean.high < 500 * FT_M
        assert full.high > clean.high
        back = turn_back_m(p, *q.values())
        assert 250 * FT_M < back.low < back.high < 1100 * FT_M
        for bracket in (clean, back):
            assert "not" in bracket.caution
            assert bracket.low_means
            assert bracket.high_means


def test_a_turn_back_takes_at_least_the_turn_at_its_best_bank(fitted):
    """Never less than 180° at 45° of the glide it starts from."""
    p = fitted["larkmoor_155"]
    glide = p.best_glide(*DAY.values())
    assert turn_back_m(p, *DAY.values()).low > glide.height_per_turn_m(np.radians(45), np.pi)


def test_climb_rate_and_gradient_belong_together(fitted):
    """Gradient times true airspeed is the rate; the power of full throttle is below rated at height."""
    p = fitted["wrenbrook_108"]
    answer = p.climb(70 * KT_MPS, 0, **day(p))
    assert float(answer.gradient * answer.tas_mps) == pytest.approx(float(answer.climb_rate_mps))
    assert 0.6 < float(answer.power_ratio) < 1.0
    assert float(answer.climb_rate_90_mps) < 120 * FPM_MPS
    same = p.climb_rate_mps(70 * KT_MPS, 0, **day(p))
    assert float(same) == float(answer.climb_rate_mps)
