"""`airwork airplane new`: a person's evening at the keyboard, with mistakes, a break, and the input ending early."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from airwork import units
from airwork.airplane import load_airplane
from airwork.airplane.check import check_file
from airwork.airplane.file.load import parse_airplane_file
from airwork.airplane.writing import assemble, next_question, toml_text
from airwork.airplane.writing.units_of_book import KINDS as BOOK_KINDS
from airwork.airplane.writing.units_of_book import SUBJECTS
from airwork.cli import main
from airwork.errors import InputError

# Question after question, a bar after each; nothing between two bars is an empty answer, which also ends a table.
# Typed as a person does, in whatever unit is at hand.
EVENING = """Testbird 160||N160|Testbird handbook 1966|4|mph||normal utility|2300 lb||165|34 ft
155|2700|carb|yes|75|lean to peak RPM|50 less|fixed|74 in|2300 2450
left wing, 21, 20|right wing, 21 gal, 75.7 L|
left, left wing|right, right wing|off, none|
30|10|fullest|on for takeoff
lever|12, 121|24, 100 kt|36, 109|
50, 57|60, 65|80, 81|100, 100|130, 128|
40, 48|60, 64|80, 81|110, 110||
|47|57|72|91|122|79|67|maneuvering, 2000, 114|
|178|143|121|white, 47, 121|green, 57, 143|yellow, 143, 178||2700|-1.52 3.8|0, 2|15|14000|spins; flying inverted long
firewall|1385|85.8|front seats, 85, 500|rear seats, 117.5, 400|fuel, 95|baggage, 141, 120|
|1400, 82|1900, 82|2300, 86|2300, 93|1400, 93|
1400, 82|1900, 82|1950, 82.5|1950, 86.5|1400, 86.5|
yes|0 lb|2300||
2300, 0, 57|2300, 3, 47|
4000, 2000, 41|4000, 2400, 63|6000, 2100, 43|6000, 2400, 60|||
4000, 0, 2400, 63, 121, 9.0, 8.1, 7.1|4000, 0, 2500, 71, 128, 10, 9.1, -|
||2300, 2000, 20, 640, 78|2300, 4000, 20, 520, 77||-10 % per 10 C
0, 0, 0, 0|4000, 7, 1.6, 9|8000, 17, 3.4, 24|
1|64|||2000, 0, 20, 700, 1465|2000, 2000, 20, 840, 1795|
headwind, -19, 9 kt|dry_grass, 17, -, roll|above_standard, 10, 14 C|
3|67|||2300, 0, 20, 500, 1115|2300, 2000, 20, 535, 1155|
headwind, -19, 9 kt|dry_grass, 15, -, roll|above_standard_temperature, 5, 25 F|
1:9.7"""
ANSWERS = [answer for line in EVENING.split("\n") for answer in line.split("|")]


def typed(answers: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """Put the answers on standard input."""
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{answer}\n" for answer in answers)))


def test_an_evening_at_the_keyboard_makes_a_file_that_loads_and_is_sound(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "testbird.toml"
    typed(ANSWERS, monkeypatch)
    assert main(["airplane", "new", str(path)]) == 0
    airplane, complaints = check_file(path)
    assert [str(c) for c in complaints] == []
    assert airplane.id == "testbird_160"
    assert airplane.dial_unit == "mph"
    assert airplane.categories == ("normal", "utility")
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
    assert airplane.file.limitations.prohibited == ["spins", "flying inverted long"]
    assert "wrote" in capsys.readouterr().out
    assert "# From this airplane's latest weighing" in path.read_text()
    assert list(tmp_path.iterdir()) == [path]


def test_stopping_keeps_the_answers_and_the_same_command_goes_on(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    whole, broken = tmp_path / "whole.toml", tmp_path / "broken.toml"
    typed(ANSWERS, monkeypatch)
    assert main(["airplane", "new", str(whole)]) == 0
    typed([*ANSWERS[:14], "stop"], monkeypatch)
    assert main(["airplane", "new", str(broken)]) == 0
    assert "14 answers kept" in capsys.readouterr().out
    assert not broken.exists()
    typed(ANSWERS[14:], monkeypatch)
    assert main(["airplane", "new", str(broken)]) == 0
    assert broken.read_text() == whole.read_text()
    assert sorted(p.name for p in tmp_path.iterdir()) == ["broken.toml", "whole.toml"]


def test_mistyped_answers_are_asked_again_and_back_goes_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "t.toml"
    mistakes = {
        "2300 lb": ["", "2300 kt", "a ton or so", "2300 lb"],
        "mph": ["furlongs", "?", "mph"],
        "155": ["165", "back", "155"],  # "back" from the next question, then the right power
        "left wing, 21, 20": ["left wing", "left wing, 21, full", "left wing, 21, 20"],
        "165": ["5", "165"],
    }
    answers = [word for answer in ANSWERS for word in mistakes.get(answer, [answer])]
    typed(answers, monkeypatch)
    assert main(["airplane", "new", str(path)]) == 0
    said = capsys.readouterr().out
    assert "This is needed." in said
    assert "'2300 kt' is not a mass" in said
    assert "choose kt, mph or km/h" in said
    assert "one column (a comma or semicolon between them), wanted: name, capacity (gal), usable (gal)" in said
    assert "found 5, expected more than 20" in said
    assert load_airplane(path).rated_power_w == pytest.approx(units.from_unit(155, "hp"))


def test_when_the_input_ends_early_one_line_says_so_and_nothing_is_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for answers in ([], ANSWERS[:20]):
        typed(answers, monkeypatch)
        assert main(["airplane", "new", str(tmp_path / "t.toml")]) == 2
        said = capsys.readouterr()
        assert said.err == "airwork airplane new: the input ended before the last question; nothing was written.\n"
        assert list(tmp_path.iterdir()) == []


def test_an_existing_file_is_never_written_over(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "mine.toml"
    path.write_text("mine")
    assert main(["airplane", "new", str(path)]) == 2
    assert "mine.toml" in capsys.readouterr().err
    assert path.read_text() == "mine"
    assert main(["airplane", "new", str(tmp_path / "mine.txt")]) == 2
    assert main(["airplane", "new", str(tmp_path / "missing" / "mine.toml")]) == 2


def test_an_existing_file_is_gone_on_with_and_what_it_has_stays(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The landing page was left for another evening: four questions, the text typed so far untouched."""
    path = tmp_path / "t.toml"
    typed(ANSWERS, monkeypatch)
    assert main(["airplane", "new", str(path)]) == 0
    whole = load_airplane(path)
    before, after = path.read_text().split("[performance.landing]")
    _, rest = after.split("]\n\n", 1) if "]\n\n" in after else (after, "")
    mine = "# typed by the stove\n" + before + rest
    path.write_text(mine)
    assert load_airplane(path).file.performance.landing is None
    capsys.readouterr()
    answers = ["3", "67", "", "", "2300, 0, 20, 500, 1115", "2300, 2000, 20, 535, 1155", ""]
    typed([*answers, "headwind, -19, 9", "dry_grass, 15, -, roll", ""], monkeypatch)
    assert main(["airplane", "new", str(path)]) == 0
    assert path.read_text().startswith(mine.rstrip())
    found = load_airplane(path)
    assert found.file.performance.landing is not None
    assert [r.ground_roll_ft for r in found.file.performance.landing.rows] == [500, 535]
    assert found.file.performance.takeoff == whole.file.performance.takeoff
    assert main(["airplane", "new", str(path)]) == 2
    assert "every table" in capsys.readouterr().err


def test_kept_answers_that_are_none_are_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "t.toml.unfinished").write_text("[1, 2")
    assert main(["airplane", "new", str(tmp_path / "t.toml")]) == 2
    assert "not a file of kept answers" in capsys.readouterr().err


def test_the_fewest_answers_make_a_file_too() -> None:
    """Every optional question skipped: the least a handbook of two pages gives."""
    needed = {
        "name": "Least", "dial": "kt", "takeoff_weight": 1500, "rated_power": 85, "rated_rpm": 2575,
        "fuel_system": "fuel injection", "propeller": "constant speed",
        "tanks": [{"name": "main", "capacity_us_gal": 20, "usable_us_gal": 19}],
    }  # fmt: skip
    answers: dict[str, object] = {}
    while (question := next_question(answers)) is not None:
        default = question.read(question.default) if question.default else None
        answers[question.key] = needed.get(question.key, [] if question.columns else default)
    file = parse_airplane_file(toml_text(assemble(answers)))
    assert file.airplane.id == "least"
    assert file.performance.stall is None
    assert "[performance.takeoff]: without it takeoff distance is not known" in toml_text(assemble(answers))


def test_a_terminal_that_is_closed_costs_no_answer(tmp_path: Path) -> None:
    """The program is killed after three answers, at a terminal; the same command goes on after them."""
    import os
    import pty
    import signal
    import subprocess
    import sys
    import time

    us, theirs = pty.openpty()
    command = [sys.executable, "-c", "from airwork.cli import command; command()", "airplane", "new", "mine.toml"]
    with subprocess.Popen(command, cwd=tmp_path, stdin=theirs, stdout=theirs, stderr=theirs) as running:
        os.write(us, b"Two pages\n\n\n")
        kept = tmp_path / "mine.toml.unfinished"
        for _ in range(600):
            if kept.exists() and '"registration"' in kept.read_text():
                break
            time.sleep(0.05)
        running.send_signal(signal.SIGKILL)
    os.close(us)
    os.close(theirs)
    assert '"name": "Two pages"' in kept.read_text()
    assert '"registration"' in kept.read_text()


def test_knots_are_knots_however_they_are_written() -> None:
    from airwork.airplane.writing import cells

    assert {cells.dial_unit(text) for text in ("kt", "kts", "Knots", "kn")} == {"kt"}
    assert cells.dial_unit("mph") == "mph"


# A European book: kg, mm, m, L, deviations from standard; stalls calibrated by bank, corrections of the whole.
EUROPEAN = """Zweisitzer||||2|kt|kg mm m L ISA PS|normal|750||16,3|10.2
100 PS|2700|carb|yes||fixed|170|
left, 60, 55|right, 60, 55|
left, left|right, right|off, none|
|||
|15, 90|35, 80|
50, 52|60, 61|80, 80|100, 99|
40, 44|50, 52|60, 61|80, 80||
calibrated|44|49|57|66|||57|
|150|120|80||2700|||||
|480|1820|front seats, 1900|fuel, 1950|
|500, 1700|650, 1700|750, 1780|750, 1950|500, 1950|
|calibrated|banks 0° 30°|750, 0, 53 KIAS|750, 0, 49, 52.5|750, 2, 44, -|
|above percent speed economy|
0, ISA, 2400, 65, 98, 17,5|2000, 0, 2400, 62, 99, 16.8|
||grid|750|0 2000|0 20|780, 65|700|700|620||
0|52|||grid|750|0 2000|0 20|240 480|270 540|290 590|330 670|
dry_grass, 10|dry_grass, 10, -, whole|headwind, -10, 9|
2|57|||grid|750|0 2000|0 20|150 400|155 410|160 420|165 430|
dry_grass, 10, -, whole|headwind, -10, 9|
1:11"""


def test_a_european_book_is_typed_as_printed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "z.toml"
    typed([answer for line in EUROPEAN.split("\n") for answer in line.split("|")], monkeypatch)
    assert main(["airplane", "new", str(path)]) == 0
    said = capsys.readouterr()
    text = path.read_text()
    assert said.err == ""
    assert "wing_area_m2 = 16.3" in text
    assert "rated_power_ps = 100" in text
    assert (
        'columns = ["weight_kg", "pressure_altitude_ft", "isa_deviation_c", "ground_roll_m", "total_over_15_m"]' in text
    )
    assert "[750, 2000, 20, 330, 670]" in text
    assert "'53 KIAS' is an indicated airspeed, and the calibrated one is asked" in said.out
    assert "dry grass +10 % of what?" in said.out
    airplane = load_airplane(path)
    assert airplane.max_takeoff_mass_kg == pytest.approx(750)
    assert airplane.file.performance.stall is not None
    assert airplane.file.performance.stall.rows[1].bank_deg == 30
    assert airplane.glide_ratio == 11
    assert "Landing at 750 kg, flaps at notch 2 (35°), sea level, standard: 400 m over the obstacle" in said.out
    assert "A briefing has all 11 tables it asks." in said.out
    assert "arm of front seats: 1,900 mm" in said.out
    assert "takeoff table: flaps up; dry grass +10 %; headwind −10 % for every 9 kt" in said.out


def test_back_in_a_table_takes_one_row_back_and_no_other(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "t.toml"
    at = ANSWERS.index("40, 48")
    inside = ["40, 99", "back", "40, 48", "60, 46", "2: 60, 64", "list"]
    answers = [*ANSWERS[:at], *inside, *ANSWERS[at + 2 :]]
    typed(answers, monkeypatch)
    assert main(["airplane", "new", str(path)]) == 0
    said = capsys.readouterr().out
    assert "taken back: 40, 99" in said
    assert "row 2 is now 60, 64" in said
    rows = parse_airplane_file(path.read_text()).airspeed_calibration
    assert rows is not None
    assert rows.flaps_down is not None
    assert [(round(r.kias * 1.150779), round(r.kcas * 1.150779)) for r in rows.flaps_down.rows] == [
        (40, 48), (60, 64), (80, 81), (110, 110)
    ]  # fmt: skip


def test_rows_outlive_going_back_and_stopping_inside_a_table(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "t.toml"
    at = ANSWERS.index("40, 48")
    typed([*ANSWERS[:at], "40, 48", "60, 64", "stop"], monkeypatch)
    assert main(["airplane", "new", str(path)]) == 0
    assert not path.exists()
    # on again in the middle of the table; then back into the finished one from the next question
    typed([*ANSWERS[at + 2 : at + 5], "back", "list", "", *ANSWERS[at + 5 :]], monkeypatch)
    assert main(["airplane", "new", str(path)]) == 0
    assert "row 4: 110, 110" in capsys.readouterr().out
    rows = parse_airplane_file(path.read_text()).airspeed_calibration
    assert rows is not None
    assert rows.flaps_down is not None
    assert len(rows.flaps_down.rows) == 4


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
    from airwork.airplane.writing import cells

    assert cells.number()(text) == number


def test_what_can_be_read_two_ways_is_asked_about() -> None:
    from airwork.airplane.writing import cells
    from airwork.airplane.writing.question import split_cells
    from airwork.errors import InputError

    with pytest.raises(InputError, match=r"'1.150' can be 1150 or 1.15"):
        cells.quantity("mass", "kg")("1.150 kg")
    with pytest.raises(InputError, match="between columns or within numbers"):
        split_cells("1,150,2,300,20", 3)
    assert split_cells("1,150, 16,3", 2) == ["1,150", "16,3"]
    assert split_cells("1150\t16,3", 2) == ["1150", "16,3"]


def test_units_a_pilot_writes() -> None:
    """1 PS = 735.49875 W, 1 hp = 745.69987 W (550 ft·lbf/s): 100 PS are 98.6 hp."""
    from airwork.airplane.writing import cells

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
    from airwork.airplane.writing import cells
    from airwork.airplane.writing.units_of_book import read_units

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
    from airwork.airplane.writing import cells

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
    from airwork.airplane.writing import cells

    assert cells.quantity(kind, unit)(text) == value


def test_what_a_book_says_in_words_is_taken_as_it_stands_there() -> None:
    from airwork.airplane.writing import cells
    from airwork.airplane.writing.question import slug
    from airwork.airplane.writing.tables import CAUSES, CAUSES_ALSO, CHANGES, ON_ALSO, climb_rule

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
    from airwork.airplane.writing.units_of_book import read_units

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


# Source of the form: books of the 1970s, one weight, standard air, a column for each wind, speeds calibrated; invented.
SEVENTIES = """Old Four||||4|mph|°F|normal|2300 lb||174|36 ft 1 in
150 hp|2700|carb|yes||fixed|76|
left, 21, 19|right, 21, 19|
left, left|right, right|off, none|
|||
|10, 110|40, 100|
50, 57|60, 65|80, 81|100, 100|130, 128|
40, 48|60, 64|80, 81|110, 110||
calibrated|55|63|74|83|120|80|78|
calibrated|174|140 MCAS|100||2700|-1.52 3.8|0 2||13,100|
|1385|40|front seats, 37|rear seats, 73|fuel, 48|baggage, 95, 120|
mac|58.8|25.9|1500, 16|1950, 16|2300, 22|2300, 36|1500, 36|
|calibrated||2300, 0, 63|2300, 1, 60|2300, 2, 55|
|speed best_power|
2500, 2300, 112, 7.0|2500, 2500, 123, 8.6|5000, 2300, 111, 6.7|5000, 2500, 122, 8.1|7500, 2500, 121, 7.7|
altitude||0, 670|5000, 440|10000, 210||-20 fpm per 10 C|
0|70|altitude|wind 0 10 20 kt|0, 865, 1525, 615, 1170, 405, 850
5000, 1255, 2480, 920, 1955, 635, 1480|
above_standard, 10, 25 F, share|
2|70|wind altitude||0, 0, 520, 1250|0, 5000, 600, 1385|
hot, 10, 60 F, share|head wind, -10, 4 kt|
9:1"""


def test_a_book_of_the_seventies_is_typed_as_printed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from airwork.airplane.runway import takeoff

    path = tmp_path / "old.toml"
    typed([answer for line in SEVENTIES.split("\n") for answer in line.split("|")], monkeypatch)
    assert main(["airplane", "new", str(path)]) == 0
    said = capsys.readouterr()
    assert said.err == ""
    text = path.read_text()
    assert 'columns = ["weight_lb", "isa_deviation_c", "pressure_altitude_ft", "headwind_kt"' in text
    assert "never_exceed_calibrated_mph = 174" in text
    assert "{weight_lb = 2300, percent_mac = 22}" in text
    assert "percent_power" not in text
    a = load_airplane(path)
    found = takeoff(a, a.max_takeoff_mass_kg, 0.0, 288.15, headwind_mps=units.from_unit(10, "kt"))
    assert found.ground_roll_m / units.FT_M == pytest.approx(615)
    assert found.over_50_ft_m is not None
    assert found.over_50_ft_m / units.FT_M == pytest.approx(1170)
    assert a.engine.power_is_estimated
    assert "mean aerodynamic chord: 58.8 in" in said.out
    assert "RPM (about " in said.out
    assert check_file(path)[1] == ()


# A diesel: one lever sets the load, no RPM is printed; kW, kg, m, L. Invented.
DIESEL = """Diesel||||4|kt|kg, arm m, m L kW|normal|1120||16,2|11,2
108|2300|fuel inj|diesel||constant|1,90 m|
left, 61, 57|right, 61, 57|
off, none|left, left|right, right|
|||
|10, 104|35, 93|||
|46|55|62|74|108|74|61|
|180|143|93||2300|-1,52 3,8||7 m/s||
|661|0,962|front seats, 1,13, 230|rear seats, 2,05, 200|fuel, 1,23|baggage, 2,63, 50|
|750, 0,9|950, 0,9|1120, 1,01|1120, 1,17|750, 1,17|
1120||
1120, 0, 55|1120, 2, 46||
altitude load speed flow|above load speed rich|
2000, 0, 60, 97, 17.7|2000, 0, 70, 105, 20.6|2000, 0, 80, 112, 23.6|6000, 0, 70, 109, 20.6||
||
1||altitude temp||0, 15, 300, 520|2000, 11, 350, 610|
temperature, 10, 10|grass, 10|temperature, 10, 10 C|dry grass, 15, -, roll|headwind, -10, 9|
|||||
10.5"""


def test_a_diesel_is_typed_as_printed_and_its_fuel_weighs_what_it_weighs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Jet fuel: 0.775 to 0.840 kg/L at 15 °C (ASTM D1655, from memory); avgas about 0.72."""
    path = tmp_path / "diesel.toml"
    typed([answer for line in DIESEL.split("\n") for answer in line.split("|")], monkeypatch)
    assert main(["airplane", "new", str(path)]) == 0, capsys.readouterr().err
    said = capsys.readouterr().out
    for question_back in (
        "'flow', at which mixture?", "choose dry_grass or wet_grass", "20.6 L/h",
        "+10 % for every 10 of what? Write 10 C or 18 F",
    ):  # fmt: skip
        assert question_back in said, question_back
    text = path.read_text()
    assert "maximum_demonstrated_crosswind_mps = 7" in text
    assert "empty_arm_m = 0.962" in text
    assert '"rpm"' not in text
    a = load_airplane(path)
    assert a.fuel_density_kgpm3 == pytest.approx(800)
    assert a.fuel_flow_m3ps(0.7, "full_rich") / units.LITRE_M3 * 3600 == pytest.approx(20.6)
    assert a.engine.chart is None  # no RPM stands for a percent
    assert check_file(path)[1] == ()


def test_a_selector_position_may_be_a_bare_name_where_it_says_its_tanks(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """As the file itself takes them; what doesn't say its tanks is asked back at once, with what to write."""
    begin = ANSWERS.index("left, left wing")
    rows = ["left", "right", "reserve", "reserve, left wing", "both", "off"]
    end = begin + ANSWERS[begin:].index("")
    path = tmp_path / "testbird.toml"
    typed([*ANSWERS[:begin], *rows, *ANSWERS[end:]], monkeypatch)
    assert main(["airplane", "new", str(path)]) == 0
    assert "which tanks does 'reserve' feed from? Write: reserve, left wing + right wing" in capsys.readouterr().out
    positions = check_file(path)[0].selector_positions
    assert [(p.name, len(p.feeds)) for p in positions] == [
        ("left", 1), ("right", 1), ("reserve", 1), ("both", 2), ("off", 0),
    ]  # fmt: skip
