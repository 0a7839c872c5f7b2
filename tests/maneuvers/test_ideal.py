"""Ideal paths: physics they must keep, and what each maneuver is (circles close, level stays level, left is right).

Checks against the outside: the turn's own geometry worked out again from the samples; level-turn load factor 1/cos φ
([PHAK] ch. 5 [V]); energy; the circle over the ground from a second integration of heading, airspeed and wind.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from airwork.airdata.wind import wind_vector_mps
from airwork.airplane.performance.climbing import climb
from airwork.airplane.performance.condition import Condition
from airwork.errors import AirworkError
from airwork.maneuvers import ROOMS, room
from airwork.maneuvers.setup import Order, Trace
from airwork.recording.flight import COLUMNS
from airwork.standards import load_standard
from airwork.units import FT_M, KT_MPS
from maneuvers.days import AIRPLANES, airplane, conditions, fitted, ideal, set_up

LEVEL = {
    "straight_and_level", "level_turn", "clearing_turn", "slow_flight", "steep_turn", "rectangular_course", "s_turns",
    "turns_around_point", "tank_change", "leaning",
}  # fmt: skip
AT_FIELD_KINDS = {k for k in ROOMS if "takeoff" in k or "landing" in k} | {
    "touch_and_go", "go_around", "traffic_pattern", "power_off_180", "forward_slip",
}  # fmt: skip
WIND_DAY, CALM = "standard, 15 kt", "standard, calm"
G0 = 9.80665


def all_ideals(kind: str, day: str = WIND_DAY) -> list[tuple[str, Trace]]:
    return [(name, ideal(kind, name, day)[1]) for name in AIRPLANES]


@pytest.mark.parametrize("kind", ROOMS)
def test_every_ideal_is_twice_a_second_in_house_columns(kind: str) -> None:
    for name, trace in all_ideals(kind):
        assert trace.time_s[0] == 0.0, name
        steps = np.diff(trace.time_s)
        np.testing.assert_allclose(steps[:-1], 0.5, atol=1e-9)
        assert 0.0 < steps[-1] <= 0.55
        assert set(trace.columns) <= set(COLUMNS)
        for column, values in trace.columns.items():
            assert values.shape == trace.time_s.shape, column
            if column not in {"ias_mps"}:  # below the calibration the dial shows nothing
                assert np.isfinite(values).all(), (name, column)


@pytest.mark.parametrize("kind", ROOMS)
def test_every_ideal_keeps_speeds_loads_and_rates_inside_the_limits(kind: str) -> None:
    """Never-exceed and flap speeds, the stall for the load, load factors, roll rate 25°/s, not below the floor."""
    for day in (WIND_DAY, "hot and high"):
        for name in AIRPLANES:
            try:
                made, trace = ideal(kind, name, day)
            except AirworkError:
                continue
            plane, c = airplane(name), trace.columns
            fast = plane.limits.never_exceed_ias_mps or 999.0
            ias, notch = c["ias_mps"], c["flap_notch"]
            assert np.nanmax(ias) <= fast, (name, day)
            for flap in plane.flap_notches:
                there = (notch == flap.notch) & np.isfinite(ias)
                if flap.max_ias_mps is not None and there.any():
                    assert ias[there].max() <= flap.max_ias_mps + 0.3, (name, day, flap)
            low, high = plane.limits.load_factor_flaps_up if not notch.any() else plane.limits.load_factor_flaps_down
            assert low <= c["load_factor"].min() <= c["load_factor"].max() <= high, (name, day)
            roll = np.abs(np.diff(c["bank_rad"])) / np.diff(trace.time_s)
            assert roll.max() < math.radians(25.0), (name, day)
            lowest = c["altitude_m"].min()
            assert lowest >= made.floor_m - 1.0, (name, day)
            if kind not in AT_FIELD_KINDS:
                mass = conditions(name, day).mass_kg
                stall = np.array([float(plane.stall_cas_mps(mass, int(n))) for n in notch])
                flown = c["cas_mps"] / (stall * np.sqrt(np.maximum(c["load_factor"], 0.0)))
                assert flown.min() > (0.95 if "stall" in kind else 1.0), (name, day, flown.min())


@pytest.mark.parametrize("kind", sorted(LEVEL))
def test_level_maneuvers_hold_their_altitude(kind: str) -> None:
    for name, trace in all_ideals(kind):
        assert np.ptp(trace.columns["altitude_m"]) < 1.0, name


@pytest.mark.parametrize("kind", sorted(LEVEL))
def test_the_load_factor_of_level_flight_is_that_of_its_bank_published(kind: str) -> None:
    """[PHAK] ch. 5 [V]: n = 1/cos φ (E1 to E5)."""
    for name, trace in all_ideals(kind):
        expected = 1.0 / np.cos(trace.columns["bank_rad"])
        np.testing.assert_allclose(trace.columns["load_factor"], expected, rtol=0.01, err_msg=name)


@pytest.mark.parametrize("kind", ["level_turn", "steep_turn", "clearing_turn", "turns_around_point", "s_turns"])
def test_the_heading_turns_as_the_bank_says_published(kind: str) -> None:
    """[PHAK] ch. 5 [V]: ω = g·tan φ/V, true airspeed (F1); the samples' own heading differentiated."""
    for name, trace in all_ideals(kind):
        c, time = trace.columns, trace.time_s
        turned = np.unwrap(c["heading_rad"])
        bank = np.abs(c["bank_rad"])
        steady = (bank > math.radians(15.0)) & (np.abs(np.gradient(c["bank_rad"], time)) < math.radians(1.5))
        rate = np.gradient(turned, time)
        np.testing.assert_allclose(
            rate[steady], (G0 * np.tan(c["bank_rad"]) / c["tas_mps"])[steady], rtol=0.03, err_msg=name
        )


@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize("name", AIRPLANES)
def test_the_steep_turn_comes_back_to_its_heading_and_its_place(name: str, side: str) -> None:
    """360° to within 0.2°; in still air the circle closes but for the rolls in and out."""
    made, trace = ideal("steep_turn", name, CALM, {"direction": side})
    turned = np.unwrap(trace.columns["heading_rad"])
    sign = 1.0 if side == "right" else -1.0
    assert turned[-1] - turned[0] == pytest.approx(sign * 2.0 * math.pi, abs=math.radians(0.2))
    c = trace.columns
    straight = 10.0 * c["tas_mps"][0]  # five seconds before and after
    radius = c["tas_mps"][0] ** 2 / (G0 * math.tan(made.targets["bank_rad"]))
    assert math.hypot(c["east_m"][-1], c["north_m"][-1] - straight) < radius
    assert abs(c["bank_rad"]).max() == pytest.approx(made.targets["bank_rad"], abs=1e-6)


SIDED = ["level_turn", "steep_turn", "clearing_turn", "slow_flight", "accelerated_stall", "chandelle", "steep_spiral",
         "turns_around_point", "s_turns", "rectangular_course", "emergency_descent", "glide", "forward_slip",
         "unusual_attitude", "lazy_eight", "power_off_180", "traffic_pattern"]  # fmt: skip


@pytest.mark.parametrize("kind", SIDED)
def test_left_is_the_mirror_of_right(kind: str) -> None:
    """In calm air: the same heights and speeds, banks of opposite sign, headings mirrored about the entry's."""
    line = {"line_rad": 0.0} if kind in {"power_off_180", "traffic_pattern", "rectangular_course"} else {}
    left, right = (ideal(kind, "larkmoor_155", CALM, {"direction": d, **line})[1] for d in ("left", "right"))
    for column in ("altitude_m", "tas_mps", "load_factor"):
        np.testing.assert_allclose(left.columns[column], right.columns[column], atol=1e-6)
    np.testing.assert_allclose(left.columns["bank_rad"], -right.columns["bank_rad"], atol=1e-9)
    turned = [np.unwrap(t.columns["heading_rad"]) for t in (left, right)]
    np.testing.assert_allclose(turned[0] - turned[0][0], -(turned[1] - turned[1][0]), atol=1e-6)


def carried(trace: Trace, name: str, day: str) -> tuple[np.ndarray, np.ndarray]:
    """East and north over the ground as the lesson lays a path: heading and airspeed integrated, the wind added. [m]"""
    c, time = trace.columns, trace.time_s
    heading = np.unwrap(c["heading_rad"])
    level = np.sqrt(np.maximum(c["tas_mps"] ** 2 - np.gradient(c["altitude_m"], time) ** 2, 0.0))
    from_rad, speed = conditions(name, day).air.wind_at(c["altitude_m"])
    out = []
    for part, wind in zip((np.sin, np.cos), wind_vector_mps(from_rad, speed), strict=True):
        v = level * part(heading) + wind
        out.append(np.concatenate([[0.0], np.cumsum(0.5 * (v[1:] + v[:-1]) * np.diff(time))]))
    return out[0], out[1]


def fitted_circle(east: np.ndarray, north: np.ndarray) -> tuple[float, float, np.ndarray]:
    """Center and distances from it, by least squares."""
    a = np.column_stack([2.0 * east, 2.0 * north, np.ones(east.size)])
    x, y, _ = np.linalg.lstsq(a, east**2 + north**2, rcond=None)[0]
    return float(x), float(y), np.hypot(east - x, north - y)


@pytest.mark.parametrize("name", AIRPLANES)
@pytest.mark.parametrize("side", ["left", "right"])
def test_turns_around_a_point_keep_their_radius_over_the_ground_in_a_15_kt_wind(name: str, side: str) -> None:
    """Radius constant within 2 % of the set-up's, though the airplane drifts 15 kt."""
    made, trace = ideal("turns_around_point", name, WIND_DAY, {"direction": side})
    east, north = carried(trace, name, WIND_DAY)
    track = np.unwrap(trace.columns["track_rad"])
    turning = np.abs(np.gradient(track, trace.time_s))
    whole = np.abs(track - track[0])
    on = (whole > math.radians(15.0)) & (whole < 4.0 * math.pi - math.radians(15.0)) & (turning > 0.0)
    _, _, radius = fitted_circle(east[on], north[on])
    assert np.abs(radius / made.targets["radius_m"] - 1.0).max() < 0.02
    assert whole[-1] == pytest.approx(4.0 * math.pi, abs=math.radians(0.5))
    bank = np.abs(trace.columns["bank_rad"])
    assert bank.max() == pytest.approx(made.targets["bank_rad"], abs=math.radians(1.5))
    downwind = np.argmax(np.where(on, bank, 0.0))
    assert math.cos(trace.columns["track_rad"][downwind] - math.radians(60.0)) > 0.97  # steepest with the wind behind


@pytest.mark.parametrize("name", AIRPLANES)
def test_s_turns_are_equal_half_circles_on_both_sides(name: str) -> None:
    made, trace = ideal("s_turns", name, WIND_DAY)
    east, north = carried(trace, name, WIND_DAY)
    track = np.unwrap(trace.columns["track_rad"])
    down = math.radians(60.0)
    across = east * math.cos(down) - north * math.sin(down)  # along the road
    bank = trace.columns["bank_rad"]
    radii = []
    for sign, start, end in ((-1.0, 0.0, -math.pi), (1.0, -math.pi, 0.0)):
        del start, end
        part = (np.sign(bank) == sign) & (np.abs(np.gradient(track, trace.time_s)) > 0.8 / 60.0)
        first = np.flatnonzero(part)[0]
        last = first + int(np.argmax(~part[first:])) if (~part[first:]).any() else part.size
        inner = slice(first + 5, last - 5)
        radii.append(float(fitted_circle(east[inner], north[inner])[2].mean()))
    assert radii[0] == pytest.approx(radii[1], rel=0.02)
    assert radii[0] == pytest.approx(made.targets["radius_m"], rel=0.04)
    assert abs(across[-1] - across[0]) > 6.0 * made.targets["radius_m"]  # four halves along the road
    assert track[-1] == pytest.approx(track[0], abs=math.radians(0.5))


@pytest.mark.parametrize("name", AIRPLANES)
def test_the_rectangle_s_legs_run_parallel_to_its_sides_and_it_closes(name: str) -> None:
    made, trace = ideal("rectangular_course", name, WIND_DAY)
    east, north = carried(trace, name, WIND_DAY)
    off = np.abs(np.gradient(np.unwrap(trace.columns["track_rad"]), trace.time_s)) < 1e-4
    angle = (trace.columns["track_rad"][off] - made.targets["line_rad"]) / (0.5 * math.pi)
    assert np.abs(angle - np.round(angle)).max() < math.radians(0.5)
    assert off.sum() > 60
    assert math.hypot(east[-1], north[-1]) < 40.0  # two rounds and back, within the sampling


@pytest.mark.parametrize("name", AIRPLANES)
def test_the_spiral_stays_round_its_point_and_above_its_floor(name: str) -> None:
    made, trace = ideal("steep_spiral", name, WIND_DAY)
    east, north = carried(trace, name, WIND_DAY)
    track = np.unwrap(trace.columns["track_rad"])
    whole = np.abs(track - track[0])
    on = (whole > math.radians(25.0)) & (whole < whole[-1] - math.radians(25.0))
    _, _, radius = fitted_circle(east[on], north[on])
    assert np.abs(radius / radius.mean() - 1.0).max() < 0.03
    assert whole[-1] >= 2.9 * 2.0 * math.pi
    assert np.abs(trace.columns["bank_rad"]).max() < math.radians(60.0)
    lost = made.entry_altitude_m - trace.columns["altitude_m"].min()
    assert 0.75 * made.targets["loss_m"] < lost < 1.15 * made.targets["loss_m"]


@pytest.mark.parametrize("name", AIRPLANES)
@pytest.mark.parametrize("day", [CALM, WIND_DAY])
def test_the_wing_points_at_the_pylon_all_the_way_round(name: str, day: str) -> None:
    """The pylon worked out from each sample (on the wing axis, down by the bank) is one point on the ground."""
    _, trace = ideal("eights_on_pylons", name, day)
    c = trace.columns
    east, north = carried(trace, name, day)
    bank = c["bank_rad"]
    steady = np.abs(np.gradient(bank, trace.time_s)) < math.radians(2.0)
    for sign in (-1.0, 1.0):
        on = steady & (sign * bank > math.radians(12.0))
        away = c["agl_m"][on] / np.tan(np.abs(bank[on]))
        x = east[on] + sign * away * np.cos(c["heading_rad"][on])
        y = north[on] - sign * away * np.sin(c["heading_rad"][on])
        spread = np.hypot(x - x.mean(), y - y.mean())
        assert spread.max() < 0.05 * away.mean(), (name, sign, spread.max(), away.mean())
    energy = c["altitude_m"] + c["tas_mps"] ** 2 / (2.0 * G0)
    assert np.ptp(energy) < 0.5  # power left alone: height and speed trade
    assert np.abs(bank).max() < math.radians(40.0)  # commercial standard


@pytest.mark.parametrize("name", AIRPLANES)
def test_the_chandelle_ends_at_180_degrees_just_above_the_stall(name: str) -> None:
    """[AFH] ch. 10 [V] in words: about 30° to the 90° point, wings level at 180° just above the stall, height won."""
    _made, trace = ideal("chandelle", name, CALM)
    c = trace.columns
    turned = np.degrees(np.abs(np.unwrap(c["heading_rad"]) - c["heading_rad"][0]))
    assert turned[-1] == pytest.approx(180.0, abs=1.0)
    mass = conditions(name, CALM).mass_kg
    assert 1.0 < c["cas_mps"][-1] / float(airplane(name).stall_cas_mps(mass)) < 1.12
    first = (turned > 25.0) & (turned < 85.0)
    np.testing.assert_allclose(np.degrees(np.abs(c["bank_rad"][first])), 30.0, atol=1.0)
    assert np.abs(c["bank_rad"][-1]) < math.radians(3.0)
    assert (np.diff(c["altitude_m"]) > -0.05).all()
    gain = c["altitude_m"][-1] - c["altitude_m"][0]
    trade = (c["tas_mps"][0] ** 2 - c["tas_mps"][-1] ** 2) / (2.0 * G0)
    rate = climb(fitted(name), c["cas_mps"][0] * 0.75, Condition(mass, c["altitude_m"][0], 285.0)).climb_rate_mps
    most = float(rate) * trace.time_s[-1]
    assert 0.6 * trade < gain < trade + 1.1 * most  # speed traded for height, and what full throttle adds at most


@pytest.mark.parametrize("name", AIRPLANES)
def test_the_lazy_eight_is_back_at_its_height_speed_and_heading_at_180_degrees(name: str) -> None:
    """[AFH] ch. 10 [V]: slowest, about 30° of bank and level pitch at 90°; 45°: about 15° of bank, highest pitch."""
    made, trace = ideal("lazy_eight", name, CALM)
    c = trace.columns
    turned = np.degrees(np.unwrap(c["heading_rad"]) - c["heading_rad"][0])
    at = int(np.argmax(turned > 179.5))
    assert c["altitude_m"][at] == pytest.approx(c["altitude_m"][0], abs=3.0)
    assert c["tas_mps"][at] == pytest.approx(c["tas_mps"][0], abs=1.0 * KT_MPS)
    slow = int(np.argmin(c["tas_mps"][:at]))
    assert turned[slow] == pytest.approx(90.0, abs=8.0)
    assert math.degrees(abs(c["bank_rad"][slow])) == pytest.approx(30.0, abs=1.0)
    assert c["ias_mps"][slow] == pytest.approx(made.targets["slow_ias_mps"], abs=1.0)
    steepest = int(np.argmax(c["flight_path_rad"][:at]))
    assert 25.0 < turned[steepest] < 60.0
    half = c["bank_rad"][turned > 1e9]
    assert half.size == 0
    assert turned.min() > -2.0  # the second half turns back the way it came


def test_a_climb_s_rate_is_the_performance_model_s() -> None:
    for name in AIRPLANES:
        made, trace = ideal("climb", name, CALM)
        c, plane = trace.columns, conditions(name, CALM)
        steady = (trace.time_s > 15.0) & (c["altitude_m"] < made.targets["level_off_altitude_m"] - 60.0)
        middle = float(c["altitude_m"][steady].mean())
        air = (float(plane.air.pressure_altitude_m(middle)), float(plane.air.temperature_at_k(middle)))
        at = Condition(plane.mass_kg, *air)
        rate = float(climb(fitted(name), c["cas_mps"][steady].mean(), at).climb_rate_mps)
        assert c["vertical_speed_mps"][steady].mean() == pytest.approx(rate, rel=0.03)
        assert c["altitude_m"][-1] == pytest.approx(made.targets["level_off_altitude_m"], abs=1.0)


def test_a_glide_goes_as_far_as_its_ratio() -> None:
    """Straight part in still air: air distance over height is the handbook's ratio ([AFH] ch. 3, definition [V])."""
    for name in AIRPLANES:
        made, trace = ideal("glide", name, CALM)
        c = trace.columns
        straight = (np.abs(c["bank_rad"]) < 1e-6) & (trace.time_s > 15.0) & (c["vertical_speed_mps"] < -1.0)
        first = int(np.argmax(straight))
        last = first + int(np.argmax(~straight[first:])) - 1
        away = math.hypot(c["east_m"][last] - c["east_m"][first], c["north_m"][last] - c["north_m"][first])
        lost = c["altitude_m"][first] - c["altitude_m"][last]
        assert away / lost == pytest.approx(made.targets["glide_ratio"], rel=0.02)
        assert c["altitude_m"].min() >= made.floor_m - 0.5


def test_slow_flight_is_held_at_the_set_up_s_speed_and_flap() -> None:
    for name in AIRPLANES:
        made, trace = ideal("slow_flight", name, CALM)
        held = trace.columns["flap_notch"] == made.targets["flap_notch"]
        near = np.abs(trace.columns["ias_mps"][held] - made.targets["ias_mps"]) < 0.3
        assert near.mean() > 0.9
        assert near.sum() > 240  # two minutes


def test_a_stall_gets_to_the_stall_speed_and_back_to_its_altitude() -> None:
    for kind in ("power_off_stall", "power_on_stall", "accelerated_stall"):
        for name in AIRPLANES:
            made, trace = ideal(kind, name, CALM)
            c = trace.columns
            plane, mass = airplane(name), conditions(name, CALM).mass_kg
            notch = int(made.targets.get("flap_notch", 0.0))
            load = 1.0 / math.cos(made.targets["bank_rad"])
            stall = float(plane.stall_cas_mps(mass, notch, load))
            assert c["cas_mps"].min() < 1.03 * stall, (kind, name)
            assert abs(c["altitude_m"][-1] - c["altitude_m"][0]) < 40.0, (kind, name)
            assert abs(c["bank_rad"][-1]) < 1e-6


@pytest.mark.parametrize("feet", [8000, 11_000, 12_500])
def test_with_little_power_left_a_stall_is_recovered_before_the_flaps_come_up(feet: int) -> None:
    """Full flaps toward the ceiling: what the throttle doesn't give the nose does, so that the airplane is never back
    near the stall of the flaps it has, and loses no more height than a slow recovery.
    """
    name, target = "larkmoor_155", {"altitude_m": feet * FT_M, "flap_notch": 3}
    made, trace = ideal("power_off_stall", name, "hot and high", target)
    c, mass = trace.columns, conditions(name, "hot and high").mass_kg
    stall = [float(airplane(name).stall_cas_mps(mass, int(n))) for n in c["flap_notch"]]
    over = c["cas_mps"] / stall
    recovered = int(np.argmax(over < 1.03)) + 20  # ten seconds after the break
    assert over[recovered:].min() > 1.15
    assert made.entry_altitude_m - c["altitude_m"].min() < 600 * FT_M


def test_the_wind_carries_a_free_maneuver_downwind() -> None:
    """Same maneuver, calm and 15 kt: the end lies farther downwind by wind times time."""
    calm, windy = (ideal("steep_turn", "larkmoor_155", day)[1] for day in (CALM, WIND_DAY))
    seconds = windy.time_s[-1]
    moved = np.array([windy.columns[k][-1] - calm.columns[k][-1] for k in ("east_m", "north_m")])
    assert np.hypot(*moved) == pytest.approx(15.0 * KT_MPS * seconds, rel=0.03)
    assert math.atan2(moved[0], moved[1]) == pytest.approx(math.radians(60.0), abs=math.radians(3.0))


def test_the_plan_s_time_is_about_the_ideal_s() -> None:
    """Time and fuel are planned with the set-up: within a third, and a minute, of the path's own time."""
    for kind in ROOMS:
        made, trace = ideal(kind, "larkmoor_155", WIND_DAY)
        if kind in AT_FIELD_KINDS or "stall" in kind:  # these plan the whole pattern, or the recovery too
            continue
        assert made.duration_s == pytest.approx(trace.time_s[-1], rel=0.34, abs=60.0), kind


def test_without_a_performance_model_the_refusal_is_plain() -> None:
    made = set_up("chandelle", "larkmoor_155", CALM)
    with pytest.raises(AirworkError, match="no performance model"):
        room("chandelle").ideal(
            made, Order(airplane("larkmoor_155"), None, conditions("larkmoor_155", CALM), load_standard("commercial"))
        )


def test_heights_of_the_field_are_above_the_field() -> None:
    for kind in sorted(AT_FIELD_KINDS):
        _, trace = ideal(kind, "larkmoor_155", "hot and high")
        assert trace.columns["agl_m"].min() > -1.5 * FT_M, kind
