"""The whole plan: from lesson and airplane to a Briefing that comes back from JSON the same."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airwork.airplane import find_airplane_file, load_airplane
from airwork.errors import AirworkError, NotPossible
from airwork.lesson.briefing import Briefing
from airwork.lesson.file import load_lesson, parse_lesson
from airwork.lesson.plan import build_briefing
from airwork.maneuvers import room
from airwork.units import FT_M
from lesson.lessons import DEMO, SMALL, changed


@pytest.fixture
def demo(stand_in_rooms, larkmoor, larkmoor_fit) -> Briefing:
    return build_briefing(load_lesson(DEMO), larkmoor, performance=larkmoor_fit)


def test_its_json_is_plain_data_with_units_in_the_names(demo: Briefing):
    data = json.loads(json.dumps(demo.as_json()))
    assert data["fuel"]["aboard_m3"] == pytest.approx(demo.fuel.aboard_m3)
    assert data["exercises"][0]["set_up"]["entry_altitude_m"] == pytest.approx(6500 * FT_M)
    assert {"level", "reasons"} <= set(data["verdict"])


def test_the_exercises_are_in_order_with_times_targets_and_paths(demo: Briefing):
    kinds = [e.kind for e in demo.exercises]
    assert kinds == ["slow_flight", *["power_off_stall"] * 2, *["power_on_stall"] * 2, "steep_turn",
                     "turns_around_point", "emergency_descent"]  # fmt: skip
    for before, after in zip(demo.exercises, demo.exercises[1:], strict=False):
        assert after.start_utc_s >= before.end_utc_s
    assert demo.exercises[0].end_utc_s - demo.exercises[0].start_utc_s == pytest.approx(8 * 60)
    assert demo.exercises[0].targets == {"ias_mps": 35.0}
    assert all(e.path is not None and e.path.margin_m >= demo.area.margin_m - 1 for e in demo.exercises)


def test_the_briefing_holds_what_the_debrief_compares_with(demo: Briefing):
    assert demo.area.floor_m == pytest.approx(4300 * FT_M)
    assert len(demo.area.corners_rad) == 4
    assert demo.fuel.burned_m3 == pytest.approx(sum(leg.fuel_m3 for leg in demo.legs))
    assert demo.tanks.changes
    assert demo.end_utc_s == pytest.approx(demo.start_utc_s + demo.legs[-1].end_s)


def small(larkmoor, larkmoor_fit, **changes: str) -> Briefing:
    text = SMALL
    for old, new in changes.items():
        text = changed(text, {old: new})
    return build_briefing(parse_lesson(text, where="small.toml"), larkmoor, performance=larkmoor_fit)


@pytest.mark.usefixtures("stand_in_rooms")
def test_a_lesson_across_midnight_goes_on_into_the_next_day(larkmoor, larkmoor_fit):
    b = small(larkmoor, larkmoor_fit, **{"08:30": "23:50"})
    assert datetime.fromtimestamp(b.start_utc_s, UTC) == datetime(2025, 9, 21, 5, 50, tzinfo=UTC)
    assert b.style.clock(b.end_utc_s) < "01:00"
    assert b.daylight.local_date == "2025-09-20"
    assert b.fuel.legal.time_s == 45 * 60


@pytest.mark.usefixtures("stand_in_rooms")
def test_a_lesson_over_the_clock_change_shows_the_new_clock_and_keeps_its_length(larkmoor, larkmoor_fit):
    """America/Denver goes back an hour at 02:00 on 2025-11-02: after 01:59 daylight time comes 01:00 standard time."""
    b = small(larkmoor, larkmoor_fit, **{"2025-09-20": "2025-11-02", "08:30": "01:50-06:00"})
    assert b.style.clock(b.start_utc_s, zone=True) == "01:50 MDT"
    assert b.style.clock(b.end_utc_s, zone=True).endswith("MST")
    other = small(larkmoor, larkmoor_fit)
    assert b.end_utc_s - b.start_utc_s == pytest.approx(other.end_utc_s - other.start_utc_s, rel=0.2)


def test_an_exercise_without_a_set_up_is_said_and_takes_no_time(larkmoor, larkmoor_fit, monkeypatch):
    from airwork.lesson import exercises

    def refuse(ws):
        raise NotPossible("Steep turn: no set-up today.")

    refusing = replace(room("steep_turn"), set_up=refuse)
    monkeypatch.setattr(exercises, "find_room", lambda kind, where: refusing)
    b = small(larkmoor, larkmoor_fit)
    assert b.exercises[0].set_up is None
    assert b.exercises[0].problem == "no set-up today."
    assert b.verdict.level != "go"


@pytest.mark.usefixtures("stand_in_rooms")
def test_every_demo_airplane_can_be_briefed():
    for name, stations in (("wrenbrook_108", "seats"), ("caldmere_200", "front seats")):
        airplane = load_airplane(find_airplane_file(name))
        tanks = "\n".join(f'"{t.name}" = "8 gal"' for t in airplane.tanks)
        text = changed(
            SMALL.replace('"front seats"', f'"{stations}"'), {'"left wing" = "18 gal"\n"right wing" = "16 gal"': tanks}
        )
        b = build_briefing(parse_lesson(text), airplane)
        assert b.fuel.burned_m3 > 0
        assert [p.name for p in b.power] == ["cruise", "pattern, level"]
        assert any(s.name == "best glide" for s in b.speeds)


_KINDS = st.sampled_from(["slow_flight", "steep_turn", "landing", "takeoff", "climb", "glide", "nonsense"])
_QUANTITIES = st.sampled_from(
    ['"0 lb"', '"900 lb"', '"3 gal"', '"0 gal"', '"20 gal"', '"calm"', '"VRB/40 kt"', '"350/70 kt"', '"-40 °C"',
     '"45 °C"', '"28.1 inHg"', '"0 SM"', '"100 ft"', '"12,000 ft"', "2026-01-01"]
)  # fmt: skip
_LINES = [i for i, line in enumerate(SMALL.splitlines()) if "=" in line]


@settings(max_examples=25, deadline=None)
@given(st.dictionaries(st.sampled_from(_LINES), _QUANTITIES, max_size=4), st.lists(_KINDS, max_size=3))
def test_any_day_is_briefed_or_refused_in_one_line(larkmoor, larkmoor_fit, values, kinds):
    """Hot, heavy, windy, dark, empty: nothing but an AirworkError comes out, and no reason is without words."""
    lines = SMALL.splitlines()
    for at, value in values.items():
        lines[at] = f"{lines[at].split('=')[0]}= {value}"
    text = "\n".join([*lines, *(f'[[exercises]]\nkind = "{k}"' for k in kinds)])
    message, b = brief_or_refuse(text, larkmoor, larkmoor_fit)
    assert "\n" not in message
    if b is not None:
        assert all(r.text for r in b.verdict.reasons)
        assert json.loads(b.to_json())


def brief_or_refuse(text: str, airplane, fit) -> tuple[str, Briefing | None]:
    try:
        return "", build_briefing(parse_lesson(text, where="lesson"), airplane, performance=fit)
    except AirworkError as problem:
        return str(problem), None
