"""The airplane file is read, or refused with lines that say where and why."""

# ruff: noqa: E501  (one mistake a line)

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from airwork.airplane import Airplane, find_airplane_file, load_airplane
from airwork.airplane.check import check_airplane
from airwork.airplane.file.load import parse_airplane_file
from airwork.airplane.numbers import Question, numbers_for
from airwork.errors import AirworkError, InputError

SOURCES = Path(__file__).parent.parent / "sources"
SHORT = (SOURCES / "larkmoor_short.toml").read_text()

TWO_PAGES = """
[airplane]
schema_version = 1
id = "two_pages"
name = "Two pages"
maximum_takeoff_weight_lb = 1500
airspeed_indicator_unit = "mph"
[engine]
rated_power_hp = 85
rated_rpm = 2575
fuel_system = "carburetor"
[propeller]
type = "fixed_pitch"
[flaps]
notches = [ { notch = 0 } ]
[limitations]
never_exceed_indicated_mph = 135
green_arc_indicated_mph = [45, 110]
"""


@pytest.mark.parametrize("name", ["larkmoor_155", "wrenbrook_108", "caldmere_200"])
def test_each_demo_airplane_loads_with_its_id_and_without_the_truth(airplane_folder: Path, name: str) -> None:
    assert load_airplane(airplane_folder / f"{name}.toml").id == name
    assert "truth" not in (airplane_folder / f"{name}.toml").read_text()
    assert load_airplane(airplane_folder / f"{name}.toml") == load_airplane(find_airplane_file(name))


def test_a_two_page_handbook_loads_and_answers_what_it_can() -> None:
    a = Airplane(parse_airplane_file(TWO_PAGES))
    assert a.stall_cas_mps(a.max_takeoff_mass_kg) == pytest.approx(45 * 0.44704)
    assert a.tanks == a.selector_positions == ()
    assert numbers_for(a, Question()).find("never_exceed").text == "135 mph (117 kt)"


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ('name = "Larkmoor 155"\n', "", "[airplane], name: this key is missing"),
        ("kcas = 54.5", 'kcas = "54.5"', "[airspeed_calibration.flaps_up] row 2 (line 74), kcas: found '54.5', expected a number"),
        ("empty_arm_in", "emty_arm_in", "emty_arm_in: unknown key; did you mean 'empty_arm_in'?"),
        ("seats = 4", "seats = 4.5", "seats: found 4.5, expected a whole number"),
        ("invented = true", 'invented = "yes"', "invented: found 'yes', expected true or false"),
        ("schema_version = 1", "schema_version = 2", "found 2, this airwork reads version 1"),
        ('airspeed_indicator_unit = "mph"', 'airspeed_indicator_unit = "knots"', "found 'knots', expected 'kt', 'mph' or 'km/h'"),
        ("maximum_rpm = 2700", "maximum_rpm = 27000", "[limitations] (line 129), maximum_rpm: found 27000, expected at most 6500"),
        ("maximum_rpm = 2700", "maximum_rpm = nan", "maximum_rpm: found nan, expected"),
        ("white_arc_kias = [41, 105]", "white_arc_kias = [105, 41]", "the range must be [low, high], found [105, 41]"),
        ("white_arc_kias = [41, 105]", "white_arc_kias = [41]", "white_arc_kias: found 1 entries, expected at least 2"),
        ("kias = 49, kcas = 54, indicated_mph = 57 },\n  { weight_lb = 2300, flap_notch = 0, bank_deg = 45", "x = 1 },\n  { weight_lb = 2300, flap_notch = 0, bank_deg = 45", "[performance.stall] row 1"),
        ('cause = "headwind"', 'cause = "hedwind"', "[performance.takeoff] corrections row 1 (line 323), cause: found 'hedwind', expected 'headwind'"),
        ('per = 9, unit = "kt", change_percent = -19', "per = 9, change_percent = -19", "per and unit go together"),
        ('id = "larkmoor_155"', 'id = "Larkmoor 155"', "expected small letters, digits and _ only"),
        ('feeds = ["left wing"]', 'feeds = ["left"]', "a selector position feeds from 'left'; the tanks are left wing, right wing"),
        ("{ notch = 1,", "{ notch = 2,", "notches must be numbered 0, 1, 2 ... in order, found [0, 2, 2, 3]"),
        ("[engine]", "[engin]", "(line 22), engin: unknown key; did you mean 'engine'?"),
        ("load_factor_flaps_up_g = [-1.52, 3.8]", "load_factor_flaps_up_g = [-3.8, -1.52]", "load factors are [negative, positive]"),
        ("never_exceed_indicated_mph = 178", "never_exceed_mph = 178", "did you mean 'never_exceed_indicated_mph'?"),
        ("wing_span_ft = 34.0", "wing_span_ft = 34.0.0", "not valid TOML"),
        ("wing_span_ft = 34.0", "wing_span_ft = 034.0", " begins with 0; write 34.0."),
        ("load_factor_flaps_up_g = [-1.52, 3.8]", "load_factor_flaps_up_g = [-01.52, 3.8]", ": -01.52 begins with 0; write -1.52."),
        ("maximum_rpm = 2700", "maximum_rpm = 27.0.0 # 070", "not valid TOML"),
    ],
)  # fmt: skip
def test_a_mistake_is_named_with_table_row_key_and_what_was_expected(old: str, new: str, expected: str) -> None:
    assert old in SHORT
    with pytest.raises(InputError) as refused:
        parse_airplane_file(SHORT.replace(old, new, 1), where="larkmoor.toml")
    assert expected in str(refused.value)
    assert str(refused.value).startswith("larkmoor.toml: ")


def test_one_text_is_one_value_wherever_it_lies_and_a_fault_names_where(airplane_folder: Path) -> None:
    """The pages, the desk and what ships read the same text from places of their own."""
    text = (airplane_folder / "larkmoor_155.toml").read_text("utf-8")
    assert parse_airplane_file(text, where="here.toml") is parse_airplane_file(text, where="there.toml")
    for where in ("here.toml", "there.toml"):
        with pytest.raises(InputError, match=where):
            parse_airplane_file(text.replace("schema_version = 1", "schema_version = 9"), where=where)


def test_a_syntax_error_names_its_line() -> None:
    with pytest.raises(InputError, match="at line 3"):
        parse_airplane_file('[airplane]\nid = "a"\nname = \n')


def test_many_mistakes_are_listed_one_a_line_the_first_few_and_how_many_more() -> None:
    with pytest.raises(InputError) as refused:
        parse_airplane_file(SHORT.replace("weight_lb", "wieght_lb"))
    lines = str(refused.value).splitlines()
    assert len(lines) == 22
    assert lines[0].endswith("things don't fit:")
    assert lines[-1].strip().startswith("and ")
    assert lines[-1].endswith(" more")


def test_a_slip_in_the_name_of_a_column_is_said_once_not_for_each_row() -> None:
    """Nine lines for one word hid the second slip (E637)."""
    table = """
[performance.cruise]
columns = ["pressure_altitude_ft", "rpm", "percent_power", "tas_kmh"]
rows = [[2000, 2200, 55, 150], [2000, 2400, 66, 167], [4000, 2200, 53, 150]]
"""
    with pytest.raises(InputError) as refused:
        parse_airplane_file(TWO_PAGES + table)
    told = [line for line in str(refused.value).splitlines() if "tas_kmh" in line]
    assert len(told) == 1
    assert "rows have it" in told[0] or "things don't fit" not in str(refused.value)


def test_a_file_that_is_no_airplane_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "photo.toml").write_bytes(b"\x89PNG\r\n\x1a\n\xff\xfe")
    (tmp_path / "empty.toml").write_text("")
    (tmp_path / "bom.toml").write_text("\ufeff" + TWO_PAGES, encoding="utf-8")
    with pytest.raises(InputError, match="not UTF-8 text"):
        load_airplane(tmp_path / "photo.toml")
    with pytest.raises(InputError, match=r"no \[airplane\] table"):
        load_airplane(tmp_path / "empty.toml")
    with pytest.raises(InputError, match="no such file"):
        load_airplane(tmp_path / "missing.toml")
    with pytest.raises(InputError, match="is a folder"):
        load_airplane(tmp_path)
    assert load_airplane(tmp_path / "bom.toml").id == "two_pages"


def test_an_airplane_is_found_by_path_or_id_and_else_the_ids_are_listed(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_text(TWO_PAGES)
    assert find_airplane_file(str(path)) == path
    for wrong in ("nope", "../larkmoor_155", "a\0b"):
        with pytest.raises(InputError):
            find_airplane_file(wrong)
    with pytest.raises(InputError, match="caldmere_200, larkmoor_155, wrenbrook_108"):
        find_airplane_file("nope")


# Mangled files: a typist's hand, a bad copy, a hostile file. Only errors of ours may come out, and what loads must
# answer the day's numbers and the check without falling over.
LINES = SHORT.splitlines()
VALUES = st.sampled_from(
    ["0", "-1", "1e308", "nan", "-inf", '""', '"x"', "true", "[]", "{}", "[1, 2]", "2300", "1979-05-27", "99999999999999999999"]
)  # fmt: skip


@st.composite
def mangled(draw: st.DrawFn) -> str:
    """The short file with a few lines dropped, doubled, exchanged, or with other values."""
    lines = list(LINES)
    for _ in range(draw(st.integers(1, 4))):
        i = draw(st.integers(0, len(lines) - 1))
        match draw(st.integers(0, 4)):
            case 0:
                lines.pop(i)
            case 1:
                lines.insert(i, lines[i])
            case 2:
                k = draw(st.integers(0, len(lines) - 1))
                lines[i], lines[k] = lines[k], lines[i]
            case 3:
                head, equals, tail = lines[i].rpartition("=")
                lines[i] = head + equals + " " + draw(VALUES) + ("" if not tail.endswith("},") else " },")
            case _:
                lines[i] = lines[i][: draw(st.integers(0, max(len(lines[i]), 1)))]
    return "\n".join(lines)


@given(mangled())
@settings(max_examples=25, suppress_health_check=[HealthCheck.too_slow], deadline=None)
def test_from_a_mangled_file_only_our_own_errors_come_out(text: str) -> None:
    try:
        airplane = Airplane(parse_airplane_file(text))
        check_airplane(airplane)
        numbers_for(airplane, Question(altitude_m=1500.0, rpm=2300, bank_rad=0.7))
    except AirworkError as problem:
        if not str(problem).strip():
            raise


@given(
    st.recursive(
        st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
        lambda inner: (
            st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(["rows", "kias", "x"]), inner, max_size=3)
        ),
        max_leaves=6,
    ),
    st.sampled_from(sorted(tomllib.loads(SHORT))),
)
@settings(max_examples=25, deadline=None)
def test_any_value_in_the_place_of_a_table_is_refused_in_words(value: object, table: str) -> None:  # fmt: skip
    """The same holds behind the TOML parser, whatever it hands over."""
    from pydantic import ValidationError

    from airwork.airplane.file.load import explain
    from airwork.airplane.file.model import AirplaneFile

    data = {**tomllib.loads(SHORT), table: value}
    try:
        AirplaneFile.model_validate(data)
    except ValidationError as problem:
        for details in problem.errors(include_url=False):
            assert explain(details, AirplaneFile, {}, {})
