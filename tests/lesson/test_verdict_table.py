"""The verdict an instructor would give, lesson by lesson: hazards are caught and named, harmless lessons stay GO.

The rows (verdicts/hazards.toml, verdicts/harmless.toml) were written from what instructors teach, before the code;
verdicts/second.toml after it, and scored once before anything was mended for it; verdicts/third.toml by somebody who
knew the documents alone, scored once likewise; verdicts/fourth.toml is what an instructor found in lessons of his own.
"""

from __future__ import annotations

import pickle
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from airwork.airplane import Airplane, load_airplane
from airwork.airplane.performance import Performance, performance
from airwork.errors import AirworkError
from airwork.lesson import exercises, flight_plan, legs
from airwork.lesson.file import parse_lesson
from airwork.lesson.plan import _judge, build_briefing, work_out
from airwork.lesson.verdict import Reason, Verdict
from lesson.verdict_rows import Row, rows

LATER = [*rows("second.toml"), *rows("third.toml"), *rows("fourth.toml")]
HAZARDS = [*rows("hazards.toml"), *(r for r in LATER if r.verdict != "go")]
HARMLESS = [*rows("harmless.toml"), *(r for r in LATER if r.verdict == "go")]


@pytest.fixture(scope="module", autouse=True)
def _rooms_asked_once() -> Iterator[None]:
    """What a room answers on one row's day stands for all days of about its warmth at the same heights and about the
    same weight: two fifths of the table's time. Each fiftieth question is asked of its own day, and what they answer on
    very different days is looked at in `lesson/test_every_room.py` and `maneuvers/`.
    """
    ask, kept, count = exercises._ask, {}, 0

    def once(room: Any, airplane: Airplane, fit: Any, day: Any, standard: Any, wanted: Any) -> Any:
        nonlocal count
        count += 1
        heights = (day.altitude_m, day.ground_elevation_m, day.floor_m, day.ceiling_m, round(day.mass_kg / 40.0))
        key = (room, airplane.id, fit, standard, wanted, heights, round(day.air.isa_deviation_k / 5.0))
        if key not in kept or count % 50 == 0:
            kept[key] = ask(room, airplane, fit, day, standard, wanted)
        return kept[key]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(exercises, "_ask", once)
        yield


@pytest.fixture(scope="module", autouse=True)
def _same_question_same_answer() -> Iterator[None]:
    """Lessons of the table differ in a field or two: of three cruises worked out for them two are the same to the last
    digit, of five ways through the area two.
    """
    cruise, lay, known = legs.cruise_at, flight_plan.lay_path, {}

    def cruise_once(airplane: Airplane, fit: Performance, air: Any, height_m: float, *more: Any) -> Any:
        there = float(air.pressure_altitude_m(height_m)), float(air.temperature_at_k(height_m))  # all it asks the air
        key = (id(fit), there, height_m, *more)  # `fitted` keeps them
        if key not in known:
            known[key] = cruise(airplane, fit, air, height_m, *more)
        return known[key]

    def laid_once(shapes: Any, area: Any, air: Any, **more: Any) -> Any:
        key = pickle.dumps((shapes, area.wanted, area.corners_m, air, more))
        if key not in known:
            known[key] = lay(shapes, area, air, **more)
        return known[key]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(legs, "cruise_at", cruise_once)
        patch.setattr(flight_plan, "lay_path", laid_once)
        yield


@cache
def fitted(path: Path) -> tuple[Airplane, Performance]:
    airplane = load_airplane(path)
    return airplane, performance(airplane)


def verdict_of(row: Row) -> Verdict | str:
    """The verdict, or the words a lesson that can't be is refused with. Written up whole where it is go."""
    try:
        lesson = parse_lesson(row.text, where="lesson.toml")  # of one name: an area's map is made once, as for a page
        airplane, fit = fitted(lesson.airplane_path)
        if row.verdict == "go":
            return build_briefing(lesson, airplane, performance=fit).verdict
        return _judge(work_out(lesson, airplane, performance=fit).case, None)
    except AirworkError as refused:
        return str(refused)


def lines(reasons: tuple[Reason, ...], *levels: str) -> list[str]:
    return [f"{r.topic}: {r.text}" for r in reasons if r.level in levels]


def test_the_table_is_as_long_as_was_asked_and_names_no_lesson_twice():
    assert len(HAZARDS) >= 120
    assert len(HARMLESS) >= 40
    assert len({r.id for r in (*HAZARDS, *HARMLESS)}) == len(HAZARDS) + len(HARMLESS)


@pytest.mark.parametrize("row", HAZARDS, ids=[r.id for r in HAZARDS])
def test_a_hazard_is_caught_and_named(row: Row):
    verdict = verdict_of(row)
    if isinstance(verdict, str):
        assert row.refused, verdict
        assert all(re.search(words, verdict) for words in row.says)
        return
    assert verdict.level in ({"think", "no-go"} if row.verdict == "stop" else {row.verdict}), verdict.headline
    said = lines(verdict.reasons, "think", "no-go", "unknown")
    missing = [words for words in row.says if not any(re.search(words, line) for line in said)]
    assert missing == [], said
    unsaid = [r.text for r in verdict.reasons if r.level in {"think", "no-go"} and not (r.source and r.change)]
    assert unsaid == [], "each with its source or airwork's own caution, and what would change it"
    topics = [r.topic for r in verdict.reasons]
    assert len(topics) == len(set(topics)), "one fact, one line"


@pytest.mark.parametrize("row", HARMLESS, ids=[r.id for r in HARMLESS])
def test_a_harmless_lesson_stays_go(row: Row):
    verdict = verdict_of(row)
    assert isinstance(verdict, Verdict), verdict
    assert verdict.level == "go", verdict.headline
    said = lines(verdict.reasons, "go", "not checked")
    assert all(any(re.search(words, line) for line in said) for words in row.says), said
