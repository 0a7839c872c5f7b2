"""What the detectors look through: stretches with a few samples missing, as receivers leave them."""

from __future__ import annotations

import numpy as np
import pytest

from airwork.maneuvers.grading.causes import pattern
from airwork.maneuvers.grading.causes.window import window
from approaches import TOUCH, approach, desk


@pytest.mark.parametrize(("lost", "known"), [(0, True), (3, True), (60, False)])
def test_a_few_lost_samples_are_bridged_and_many_are_not_known(lost: int, known: bool) -> None:
    flight = approach()
    _, sheet = desk(flight)
    ias = flight["ias_mps"].copy()
    at = flight.index_at(TOUCH - 20.0)
    ias[at : at + lost] = np.nan
    inside = window(sheet, TOUCH - 30.0, TOUCH - 5.0).of(ias)
    assert (inside is not None) == known
    assert inside is None or np.isfinite(inside).all()


def test_an_overshot_final_with_positions_lost_is_told_all_the_same() -> None:
    """600 ft through the line; a receiver's rows without a position in between broke the debrief."""

    def right(t: np.ndarray) -> np.ndarray:
        out = np.interp(t, [0.0, 20.0, 45.0, 60.0, 75.0], [-800.0, -800.0, 180.0, 180.0, 0.0])
        out[[330, 331, 455]] = np.nan
        return out

    _, sheet = desk(approach(right_m=right))
    cause = pattern.overshot(sheet, TOUCH, -1)
    assert cause is not None
    assert "through the extended center line" in cause.text
