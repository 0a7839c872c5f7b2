"""The day's numbers: what an instructor reads off, each with how it was had."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from airwork import units
from airwork.airplane import Airplane, find_airplane_file, load_airplane
from airwork.airplane.numbers import Field, Numbers, Question, numbers_for
from airwork.errors import AirworkError, InputError
from airwork.output.numbers_text import WIDTH, numbers_text

FT, LB, INHG, GAL = units.FT_M, units.LB_KG, units.INHG_PA, units.USGAL_M3
LARKMOOR = load_airplane(find_airplane_file("larkmoor_155"))
EXAMPLE = Question(altitude_m=6500 * FT, setting_pa=30.05 * INHG, temperature_k=297.15, mass_kg=2200 * LB)


def value(numbers: Numbers, key: str, column: str = "") -> float:
    """The number of a line."""
    found = numbers.find(key, column).value
    assert found is not None
    return found.value


def test_the_air_of_the_handbooks_problem_published() -> None:
    """Worked examples B1, B2 [V] PHAK ch. 11: 5,883 ft, 30.10 inHg: 5,718 ft; 70 °F: 7,700 ft by the chart."""
    q = Question(altitude_m=5883 * FT, setting_pa=30.10 * INHG, temperature_k=units.from_unit(70, "°F"))
    numbers = numbers_for(LARKMOOR, q)
    assert value(numbers, "pressure_altitude") == pytest.approx(5718, abs=2)
    assert value(numbers, "density_altitude") == pytest.approx(7700, abs=50)


def test_lighter_than_the_climb_table_climbs_no_worse_than_its_lightest_weight_and_it_is_said() -> None:
    q = Question(altitude_m=5000 * FT, mass_kg=1600 * LB)
    printed = Question(altitude_m=5000 * FT, mass_kg=1750 * LB)
    light, at_it = (numbers_for(LARKMOOR, x).find("rate_of_climb").value for x in (q, printed))
    assert light is not None
    assert at_it is not None
    assert light.value == at_it.value
    assert "the table's lightest 1,750 lb" in light.note
    assert at_it.note == ""


def test_no_fuel_flow_stands_at_a_power_the_airplane_has_not_today() -> None:
    """At 8,830 ft the chart ends at 69 %: a flow at 75 % would belong to an engine speed that isn't there."""
    numbers = numbers_for(LARKMOOR, EXAMPLE)
    for key in ("rpm", "fuel_flow_full_rich", "fuel_flow_best_power", "fuel_flow_best_economy"):
        assert numbers.find(key, "65 %").value is not None
        refused = numbers.find(key, "75 %")
        assert refused.value is None
        assert "outside the power chart" in refused.refused


def test_humid_density_altitude_published() -> None:
    """Worked example C4 (results [D]): 30 °C, dew point 15 °C, 24.896 inHg station: dry 7,801, exact moist 8,048 ft."""
    q = Question(altitude_m=5000 * FT, setting_pa=101325.0, temperature_k=303.15, dewpoint_k=288.15)
    numbers = numbers_for(LARKMOOR, q)
    assert value(numbers, "density_altitude") == pytest.approx(7801, abs=3)
    assert value(numbers, "density_altitude_humid") == pytest.approx(8048, abs=3)


def test_five_to_ten_knots_above_the_stall_is_right_on_a_mph_dial() -> None:
    """5 kt are 5.75 mph: the range starts 5.75 and ends 11.5 mph above the stall the dial shows."""
    numbers = numbers_for(LARKMOOR, EXAMPLE)
    stall, slow = numbers.find("stall_flaps_3"), numbers.find("slow_flight_flaps_3")
    assert stall.value is not None
    assert slow.value is not None
    assert slow.value.unit == "mph"
    assert slow.value.value - stall.value.value == pytest.approx(5 * 1.150779, abs=0.02)
    upper = next(v for label, v in slow.also if label == "upper end" and v.unit == "mph")
    assert upper.value - stall.value.value == pytest.approx(10 * 1.150779, abs=0.02)
    assert slow.text == "51 to 57 mph (44 to 49 kt)"


def test_speeds_stand_in_the_dials_unit_with_the_other_beside() -> None:
    line = numbers_for(LARKMOOR, EXAMPLE).find("never_exceed")
    assert line.text == "178 mph (155 kt)"
    turned = numbers_for(LARKMOOR.with_dial("kt"), EXAMPLE).find("never_exceed")
    assert turned.text == "155 kt (178 mph)"


def test_power_leaning_and_settings(larkmoor: Airplane, caldmere: Airplane) -> None:
    """4,000 ft standard: printed rows of the chart."""
    fixed = numbers_for(larkmoor, Question(altitude_m=4000 * FT, rpm=2400))
    assert value(fixed, "percent_power") == pytest.approx(63, abs=0.01)
    assert fixed.find("leaning_limit").text == "allowed at 63 % (limit 75 %)"
    assert value(fixed, "rpm", "65 %") == 2430
    high = numbers_for(larkmoor, Question(altitude_m=4000 * FT, rpm=2700))
    assert high.find("leaning_limit").text == "NOT allowed at 88 % (limit 75 %)"
    constant = numbers_for(caldmere, Question(altitude_m=4000 * FT, rpm=2400, manifold_pressure_pa=22 * INHG))
    assert value(constant, "percent_power") == pytest.approx(66, abs=0.01)
    assert constant.find("manifold_pressure", "65 %").value is not None
    asked = numbers_for(larkmoor, Question(altitude_m=4000 * FT, power_ratio=0.65))
    assert asked.find("rpm").text == "2,430 RPM"


def test_a_number_a_table_refuses_is_a_line_that_says_so() -> None:
    numbers = numbers_for(LARKMOOR, Question(altitude_m=13500 * FT, temperature_k=288.15))
    for key in ("rate_of_climb", "rpm", "best_angle_of_climb"):
        line = numbers.find(key)
        assert line.value is None
        assert line.refused.startswith("outside ")
        assert " to " in line.refused
    assert numbers.find("never_exceed").value is not None


def test_the_turn_of_the_bank_asked_published() -> None:
    """Worked example F7 [D]: 100 KTAS, 45°: 10.92 °/s, 885 ft, 33 s. E3: 1.414 g, stall × 1.189."""
    cas = 100 * units.KT_MPS  # at sea level, standard: true = calibrated
    q = Question(
        altitude_m=0.0, mass_kg=2300 * LB, bank_rad=units.from_unit(45, "deg"), ias_mps=LARKMOOR.ias_from_cas_mps(cas)
    )
    numbers = numbers_for(LARKMOOR, q)
    assert value(numbers, "turn_rate") == pytest.approx(10.92, abs=0.01)
    assert value(numbers, "turn_radius") == pytest.approx(885.4, abs=1)
    assert value(numbers, "load_factor") == pytest.approx(1.4142, abs=0.001)
    banked = next(v for label, v in numbers.find("stall_in_bank_flaps_0").also if label == "calibrated")
    assert banked.value == pytest.approx(54 * 1.1892, abs=0.01)


def test_a_bank_beyond_the_limit_load_gives_no_stall_speed() -> None:
    numbers = numbers_for(LARKMOOR, Question(bank_rad=units.from_unit(62, "deg")))
    assert "over the limit of 2 g" in numbers.find("stall_in_bank_flaps_3").refused
    assert numbers.find("stall_in_bank_flaps_0").value is not None


def test_what_was_not_given_is_assumed_and_shown_as_assumed() -> None:
    numbers = numbers_for(LARKMOOR, Question())
    assert {line.value.how for line in numbers.conditions if line.value is not None} == {"assumed"}
    assert len(numbers.assumptions) == 4
    given_ = numbers_for(LARKMOOR, EXAMPLE)
    assert {line.value.how for line in given_.conditions if line.value is not None} == {"given"}
    assert given_.assumptions == ()


def test_a_field_without_an_altitude_gives_the_air_of_the_field() -> None:
    numbers = numbers_for(LARKMOOR, Question(field=Field(1200 * FT, 299.15), mass_kg=1950 * LB))
    assert value(numbers, "pressure_altitude") == pytest.approx(1200, abs=1)
    aloft = numbers_for(LARKMOOR, Question(altitude_m=1200 * FT, temperature_k=299.15, mass_kg=1950 * LB))
    for key in ("density_altitude", "rate_of_climb"):
        assert value(numbers, key) == value(aloft, key)
    assert "altitude not given: the field taken" in numbers.assumptions
    assert "temperature not given: that of the field taken" in numbers.assumptions


def test_a_handbook_of_two_pages_says_once_what_it_lacks(small: Callable[..., Airplane]) -> None:
    numbers = numbers_for(small(flaps={"notches": [{"notch": 0}]}), Question())
    text = " ".join(numbers_text(numbers).split())
    assert text.count("no percent power") == 1
    assert text.count("no fuel flow for full rich") == 1
    with pytest.raises(KeyError):
        numbers.find("approach_flaps_full")


def test_loading_gives_the_weight_and_the_legal_categories() -> None:
    q = Question(station_mass_kg={"front seats": 340 * LB}, tank_m3={"left wing": 15 * GAL, "right wing": 18 * GAL})
    numbers = numbers_for(LARKMOOR, q)
    assert value(numbers, "weight", "as loaded") == pytest.approx(1923)
    assert value(numbers, "weight", "fuel burned") == pytest.approx(1725)
    assert numbers.find("normal", "as loaded").text == "yes"
    assert "behind its aft limit" in numbers.find("utility", "as loaded").refused
    with pytest.raises(InputError, match="not both"):
        numbers_for(LARKMOOR, Question(mass_kg=900.0, station_mass_kg={"front seats": 100.0}))


def test_cautions_stand_where_they_are_due() -> None:
    heavy = numbers_for(LARKMOOR, Question(mass_kg=2400 * LB))
    assert any("100 lb over the maximum takeoff weight" in c for c in heavy.cautions)
    field = Field(length_m=1000 * FT, crosswind_mps=16 * units.KT_MPS)
    windy = numbers_for(LARKMOOR, Question(mass_kg=1900 * LB, field=field))
    assert any("crosswind" in c for c in windy.cautions)
    assert any("shorter than the distance" in c for c in windy.cautions)
    icy = numbers_for(LARKMOOR, Question(temperature_k=283.15, dewpoint_k=282.15))
    assert any("carburetor icing" in c for c in icy.cautions)
    assert numbers_for(LARKMOOR, EXAMPLE).cautions == ()


@pytest.mark.parametrize(
    ("question", "words"),
    [
        (Question(mass_kg=300.0), "weight"),
        (Question(mass_kg=9000.0), "maximum takeoff weight"),
        (Question(setting_pa=50_000.0), "altimeter setting"),
        (Question(altitude_m=60_000.0), "altitude"),
        (Question(temperature_k=370.0), "°F typed as °C?"),
        (Question(temperature_k=288.0, dewpoint_k=290.0), "above the temperature"),
        (Question(flap_notch=7), "notch 7"),
        (Question(rpm=27000.0), "no engine speed"),
        (Question(power_ratio=1.5), "150 % of rated power"),
        (Question(manifold_pressure_pa=70_000.0), "fixed-pitch"),
    ],
)
def test_a_question_that_cannot_be_is_refused_in_words(question: Question, words: str) -> None:
    with pytest.raises(InputError, match=words):
        numbers_for(LARKMOOR, question)


@given(
    st.sampled_from(["larkmoor_155", "wrenbrook_108", "caldmere_200"]),
    st.floats(-300, 4500), st.floats(95_000, 107_000), st.floats(238, 318), st.floats(0.72, 1.02),
    st.sampled_from([None, 1200.0, 2350.0, 2700.0]), st.sampled_from([None, 0.0, 0.6, 1.2]),
    st.sampled_from(["", "paved_dry", "dry_grass", "snow"]),
)  # fmt: skip
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_any_flyable_day_gives_a_screen_no_wider_than_it_may_be(
    name: str,
    height: float,
    setting: float,
    warm: float,
    share: float,
    rpm: float | None,
    bank: float | None,
    surface: str,
) -> None:
    """Nothing but our own errors, every value says how it was had, every refusal why."""
    a = load_airplane(find_airplane_file(name))
    field = Field(elevation_m=200.0, surface=surface, headwind_mps=-3.0, length_m=900.0) if surface else None
    q = Question(
        height, setting, warm, None, share * a.max_takeoff_mass_kg, rpm, None, None, None, bank, None, field=field
    )
    try:
        numbers = numbers_for(a, q)
    except AirworkError:
        return
    assert max(len(line) for line in numbers_text(numbers).splitlines()) <= WIDTH
    for section in numbers.sections:
        for line in section.lines:
            assert line.text
            if line.value is not None:
                assert line.value.how
                assert line.value.source
            assert line.value is None or line.value.value == line.value.value  # never NaN


def test_json_gives_every_value_with_unit_how_and_source(small: Callable[..., Airplane]) -> None:
    data: dict[str, Any] = numbers_for(LARKMOOR, EXAMPLE).as_json()
    stall = next(n for s in data["sections"] for n in s["numbers"] if n["key"] == "stall_flaps_0")
    assert (stall["unit"], stall["how"], stall["source"]) == ("mph", "formula", "handbook, stall speeds")
    assert {(also["as"], also["unit"]) for also in stall["also"]} == {("indicated", "kt"), ("calibrated", "kt")}
    bare = numbers_for(small(), Question()).as_json()
    assert bare["assumptions"]
