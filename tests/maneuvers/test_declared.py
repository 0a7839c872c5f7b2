"""A maneuver is one declared value: what its room says is true, complete, and said nowhere else."""

from __future__ import annotations

import ast
from dataclasses import fields, replace
from pathlib import Path

import pytest

import airwork
from airwork.errors import AirworkError
from airwork.lesson.target import WORDS
from airwork.maneuvers import ROOMS, room, rooms
from airwork.maneuvers.declared import Family, Role, Room
from airwork.maneuvers.setting_up import worksheet
from airwork.maneuvers.setup import Order
from airwork.output.report_series import PLOTS
from maneuvers.days import airplane, conditions, fitted, standard_for

SOURCE = Path(airwork.__file__).parent
FOLDER = SOURCE / "maneuvers"
NO_ROOM = {"__init__", "brief_facts", "declared", "episode", "setup"}  # what all rooms are made of
# Floors that stand below the rooms and know none: their takeoff is a table of the handbook, a contact of a recording.
BELOW = ("airdata", "airplane", "recording", "standards")
# Words of the trade that name other things too: a contact on the runway, a phase of a maneuver, a leg of the plan, a
# table or speed of the handbook, a movement in the logbook, a line of a report. Among the rooms and where they are
# asked, where they do so is listed; elsewhere they are free.
EVERYDAY = {"takeoff", "landing", "touch_and_go", "climb", "descent", "glide", "leaning"}
CONTACTS = {"takeoff", "landing", "touch_and_go"}
ALSO = {
    "lesson/lesson.py": {"tank_change"},  # a key of the lesson file: how long one takes
    "maneuvers/seeing/contacts.py": CONTACTS, "maneuvers/seeing/view_building.py": CONTACTS,
    "maneuvers/traffic_pattern.py": CONTACTS, "maneuvers/touch_and_go.py": {"takeoff", "climb"},
    "maneuvers/takeoff.py": {"climb"}, "maneuvers/go_around.py": {"climb"},
    "maneuvers/instrument_basics.py": {"climb"}, "maneuvers/power_off_180.py": {"glide"},
    "maneuvers/power_on_stall.py": {"takeoff"}, "maneuvers/setting_up/arrival.py": {"landing"},
    "maneuvers/setting_up/departure.py": {"takeoff"}, "debrief/plan.py": {"climb"},
    "debrief/fuel_record.py": {"leaning"},
}  # fmt: skip


def _texts(path: Path, wanted: set[str]) -> list[tuple[int, str]]:
    """Every text of a file that is one of those wanted, with its line; only one with it in quotes is looked through."""
    text = path.read_text(encoding="utf-8")
    if not any(f'"{word}"' in text or f"'{word}'" in text for word in wanted):
        return []
    constants = [n for n in ast.walk(ast.parse(text)) if isinstance(n, ast.Constant) and isinstance(n.value, str)]
    return [(n.lineno, n.value) for n in constants if n.value in wanted]


def test_no_kind_is_named_outside_its_room() -> None:
    """Nobody keeps a list of kinds: whoever wants to know something of one asks its room."""
    culprits, kinds = [], set(ROOMS)
    for path in SOURCE.rglob("*.py"):
        where = path.relative_to(SOURCE).as_posix()
        if where.split("/")[0] in BELOW or where == "maneuvers/__init__.py":
            continue
        own = path.stem if path.parent == FOLDER else ""
        asked = where.startswith(("maneuvers/", "debrief/"))
        allowed = ALSO.get(where, set()) | (set() if asked else EVERYDAY)
        culprits += [f"{where}:{line} {text}" for line, text in _texts(path, kinds - allowed - {own})]
    assert not culprits


def test_the_everyday_words_are_still_needed() -> None:
    for where, words in ALSO.items():
        assert _texts(SOURCE / where, words), where


def test_the_list_of_rooms_is_the_folder() -> None:
    assert sorted(ROOMS) == sorted({p.stem for p in FOLDER.glob("*.py")} - NO_ROOM)
    assert [one.kind for one in rooms()] == list(ROOMS)
    everyday = [one.kind for one in rooms(Family.FUNDAMENTAL)]
    assert everyday == [kind for kind in ROOMS if kind in everyday]
    assert {"climb", "straight_and_level", "level_turn", "descent"} <= set(everyday)


def test_no_room_imports_a_room() -> None:
    for kind in ROOMS:
        code = ast.parse((FOLDER / f"{kind}.py").read_text(encoding="utf-8"))
        wanted = {n.module or "" for n in ast.walk(code) if isinstance(n, ast.ImportFrom)}
        assert not wanted & {f"airwork.maneuvers.{other}" for other in ROOMS}, kind


@pytest.mark.parametrize("kind", ROOMS)
def test_what_a_room_declares_holds_together(kind: str) -> None:
    one = room(kind)
    assert set(one.plots) <= set(PLOTS)
    assert 0.0 < one.accepted < 1.0
    assert 0.0 < one.worth <= 1.2
    assert one.lay is None or one.over_ground is None, "an ideal is laid in the air or over the ground"
    assert one.over_ground is None or one.tied_to_ground
    assert not (one.takes_off or one.lands) or one.role is Role.RUNWAY
    assert one.at_field or one.role is not Role.RUNWAY
    assert not one.wants_clear_sky or one.role is Role.EXERCISE
    known = {f.name for f in fields(Room)}
    assert {"kind", "family", "set_up"} <= known
    assert replace(one) == one


class _Watched(dict):  # type: ignore[type-arg]
    """A lesson's wishes that remember what was asked of them."""

    asked: set[str] = set()  # noqa: RUF012

    def get(self, key, default=None):  # type: ignore[no-untyped-def]
        self.asked.add(key)
        return super().get(key, default)

    def __contains__(self, key: object) -> bool:
        self.asked.add(str(key))
        return super().__contains__(key)


@pytest.mark.parametrize("kind", ROOMS)
def test_a_room_reads_the_wishes_it_declares_and_no_others(kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Declared and read are the same names, over two airplanes; every name is a word a lesson can write."""
    monkeypatch.setattr(worksheet, "dict", type("Watched", (_Watched,), {}), raising=False)
    _Watched.asked.clear()
    for name in ("larkmoor_155", "wrenbrook_108"):
        day = conditions(name, "standard, calm")
        order = Order(airplane(name), fitted(name), day, standard_for(kind), _Watched())
        try:
            room(kind).ideal(room(kind).brief(order), order)
        except AirworkError:
            continue
    assert _Watched.asked == room(kind).wishes
    assert room(kind).wishes <= {inside for inside, _, _ in WORDS.values()}


def test_every_word_a_lesson_may_write_is_read_by_a_room() -> None:
    assert {inside for inside, _, _ in WORDS.values()} == frozenset().union(*(one.wishes for one in rooms()))
