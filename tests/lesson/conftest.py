"""Fixtures of the lesson's tests: an airplane with its fitted performance, stand-in runs, planners."""

from __future__ import annotations

import pytest
from hypothesis import settings

from airwork.airplane import Airplane, find_airplane_file, load_airplane
from airwork.airplane.performance import Performance, performance

settings.register_profile("lesson", deadline=None)
settings.load_profile("lesson")


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
