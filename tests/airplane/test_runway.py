"""Takeoff and landing distances against published sample problems; corrections, safe side, refusals."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from airwork import units
from airwork.airplane import Airplane, find_airplane_file, load_airplane
from airwork.airplane.runway import (
    AT_DENSITY,
    LANDING_SAFETY_FACTOR,
    TAKEOFF_SAFETY_FACTOR,
    landing,
    takeoff,
    wind_factor,
)
from airwork.airplane.runway_corrections import GENERIC_SURFACE
from airwork.errors import InputError, NotPossible, OutOfRange

FT, LB, KT = units.FT_M, units.LB_KG, units.KT_MPS
LARKMOOR = load_airplane(find_airplane_file("larkmoor_155"))


def airplane(small: Callable[..., Airplane], kind: str, rows: list[tuple[float, ...]], **more: Any) -> Airplane:
    """An airplane with one distance table: rows of (weight, altitude, temperature, roll, total)."""
    keys = ("weight_lb", "pressure_altitude_ft", "oat_c", "ground_roll_ft", "total_over_50_ft")
    return small(performance={kind: {"rows": [dict(zip(keys, row, strict=False)) for row in rows], **more}})


def test_a_roll_between_two_altitudes_published(small: Callable[..., Airplane]) -> None:
    """J1 [V] PHAK fig. 11-21: 1,115 ft at 2,000 ft, 1,230 ft at 3,000 ft, 20 °C: 1,173 ft (exact 1,172.5) between."""
    a = airplane(small, "takeoff", [(2400, 2000, 20, 1115), (2400, 3000, 20, 1230)])
    found = takeoff(a, 2400 * LB, 2500 * FT, 293.15)
    assert found.ground_roll_m / FT == pytest.approx(1173, abs=1)
    assert found.over_50_ft_m is None
    assert found.needed_m == pytest.approx(found.factor * found.ground_roll_m)


def test_a_headwind_correction_published(small: Callable[..., Airplane]) -> None:
    """J3 [V] PHAK ch. 11 problem 3: 1,325 / 2,480 ft, −10 % for every 9 kt, 18 kt → 1,060 / 1,984 ft."""
    rule = {"cause": "headwind", "per": 9, "unit": "kt", "change_percent": -10}
    a = airplane(small, "takeoff", [(2400, 3000, 30, 1325, 2480)], corrections=[rule])
    found = takeoff(a, 2400 * LB, 3000 * FT, 303.15, headwind_mps=18 * KT)
    assert found.ground_roll_m / FT == pytest.approx(1060, abs=0.5)
    assert found.over_50_ft_m == pytest.approx(1984 * FT, abs=0.5 * FT)


def test_a_landing_between_two_altitudes_published(small: Callable[..., Airplane]) -> None:
    """J10 [V] PHAK ch. 11 problem 11: 1,075 ft at sea level, 1,135 ft at 2,500 ft: 1,105 ft between; roll 457.5."""
    a = airplane(small, "landing", [(2400, 0, 15, 445, 1075), (2400, 2500, 15, 470, 1135)])
    found = landing(a, 2400 * LB, 1250 * FT, 288.15)
    assert found.over_50_ft_m == pytest.approx(1105 * FT, abs=0.5 * FT)
    assert found.ground_roll_m == pytest.approx(457.5 * FT, abs=0.5 * FT)


def test_wind_and_speed_change_the_roll_by_the_square_published() -> None:
    """J12 [V] PHAK ch. 11: headwind 10 % 0.81, tailwind 10 % 1.21, headwind 50 % 0.25; J14: speed +10 %, +21 %."""
    assert [wind_factor(r) for r in (0.1, -0.1, 0.5)] == pytest.approx([0.81, 1.21, 0.25])


@pytest.mark.parametrize("name", ["larkmoor_155", "wrenbrook_108", "caldmere_200"])
def test_the_tables_own_rows_come_back(airplanes: dict[str, Airplane], name: str) -> None:
    a = airplanes[name]
    for ask, table in ((takeoff, a.file.performance.takeoff), (landing, a.file.performance.landing)):
        assert table is not None
        for row in table.rows:
            found = ask(a, row.weight_lb * LB, row.pressure_altitude_ft * FT, row.oat_c + 273.15)
            assert found.ground_roll_m / FT == pytest.approx(row.ground_roll_ft, abs=1e-6)
            assert found.over_50_ft_m == pytest.approx((row.total_over_50_ft or 0) * FT, abs=1e-6)


def test_between_weights_the_logarithms_are_joined(small: Callable[..., Airplane]) -> None:
    """A distance that goes with the square of the weight is met exactly; a straight line would miss by a percent."""
    a = airplane(small, "takeoff", [(2000, 0, 20, 1000, 2000), (2400, 0, 20, 1440, 2880)])
    found = takeoff(a, 2200 * LB, 0.0, 293.15)
    assert found.ground_roll_m / FT == pytest.approx(1210)


def test_corrections_follow_one_another_and_a_roll_correction_adds_its_feet_to_the_total(larkmoor: Airplane) -> None:
    """By hand from the Larkmoor table: 840 / 1,795 ft; 9 kt −19 %; dry grass +17 % and 2 % up +16 % on the roll."""
    found = takeoff(larkmoor, 2000 * LB, 2000 * FT, 293.15, 9 * KT, "dry_grass", 0.02, 1.5)
    roll, total = 840 * 0.81, 1795 * 0.81
    roll, total = roll * 1.17, total + roll * 0.17
    roll, total = roll * 1.16, total + roll * 0.16
    assert found.ground_roll_m / FT == pytest.approx(roll)
    assert found.over_50_ft_m == pytest.approx(total * FT)
    assert found.needed_m == pytest.approx(1.5 * total * FT)  # the safety factor stands apart
    assert [step.split(",")[0] for step in found.steps] == ["table", "headwind 9 kt", "dry grass", "upslope 2.0 %"]


def test_safety_factors_are_the_generic_ones_unless_given(larkmoor: Airplane) -> None:
    """1.33 and 1.43 from memory (UK CAA SafetySense leaflet 7c); a label, not a check of the leaflet."""
    assert takeoff(larkmoor, 1900 * LB, 0.0, 288.15).factor == TAKEOFF_SAFETY_FACTOR == 1.33
    assert landing(larkmoor, 1900 * LB, 0.0, 288.15).factor == LANDING_SAFETY_FACTOR == 1.43
    with pytest.raises(InputError, match="safety factor"):
        takeoff(larkmoor, 1900 * LB, 0.0, 288.15, factor=0.9)


def test_heavier_higher_and_hotter_than_the_table_is_refused(larkmoor: Airplane) -> None:
    with pytest.raises(OutOfRange, match=r"weight 2,400 lb is outside the takeoff table \(1,750 to 2,300 lb\)"):
        takeoff(larkmoor, 2400 * LB, 0.0, 288.15)
    with pytest.raises(OutOfRange, match=r"pressure altitude 8,100 ft"):
        takeoff(larkmoor, 1900 * LB, 8100 * FT, 288.15)
    with pytest.raises(OutOfRange, match=r"temperature 41 °C is outside"):
        landing(larkmoor, 1900 * LB, 0.0, 273.15 + 41)


STANDARD_ONLY = {
    "conditions": "paved, level, dry, no wind",
    "rows": [
        {"weight_lb": 1600, "pressure_altitude_ft": 0, "oat_c": 15, "ground_roll_ft": 700, "total_over_50_ft": 1400},
        {"weight_lb": 1600, "pressure_altitude_ft": 2500, "oat_c": 10, "ground_roll_ft": 850, "total_over_50_ft": 1700},
        {"weight_lb": 1600, "pressure_altitude_ft": 5000, "oat_c": 5, "ground_roll_ft": 1050, "total_over_50_ft": 2100},
    ],
}
WARMER = {"cause": "above_standard_temperature", "change_percent": 10, "per": 25, "unit": "F"}


def test_a_table_of_standard_temperature_alone_follows_its_own_rule_in_warmer_air(
    small: Callable[..., Airplane],
) -> None:
    """Worked by hand: 2,500 ft, 37.8 °C is 27.8 °C = 50 °F above the printed 10 °C: twice 10 %, 850 and 1,700 ft ×1.2.

    The rule's form (a tenth for each 25 °F above standard) is common in handbooks of small singles; from memory.
    """
    a = small(performance={"takeoff": {**STANDARD_ONLY, "corrections": [WARMER]}})
    found = takeoff(a, 1600 * LB, 2500 * FT, 283.15 + 50 * 5 / 9)
    assert found.ground_roll_m / FT == pytest.approx(850 * 1.2)
    assert found.over_50_ft_m / FT == pytest.approx(1700 * 1.2)
    assert any("50 °F above the printed temperature, +10 % per 25 °F" in step for step in found.steps)
    halfway = takeoff(a, 1600 * LB, 1250 * FT, 273.15 + 12.5)  # printed there: 12.5 °C, 775 ft
    assert halfway.ground_roll_m / FT == pytest.approx(775)
    cold = takeoff(a, 1600 * LB, 2500 * FT, 263.15)
    assert cold.ground_roll_m / FT == pytest.approx(850)
    assert "colder than the table's" in " ".join(cold.steps)
    capped = small(performance={"takeoff": {**STANDARD_ONLY, "corrections": [{**WARMER, "maximum": 40}]}})
    with pytest.raises(OutOfRange, match="above standard temperature 50 °F is outside"):
        takeoff(capped, 1600 * LB, 2500 * FT, 283.15 + 50 * 5 / 9)


def test_without_the_rule_warmer_air_is_refused_and_the_rule_is_named(small: Callable[..., Airplane]) -> None:
    a = small(performance={"takeoff": STANDARD_ONLY})
    with pytest.raises(OutOfRange, match=r"\(10 °C alone\)\. If the handbook has a rule .*above_standard_temperature"):
        takeoff(a, 1600 * LB, 2500 * FT, 293.15)
    two = [*STANDARD_ONLY["rows"], {**STANDARD_ONLY["rows"][0], "oat_c": 30}]
    with pytest.raises(ValueError, match="several temperatures"):
        small(performance={"takeoff": {"rows": two, "corrections": [WARMER]}})
    with pytest.raises(ValueError, match='unit = "C" or "F"'):
        small(performance={"takeoff": {**STANDARD_ONLY, "corrections": [{**WARMER, "unit": "kt"}]}})


def test_lighter_lower_and_colder_takes_the_first_row_and_says_so(larkmoor: Airplane) -> None:
    found = takeoff(larkmoor, 1600 * LB, -300 * FT, 263.15)
    assert found.ground_roll_m / FT == pytest.approx(430)  # 1,750 lb, 0 ft, 0 °C
    assert sum("on the safe side" in step for step in found.steps) == 3


def test_a_table_for_standard_temperature_alone_is_read_at_it_and_refused_above(small: Callable[..., Airplane]) -> None:
    """The standard atmosphere falls 1.98 °C in 1,000 ft: 15, 13 and 7 °C at 0, 1,000 and 4,000 ft."""
    a = airplane(small, "takeoff", [(2400, 0, 15, 800, 1500), (2400, 4000, 7, 1160, 2100)])
    between = takeoff(a, 2400 * LB, 1000 * FT, 286.15)
    assert between.ground_roll_m / FT == pytest.approx(890)
    assert not any("safe side" in step for step in between.steps)
    colder = takeoff(a, 2400 * LB, 1000 * FT, 270.0)
    assert colder.ground_roll_m == pytest.approx(between.ground_roll_m)
    assert any("colder than the table's 13 °C" in step for step in colder.steps)
    with pytest.raises(OutOfRange, match="temperature"):
        takeoff(a, 2400 * LB, 1000 * FT, 287.15)


def test_a_tailwind_beyond_its_correction_is_refused_and_a_gale_is_not_credited(larkmoor: Airplane) -> None:
    with pytest.raises(OutOfRange, match="tailwind"):
        takeoff(larkmoor, 1900 * LB, 0.0, 288.15, headwind_mps=-11 * KT)
    calm = takeoff(larkmoor, 1900 * LB, 0.0, 288.15)
    gale = takeoff(larkmoor, 1900 * LB, 0.0, 288.15, headwind_mps=60 * KT)
    assert gale.ground_roll_m == pytest.approx(calm.ground_roll_m / 2)
    assert any("no more than half is credited" in step for step in gale.steps)


def test_what_the_handbook_lacks_gets_a_generic_factor_from_memory_or_a_refusal(small: Callable[..., Airplane]) -> None:
    a = airplane(small, "takeoff", [(2400, 0, 15, 1000, 1500)], liftoff_kias=50)
    ask = (a, 2400 * LB, 0.0, 288.15)
    grass = takeoff(*ask, surface="wet_grass")
    assert grass.ground_roll_m / FT == pytest.approx(1000 * GENERIC_SURFACE["wet_grass"][0])
    assert "from memory" in grass.steps[-1]
    assert takeoff(*ask, headwind_mps=-5 * KT).ground_roll_m / FT == pytest.approx(1200)  # 10 % of 50 kt
    assert takeoff(*ask, slope=0.02).ground_roll_m / FT == pytest.approx(1100)
    for help_ in ({"headwind_mps": 10 * KT}, {"slope": -0.02}):
        assert takeoff(*ask, **help_).ground_roll_m / FT == pytest.approx(1000)  # type: ignore[arg-type]
    with pytest.raises(NotPossible, match="no correction for snow"):
        takeoff(*ask, surface="snow")
    with pytest.raises(InputError, match="paved_dry"):
        takeoff(*ask, surface="mud")
    with pytest.raises(NotPossible, match=r"\[performance.landing\]"):
        landing(*ask)


@given(st.floats(1750, 1999), st.floats(0, 7900), st.floats(0, 39), st.floats(-9.9, 20), st.floats(-0.02, 0.02))
def test_more_weight_height_heat_tailwind_and_upslope_need_more_runway(
    pounds: float, feet: float, celsius: float, wind: float, slope: float
) -> None:
    def total(w: float = 0, h: float = 0, t: float = 0, v: float = 0, s: float = 0) -> float:
        found = takeoff(
            LARKMOOR, (pounds + w) * LB, (feet + h) * FT, celsius + t + 273.15, (wind + v) * KT, "dry_grass", slope + s
        )
        assert found.over_50_ft_m is not None
        assert found.ground_roll_m < found.over_50_ft_m
        return found.over_50_ft_m

    here = total()
    assert total(w=1) > here
    assert total(h=100) > here
    assert total(t=1) > here
    assert total(v=1) <= here
    assert total(s=0.001) > here


# Source of the form: takeoff tables of the 1960s and 70s print a column for calm, 10 kt and 20 kt (common practice, no
# source); the numbers are invented.
WINDY = [(2300, 0, 15, 800, 1500, 0), (2300, 0, 15, 600, 1200, 10), (2300, 0, 15, 440, 930, 20),
         (2300, 4000, 15, 1200, 2400, 0), (2300, 4000, 15, 900, 1920, 10), (2300, 4000, 15, 660, 1488, 20)]  # fmt: skip


def windy(small: Callable[..., Airplane], rows: list[tuple[float, ...]] = WINDY, **more: Any) -> Airplane:
    keys = ("weight_lb", "pressure_altitude_ft", "oat_c", "ground_roll_ft", "total_over_50_ft", "headwind_kt")
    return small(performance={"takeoff": {"rows": [dict(zip(keys, row, strict=True)) for row in rows], **more}})


def test_a_column_for_each_wind_is_read_at_its_rows_and_straight_between_them(small: Callable[..., Airplane]) -> None:
    a = windy(small, liftoff_kias=60)
    at = (2300 * LB, 0.0, 288.15)
    for wind, roll, total in ((0, 800, 1500), (5, 700, 1350), (10, 600, 1200), (15, 520, 1065), (20, 440, 930)):
        found = takeoff(a, *at, headwind_mps=wind * KT)
        assert (found.ground_roll_m / FT, (found.over_50_ft_m or 0) / FT) == pytest.approx((roll, total))
    high = takeoff(a, 2300 * LB, 2000 * FT, 288.15, headwind_mps=10 * KT)
    assert high.ground_roll_m / FT == pytest.approx(0.75 * 1000)
    strong = takeoff(a, *at, headwind_mps=30 * KT)
    assert strong.ground_roll_m / FT == pytest.approx(440)
    assert any("no more than its 20 kt is credited" in step for step in strong.steps)
    assert takeoff(a, *at, headwind_mps=-5 * KT).ground_roll_m > 800 * FT  # a tailwind gets no column's share


def test_rows_at_a_wind_need_their_calm_row_and_no_rule_beside_them(small: Callable[..., Airplane]) -> None:
    with pytest.raises(ValueError, match="have no calm row"):
        windy(small, WINDY[1:])
    with pytest.raises(ValueError, match="need no headwind correction"):
        windy(small, corrections=[{"cause": "headwind", "change_percent": -10, "per": 9, "unit": "kt"}])


def test_a_slip_in_a_windy_row_is_named_by_the_row_of_the_file(small: Callable[..., Airplane]) -> None:
    from airwork.airplane.check import check_airplane

    more = [(2300, 2000, 15, 980, 1880, 0), (2300, 2000, 15, 735, 1504, 10), (2300, 2000, 15, 539, 1166, 20)]
    assert not [c for c in check_airplane(windy(small, WINDY + more)) if "headwind" in str(c)]
    slip = [(*row[:3], 795, *row[4:]) if row[:2] == (2300, 2000) and row[5] == 20 else row for row in WINDY + more]
    said = [str(c) for c in check_airplane(windy(small, slip)) if "headwind" in str(c)]
    assert len(said) == 1
    assert "20 kt of headwind, 2,300 lb, 2,000 ft, 15" in said[0]
    calm = [(*row[:4], 300, 0) if row[:2] == (2300, 2000) and row[5] == 0 else row for row in WINDY + more]
    assert any("takeoff] row 7" in str(c) for c in check_airplane(windy(small, calm)))


SHEET = [(1650, h, 15 - 1.98 * h / 1000, r, t) for h, r, t in
         ((0, 435, 1150), (2500, 465, 1190), (5000, 500, 1240), (7500, 535, 1290))]  # fmt: skip


def test_a_landing_sheet_of_standard_air_is_entered_at_density_altitude_and_says_so(
    small: Callable[..., Airplane],
) -> None:
    """By physics: at one indicated speed the roll goes with 1/σ, at one pressure with the absolute temperature.

    Sea level, 35 °C: 308.15/288.15 of the standard roll. The sheet's own rows keep to that within 1 %. By hand, [ISA]:
    density altitude (1 − (288.15/308.15)^(1/4.2559)) · 288.15/0.0019812 = 2,274 ft.
    """
    a = airplane(small, "landing", SHEET)
    found = landing(a, 1650 * LB, 0.0, 308.15)
    assert found.ground_roll_m / FT == pytest.approx(435 * 308.15 / 288.15, rel=0.01)
    assert found.ground_roll_m / FT == pytest.approx(435 + 30 * 2274 / 2500, abs=0.2)
    assert any("density altitude" in step and "2,27" in step for step in found.steps)
    assert AT_DENSITY in found.steps
    cold = landing(a, 1650 * LB, 2500 * FT, 250.0)
    assert cold.ground_roll_m / FT == pytest.approx(465)
    assert AT_DENSITY not in cold.steps


def test_density_altitude_is_never_beyond_the_sheet_nor_for_a_takeoff_or_another_table(
    small: Callable[..., Airplane],
) -> None:
    with pytest.raises(OutOfRange, match=r"density altitude .* is outside .* 7,500"):
        landing(airplane(small, "landing", SHEET), 1650 * LB, 6000 * FT, 308.15)
    with pytest.raises(OutOfRange, match="temperature"):
        takeoff(airplane(small, "takeoff", SHEET), 1650 * LB, 0.0, 308.15)
    warm = [(w, h, t + 10, *rest) for w, h, t, *rest in SHEET]  # printed for warm air: no standard sheet
    with pytest.raises(OutOfRange, match="temperature"):
        landing(airplane(small, "landing", warm), 1650 * LB, 0.0, 308.15)
