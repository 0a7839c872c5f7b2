"""What is typed from a handbook: numbers, units and words of every hand, and the file that comes of whole books."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from airwork import units
from airwork.airplane import Airplane
from airwork.airplane.check import check_airplane
from airwork.airplane.file.load import parse_airplane_file
from airwork.airplane.runway import takeoff
from airwork.airplane.writing import assemble, cells, proof, questions, read_back, toml_text
from airwork.airplane.writing.question import slug
from airwork.airplane.writing.tables import CAUSES, CAUSES_ALSO, CHANGES, ON_ALSO, climb_rule
from airwork.airplane.writing.units_of_book import KINDS as BOOK_KINDS
from airwork.airplane.writing.units_of_book import SUBJECTS, read_units
from airwork.errors import InputError
from typed_books import DIESEL, EUROPEAN, EVENING, SEVENTIES, answered, file_text


def _airplane(text: str) -> Airplane:
    return Airplane(parse_airplane_file(text))


def test_a_book_makes_a_file_that_loads_and_is_sound() -> None:
    text = file_text(EVENING)
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
    assert "# From this airplane's latest weighing" in text


def test_the_fewest_answers_make_a_file_too() -> None:
    """Every optional question skipped: the least a handbook of two pages gives."""
    needed = {
        "name": "Least", "dial": "kt", "takeoff_weight": 1500, "rated_power": 85, "rated_rpm": 2575,
        "fuel_system": "fuel injection", "propeller": "constant speed",
        "tanks": [{"name": "main", "capacity_us_gal": 20, "usable_us_gal": 19}],
    }  # fmt: skip
    answers: dict[str, object] = {}
    while (question := next((q for q in questions(answers) if q.key not in answers), None)) is not None:
        default = question.read(question.default) if question.default else None
        answers[question.key] = needed.get(question.key, [] if question.columns else default)
    file = parse_airplane_file(toml_text(assemble(answers)))
    assert file.airplane.id == "least"
    assert file.performance.stall is None
    assert "[performance.takeoff]: without it takeoff distance is not known" in toml_text(assemble(answers))


def test_knots_are_knots_however_they_are_written() -> None:
    assert {cells.dial_unit(text) for text in ("kt", "kts", "Knots", "kn")} == {"kt"}
    assert cells.dial_unit("mph") == "mph"


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("16,3", 16.3),
        ("0,962", 0.962),
        ("1.150,5", 1150.5),
        ("1,150", 1150),
        ("1'150", 1150),
        ("1 150", 1150),
        ("−20 %", -20),
        ("+7", 7),
    ],
)
def test_numbers_of_other_countries_are_understood(text: str, number: float) -> None:
    assert cells.number()(text) == number


def test_what_can_be_read_two_ways_is_asked_about() -> None:
    with pytest.raises(InputError, match=r"'1.150' can be 1150 or 1.15"):
        cells.quantity("mass", "kg")("1.150 kg")


def test_units_a_pilot_writes() -> None:
    """1 PS = 735.49875 W, 1 hp = 745.69987 W (550 ft·lbf/s): 100 PS are 98.6 hp."""
    assert cells.quantity("power", "hp", 1)("100 PS") == 98.6
    assert cells.rpm("2400 min⁻¹") == cells.rpm("2400 tr/min") == 2400
    assert cells.quantity("volume", "impgal", 2)("15 imp gal") == cells.quantity("volume", "impgal", 2)("15") == 15
    for unit, text in (("impgal", "15 gallons"), ("impgal/h", "8 gph")):  # of a book in imperial gallons
        with pytest.raises(InputError, match="US or imperial gallons"):
            cells.quantity("volume" if unit == "impgal" else "volume_flow", unit)(text)
    assert cells.speed("kt")("53 kn") == 53
    assert cells.speed("mph")("60 MIAS") == 60
    assert cells.ratio("1:10") == cells.ratio("10:1") == 10
    assert cells.quantity("area", "m²", 2)("175 sq ft") == 16.26
    assert cells.deviation("°C")("ISA-15") == -15


def test_words_of_every_hand_are_read_or_asked_about_never_swallowed() -> None:
    assert [cells.low_high(t) for t in ("-1.52 3.8", "-1,52 3,8", "+3.8 g, -1.52 g", "3.8/-1.52")] == [[-1.52, 3.8]] * 4
    assert [cells.ratio(t) for t in ("1:10", "10:1", "1 in 10", "10 / 1", "10 to 1")] == [10] * 5
    span = cells.quantity("length", "ft", 2)
    assert [span(t) for t in ("36 ft 1 in", "36' 1\"", "36′ 1″")] == [36.08] * 3
    arm = cells.quantity("length", "m", 3, most=30)
    assert arm("1.368") == arm("1,368") == 1.368
    assert cells.choices(("normal", "light_sport"))("normal, light-sport") == ["normal", "light_sport"]
    assert cells.choice(("dry_grass", "wet_grass"))("Dry grass") == "dry_grass"
    with pytest.raises(InputError, match="choose dry_grass or wet_grass"):
        cells.choice(("dry_grass", "wet_grass", "snow"))("grass")
    assert cells.quantity("mass", "kg", 1, least=10)("1.150") == 1150
    assert cells.rpm("2.400") == 2400
    with pytest.raises(InputError, match=r"1150 or 1\.15"):
        cells.quantity("length", "m")("1.150")
    assert cells.speed("mph")("MIAS 61") == 61
    assert read_units("KG, mm, m, Imp. gal, mbar") | {"weight": "kg"} == {
        "weight": "kg", "arm": "mm", "runway": "m", "altitude": "ft", "fuel": "impgal", "temperature": "°C",
        "power": "hp", "climb": "fpm", "pressure": "hPa",
    }  # fmt: skip


@given(st.sampled_from(sorted(SUBJECTS)), st.integers(1, 30000), st.integers(0, 3), st.data())
def test_a_quantity_is_kept_as_it_was_typed(subject: str, whole: int, decimals: int, data: st.DataObject) -> None:
    """Typed in the book's unit it is kept to the last digit; in another it is still what was typed when turned back."""
    kind = BOOK_KINDS[subject]
    options = [u for u in SUBJECTS[subject] if not u.startswith("ISA") and u not in {"gal"}]
    unit, typed_in = data.draw(st.sampled_from(options)), data.draw(st.sampled_from(options))
    text = f"{whole / 10**decimals:.{decimals}f}"
    number = float(text)
    digits = data.draw(st.integers(0, 2))
    got = cells.quantity(kind, unit, digits, most=0 if decimals == 3 else None)(f"{text} {typed_in}")
    assert isinstance(got, int | float)
    if typed_in == unit:
        assert got == number
    else:
        back = units.to_unit(units.from_unit(float(got), unit), typed_in)
        assert back == pytest.approx(number, abs=0.5 * 10**-decimals)


@pytest.mark.parametrize(
    ("text", "kind", "unit", "value"),
    [
        ("245.5", "length", "m", 245.5),  # was rounded to 246
        ("12½ IG", "volume", "impgal", 12.5),
        ("12 1/2", "volume", "gal", 12.5),
        ("100 cv DIN", "power", "PS", 100),
        ("53 nd", "speed", "kt", 53),
        ("700 ft/mn", "vertical_speed", "fpm", 700),
    ],
)
def test_old_and_foreign_books_are_typed_as_they_are_printed(
    text: str, kind: units.Kind, unit: str, value: float
) -> None:
    assert cells.quantity(kind, unit)(text) == value


def test_what_a_book_says_in_words_is_taken_as_it_stands_there() -> None:
    assert climb_rule("subtract 20 fpm for each 10 deg. F") == {"change_fpm": -20, "per_f": 10}
    assert climb_rule("-0.3 m/s per 10 °C") == {"change_mps": -0.3, "per_c": 10}
    assert [cells.Choice(tuple(CHANGES), ON_ALSO)(t) for t in ("of the roll", "whole", "share")] == list(CHANGES)
    assert cells.Choice(CAUSES, CAUSES_ALSO)("slope up") == "upslope"
    assert cells.choice(("carburetor", "fuel injection"))("inj") == "fuel injection"
    assert [cells.load_factors(t) for t in ("+2.0 g", "2", "0,2", "-1.52 3.8")] == [[2], [2], [0, 2], [-1.52, 3.8]]
    notch = cells.notch({"notches": [{"deflection_deg": 10}, {"deflection_deg": 30}]})
    assert [notch(t) for t in ("30°", "0", "0 deg", "2")] == [2, 0, 0, 2]
    with pytest.raises(InputError, match="are 10°, 30°"):
        notch("25°")
    assert slug("Rohrsänger Süd") == "rohrsanger_sud"
    mixed = cells.speed("mph", either=True)
    assert (mixed("107 CAS printed"), mixed("61 MIAS")) == ("107 CAS printed", 61)
    assert mixed(str(mixed("107 CAS printed"))) == "107 CAS printed"
    with pytest.raises(InputError, match="type: 107 CAS printed"):
        mixed("107 CAS")


def test_units_of_a_book_in_its_own_language() -> None:
    french = read_units("kg, m, arm mètres; litres, cv DIN, ft/mn, °C, mb")
    assert (french["weight"], french["arm"], french["fuel"], french["power"]) == ("kg", "m", "L", "PS")
    assert read_units("IG in.Hg lbs")["fuel"] == "impgal"
    assert read_units("U.S. gal")["fuel"] == "gal"
    assert read_units("ISA±°F")["temperature"] == "ISA°F"
    assert read_units("mph F", dial="mph")["temperature"] == "°F"  # a sheet names its dial's unit too
    with pytest.raises(InputError, match="the dial is in kt"):
        read_units("mph F", dial="kt")
    with pytest.raises(InputError, match="none of them"):
        read_units("furlongs")
    with pytest.raises(InputError, match="weights in kg: and the arms"):  # m is the runway's: arms were taken in inches
        read_units("kg m L")


def test_a_european_book_is_typed_as_printed() -> None:
    text = file_text(EUROPEAN)
    assert "wing_area_m2 = 16.3" in text
    assert "rated_power_ps = 100" in text
    assert (
        'columns = ["weight_kg", "pressure_altitude_ft", "isa_deviation_c", "ground_roll_m", "total_over_15_m"]' in text
    )
    assert "[750, 2000, 20, 330, 670]" in text
    asked = {q.key: q for q, _, _ in answered(EUROPEAN)}
    with pytest.raises(InputError, match="'53 KIAS' is an indicated airspeed, and the calibrated one is asked"):
        asked["stall"].row_of(["750", "0", "53 KIAS"])
    dry = asked["takeoff_corrections"]
    assert dry.look is not None
    with pytest.raises(InputError, match=r"dry grass \+10 % of what\?"):
        dry.look(dry.row_of(["dry_grass", "10"]))
    airplane = _airplane(text)
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


def test_a_book_of_the_seventies_is_typed_as_printed() -> None:
    text = file_text(SEVENTIES)
    assert 'columns = ["weight_lb", "isa_deviation_c", "pressure_altitude_ft", "headwind_kt"' in text
    assert "never_exceed_calibrated_mph = 174" in text
    assert "{weight_lb = 2300, percent_mac = 22}" in text
    assert "percent_power" not in text
    a = _airplane(text)
    found = takeoff(a, a.max_takeoff_mass_kg, 0.0, 288.15, headwind_mps=units.from_unit(10, "kt"))
    assert found.ground_roll_m is not None
    assert found.ground_roll_m / units.FT_M == pytest.approx(615)
    assert found.over_50_ft_m is not None
    assert found.over_50_ft_m / units.FT_M == pytest.approx(1170)
    assert a.engine.power_is_estimated
    assert any("mean aerodynamic chord: 58.8 in" in str(n) for n in read_back(a))
    assert any("RPM (about " in sentence for sentence in proof(a))
    assert check_airplane(a) == ()


def test_a_diesel_is_typed_as_printed_and_its_fuel_weighs_what_it_weighs() -> None:
    """Jet fuel: 0.775 to 0.840 kg/L at 15 °C (ASTM D1655, from memory); avgas about 0.72."""
    text = file_text(DIESEL)
    asked = {q.key: q for q, _, _ in answered(DIESEL)}
    with pytest.raises(InputError, match="'flow', at which mixture"):
        asked["cruise_columns"].read("altitude load speed flow")
    corrections = asked["takeoff_corrections"]
    with pytest.raises(InputError, match="choose dry_grass or wet_grass"):
        corrections.row_of(["grass", "10"])
    assert corrections.look is not None
    with pytest.raises(InputError, match=r"for every 10 of what\? Write 10 C or 18 F"):
        corrections.look(corrections.row_of(["temperature", "10", "10"]))
    a = _airplane(text)
    assert "maximum_demonstrated_crosswind_mps = 7" in text
    assert "empty_arm_m = 0.962" in text
    assert '"rpm"' not in text
    assert a.fuel_density_kgpm3 == pytest.approx(800)
    assert a.fuel_flow_m3ps(0.7, "full_rich") / units.LITRE_M3 * 3600 == pytest.approx(20.6)
    assert a.engine.chart is None  # no RPM stands for a percent
    assert check_airplane(a) == ()


def test_a_selector_position_may_be_a_bare_name_where_it_says_its_tanks() -> None:
    """As the file itself takes them; what doesn't say its tanks is asked back at once, with what to write."""
    bare = EVENING.replace("left, left wing|right, right wing|off, none|", "left|right|reserve, left wing|both|off|")
    positions = _airplane(file_text(bare)).selector_positions
    assert [(p.name, len(p.feeds or ())) for p in positions] == [
        ("left", 1), ("right", 1), ("reserve", 1), ("both", 2), ("off", 0),
    ]  # fmt: skip
    with pytest.raises(InputError, match=r"which tanks does 'reserve' feed from\? Write: reserve, left wing"):
        file_text(bare.replace("reserve, left wing", "reserve"))
