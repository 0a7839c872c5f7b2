"""The lesson file: read into SI, and every mistake one line naming file, field and what was expected."""

from __future__ import annotations

import math
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airwork.errors import AirworkError, InputError
from airwork.lesson.file import load_lesson, parse_lesson
from airwork.units import FT_M, INHG_PA, KT_MPS, LB_KG, SM_M, USGAL_M3
from lesson.lessons import DEMO, SMALL, changed, small


def refusal(text: str) -> str:
    """What the reader says of a lesson it refuses."""
    with pytest.raises(InputError) as found:
        parse_lesson(text, where="small.toml")
    return str(found.value)


def test_the_demo_lesson_reads():
    lesson = load_lesson(DEMO)
    assert lesson.place.ident == "KOGA"
    assert lesson.student.limits.crosswind_mps == pytest.approx(8 * KT_MPS)
    assert [e.kind for e in lesson.exercises][:2] == ["slow_flight", "power_off_stall"]
    assert lesson.exercises[3].target == {"bank_rad": pytest.approx(math.radians(45)), "direction": "both"}


def test_quantities_come_in_in_si():
    lesson = small()
    assert lesson.start_utc_s == datetime(2025, 9, 20, 14, 30, tzinfo=UTC).timestamp()
    assert lesson.loads[0].mass_kg == pytest.approx(148 * LB_KG)
    assert lesson.fuel_m3["left wing"] == pytest.approx(18 * USGAL_M3)
    assert lesson.place.elevation_m == pytest.approx(3279 * FT_M)
    assert lesson.weather.setting_pa == pytest.approx(30.02 * INHG_PA)
    assert lesson.weather.wind.gust_mps == pytest.approx(18 * KT_MPS)
    assert lesson.weather.visibility_m == pytest.approx(10 * SM_M)
    assert lesson.weather.no_ceiling


def test_metric_quantities_are_as_welcome():
    lesson = small({'"148 lb"': '"67 kg"', '"18 gal"': '"68 L"', '"30.02 inHg"': '"QNH 1016"', '"10 SM"': '"9 km"'})
    assert lesson.loads[0].mass_kg == 67.0
    assert lesson.fuel_m3["left wing"] == pytest.approx(0.068)
    assert lesson.weather.setting_pa == pytest.approx(101_600)


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({'"148 lb"': "148"}, ("people 1.weight", "no unit", "lb, kg")),
        ({'"148 lb"': '"148 ft"'}, ("people 1.weight", "not a mass")),
        ({'"148 lb"': '"FILL IN"'}, ("people 1.weight", "to be filled in")),
        ({'"148 lb"': '"-4 lb"'}, ("people 1.weight", "can't be right")),
        ({'wind = "240/12G18 kt"': 'wind = "rather strong"'}, ("weather.wind", "240/11")),
        ({'"240/12G18 kt"': '"240/18G12 kt"'}, ("weather.wind", "below the wind")),
        ({'"240/12G18 kt"': '"400/12 kt"'}, ("weather.wind", "no direction")),
        ({'"18 °C"': '"-3 °C"'}, ("weather.dewpoint", "never above the temperature")),
        ({'"6,000 ft 250/18 kt"': '"six thousand"'}, ("weather.winds_aloft 1", "6,000 ft 250/18 kt")),
        ({"date = 2025-09-20": 'date = "someday"'}, ("date", "2025-09-20")),
        ({"date = 2025-09-20": "date = 9999-12-31"}, ("date", "1900 to 2199")),
        ({'time = "08:30"': 'time = "25:30"'}, ("time", "09:30")),
        ({'"America/Denver"': '"Mars/Olympus"'}, ("zone", "America/Denver")),
        ({'"larkmoor_155"': '"nothing_1"'}, ("airplane.file", "larkmoor_155")),
        ({'name = "Pinwheel strip"': 'airport = "XXXX"'}, ("place.airport", "no airport XXXX")),
        ({'elevation = "3,279 ft"\n': ""}, ("place", "elevation")),
        ({"position = [41.12, -101.77]": "position = [141.12, -101.77]"}, ("place.position", "latitude")),
        ({'station = "front seats"\n': ""}, ("people 1.station", "missing")),
        ({'role = "student"': 'role = "pupil"'}, ("people 1.role", "student")),
        ({'kind = "steep_turn"': 'kind = "steep_turn"\nminutes = -4'}, ("exercises 1.minutes",)),
        ({'kind = "steep_turn"': 'kind = "steep_turn"\n[exercises.target]\nbnak = "45 deg"'}, ("bnak", "'bank'")),
        ({'kind = "steep_turn"': 'kind = "steep_turn"\n[exercises.target]\nbank = "45 kt"'}, ("target.bank", "45 deg")),
        ({'visibility = "10 SM"': 'visibilty = "10 SM"'}, ("weather.visibilty", "'visibility'")),
        ({'ceiling = "none"': 'ceiling = "25"'}, ("weather.ceiling", '"2,500 ft" or "25 ft"')),
        ({"[weather]": '[weather]\nmetar = "METAR KOGA rubbish"'}, ("weather.metar",)),
        ({"[weather]": '[weather]\ntaf = "TAF rubbish"'}, ("weather.taf",)),
        ({"date =": "date ="}, ()),
    ][:-1],
)  # fmt: skip
def test_a_mistake_is_one_line_naming_file_field_and_what_was_expected(changes, expected):
    message = refusal(changed(SMALL, changes))
    assert message.startswith("small.toml: ")
    assert "\n" not in message
    for words in expected:
        assert words in message, message


def test_a_ceiling_as_reports_print_it_is_hundreds_of_feet():
    lesson = parse_lesson(changed(SMALL, {'ceiling = "none"': 'ceiling = "OVC025"'}), where="small.toml")
    assert lesson.weather.ceiling_m == pytest.approx(2500 * FT_M)


def test_an_unknown_runway_lists_the_known_ones():
    message = refusal(changed(SMALL, {'elevation = "3,279 ft"': 'elevation = "3,279 ft"\nrunway = "13"'}))
    assert "place.runway: " in message
    assert "no runway '13' (known: 26)" in message


def test_a_named_runway_without_a_heading_is_asked_for_never_guessed():
    text = changed(
        SMALL, {'heading = "270 deg"\n': "", 'elevation = "3,279 ft"': 'elevation = "3,279 ft"\nrunway = "26"'}
    )
    assert "heading of runway 26 is not known" in refusal(text)


def test_a_magnetic_runway_heading_is_turned_to_true():
    """Variation at 41N 102W in autumn 2025 is about 6° east (WMM2025, reference section M: 40N 105W 7.6 E)."""
    runway = small({'heading = "270 deg"': 'heading_magnetic = "264 deg"'}).place.runway("26")
    assert math.degrees(runway.heading_rad) == pytest.approx(270, abs=1.0)
    assert runway.heading_how == "given, magnetic"


def test_a_magnetic_heading_outside_the_models_years_needs_the_variation():
    changes = {'heading = "270 deg"': 'heading_magnetic = "264 deg"', "date = 2025-09-20": "date = 2031-09-20"}
    assert "variation" in refusal(changed(SMALL, changes))
    given = {**changes, 'elevation = "3,279 ft"': 'elevation = "3,279 ft"\nvariation = "6 deg"'}
    assert math.degrees(small(given).place.runway("26").heading_rad) == pytest.approx(270)


# The clocks of America/Denver go forward over 02:00–03:00 on 2025-03-09 and back over 01:00–02:00 on 2025-11-02
# (Energy Policy Act of 2005: second Sunday of March, first Sunday of November).
def test_a_time_left_out_by_the_change_to_summer_time_is_refused():
    message = refusal(changed(SMALL, {"2025-09-20": "2025-03-09", "08:30": "02:30"}))
    assert "2025-03-09 02:30 does not exist in America/Denver" in message


def test_a_time_that_happens_twice_needs_its_offset():
    twice = {"2025-09-20": "2025-11-02", "08:30": "01:30"}
    message = refusal(changed(SMALL, twice))
    assert '"01:30-06:00" or "01:30-07:00"' in message
    early = small({"2025-09-20": "2025-11-02", "08:30": "01:30-06:00"})
    late = small({"2025-09-20": "2025-11-02", "08:30": "01:30-07:00"})
    assert late.start_utc_s - early.start_utc_s == 3600


@pytest.mark.parametrize(
    ("area", "expected"),
    [
        ("polygon = [[41.2, -101.9], [41.4, -101.9]]", "three corners"),
        ("center = [41.2, -101.9]", "radius"),
        (
            'center = [41.2, -101.9]\nradius = "5 NM"\npolygon = [[41.2, -101.9], [41.4, -101.9], [41.3, -101.7]]',
            "either",
        ),
        ("polygon = [[41.2], [41.4, -101.9], [41.3, -101.7]]", "latitude, longitude"),
    ],
)
def test_an_area_needs_one_whole_shape(area: str, expected: str):
    text = f'{SMALL}\n[area]\n{area}\nground = "3,700 ft"\nfloor = "5,000 ft"\nceiling = "9,000 ft"\n'
    message = refusal(text)
    assert "area.polygon" in message  # where a page has its field
    assert expected in message


def test_a_floor_above_the_ceiling_is_refused():
    shape = 'center = [41.2, -101.9]\nradius = "5 NM"'
    text = f'{SMALL}\n[area]\n{shape}\nground = "3,700 ft"\nfloor = "9,500 ft"\nceiling = "9,000 ft"\n'
    assert "floor < ceiling" in refusal(text)


@pytest.mark.parametrize("content", [b"\xff\xfe\x00", b"[[[", b"a = 1e400", b"", b"date = 2025-13-40", b"x" * 10])
def test_files_that_are_no_lesson_are_one_line(tmp_path: Path, content: bytes):
    path = tmp_path / "lesson.toml"
    path.write_bytes(content)
    with pytest.raises(InputError) as found:
        load_lesson(path)
    assert str(found.value).startswith(str(path))
    assert "\n" not in str(found.value)


def test_a_missing_file_and_a_folder_are_one_line(tmp_path: Path):
    for path in (tmp_path / "none.toml", tmp_path):
        with pytest.raises(InputError, match=str(path)):
            load_lesson(path)


def test_a_list_whose_entries_are_all_wrong_is_not_called_too_short_besides():
    text = changed(SMALL, {'"148 lb"': '"FILL IN"', '"0 lb"': '"FILL IN"'})
    with pytest.raises(InputError) as found:
        parse_lesson(text, where="small.toml")
    assert [str(e.where).rpartition("people")[2] for e in found.value.each] == [" 1.weight", " 2.weight"]


def test_conditions_from_outside_replace_values_of_the_file():
    lesson = parse_lesson(SMALL, changes={"wind": "090/5 kt", "temperature": "30 °C", "runway": "26"})
    assert math.degrees(lesson.weather.wind.from_rad) == pytest.approx(90)
    assert lesson.weather.temperature_k == pytest.approx(303.15)
    assert lesson.runway == "26"
    with pytest.raises(InputError, match="can't be changed this way"):
        parse_lesson(SMALL, changes={"weight": "3 lb"})


_VALUES = st.one_of(
    st.none().map(lambda _: '""'),
    st.integers(-10, 10**7).map(str),
    st.floats(allow_nan=True).map(lambda x: str(x).replace("inf", "inf")),
    st.sampled_from(['"12 gal"', '"nan ft"', '"1e999 lb"', '"°"', "[]", "{}", "[[1,2],[3,4]]", "true", "1979-05-27",
                     '"calm"', '"VRB/3 kt"', '"26"', '"-5 °C"', '"∞ kt"', "07:32:00"]),
    st.text(st.characters(codec="utf-8", exclude_characters='"\\\x7f', exclude_categories=["Cc", "Cs"]), max_size=20)
    .map(lambda t: f'"{t}"'),
)  # fmt: skip
_LINES = [i for i, line in enumerate(DEMO.read_text().splitlines()) if "=" in line]


@settings(max_examples=50, deadline=None)
@given(st.dictionaries(st.sampled_from(_LINES), _VALUES, min_size=1, max_size=4), st.sets(st.sampled_from(_LINES)))
def test_a_lesson_with_any_values_reads_or_is_refused_in_one_line(values: dict[int, str], drop: set[int]):
    lines = DEMO.read_text().splitlines()
    for at, value in values.items():
        lines[at] = f"{lines[at].split('=')[0]}= {value}"
    kept = [line for i, line in enumerate(lines) if i not in drop or i in values]
    message = said("\n".join(kept))
    assert "\n" not in message


@settings(max_examples=30, deadline=None)
@given(st.text(max_size=300))
def test_any_text_reads_or_is_refused_in_one_line(text: str):
    assert "\n" not in said(text).strip("\n").replace(text, "")


def said(text: str) -> str:
    try:
        parse_lesson(text, where="lesson")
    except AirworkError as problem:
        return str(problem)
    return ""
