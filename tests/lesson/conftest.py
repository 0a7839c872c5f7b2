"""Fixtures of the lesson's tests: an airplane with its fitted performance, stand-in runs, planners."""

from __future__ import annotations

import pytest

from airwork.airplane import Airplane, find_airplane_file, load_airplane
from airwork.airplane.performance import Performance, performance
from airwork.maneuvers.declared import Room


@pytest.fixture(scope="session")
def larkmoor() -> Airplane:
    """Left and right tank, fixed pitch, dial in mph."""
    return load_airplane(find_airplane_file("larkmoor_155"))


@pytest.fixture(scope="session")
def wrenbrook() -> Airplane:
    """One selector for both tanks."""
    return load_airplane(find_airplane_file("wrenbrook_108"))


@pytest.fixture(scope="session")
def caldmere() -> Airplane:
    """Constant-speed propeller, fuel injection."""
    return load_airplane(find_airplane_file("caldmere_200"))


@pytest.fixture(scope="session")
def larkmoor_fit(larkmoor: Airplane) -> Performance:
    """Fitted once."""
    return performance(larkmoor)


@pytest.fixture
def stand_in_rooms(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every maneuver answered by a plain stand-in, so that the plan is tested apart from the rooms."""
    from dataclasses import replace

    from airwork.lesson import exercises
    from airwork.units import FT_M
    from lesson.runs import a_set_up, a_trace

    real = exercises.find_room

    def find(kind: str, *, where: str) -> Room:
        room = real(kind, where=where)
        sink = 4.0 if kind == "emergency_descent" else 0.0

        def set_up(ws):
            return a_set_up(room.kind, ws.conditions.altitude_m or 6500 * FT_M, 180.0)

        def ideal(_set_up, order):
            return a_trace(180.0, order.conditions.altitude_m or 6500 * FT_M, sink_mps=sink)

        return replace(room, set_up=set_up, ideal=ideal)

    monkeypatch.setattr(exercises, "find_room", find)
