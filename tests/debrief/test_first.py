"""What is said first: the drill is of the thing that went wrong."""

from __future__ import annotations

import pytest

from airwork.debrief.first import DRILLS, SETTLED_DRILLS, _drill, _Place


def _settled(*quantities: str) -> list[_Place]:
    return [_Place("", "", 1.0, "target not set", 0.0, 1.0, n, q) for n, q in enumerate(quantities)]


@pytest.mark.parametrize("quantity", ["bank", "altitude"])
def test_a_turn_too_shallow_gets_no_drill_of_speeds(quantity: str) -> None:
    assert _drill("target not set", _settled(quantity, quantity)) == SETTLED_DRILLS[quantity]


def test_several_things_or_the_speed_get_the_roots_drill() -> None:
    for places in (_settled("bank", "ias"), _settled("ias"), _settled("")):
        assert _drill("target not set", places) == DRILLS["target not set"]
    assert _drill("late", _settled("bank")) == DRILLS["late"]
