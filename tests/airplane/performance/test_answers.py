"""What the performance model answers beyond level RPM: limits, refusals in words, climbs, glides, turns, times."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airwork.airdata.atmosphere import standard_temperature_k
from airwork.airplane.performance import turning
from airwork.airplane.performance.brackets import stall_recovery_m, turn_back_m
from airwork.airplane.performance.climbing import change_speed, climb, excess_thrust_n
from airwork.airplane.performance.condition import Condition, Setting
from airwork.airplane.performance.gliding import best_glide, min_sink
from airwork.airplane.performance.level import level_flight, require_level
from airwork.airplane.performance.question import question
from airwork.airplane.performance.speeds import back_side, max_level_speed
from airwork.airplane.performance.turning import sustained_bank
from airwork.errors import NotPossible, OutOfRange
from airwork.units import FPM_MPS, FT_M, INHG_PA, KT_MPS, LB_KG

DAY = Condition(2000 * LB_KG, 3000 * FT_M, 282.2)


def day(p, share=0.9, altitude_ft=3000.0, temp_k=282.2):
    mass = share * p.airplane.max_takeoff_mass_kg
    return Condition(mass, altitude_ft * FT_M, temp_k)


def test_slower_than_1_05_times_the_stall_speed_is_refused_with_the_range_named(fitted):
    """One question raises, arrays give NaN and say why."""
    p = fitted["larkmoor_155"]
    stall = float(p.airplane.stall_cas_mps(DAY.mass_kg))
    with pytest.raises(OutOfRange, match=r"1.05 times the stall speed"):
        level_flight(p, 1.04 * stall, DAY)
    many = level_flight(p, np.array([1.04, 1.06]) * stall, DAY)
    assert np.isnan(many.rpm[0])
    assert not many.possible[0]
    assert many.limit[0] == "stall"
    assert np.isfinite(many.rpm[1])
    # the bank raises the stall speed with it
    with pytest.raises(OutOfRange):
        level_flight(p, 1.15 * stall, DAY.banked(np.radians(45)))


def test_faster_than_never_exceed_is_refused(fitted):
    """No answer that invites to exceed a limit."""
    p = fitted["wrenbrook_108"]
    with pytest.raises(OutOfRange):
        level_flight(p, 150 * KT_MPS, day(p))


def test_answers_have_the_shape_of_the_question(fitted):
    """Scalars, columns against rows, and one by one the same numbers."""
    p = fitted["larkmoor_155"]
    cas = np.linspace(60, 100, 5)[:, None] * KT_MPS
    altitude = np.array([0.0, 1000.0, 2000.0])
    grid = level_flight(p, cas, Condition(900.0, altitude, 280.0))
    assert grid.rpm.shape == (5, 3)
    one = level_flight(p, cas[2, 0], Condition(900.0, 1000.0, 280.0))
    assert one.rpm.shape == ()
    assert float(one.rpm) == pytest.approx(grid.rpm[2, 1], rel=1e-14)
    assert float(one.rpm_90) == pytest.approx(grid.rpm_90[2, 1], rel=1e-12)
    notches = level_flight(p, 80 * KT_MPS, DAY.with_flaps(np.array([0, 1, 2, 3])))
    assert np.all(np.diff(notches.rpm) > 0)


def test_level_flight_that_is_not_possible_is_said_in_words(fitted):
    """Full flaps, full weight, hot and high: `possible` is false, and asking for it names the sink."""
    p = fitted["larkmoor_155"]
    hot = Condition(2300 * LB_KG, 9500 * FT_M, 300.0)
    cas = 1.15 * float(p.airplane.stall_cas_mps(hot.mass_kg, 3))
    answer = level_flight(p, cas, hot.with_flaps(3))
    assert not bool(answer.possible)
    assert str(answer.limit) == "power"
    with pytest.raises(NotPossible, match=r"Level flight at .*mph.*flap notch 3.*not possible.*sinks about \d+ ft/min"):
        require_level(p, cas, hot.with_flaps(3))
    assert bool(require_level(p, cas, DAY.with_flaps(3)).possible)


def test_a_bank_that_power_can_not_hold_says_the_bank(fitted):
    """Level turn at 55° of bank with full flaps."""
    p = fitted["wrenbrook_108"]
    q = day(p, 1.0, 7000)
    cas = 1.5 * float(p.airplane.stall_cas_mps(q.mass_kg, 2))
    with pytest.raises(NotPossible, match="55° bank"):
        require_level(p, cas, q.with_flaps(2).banked(np.radians(55)))


def test_at_the_rpm_of_level_flight_it_neither_climbs_nor_sinks(fitted):
    """Consistency of `level` and `climb`, wings level and banked; with the manifold pressure for constant speed."""
    for p in fitted.values():
        q = day(p)
        cas = np.linspace(1.3, 1.9, 5) * float(p.airplane.stall_cas_mps(q.mass_kg))
        for bank in (0.0, np.radians(25)):
            level = level_flight(p, cas, q.banked(bank))
            setting = {"rpm": level.rpm}
            if not p.airplane.fixed_pitch:
                setting["manifold_pressure_pa"] = level.manifold_pressure_pa
            rate = climb(p, cas, q.banked(bank), Setting(**setting)).climb_rate_mps
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
    cas = factor * float(p.airplane.stall_cas_mps(q.mass_kg, notch))
    base = float(level_flight(p, cas, q.with_flaps(notch)).rpm)
    heavier = replace(q, mass_kg=1.02 * q.mass_kg)
    higher = replace(q, pressure_altitude_m=q.pressure_altitude_m + 300)
    warmer = replace(q, temperature_k=q.temperature_k + 5)
    for other in (heavier, higher, warmer):
        assert float(level_flight(p, cas, other.with_flaps(notch)).rpm) > base
        rate = float(climb(p, cas, q.with_flaps(notch)).climb_rate_mps)
        # a heavier airplane that can't hold level sinks less for the same lack of thrust
        assert rate < 0 or float(climb(p, cas, other.with_flaps(notch)).climb_rate_mps) < rate
    assert float(level_flight(p, cas, q.with_flaps(notch).banked(0.2)).rpm) > base


def test_power_limited_bank_is_where_thrust_equals_drag_of_the_load(fitted):
    """Level flight in that bank takes exactly the RPM the bank was asked for."""
    for name in ("larkmoor_155", "wrenbrook_108"):
        p = fitted[name]
        q = day(p)
        cas = 1.7 * float(p.airplane.stall_cas_mps(q.mass_kg))
        bank = sustained_bank(p, cas, q, Setting(rpm=2450))
        assert str(bank.limit) == "power"
        assert float(level_flight(p, cas, q.banked(float(bank.bank_rad))).rpm) == pytest.approx(2450, abs=1e-3)


def test_power_limited_load_agrees_with_the_closed_form_of_the_first_law(fitted):
    """L = (ρV/W)·√((n² − p·n·V − g·V²)/h) where the drag is a parabola about zero lift (notes, section 5.2)."""
    p = fitted["larkmoor_155"]
    q = question(p, 70 * KT_MPS, DAY)
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
    stall = float(p.airplane.stall_cas_mps(DAY.mass_kg))
    slow = sustained_bank(p, 1.1 * stall, DAY)
    assert str(slow.limit) == "stall"
    assert float(slow.bank_rad) == pytest.approx(np.arccos(1 / 1.1**2), abs=1e-9)
    fast = sustained_bank(p, 2.2 * stall, DAY)
    assert str(fast.limit) == "power"
    light = Condition(1500 * LB_KG, -300.0, 268.0)
    full = sustained_bank(p, 1.6 * float(p.airplane.stall_cas_mps(light.mass_kg, 3)), light.with_flaps(3))
    assert float(full.bank_rad) <= np.radians(60) + 1e-9


def test_fastest_level_flight_lies_where_full_throttle_just_holds(fitted):
    """Climb rate zero there, or the maximum RPM reached; a lower setting is slower."""
    for p in fitted.values():
        q = day(p)
        top = max_level_speed(p, q)
        assert top.limit in {"power", "redline", "never-exceed speed"}
        rate = float(climb(p, top.cas_mps, q).climb_rate_mps)
        assert rate == pytest.approx(0.0, abs=0.05)
        assert 0 < top.cas_90_mps < 6 * KT_MPS
    less = max_level_speed(fitted["larkmoor_155"], DAY, Setting(rpm=2400))
    assert less.cas_mps < max_level_speed(fitted["larkmoor_155"], DAY).cas_mps
    with pytest.raises(NotPossible, match="No level flight"):
        max_level_speed(fitted["larkmoor_155"], DAY, Setting(rpm=1500))


def test_the_back_side_of_the_power_curve(fitted):
    """Below the speed of least power a knot slower costs power and climb; the least RPM lies slower still."""
    for p in fitted.values():
        q = day(p)
        back = back_side(p, q)
        assert back.on_back_side
        assert back.climb_rate_per_kt_mps < 0
        cas = back.min_power_cas_mps
        around = level_flight(p, np.array([0.97, 1.0, 1.03]) * cas, q).power_ratio
        assert around[1] <= min(around[0], around[2])
        if p.airplane.fixed_pitch:  # notes, section 3: about 4 kt below, clean
            slower = np.linspace(cas - 12 * KT_MPS, cas, 60)
            assert 1 * KT_MPS < cas - slower[np.nanargmin(level_flight(p, slower, q).rpm)] < 8 * KT_MPS
        fast = back_side(p, q, at_cas_mps=1.3 * cas)
        assert not fast.on_back_side


def test_glides_come_from_the_handbook_with_flaps_up_and_from_the_polar_else(fitted):
    """The printed ratio and speed; the polar's own best glide within 12 % of it; least sink slower and lower."""
    for p in fitted.values():
        q = day(p, 1.0)
        best, sink = best_glide(p, q), min_sink(p, q)
        assert best.source == "handbook, glide"
        assert best.glide_ratio == pytest.approx(p.airplane.glide_ratio)
        # nine tenths of a normal lie within 1.6449 deviations (NIST/SEMATECH e-Handbook 1.3.6.7.1 [M]), here of 4 %
        assert best.glide_ratio_90 == pytest.approx(1.6449 * 0.04 * p.airplane.glide_ratio, rel=1e-4)
        assert sink.cas_mps < best.cas_mps
        assert sink.sink_mps < best.sink_mps * 1.02
        assert sink.glide_ratio < best.glide_ratio * 1.02
        full = best_glide(p, q.with_flaps(p.airplane.flaps_full))
        assert full.source.startswith("fitted")
        assert full.glide_ratio < 0.9 * best.glide_ratio


def test_height_lost_in_a_gliding_turn_is_the_constant_lift_coefficient_formula(fitted):
    """Worked examples F15 [D]: 65 KTAS, ratio 9, 180°: 261 ft at 45°, 302 at 30°."""
    from airwork.airplane.performance.answers import Glide

    glide = Glide(0.0, 65 * KT_MPS, 9.0, 0.0, 0.0, 0.0, "")
    assert glide.height_per_turn_m(np.radians(45), np.pi) / FT_M == pytest.approx(261, abs=1)
    assert glide.height_per_turn_m(np.radians(30), np.pi) / FT_M == pytest.approx(302, abs=1)
    assert best_glide(fitted["larkmoor_155"], DAY).height_per_turn_m(np.radians(45)) > 0


def test_time_to_change_speed_agrees_with_stepping_the_point_mass(fitted):
    """m·dV/dt = T − D, stepped by hand at 20 Hz, both ways."""
    p = fitted["larkmoor_155"]
    stall = float(p.airplane.stall_cas_mps(DAY.mass_kg))
    for start, end, options in ((2.0, 1.25, {"idle": True}), (1.25, 1.8, {})):
        found = change_speed(p, start * stall, end * stall, DAY)
        from airwork.airdata.airspeed import tas_from_cas_mps

        speed, goal = (float(tas_from_cas_mps(f * stall, 3000 * FT_M, 282.2)) for f in (start, end))
        time, way = 0.0, 0.0
        while (speed < goal) == (start < end):
            speed += float(excess_thrust_n(p, speed, DAY, Setting(**options))) / DAY.mass_kg * 0.05
            time, way = time + 0.05, way + speed * 0.05
        assert found.time_s == pytest.approx(time, rel=0.01)
        assert found.distance_m == pytest.approx(way, rel=0.02)


def test_a_power_that_can_not_carry_it_to_the_speed_is_said(fitted):
    """Slowing to slow flight with cruise power never ends."""
    p = fitted["larkmoor_155"]
    stall = float(p.airplane.stall_cas_mps(DAY.mass_kg))
    with pytest.raises(NotPossible, match="settles"):
        change_speed(p, 2.0 * stall, 1.2 * stall, DAY, Setting(rpm=2400))


def test_excess_thrust_takes_its_setting_in_every_way(fitted):
    """RPM, power, throttle and idle agree where they mean the same; the stall is passed without a refusal."""
    p = fitted["larkmoor_155"]
    tas = np.array([35.0, 45.0])
    by_rpm = excess_thrust_n(p, tas, DAY, Setting(rpm=2300))
    power = p.fixed.power_w(tas, np.full(2, 2300 / 60), np.full(2, question(p, 40.0, DAY).at.density_kgpm3[0]))
    by_power = excess_thrust_n(p, tas, DAY, Setting(power_ratio=power / p.airplane.rated_power_w))
    assert by_power == pytest.approx(by_rpm, abs=1e-6)
    assert np.all(excess_thrust_n(p, tas, DAY, Setting(idle=True)) < by_rpm)
    assert np.isfinite(excess_thrust_n(p, 15.0, DAY, load_factor=1.2))
    c = fitted["caldmere_200"]
    full = excess_thrust_n(c, 45.0, day(c))
    set_ = excess_thrust_n(c, 45.0, day(c), Setting(rpm=2300, manifold_pressure_pa=20 * INHG_PA))
    assert full > set_


def test_brackets_have_two_ends_and_a_caution(fitted):
    """Stall recovery: tens to hundreds of feet, more with full flaps and slow hands; a turn back: hundreds of feet."""
    for p in fitted.values():
        q = day(p, 1.0)
        clean, full = (stall_recovery_m(p, q.with_flaps(n)) for n in (0, p.airplane.flaps_full))
        assert 20 * FT_M < clean.low < clean.high < 500 * FT_M
        assert full.high > clean.high
        back = turn_back_m(p, q)
        assert 250 * FT_M < back.low < back.high < 1100 * FT_M
        for bracket in (clean, back):
            assert "not" in bracket.caution
            assert bracket.low_means
            assert bracket.high_means


def test_a_turn_back_takes_at_least_the_turn_at_its_best_bank(fitted):
    """Never less than 180° at 45° of the glide it starts from."""
    p = fitted["larkmoor_155"]
    glide = best_glide(p, DAY)
    assert turn_back_m(p, DAY).low > glide.height_per_turn_m(np.radians(45), np.pi)


def test_climb_rate_and_gradient_belong_together(fitted):
    """Gradient times true airspeed is the rate; the power of full throttle is below rated at height."""
    p = fitted["wrenbrook_108"]
    answer = climb(p, 70 * KT_MPS, day(p))
    assert float(answer.gradient * answer.tas_mps) == pytest.approx(float(answer.climb_rate_mps))
    assert 0.6 < float(answer.power_ratio) < 1.0
    assert float(answer.climb_rate_90_mps) < 150 * FPM_MPS
    same = climb(p, 70 * KT_MPS, day(p)).climb_rate_mps
    assert float(same) == float(answer.climb_rate_mps)


@pytest.mark.parametrize("bank_deg", [30.0, 45.0, -45.0])
def test_the_nose_in_a_level_turn_stands_so_that_the_path_is_level(fitted, bank_deg):
    """Held to rotations of scipy.spatial.transform: turned by pitch and bank, the velocity has no part up or down.

    Body axes forward, right, down, the air coming from α below the nose; bank first, then pitch (the order of
    aerospace attitudes). Within 0.3°: the answer's α·cos φ is good for small angles.
    """
    from scipy.spatial.transform import Rotation

    p = fitted["larkmoor_155"]
    at = day(p).banked(np.radians(bank_deg))
    cas = np.array([1.5, 2.0]) * float(p.airplane.stall_cas_mps(at.mass_kg)) / np.sqrt(np.cos(np.radians(bank_deg)))
    answer = level_flight(p, cas, at)
    for angle, pitch in zip(answer.angle_of_attack_rad, answer.pitch_rad, strict=True):
        attitude = Rotation.from_euler("ZYX", [0.0, pitch, np.radians(bank_deg)])
        down = attitude.apply([np.cos(angle), 0.0, np.sin(angle)])[2]
        assert np.degrees(np.arcsin(down)) == pytest.approx(0.0, abs=0.3)
        assert abs(pitch) < abs(angle)
    assert np.abs(np.degrees(answer.angle_of_attack_rad)).max() > 2.0  # an angle that would show the difference


def test_marginal_lies_between_possible_and_not(fitted):
    """Higher and higher: held, then marginal (the band leaves it open), then not possible; only then is it refused."""
    p = fitted["larkmoor_155"]
    heights = np.arange(4000.0, 20000.0, 250.0) * 0.3048
    temps = np.asarray(standard_temperature_k(heights))
    cas = 1.2 * float(p.airplane.stall_cas_mps(p.airplane.max_takeoff_mass_kg, 3))
    found = level_flight(p, cas, Condition(p.airplane.max_takeoff_mass_kg, heights, temps, 3))
    state = np.where(found.marginal, 1, np.where(found.possible, 0, 2))
    assert set(state) == {0, 1, 2}
    assert (np.diff(state) >= 0).all()
    for want, index in ((1, int(np.argmax(state == 1))), (2, int(np.argmax(state == 2)))):
        at = Condition(p.airplane.max_takeoff_mass_kg, float(heights[index]), float(temps[index]), 3)
        if want == 1:
            assert bool(require_level(p, cas, at).marginal)
        else:
            with pytest.raises(NotPossible, match="is not possible"):
                require_level(p, cas, at)
