"""An error carries where it was found, for a page to find its field by; the line a person reads is made from it."""

from __future__ import annotations

from pathlib import Path

import pytest

import airwork
from airwork.airplane import Airplane
from airwork.airplane.check import check_airplane
from airwork.airplane.file.lines import line_numbers
from airwork.airplane.file.load import parse_airplane_file
from airwork.errors import InputError, Where
from airwork.lesson.file import parse_lesson
from airwork.web.airplane_form import Said

FILES = Path(airwork.__file__).parent / "demo_files"
AIRPLANE = (FILES / "airplanes" / "larkmoor_155.toml").read_text("utf-8")
LESSON = (FILES / "lessons" / "stalls_over_the_lake.toml").read_text("utf-8")


@pytest.mark.parametrize(
    ("path", "table", "rows", "row", "field", "printed"),
    [
        (("engine", "rated_rpm"), "engine", "", None, "rated_rpm", "[engine], rated_rpm"),
        (("performance", "stall", "rows", 2, "kcas"), "performance.stall", "rows", 2, "kcas",
         "[performance.stall] row 3, kcas"),
        (("observations", 0, "kias"), "observations", "", 0, "kias", "[observations] row 1, kias"),
        (("fuel", "tanks", 1), "fuel", "tanks", 1, "", "[fuel] tanks row 2"),
        (("exercises", 1, "target", "bank"), "exercises", "", 1, "target.bank", "[exercises] row 2, target.bank"),
    ],
)  # fmt: skip
def test_a_place_takes_its_path_apart_and_gives_it_back(path, table, rows, row, field, printed) -> None:
    found = Where.of("", path)
    assert (found.table, found.rows, found.row, found.field) == (table, rows, row, field)
    assert found.path == tuple(part for key in path for part in (key.split(".") if isinstance(key, str) else (key,)))
    assert Where.of("", found.path) == found
    assert str(found) == printed


def test_a_place_is_printed_behind_its_file() -> None:
    assert str(Where("mine.toml", "engine", field="rated_rpm", line=7)) == "mine.toml: [engine] (line 7), rated_rpm"
    assert str(Where.of("mine.toml", ("people", 0, "weight"), dotted=True)) == "mine.toml: people 1.weight"
    assert str(Where("book.csv", line=3)) == "book.csv, line 3"
    assert str(InputError("no such file.", where="x.toml")) == "x.toml: no such file."


def test_each_fault_of_an_airplane_file_has_its_place_and_line() -> None:
    spoiled = AIRPLANE.replace("rated_rpm = ", "rated_rpm = 'fast' # ", 1).replace(
        "capacity_us_gal = ", "capacity = ", 1
    )
    with pytest.raises(InputError) as found:
        parse_airplane_file(spoiled, where="mine.toml")
    places = {(e.where.file, e.where.table, e.where.rows, e.where.row, e.where.field) for e in found.value.each}
    assert ("mine.toml", "engine", "", None, "rated_rpm") in places
    assert {p for p in places if p[4].startswith("capacity")} >= {("mine.toml", "fuel", "tanks", 0, "capacity")}
    lines = spoiled.splitlines()
    for e in found.value.each:
        if e.where.field == "rated_rpm":
            assert "'fast'" in lines[(e.where.line or 0) - 1]


def _briefed(text: str) -> None:
    airwork.brief_lesson(parse_lesson(text, where="l.toml", folder=FILES / "lessons"))


def test_a_lesson_s_fault_names_the_value_that_the_form_shows() -> None:
    for old, new, path in (
        ('time = "', 'time = "9', ("time",)),
        ("kind = ", 'kind = "nothing_known" # ', ("exercises", 0, "kind")),
    ):
        with pytest.raises(InputError) as found:
            _briefed(LESSON.replace(old, new, 1))
        assert found.value.where.path == path
        assert str(found.value.where.file) == "l.toml"


def test_the_page_finds_fields_by_places_alone() -> None:
    """Negative control beside: a complaint about another row, table or key is not shown at this field."""
    at = Where("", "performance.stall", "rows", 2, "kcas", line=9)
    said = Said([InputError("found 'x', expected a number", where=at)])
    assert said.at("performance.stall", "rows", 1, "kcas") == said.at("performance.stall", "rows", 2) == ()
    assert said.at("performance.climb", "rows", 2, "kcas") == ()
    parts = ("airplane", "performance.stall")
    assert len(said.left_of("performance.stall", parts)) == 1
    assert said.left_of("airplane", parts) == ()  # it is told where it belongs
    assert said.at("performance.stall", "rows", 2, "kcas") == ("found 'x', expected a number",)
    assert said.left_of("performance.stall", parts) == ()
    assert (said.counts("performance.stall"), said.counts("performance"), said.counts("perf")) == (1, 1, 0)


def test_every_complaint_of_the_check_says_table_and_line() -> None:
    spoiled = AIRPLANE.replace("usable_us_gal = ", "usable_us_gal = 1", 1)
    complaints = check_airplane(Airplane(parse_airplane_file(spoiled)), line_numbers(spoiled))
    assert any(c.where.table == "fuel" and c.where.rows == "tanks" and c.where.line for c in complaints)
