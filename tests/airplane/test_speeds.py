"""Calibration, stall and V-speeds: printed values come back, scaling is by √W and √n in calibrated airspeed."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from airwork import units
from airwork.airdata.atmosphere import G0_MPS2, RHO0_KGPM3
from airwork.airplane import Airplane
from airwork.airplane.performance import readings_of
from airwork.errors import NotPossible, OutOfRange

LB, KT, FT = units.LB_KG, units.KT_MPS, units.FT_M
IDS = ("larkmoor_155", "wrenbrook_108", "caldmere_200")


@pytest.mark.parametrize("name", IDS)
def test_the_calibrations_own_rows_come_back_both_ways(airplanes: dict[str, Airplane], name: str) -> None:
    a = airplanes[name]
    tables = a.file.airspeed_calibration
    assert tables is not None
    for notch, table in ((0, tables.flaps_up), (1, tables.flaps_down)):
        assert table is not None
        for row in table.rows:
            assert a.cas_from_ias_mps(row.kias * KT, notch) / KT == pytest.approx(row.kcas, abs=1e-9)
            assert a.ias_from_cas_mps(row.kcas * KT, notch) / KT == pytest.approx(row.kias, abs=1e-9)


@given(st.floats(25.0, 155.0), st.integers(0, 3))
def test_indicated_to_calibrated_and_back_is_the_same_speed(knots: float, notch: int) -> None:
    a = _LARKMOOR()
    cas = a.calibration[notch].cas(knots * KT)
    if not np.isnan(cas):
        assert float(a.calibration[notch].ias(cas)) == pytest.approx(knots * KT, abs=1e-9)


def _LARKMOOR() -> Airplane:  # hypothesis takes no function fixture
    from airwork.airplane import find_airplane_file, load_airplane

    if not hasattr(_LARKMOOR, "it"):
        _LARKMOOR.it = load_airplane(find_airplane_file("larkmoor_155"))  # type: ignore[attr-defined]
    return _LARKMOOR.it  # type: ignore[attr-defined, no-any-return]


def test_below_the_first_row_the_first_slope_goes_on_and_then_stops(larkmoor: Airplane) -> None:
    """The file format's rule; half the first row is where an airspeed indicator stops meaning anything (our own)."""
    slope = (54.5 - 47) / (50 - 40)
    assert larkmoor.cas_from_ias_mps(30 * KT) / KT == pytest.approx(47 - 10 * slope)
    with pytest.raises(OutOfRange, match="indicated airspeed"):
        larkmoor.cas_from_ias_mps(19.9 * KT)
    with pytest.raises(OutOfRange, match="airspeed calibration, flaps up"):
        larkmoor.cas_from_ias_mps(161 * KT)


def test_arrays_give_nan_outside_the_calibration(larkmoor: Airplane) -> None:
    out = larkmoor.cas_from_ias_mps(np.array([10.0, 60.0, 200.0]) * KT)
    assert np.isnan(out).tolist() == [True, False, True]
    back = larkmoor.ias_from_cas_mps(np.array([10.0, 62.5, 200.0]) * KT)
    assert np.isnan(back).tolist() == [True, False, True]


def test_without_a_calibration_calibrated_is_indicated_and_said_so(small: Callable[..., Airplane]) -> None:
    a = small()
    assert a.cas_from_ias_mps(30.0) == 30.0
    assert any("calibration" in words for words in a.assumptions)


@pytest.mark.parametrize("name", IDS)
def test_printed_stall_speeds_come_back(airplanes: dict[str, Airplane], name: str) -> None:
    """Level rows exactly; in a bank within the rounding of both rows (1 kt each)."""
    a = airplanes[name]
    assert a.file.performance.stall is not None
    for row in a.file.performance.stall.rows:
        load = 1 / math.cos(math.radians(row.bank_deg))
        knots = a.stall_cas_mps(row.weight_lb * LB, row.flap_notch, load) / KT
        assert knots == pytest.approx(row.kcas, abs=1e-9 if row.bank_deg == 0 else 1.3)
        indicated = a.ias_from_cas_mps(knots * KT, row.flap_notch) / KT
        assert indicated == pytest.approx(row.kias, abs=1.6)  # printed indicated and calibrated are rounded apart


def test_stall_speed_goes_with_the_root_of_weight_and_load_published(small: Callable[..., Airplane]) -> None:
    """Worked examples E13 [D] (48 kt at 2,400 lb), E8 [V] PHAK ch. 5 (50 kt at 4 and 9 g), E10 [V] PHAK ch. 11."""
    a = small(performance={"stall": {"rows": [{"weight_lb": 2400, "flap_notch": 0, "kcas": 48}]}})
    assert a.stall_cas_mps(2000 * LB) / KT == pytest.approx(43.82, abs=0.005)
    assert a.stall_cas_mps(2400 * LB, 0, 1 / math.cos(math.radians(45))) / KT == pytest.approx(57.08, abs=0.005)
    fifty = small(performance={"stall": {"rows": [{"weight_lb": 2400, "flap_notch": 0, "kcas": 50}]}})
    assert fifty.stall_cas_mps(2400 * LB, 0, np.array([4.0, 9.0])) == pytest.approx([100 * KT, 150 * KT])
    assert fifty.stall_cas_mps(1.21 * 2400 * LB) / KT == pytest.approx(55.0)


def test_maneuvering_speed_goes_with_the_root_of_weight_published(small: Callable[..., Airplane]) -> None:
    """Worked example E14 [D]: 105 kt at 2,550 lb is 92.99 kt at 2,000 lb."""
    a = small(v_speeds={"rows": [{"name": "maneuvering", "weight_lb": 2550, "kcas": 105}]})
    answer = a.speed_answer("maneuvering", 2000 * LB)
    assert answer.value / KT == pytest.approx(92.99, abs=0.005)
    assert answer.how == "formula"
    assert "lighter than the printed 2,550 lb" in answer.note


def test_stall_of_the_invented_larkmoor_agrees_with_the_numbers_it_was_made_from(
    larkmoor: Airplane, truth: dict[str, Any]
) -> None:
    """INVENTED data: Vs = √(2·W/(ρ0·S·CLmax)); the table is rounded to 1 kt."""
    numbers = truth["larkmoor_155"]
    area = numbers["wing_area_ft2"] * FT**2
    for notch, lift in enumerate(numbers["CLmax_by_flap_notch"]):
        for pounds in (1500, 1650, 1750, 1900, 2000, 2150, 2300):
            mass = pounds * LB
            true = math.sqrt(2 * mass * G0_MPS2 / (RHO0_KGPM3 * area * lift))
            assert larkmoor.stall_cas_mps(mass, notch) / KT == pytest.approx(true / KT, abs=0.5)


@given(st.floats(900.0, 3000.0), st.floats(1.0, 4.0), st.integers(0, 3))
def test_stall_speed_rises_with_weight_and_load_and_falls_with_flaps(pounds: float, load: float, notch: int) -> None:
    a = _LARKMOOR()
    here = a.stall_cas_mps(pounds * LB, notch, load)
    assert a.stall_cas_mps(1.01 * pounds * LB, notch, load) > here
    assert a.stall_cas_mps(pounds * LB, notch, 1.01 * load) > here
    if notch:
        assert a.stall_cas_mps(pounds * LB, notch - 1, load) > here


# Source: worked-examples section E [D]; 60° and 80°, and 4 and 9 g, which double and treble it: PHAK ch. 5 [V].
STALL_FACTORS = [
    (1.0642, 1.0316), (1.1547, 1.0746), (1.4142, 1.1892), (1.5557, 1.2473), (2.0, 1.4142), (2.9238, 1.7099),
    (5.7588, 2.3997), (4.0, 2.0), (9.0, 3.0),
]  # fmt: skip


@pytest.mark.parametrize(("load", "factor"), STALL_FACTORS)
def test_stall_speed_rises_with_the_root_of_the_load_published(larkmoor: Airplane, load: float, factor: float) -> None:
    level = larkmoor.stall_cas_mps(2300 * LB)
    assert larkmoor.stall_cas_mps(2300 * LB, 0, load) / level == pytest.approx(factor, abs=0.0000501)


def test_at_1_7_times_the_stall_it_stalls_at_2_89_g_published(small: Callable[..., Airplane]) -> None:
    """E9 [V] PHAK ch. 5: Vs 60 kt, 102 kt is 1.7 times that, 2.89 g."""
    a = small(performance={"stall": {"rows": [{"weight_lb": 3400, "flap_notch": 0, "kcas": 60}]}})
    assert a.stall_cas_mps(3400 * LB, 0, 2.89) / KT == pytest.approx(102, abs=0.01)


def test_stall_takes_arrays_and_a_scalar_is_an_array_of_one(larkmoor: Airplane) -> None:
    masses = np.array([1600.0, 2100.0]) * LB
    both = larkmoor.stall_cas_mps(masses, 2)
    assert both == pytest.approx([larkmoor.stall_cas_mps(float(m), 2) for m in masses])
    assert np.isnan(larkmoor.stall_cas_mps(-1.0))


def test_a_stall_speed_says_where_todays_weight_lies(larkmoor: Airplane) -> None:
    assert larkmoor.stall_answer(2300 * LB).how == "handbook table"
    assert "between printed weights" in larkmoor.stall_answer(2200 * LB).note
    assert "lighter than the printed 1,750 lb" in larkmoor.stall_answer(1500 * LB).note
    assert "√1.41" in larkmoor.stall_answer(2300 * LB, 0, 1.4142).note


def test_without_a_stall_table_the_v_speeds_and_then_the_arcs_serve(small: Callable[..., Airplane]) -> None:
    rows = [{"name": "stall_flaps_up", "weight_lb": 3400, "kias": 60}]
    a = small(v_speeds={"rows": rows}, limitations={"white_arc_kias": [50, 100]})
    assert a.stall_cas_mps(3400 * LB) / KT == pytest.approx(60)
    assert a.stall_cas_mps(3400 * LB, 1) / KT == pytest.approx(50)
    assert "white arc" in a.stall_answer(3400 * LB, 1).source


def test_a_notch_without_a_stall_speed_is_refused_by_name(small: Callable[..., Airplane]) -> None:
    with pytest.raises(NotPossible, match="no stall speed for flap notch 1"):
        small(v_speeds={"rows": [{"name": "stall_flaps_up", "kias": 60}]}).stall_cas_mps(1000.0, 1)
    with pytest.raises(OutOfRange, match="flap notch 2"):
        small().stall_cas_mps(1000.0, 2)


def test_to_read_a_recording_a_notch_without_a_stall_speed_lies_between_its_neighbors(
    small: Callable[..., Airplane],
) -> None:
    flaps = {"notches": [{"notch": k, "deflection_deg": d} for k, d in enumerate((0, 10, 40))]}
    rows = [{"name": "stall_flaps_up", "kias": 60}, {"name": "stall_flaps_full", "kias": 48}]
    a = small(flaps=flaps, v_speeds={"rows": rows})
    found = a.stall_cas_by_notch_mps(a.max_takeoff_mass_kg) / KT
    assert found == pytest.approx([60.0, 57.0, 48.0])
    with pytest.raises(NotPossible):
        a.stall_cas_mps(1000.0, 1)


def test_flaps_up_are_at_0_degrees_where_only_the_notches_below_print_an_angle(small: Callable[..., Airplane]) -> None:
    """A recorded 0° is flaps up, not the nearest angle the file happens to print."""
    without = small(flaps={"notches": [{"notch": 0}, *({"notch": k, "deflection_deg": 10 * k} for k in (1, 2))]})
    assert without.notches_at([0.0, 4.0, 9.0, 20.0]).tolist() == [0.0, 0.0, 1.0, 2.0]
    blank = small(flaps={"notches": [{"notch": 0}, {"notch": 1}]})
    assert np.isnan(blank.notches_at([0.0, 10.0])).all()


@pytest.mark.parametrize("name", IDS)
def test_printed_v_speeds_come_back(airplanes: dict[str, Airplane], name: str) -> None:
    a = airplanes[name]
    assert a.file.v_speeds is not None
    for row in a.file.v_speeds.rows:
        height = 0.0 if row.density_altitude_ft is None else row.density_altitude_ft * FT
        assert row.weight_lb is not None
        assert a.speed_cas_mps(row.name, row.weight_lb * LB, height) / KT == pytest.approx(row.kcas, abs=1e-6)


def test_a_climb_speed_between_printed_density_altitudes_lies_between_and_beyond_is_refused(larkmoor: Airplane) -> None:
    at = [larkmoor.speed_cas_mps("best_rate_of_climb", 2300 * LB, h * FT) / KT for h in (0, 2500, 5000)]
    assert at[0] > at[1] > at[2]
    with pytest.raises(OutOfRange, match="density altitude"):
        larkmoor.speed_cas_mps("best_angle_of_climb", 2300 * LB, 12000 * FT)


def test_the_climb_speed_of_a_lighter_airplane_comes_from_the_climb_table(larkmoor: Airplane) -> None:
    answer = larkmoor.speed_answer("best_rate_of_climb", 1750 * LB, 4000 * FT)
    assert answer.source == "handbook, climb"
    assert larkmoor.ias_from_cas_mps(answer.value) / KT == pytest.approx(72)  # printed at 1,750 lb, 4,000 ft


def test_the_one_climb_speed_a_book_prints_is_flown_lighter_too_and_a_glide_goes_with_the_weight(
    small: Callable[..., Airplane],
) -> None:
    """Best glide belongs to one angle of attack, √W ([PHAK] ch. 11); the best rate does not."""
    rows = [{"name": name, "weight_lb": 3400, "kcas": 80} for name in ("best_rate_of_climb", "best_glide")]
    a = small(v_speeds={"rows": rows})
    climb = a.speed_answer("best_rate_of_climb", 2900 * LB)
    assert (climb.value / KT, climb.how, climb.note) == (pytest.approx(80), "handbook table", "as printed for 3,400 lb")
    assert a.speed_cas_mps("best_glide", 2900 * LB) / KT == pytest.approx(80 * math.sqrt(2900 / 3400))
    assert a.speed_cas_mps("best_rate_of_climb", 3500 * LB) > climb.value  # heavier: no slower than √W asks


def test_what_the_handbook_does_not_print_is_worked_out_and_marked(small: Callable[..., Airplane]) -> None:
    """Approach 1.3 Vs and maneuvering Vs·√3.8: common formulas, the handbook decides."""
    a = small(
        performance={"stall": {"rows": [{"weight_lb": 3400, "flap_notch": n, "kcas": 60 - 10 * n} for n in (0, 1)]}}
    )
    approach = a.speed_answer("approach_flaps_full", 3400 * LB)
    assert (approach.value / KT, approach.how) == (pytest.approx(65), "formula")
    assert "1.3 times the stall" in approach.note
    assert a.speed_cas_mps("maneuvering", 3400 * LB) / KT == pytest.approx(60 * math.sqrt(3.8))
    with pytest.raises(NotPossible, match="no speed 'best_glide'"):
        a.speed_cas_mps("best_glide", 3400 * LB)


@pytest.mark.parametrize(("landing", "kt"), [
    ({"approach_kias": 72}, 72), ({"speed_at_50_ft_kias": 70}, 70), ({"approach_kias": 72, "flap_notch": 1}, 72),
    ({"approach_kias": 72, "flap_notch": 0}, 65), ({}, 65),
])  # fmt: skip
def test_the_speed_the_landing_table_was_flown_with_is_the_approach_s(
    small: Callable[..., Airplane], landing: dict[str, Any], kt: float
) -> None:
    """The handbook's own goes before 1.3 · 50 kt by rule; not that of a table with the flaps up."""
    rows = [
        {"weight_lb": 3400, "pressure_altitude_ft": 0, "oat_c": 15, "ground_roll_ft": 600, "total_over_50_ft": 1200}
    ]
    stall = {"rows": [{"weight_lb": 3400, "flap_notch": 1, "kcas": 50}]}
    a = small(performance={"stall": stall, "landing": {"rows": rows, **landing}})
    assert a.speed_answer("approach_flaps_full", 3400 * LB).value / KT == pytest.approx(kt)


def test_the_dial_shows_its_own_unit_first(larkmoor: Airplane, caldmere: Airplane) -> None:
    assert larkmoor.dial(57 * units.MPH_MPS) == "57 mph (50 kt)"
    assert caldmere.dial(52 * KT) == "52 kt (60 mph)"
    assert larkmoor.with_dial("kt").dial(57 * units.MPH_MPS) == "50 kt (57 mph)"


def test_limits_and_flap_speeds_are_those_of_the_dial(larkmoor: Airplane) -> None:
    assert larkmoor.limits.never_exceed_ias_mps == pytest.approx(178 * units.MPH_MPS)
    assert larkmoor.limits.load_factor_flaps_up == (-1.52, 3.8)
    assert [n.max_ias_mps is None for n in larkmoor.flap_notches] == [True, False, False, False]
    assert larkmoor.flaps_full == 3


def test_a_bare_selector_name_is_understood_where_it_can_be(small: Callable[..., Airplane]) -> None:
    tanks = [{"name": n, "capacity_us_gal": 20, "usable_us_gal": 19} for n in ("left wing", "right wing", "aux")]
    a = small(fuel={"tanks": tanks, "selector_positions": ["off", "left", "both", "reserve"]})
    feeds = {p.name: p.feeds for p in a.selector_positions}
    assert feeds == {
        "off": (), "left": ("left wing",), "both": ("left wing", "right wing", "aux"), "reserve": None,
    }  # fmt: skip


def test_observations_are_readings_in_si(larkmoor: Airplane) -> None:
    climb = next(o for o in readings_of(larkmoor) if o.kind == "full_throttle_climb")
    assert larkmoor.ias_from_cas_mps(climb.cas_mps) == pytest.approx(87 * units.MPH_MPS)
    assert climb.climb_rate_mps == pytest.approx(530 * units.FPM_MPS)
    glide = next(o for o in readings_of(larkmoor) if o.kind == "idle_glide")
    assert glide.climb_rate_mps == pytest.approx(-780 * units.FPM_MPS)


def test_a_maneuver_permission_is_found_in_singular_and_plural(larkmoor: Airplane) -> None:
    found = larkmoor.maneuver_permission("chandelle")
    assert found is not None
    assert found.permitted_in == ["utility"]
    assert larkmoor.maneuver_permission("ground_reference") is None
