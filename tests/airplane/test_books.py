"""Whole books as people type them: American, European, of the 1970s, a diesel's; all invented."""

from __future__ import annotations

from pathlib import Path

import pytest

from airwork import units
from airwork.airplane import Airplane
from airwork.airplane.check import check_airplane
from airwork.airplane.check.proof import proof
from airwork.airplane.check.reading_back import read_back
from airwork.airplane.file.load import parse_airplane_file
from airwork.airplane.runway import takeoff

BOOKS = Path(__file__).parent / "books"


def text_of(name: str) -> str:
    """A book's file."""
    return (BOOKS / f"{name}.toml").read_text(encoding="utf-8")


def _airplane(text: str) -> Airplane:
    return Airplane(parse_airplane_file(text))


def test_an_american_book_loads_and_is_sound() -> None:
    text = text_of("evening")
    airplane = _airplane(text)
    assert [str(c) for c in check_airplane(airplane)] == []
    assert airplane.id == "testbird_160"
    assert airplane.dial_unit == "mph"
    assert airplane.categories == ("normal", "utility")
    assert airplane.file.weight_and_balance is not None
    assert airplane.file.weight_and_balance.envelope_utility is not None
    assert airplane.file.weight_and_balance.envelope_utility.rear_seats_empty
    assert airplane.file.weight_and_balance.envelope_utility.baggage_maximum_lb == 0
    assert airplane.flap_notches[2].max_ias_mps == pytest.approx(100 * units.KT_MPS, abs=0.03)
    assert airplane.tanks[1].usable_m3 == pytest.approx(20 * units.USGAL_M3, rel=1e-3)
    assert airplane.selector_positions[1].feeds == ("right wing",)
    assert airplane.file.performance.cruise is not None
    assert airplane.file.performance.cruise.rows[1].gph_best_economy is None
    assert airplane.file.performance.takeoff is not None
    assert airplane.file.performance.takeoff.corrections[1].applies_to == "ground_roll"
    warm = airplane.file.performance.takeoff.corrections[2]
    assert (warm.cause, warm.per, warm.unit) == ("above_standard_temperature", 14, "C")
    assert airplane.file.performance.landing is not None
    assert airplane.file.performance.landing.corrections[2].unit == "F"
    forbidden = airplane.maneuver_permission("spin")
    assert forbidden is not None
    assert forbidden.permitted_in == []
    assert airplane.file.limitations is not None
    assert airplane.file.limitations.prohibited == ["spins", "flying inverted long"]


def test_a_european_book_is_read_as_printed() -> None:
    airplane = _airplane(text_of("european"))
    assert airplane.max_takeoff_mass_kg == pytest.approx(750)
    assert airplane.file.performance.stall is not None
    assert airplane.file.performance.stall.rows[1].bank_deg == 30
    assert airplane.glide_ratio == 11
    assert any(
        "Landing at 750 kg, flaps at notch 2 (35°), sea level, standard: 400 m over the obstacle" in sentence
        for sentence in proof(airplane)
    )
    numbers = [str(number) for number in read_back(airplane)]
    assert any("arm of front seats: 1,900 mm" in n for n in numbers)
    assert any("takeoff table: flaps up; dry grass +10 %; headwind −10 % for every 9 kt" in n for n in numbers)


def test_a_book_of_the_seventies_is_read_as_printed() -> None:
    """One weight, standard air, a column for each wind, speeds calibrated."""
    a = _airplane(text_of("seventies"))
    found = takeoff(a, a.max_takeoff_mass_kg, 0.0, 288.15, headwind_mps=units.from_unit(10, "kt"))
    assert found.ground_roll_m is not None
    assert found.ground_roll_m / units.FT_M == pytest.approx(615)
    assert found.over_50_ft_m is not None
    assert found.over_50_ft_m / units.FT_M == pytest.approx(1170)
    assert a.engine.power_is_estimated
    assert any("mean aerodynamic chord: 58.8 in" in str(n) for n in read_back(a))
    assert any("RPM (about " in sentence for sentence in proof(a))
    assert check_airplane(a) == ()


def test_a_diesels_fuel_weighs_what_it_weighs_and_no_rpm_stands_for_a_percent() -> None:
    """Jet fuel: 0.775 to 0.840 kg/L at 15 °C (ASTM D1655, from memory); avgas about 0.72."""
    a = _airplane(text_of("diesel"))
    assert a.fuel_density_kgpm3 == pytest.approx(800)
    assert a.fuel_flow_m3ps(0.7, "full_rich") / units.LITRE_M3 * 3600 == pytest.approx(20.6)
    assert a.engine.chart is None
    assert check_airplane(a) == ()


def test_a_selector_position_may_be_a_bare_name_where_it_says_its_tanks() -> None:
    book = text_of("evening")
    start = book.index("selector_positions = [")
    bare = (
        book[:start]
        + 'selector_positions = ["left", { name = "right" }, "both", "off"]'
        + book[book.index("\n]", start) + 2 :]
    )
    positions = _airplane(bare).selector_positions
    assert [(p.name, len(p.feeds or ())) for p in positions] == [("left", 1), ("right", 1), ("both", 2), ("off", 0)]


def test_a_slip_in_the_rated_rpm_is_asked_about_there_and_not_at_the_propeller() -> None:
    """115 for 2,700: the tips' speed was doubted, with the diameter first."""
    asked = check_airplane(_airplane(text_of("evening").replace("rated_rpm = 2700", "rated_rpm = 115")))
    assert any((c.where.table, c.where.field) == ("engine", "rated_rpm") for c in asked)
    assert not any(c.where.table == "propeller" for c in asked if "tips" in c.what)
