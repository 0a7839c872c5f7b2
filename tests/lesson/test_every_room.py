"""Every maneuver room through a whole lesson: set-up, time, fuel, a place in the area, a line on the card."""

from __future__ import annotations

import pytest

from airwork.airplane import find_airplane_file, load_airplane
from airwork.lesson.file import load_lesson, parse_lesson
from airwork.lesson.plan import build_briefing
from airwork.maneuvers import ROOMS, room
from airwork.output.card import make_card
from lesson.lessons import DEMO, SMALL, changed

HEAD = DEMO.read_text().split("[[exercises]]")[0]


@pytest.mark.parametrize("kind", ROOMS)
def test_a_room_is_briefed_timed_fuelled_and_laid_in_the_area(kind: str, larkmoor, larkmoor_fit):
    lesson = parse_lesson(f'{HEAD}[[exercises]]\nkind = "{kind}"\n')
    b = build_briefing(lesson, larkmoor, performance=larkmoor_fit)
    exercise = b.exercises[0]
    assert exercise.problem == ""
    assert exercise.set_up is not None
    assert exercise.end_utc_s > exercise.start_utc_s
    leg = next(x for x in b.legs if x.run == 0)
    assert leg.fuel_m3 > 0
    card = make_card(b).maneuvers[0]
    assert card.line
    assert exercise.set_up.steps
    if room(kind).at_field:
        assert exercise.path is None
    else:
        assert exercise.path is not None
        assert exercise.path.margin_m >= b.area.margin_m - 1.0
        lowest = min(p[3] for p in exercise.path.points)
        assert lowest >= b.area.floor_m - 1.0


def test_an_exercise_the_airplane_cannot_do_is_named_once(larkmoor, larkmoor_fit):
    """Too high for a steep turn; the maneuver's own refusal begins with its name too."""
    steep = changed(SMALL, {'kind = "steep_turn"': 'kind = "steep_turn"\naltitude = "15,000 ft"'})
    b = build_briefing(parse_lesson(steep), larkmoor, performance=larkmoor_fit)
    reason = next(r for r in b.verdict.reasons if r.topic == "Steep turn")
    assert reason.level == "no-go"
    assert reason.text.count("Steep turn") == 1
    assert b.exercises[0].problem
    assert "Steep turn" not in b.exercises[0].problem


@pytest.mark.parametrize("name", ["wrenbrook_108", "caldmere_200"])
def test_the_other_airplanes_fly_a_lesson_of_many_rooms(name: str):
    airplane = load_airplane(find_airplane_file(name))
    station = next(s.name for s in airplane.file.weight_and_balance.stations if "seat" in s.name)
    fuel = "\n".join(f'"{t.name}" = "9 gal"' for t in airplane.tanks)
    kinds = ("takeoff", "climb", "slow_flight", "power_off_stall", "steep_turn", "glide", "traffic_pattern", "landing")
    exercises = "".join(f'[[exercises]]\nkind = "{k}"\n' for k in kinds)
    text = changed(
        SMALL.split("[[exercises]]")[0].replace('"front seats"', f'"{station}"'),
        {
            '"left wing" = "18 gal"\n"right wing" = "16 gal"': fuel,
            "larkmoor_155": name,
        },
    )
    b = build_briefing(parse_lesson(text + exercises), airplane)
    assert [e.problem for e in b.exercises] == [""] * len(kinds)
    if not airplane.fixed_pitch:
        assert all(p.manifold_pressure_pa for p in b.power)


def test_the_demo_lesson_is_briefed_whole(larkmoor, larkmoor_fit):
    b = build_briefing(load_lesson(DEMO), larkmoor, performance=larkmoor_fit)
    assert all(e.set_up is not None and e.path is not None for e in b.exercises)
    assert b.verdict.level == "think"
    assert not b.verdict.of("unknown")
    assert b.fuel.spare_m3 > 0
