"""The terminal view: the exercise with its steps, numbers that can be told from their labels, nothing wider than it."""

from __future__ import annotations

import pytest

from airwork.live.follower import Screen, Told
from airwork.live.now import Item
from airwork.live.terminal import WIDTH, screen_text

STEPS = ("Before: clearing turns", "Level at 110 mph, trimmed", "Roll in to 45°", "Level again")


def screen(state: str) -> Screen:
    why = "floor 4,300 ft of the area and more words than stand on one line of a narrow terminal"
    return Screen(
        "14:43:05", state, "Steep turn", "110 mph · bank 45°", "99%", {}, STEPS,
        ((3, "Steep turn"), (5, "Emergency descent")),
        (Item("edge", "outside the area by", "6.9 NM", why),), (Item("floor", "above the floor", "540 ft", ""),), (),
        (Told("Slow flight", "not held", "airspeed"), Told("Takeoff", "held", "")), (), {"sim": 0.2},
        False, 0, (), 12,
    )  # fmt: skip


def test_before_an_exercise_its_entry_stands_there_and_in_it_what_follows() -> None:
    ahead, flown = (screen_text(screen(state), colors=False) for state in ("next", "in hand"))
    assert all(step in ahead for step in STEPS[:2])
    assert not any(step in ahead for step in STEPS[2:])
    assert STEPS[0] not in flown
    assert all(step in flown for step in STEPS[1:])


@pytest.mark.parametrize("state", ["next", "in hand", ""])
def test_no_label_runs_into_its_number_and_no_line_is_too_wide(state: str) -> None:
    text = screen_text(screen(state), colors=False)
    assert "outside the area by 6.9 NM" in text
    assert "Slow flight: not held: airspeed" in text
    assert "Takeoff: held\n" in text
    assert max(map(len, text.splitlines())) <= WIDTH
