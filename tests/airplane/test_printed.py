"""Books in other units: typed as printed, converted without dust, shown as printed."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from airwork import units
from airwork.airplane import Airplane
from airwork.airplane.file.load import parse_airplane_file
from airwork.airplane.file.model import AirplaneFile
from airwork.airplane.file.printed import as_printed, converted, spellings, unit_of
from airwork.airplane.runway import landing, takeoff
from airwork.errors import InputError, OutOfRange
from airwork.web.airplane_tables import tables_of

# A metric book, written for this test: kg, m, L, hPa, deviations from standard, stalls calibrated by bank.
METRIC = """
[airplane]
schema_version = 1
id = "metric"
name = "Metric"
maximum_takeoff_weight_kg = 1150
wing_area_m2 = 16.3
airspeed_indicator_unit = "kt"

[engine]
rated_power_ps = 100
rated_rpm = 2700
fuel_system = "carburetor"

[propeller]
type = "fixed_pitch"

[flaps]
notches = [{ notch = 0 }, { notch = 1, maximum_speed_kias = 90 }]

[fuel]
tanks = [{ name = "left", usable_l = 55, unusable_l = 3 }]

[performance.climb]
temperature_correction = { change_percent = -10, per_c = 10 }
columns = ["weight_kg", "pressure_altitude_ft", "isa_deviation_c", "rate_of_climb_fpm"]
rows = [
  [1150, 0, 0, 700],
  [1150, 4000, 0, 500],
]

[performance.takeoff]
columns = ["weight_kg", "pressure_altitude_m", "isa_deviation_c", "ground_roll_m", "total_over_15_m"]
rows = [
  [1150, 0, 0, 300, 500],
  [1150, 0, 20, 340, 570],
  [1150, 1000, 0, 360, 600],
  [1150, 1000, 20, 410, "-"],
]
corrections = [{ cause = "dry_grass", change_percent = 10, applies_to = "share_of_total" }]
"""


@pytest.fixture(scope="module")
def metric() -> Airplane:
    """The metric book."""
    return Airplane(parse_airplane_file(METRIC))


def standard_k(height_m: float, above: float = 0.0) -> float:
    """Standard temperature: 288.15 K less 6.5 K for each km (the International Standard Atmosphere)."""
    return 288.15 - 0.0065 * height_m + above


def test_a_weight_at_the_books_limit_is_inside_its_table(metric: Airplane) -> None:
    assert metric.max_takeoff_mass_kg == pytest.approx(1150, abs=1e-9)
    assert takeoff(metric, metric.max_takeoff_mass_kg, 0.0, standard_k(0)).ground_roll_m == pytest.approx(300)


def test_between_columns_a_table_by_deviation_is_read_by_deviation(metric: Airplane) -> None:
    """Halfway in both: the mean of the four printed rolls, worked by hand: (300 + 340 + 360 + 410) / 4."""
    found = takeoff(metric, 1150, 500.0, standard_k(500, 10))
    assert found.ground_roll_m == pytest.approx(352.5)
    assert "1,150 kg, pressure altitude 500 m, standard +10 °C: roll 352 m" in found.steps[0]


def test_a_refusal_names_the_books_own_units(metric: Airplane) -> None:
    with pytest.raises(OutOfRange, match=r"weight 1,151 kg is outside the takeoff table \(1,150 kg alone\)"):
        takeoff(metric, 1151, 0.0, standard_k(0))
    with pytest.raises(OutOfRange, match=r"temperature above standard 21 °C is outside"):
        takeoff(metric, 1150, 0.0, standard_k(0, 21))


def test_a_share_of_the_total_is_added_to_both(metric: Airplane) -> None:
    """10 % of the total, 500 m: 50 m more for each (by hand)."""
    found = takeoff(metric, 1150, 0.0, standard_k(0), surface="dry_grass")
    assert (found.ground_roll_m, found.over_50_ft_m) == (pytest.approx(350), pytest.approx(550))


def test_the_climb_rule_is_for_warmer_air_alone(metric: Airplane) -> None:
    """−10 % for each 10 °C above the printed temperature: 700 ft/min becomes 560 at 20 °C above (by hand)."""
    fpm = units.FPM_MPS
    assert metric.climb_rate_mps(1150, 0.0, standard_k(0, 20)) / fpm == pytest.approx(560)
    assert metric.climb_rate_mps(1150, 0.0, standard_k(0, -20)) / fpm == pytest.approx(700)


def test_fuel_and_power_are_converted_exactly(metric: Airplane) -> None:
    """1 PS is 735.49875 W (75 kgf·m/s); 1 L is 0.001 m³."""
    assert metric.rated_power_w == pytest.approx(73549.875)
    assert metric.tanks[0].usable_m3 == pytest.approx(0.055)
    assert metric.tanks[0].capacity_m3 == pytest.approx(0.058)


def test_tables_are_shown_as_printed() -> None:
    view = next(t for t in tables_of(METRIC) if t.title == "Takeoff distance")
    assert view.head == [
        "weight kg", "pressure altitude m", "ISA deviation °C", "ground roll m", "total over the obstacle m"
    ]  # fmt: skip
    assert view.rows[3] == ["1,150", "1,000", "20", "410", ""]


def test_a_mistake_is_named_in_the_units_of_the_file() -> None:
    with pytest.raises(InputError, match=r"row 2 \(line 36\), ground_roll_m: found 34000, expected at most 6096"):
        parse_airplane_file(METRIC.replace("[1150, 0, 20, 340, 570]", "[1150, 0, 20, 34000, 570]"))
    with pytest.raises(InputError, match="row 2 \\(line 36\\): 4 values, the table has 5 columns"):
        parse_airplane_file(METRIC.replace("[1150, 0, 20, 340, 570]", "[1150, 0, 20, 340]"))
    with pytest.raises(InputError, match="say the same; give one"):
        parse_airplane_file(METRIC.replace("rated_power_ps = 100", "rated_power_ps = 100\nrated_power_kw = 74"))


def test_a_temperature_and_a_deviation_that_disagree_are_refused() -> None:
    text = METRIC.replace('"isa_deviation_c", "rate', '"isa_deviation_c", "oat_c", "rate')
    text = text.replace("[1150, 0, 0, 700]", "[1150, 0, 0, 25, 700]").replace(
        "[1150, 4000, 0, 500]", "[1150, 4000, 0, 7, 500]"
    )
    with pytest.raises(InputError, match="25 °C there is not \\+0 °C from standard"):
        parse_airplane_file(text)


KEYS = [(key, name, unit) for key in (
    "weight_lb", "arm_in", "ground_roll_ft", "wing_area_ft2", "usable_us_gal", "gph_full_rich", "kias", "distance_nm",
    "oat_c", "isa_deviation_c", "manifold_pressure_inhg", "rated_power_hp", "fuel_density_lb_per_us_gal",
) for name, unit in spellings(key)]  # fmt: skip


@given(st.sampled_from(KEYS), st.integers(min_value=-400, max_value=99999))
def test_what_was_typed_comes_back(key: tuple[str, str, str], tenths: int) -> None:
    typed = tenths / 10
    assert as_printed(converted(typed, key[0], key[2]), key[0], key[2]) == pytest.approx(typed, abs=1e-6)


def test_factors_are_the_published_ones() -> None:
    """International pound 0.45359237 kg, foot 0.3048 m, US gallon 3.785411784 L, imperial gallon 4.54609 L."""
    assert converted(0.45359237, "weight_lb", "kg") == pytest.approx(1)
    assert converted(304.8, "ground_roll_ft", "m") == pytest.approx(1000)
    assert converted(3.785411784, "usable_us_gal", "L") == pytest.approx(1)
    assert converted(10, "usable_us_gal", "impgal") == pytest.approx(45.4609 / 3.785411784)
    assert converted(18, "isa_deviation_c", "°F") == pytest.approx(10)
    assert converted(50, "oat_c", "°F") == pytest.approx(10)
    assert converted(0.72, "fuel_density_lb_per_us_gal", "kg/L") == pytest.approx(6.009, abs=0.001)


def test_every_unit_of_a_key_is_one_airwork_can_write() -> None:
    for model in (AirplaneFile,):
        for key in model.model_fields:
            for _, unit in spellings(key):
                assert math.isfinite(converted(1.0, key, unit)), (key, unit_of(key))


def test_landing_tables_are_metric_too() -> None:
    text = METRIC.replace("performance.takeoff", "performance.landing")
    found = landing(Airplane(parse_airplane_file(text)), 1150, 0.0, standard_k(0))
    assert found.over_50_ft_m == pytest.approx(500)


def test_the_days_numbers_are_in_the_books_units(metric: Airplane) -> None:
    from airwork.airplane.numbers import numbers_for
    from airwork.airplane.numbers.question import Question

    shown = {line.key: line.text for line in numbers_for(metric, Question()).conditions}
    assert shown["weight"] == "1,150 kg"
    assert (metric.book.mass, metric.book.arm) == ("kg", "in")


def test_a_speed_and_a_flow_are_told_in_the_books_units() -> None:
    """What was typed in kg is not answered in lb, a flow typed in L/h not in gph."""
    more = """
[v_speeds]
rows = [{ name = "stall_flaps_up", weight_kg = 1150, kias = 50 }, { name = "best_glide", weight_kg = 1150, kias = 70 }]

[performance.cruise]
columns = ["pressure_altitude_ft", "rpm", "percent_power", "ktas", "lph_full_rich"]
rows = [[2000, 2200, 55, 90, 18], [2000, 2500, 75, 105, 25]]
"""
    metric, imperial = (Airplane(parse_airplane_file(METRIC + text)) for text in (more, more.replace("lph", "gph")))
    assert metric.stall_answer(900.0).note == "√W, lighter than the printed 1,150 kg"
    assert metric.speed_answer("best_glide", 900.0, 0.0).note == "√W, lighter than the printed 1,150 kg"
    assert (metric.book.flow, imperial.book.flow) == ("L/h", "gph")


def test_a_speed_printed_in_knots_and_mph_is_read_once_and_must_be_one() -> None:
    """The dial's own column is kept; two columns that disagree are refused at their row, for one can't be meant."""
    rows = '[v_speeds]\nrows = [{ name = "best_glide", kias = 60, indicated_mph = 69 }]\n'
    text = METRIC.replace("[fuel]", rows + "[fuel]")
    in_knots = parse_airplane_file(text).v_speeds
    assert in_knots is not None
    assert in_knots.rows[0].kias == 60
    in_mph = parse_airplane_file(text.replace('unit = "kt"', 'unit = "mph"'))
    assert in_mph.v_speeds is not None
    assert in_mph.v_speeds.rows[0].kias == pytest.approx(69 * 0.8689762, abs=1e-4)
    assert in_mph.printed["v_speeds.rows"] == {"kias": "indicated_mph"}
    for typed, words in (("60", "one is in the wrong unit"), ("96", "a digit of one is wrong")):
        with pytest.raises(InputError, match=words) as refused:
            parse_airplane_file(text.replace("mph = 69", f"mph = {typed}"))
        at = refused.value.where
        assert (at.table, at.row, at.field) == ("v_speeds", 0, "kias")


def test_what_is_the_same_in_every_row_may_stand_once_over_them(metric: Airplane) -> None:
    """A book for one weight: the file reads as with the column; a row that says its own keeps it."""
    once = METRIC.replace(
        """columns = ["weight_kg", "pressure_altitude_ft", "isa_deviation_c", "rate_of_climb_fpm"]
rows = [
  [1150, 0, 0, 700],
  [1150, 4000, 0, 500],
]""",
        """weight_kg = 1150
isa_deviation_c = 0
columns = ["pressure_altitude_ft", "rate_of_climb_fpm"]
rows = [
  [0, 700],
  [4000, 500],
]""",
    )
    assert once != METRIC
    assert parse_airplane_file(once).performance.climb == metric.file.performance.climb
    with pytest.raises(InputError, match=r"\[performance.climb\] row 1.*oat_c: found 'warm'"):
        parse_airplane_file(once.replace("isa_deviation_c = 0\ncolumns", 'oat_c = "warm"\ncolumns', 1))
