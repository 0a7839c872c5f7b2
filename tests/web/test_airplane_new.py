"""A new airplane on the pages: begun by its name, typed part by part, kept unfinished, whole at the end.

The books are invented, written as a European, an American, a diesel's and a 1970s one print their tables.
"""

from __future__ import annotations

import html
import re
import tomllib
from pathlib import Path

import pytest

from airwork.airplane.file.load import parse_airplane_file
from airwork.airplane.file.progress import NEEDED
from airwork.errors import InputError
from airwork.jobs.files import load_airplane
from airwork.web.airplane_form import Said, absent_parts, parts_of, sections

BOOKS = Path(__file__).parents[1] / "airplane" / "books"


def typed_from(book: str, text: str, part: str) -> dict[str, str]:
    """A part of an unfinished file's form, filled with what a book says there, in the book's units."""
    given: dict[tuple[str, str], tuple[str, str]] = {}  # (table, the model's key): (key in the book's unit, value)
    grids = {}
    for s in sections(book, part, Said()):
        given |= {(s.path, c.about.key): (c.key, c.shown) for c in s.cells}
        grids |= {g.path: g for g in s.grids}
    out = {"part": part, "what": "save"}
    for s in sections(text, part, Said()):
        for c in (*s.cells, *s.missing):
            key, shown = given.get((s.path, c.about.key), (c.key, c.shown))
            out |= {c.name: shown, f"unit:{c.name}": key}
        for g in (g for g in s.grids if g.path in grids):
            rows = grids[g.path].rows
            out[f"order:{g.path}"] = ",".join(str(n) for n, _, _ in rows)
            keys = {about.key: key for key, _, about in g.columns} | {key: key for key, _ in g.more}
            out[f"columns:{g.path}"] = ",".join(keys.values())
            for key, written, about in grids[g.path].columns:
                mine = keys.get(about.key) or next(m for m in keys.values() if m.startswith(about.key[:8]))
                out[f"unit:{g.path}/{mine}"] = written
                out |= {f"{g.path}/{n}/{mine}": c.shown for n, cells, _ in rows for c in cells if c.key == key}
    return out


@pytest.mark.parametrize("name", ["evening", "european", "seventies", "diesel"])
def test_a_book_typed_part_by_part_is_the_file_of_its_numbers(alone, tmp_path: Path, name: str) -> None:
    book = (BOOKS / f"{name}.toml").read_text(encoding="utf-8")
    wanted = parse_airplane_file(book)
    made = alone.post("/airplanes/new", {"name": wanted.airplane.name})
    address = made.headers["location"]
    path = tmp_path / "airplanes" / f"{address.split('/')[2]}.toml"
    for part in parts_of(book):
        text = path.read_text(encoding="utf-8")
        answer = alone.post(address, typed_from(book, text, part))
        assert answer.status_code == 303, (part, re.findall(r'class="said">([^<]*)', answer.text))
    found = parse_airplane_file(path.read_text(encoding="utf-8"))
    assert found.model_dump() == wanted.model_dump()
    back = alone.get(f"{address.removesuffix('/fields')}/read-back").text
    assert "As in the book?" in back


def _sent(alone, key: str, part: str, **typed: str) -> str:
    page = alone.post(f"/airplanes/{key}/fields", {"part": part, "what": "save", **typed})
    return page.headers.get("location") or html.unescape(page.text)


@pytest.fixture
def testbird(alone, tmp_path: Path) -> Path:
    """The file of an airplane just begun."""
    assert alone.post("/airplanes/new", {"name": "Testbird"}).headers["location"] == "/airplanes/testbird/fields"
    return tmp_path / "airplanes" / "testbird.toml"


def test_what_is_begun_is_kept_unfinished_and_no_lesson_takes_it(alone, testbird: Path) -> None:
    assert "saved=true" in _sent(alone, "testbird", "airplane", **{"airplane:maximum_takeoff_weight_lb": "1,600"})
    assert "maximum_takeoff_weight_lb = 1600" in testbird.read_text()
    assert "Unfinished" in alone.get("/airplanes/testbird/fields?part=engine").text
    assert "Testbird</a> <span" in alone.get("/airplanes").text
    for chosen_from in ("/", "/debriefs", "/lessons/new"):
        page = alone.get(chosen_from).text
        assert "Testbird (unfinished)" in page
        assert page.count("(unfinished)") == 1
    assert alone.get("/airplanes/testbird").status_code == 303  # to its form
    with pytest.raises(InputError, match="rated_power_hp: still to be filled in"):
        load_airplane(testbird)
    assert alone.post("/airplanes/testbird/drop", {}).status_code == 303
    assert not testbird.exists()


def test_a_finished_airplane_is_not_thrown_away(alone, tmp_path: Path) -> None:
    assert "is finished" in html.unescape(alone.post("/airplanes/larkmoor_155/drop", {}).text)
    assert (tmp_path / "airplanes" / "larkmoor_155.toml").exists()


def test_another_of_the_same_name_is_not_begun_over_it(alone, testbird: Path) -> None:
    again = alone.post("/airplanes/new", {"name": "TESTBIRD"})
    assert again.status_code == 422
    assert "is there already" in again.text
    assert alone.post("/airplanes/new", {"name": " ! "}).status_code == 422


@pytest.mark.parametrize(
    ("part", "name", "typed", "line"),
    [
        ("airplane", "airplane:maximum_takeoff_weight_lb", "750 kg", "maximum_takeoff_weight_kg = 750"),
        ("airplane", "airplane:maximum_takeoff_weight_lb", "1'150", "maximum_takeoff_weight_lb = 1150"),
        ("airplane", "airplane:wing_area_ft2", "16,3 m²", "wing_area_m2 = 16.3"),
        ("airplane", "airplane:wing_area_ft2", "175 sq ft", "wing_area_ft2 = 175"),
        ("engine", "engine:rated_power_hp", "100 cv DIN", "rated_power_ps = 100"),
        ("engine", "engine:rated_rpm", "2.400", "rated_rpm = 2400"),
        ("limitations", "limitations:never_exceed_kias", "140 KIAS", "never_exceed_kias = 140"),
        ("limitations", "limitations:never_exceed_kias", "174 mph", "never_exceed_indicated_mph = 174"),
        ("limitations", "limitations:never_exceed_kias", "140 KCAS", 'never_exceed_kias = "140 KCAS"'),  # asked about
        ("limitations", "limitations:maximum_demonstrated_crosswind_kt", "7 m/s", "maximum_demonstrated_crosswind_mps"),
        ("weight_and_balance", "weight_and_balance:empty_arm_in", "0,962 m", "empty_arm_m = 0.962"),
        ("weight_and_balance", "weight_and_balance:empty_arm_in", "1.368 m", "empty_arm_m = 1.368"),
        ("propeller", "propeller:diameter_in", "69 cm", "diameter_cm = 69"),
    ],
)  # fmt: skip
def test_a_value_may_be_typed_with_its_unit(alone, testbird: Path, part, name, typed, line) -> None:
    """As printed: the number stays, the key says the unit. An arm of 1,368 m can't be meant."""
    _sent(alone, "testbird", part, **{name: typed})
    assert line in testbird.read_text()


def test_a_unit_is_chosen_for_a_value_and_for_a_column(alone, testbird: Path) -> None:
    """The number stays as printed."""
    part, rows = "performance.takeoff", "performance.takeoff.rows"
    _sent(alone, "testbird", "airplane", **{"airplane:maximum_takeoff_weight_lb": "750",
          "unit:airplane:maximum_takeoff_weight_lb": "maximum_takeoff_weight_kg",
          "airplane:airspeed_indicator_unit": "km/h"})  # fmt: skip
    form = alone.get(f"/airplanes/testbird/fields?part={part}").text
    for name in ("weight_kg", "ground_roll_m", "total_over_15_m"):  # offered in the units the book uses
        assert f'name="{rows}/0/{name}"' in form
    assert 'name="performance.takeoff:liftoff_indicated_kmh"' in form
    cells = {f"{rows}/0/weight_kg": "750", f"{rows}/0/pressure_altitude_ft": "0", f"{rows}/0/oat_c": "59"}
    _sent(alone, "testbird", part, **cells, **{f"{rows}/0/ground_roll_m": "200", f"order:{rows}": "0",
          f"unit:{rows}/oat_c": "oat_f"})  # fmt: skip
    text = testbird.read_text()
    assert 'columns = ["weight_kg", "pressure_altitude_ft", "oat_f", "ground_roll_m"]' in text
    assert "[750, 0, 59, 200]" in text.replace("[\n", "[")


def test_a_column_the_book_prints_besides_is_added(alone, tmp_path: Path) -> None:
    part, path = "performance.takeoff", tmp_path / "airplanes" / "larkmoor_155.toml"
    text = path.read_text()
    (grid,) = [g for s in sections(text, part, Said()) for g in s.grids if g.path.endswith(".rows")]
    (wind,) = [key for key, label in grid.more if label == "headwind"]
    sent = {f"order:{grid.path}": ",".join(str(n) for n, _, _ in grid.rows),
            f"columns:{grid.path}": ",".join(key for key, _, _ in grid.columns)}  # fmt: skip
    page = _sent(alone, "larkmoor_155", part, **sent, do=f"{grid.path}/column",
                 **{f"column:{grid.path}": wind})  # fmt: skip
    assert f'name="{grid.path}/0/{wind}"' in page
    sent[f"columns:{grid.path}"] += f",{wind}"
    _sent(alone, "larkmoor_155", part, **sent, **{f"{grid.path}/0/{wind}": "0"})
    (after,) = [g for s in sections(path.read_text(), part, Said()) for g in s.grids if g.path.endswith(".rows")]
    assert wind in [key for key, _, _ in after.columns]
    assert len(after.rows) == len(grid.rows)


def test_a_table_the_book_has_not_is_taken_out_but_none_that_every_file_needs(alone, tmp_path: Path) -> None:
    path = tmp_path / "airplanes" / "larkmoor_155.toml"
    assert "saved=true" in _sent(alone, "larkmoor_155", "performance.glide", what="take out")
    assert "performance.glide" in absent_parts(path.read_text())
    before = path.read_text()
    _sent(alone, "larkmoor_155", "engine", what="take out")
    assert path.read_text() == before


def test_a_complaint_stands_beside_its_field_in_the_fields_own_unit(alone, testbird: Path) -> None:
    """A propeller of 69 cm: it was said of 27.2 of the file's inches, below the form."""
    page = _sent(alone, "testbird", "propeller", what="check", **{"propeller:diameter_in": "69",
                 "unit:propeller:diameter_in": "diameter_cm"})  # fmt: skip
    field = page[page.index('name="propeller:diameter_in"') :].partition('<div class="one')[0]
    assert "found 69, expected more than 76.2" in field
    assert 'aria-invalid="true"' in field


def test_words_are_labels_and_what_is_asked_elsewhere_is_not_said_here(alone, tmp_path: Path) -> None:
    path = tmp_path / "airplanes" / "larkmoor_155.toml"
    path.write_text(re.sub(r"(\[performance\.cruise\].*?rows = \[.*?\n.*?rpm = )\d+", r"\g<1>99", path.read_text(),
                           count=1, flags=re.DOTALL))  # fmt: skip
    page = html.unescape(alone.get("/airplanes/larkmoor_155/fields").text)
    assert "schema version" not in page
    assert "V-speeds" in page
    assert "Time, fuel and distance to climb" in page
    assert "performance.cruise]" not in page


@pytest.mark.parametrize("typed", ["43 - 100", "43-100", "43 to 100", "43–100", "43 | 100"])
def test_an_arc_is_typed_as_books_print_it(alone, testbird: Path, typed: str) -> None:
    _sent(alone, "testbird", "limitations", **{"limitations:white_arc_kias": typed})
    assert "white_arc_kias = [43, 100]" in testbird.read_text(encoding="utf-8")


def test_what_a_limit_load_says_of_both_signs(alone, testbird: Path) -> None:
    _sent(alone, "testbird", "limitations", **{"limitations:load_factor_flaps_up_g": "-1.5 to 3.8"})
    assert "load_factor_flaps_up_g = [-1.5, 3.8]" in testbird.read_text(encoding="utf-8")


def test_a_file_is_read_back_when_its_last_table_is_typed(alone, tmp_path: Path) -> None:
    """What can be read isn't done: the form goes on as long as a briefing lacks a table."""
    book = (BOOKS / "evening.toml").read_text(encoding="utf-8")
    address = alone.post("/airplanes/new", {"name": "Evening"}).headers["location"]
    path = tmp_path / "airplanes" / f"{address.split('/')[2]}.toml"
    led: list[str] = []
    for part in parts_of(book):
        answer = alone.post(address, typed_from(book, path.read_text(encoding="utf-8"), part))
        led.append(answer.headers["location"])
    assert sum("read-back" in where for where in led) == 1
    last = next(k for k, where in enumerate(led) if "read-back" in where)
    needed = [k for k, part in enumerate(parts_of(book)) if any(path == part or path.startswith(f"{part}.")
              for path, _, _ in NEEDED)]  # fmt: skip
    assert last == max(needed)


def test_a_student_types_no_airplane(school) -> None:
    nora = school.as_("Nora Whitlock")
    assert nora.get("/airplanes/new").status_code == 403
    assert nora.post("/airplanes/larkmoor_155/drop", {}).status_code == 403


def test_what_is_the_same_in_every_row_is_typed_once(alone, testbird: Path) -> None:
    """A book for one weight in standard air."""
    part, rows = "performance.climb", "performance.climb.rows"
    form = alone.get(f"/airplanes/testbird/fields?part={part}").text
    assert "weight, of every row" in form
    cells = {f"{rows}/0/pressure_altitude_ft": "0", f"{rows}/0/rate_of_climb_fpm": "640", f"order:{rows}": "0"}
    _sent(alone, "testbird", part, **cells, **{f"{part}:weight_lb": "2300", f"{part}:isa_deviation_c": "0"})
    table = tomllib.loads(testbird.read_text())["performance"]["climb"]
    assert table == {"weight_lb": 2300, "isa_deviation_c": 0, "rows": [[0, 640]],
                     "columns": ["pressure_altitude_ft", "rate_of_climb_fpm"]}  # fmt: skip


def test_a_slip_inside_one_table_is_asked_about_before_the_file_is_whole(alone) -> None:
    assert alone.post("/airplanes/new", {"name": "Ternwick 140"}).status_code == 303
    page = alone.get("/airplanes/ternwick_140/fields?part=fuel").text
    read = re.search(r'name="read" value="(\w+)"', page)
    assert read
    tank = {"order:fuel.tanks": "0", "columns:fuel.tanks": "name,capacity_us_gal,usable_us_gal,unusable_us_gal"}
    cells = ("main", "24", "24", "2")
    sent = tank | {f"fuel.tanks/0/{k}": v for k, v in zip(tank["columns:fuel.tanks"].split(","), cells, strict=True)}
    answer = alone.post("/airplanes/ternwick_140/fields", {**sent, "part": "fuel", "what": "check", "read": read[1]})
    assert "Usable and unusable fuel make up the capacity" in answer.text
    assert "Checked, not saved." in answer.text
    right = {**sent, "fuel.tanks/0/capacity_us_gal": "26", "part": "fuel", "what": "check", "read": read[1]}
    assert "make up the capacity" not in alone.post("/airplanes/ternwick_140/fields", right).text
