"""The demo's lesson planned once, and recordings to follow."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

import airwork
from airwork.lesson.plan import Planned
from airwork.live.now import live_plan
from airwork.live.recorder import Recorder
from airwork.live.sources import samples_of
from airwork.recording import Flight

STALLS = airwork.demo_folder() / "recordings" / "2025-09-20_stalls_over_the_lake.csv.gz"


@pytest.fixture(scope="session")
def plan() -> Planned:
    """The demo's lesson."""
    return live_plan("demo")


@cache
def stalls() -> Flight:
    """The demo's flight of that lesson."""
    return airwork.read_flight(STALLS)


def begun(path: Path, seconds: float) -> Path:
    """Its beginning."""
    out = Recorder(path, sync_s=1e9)
    for at, sample in samples_of(stalls(), "demo"):
        if at > seconds:
            break
        out.take(sample.time_s, sample.values, at)
    out.close()
    return path


@pytest.fixture(scope="session")
def part(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Takeoff, climb, slow flight, a stall."""
    return begun(tmp_path_factory.mktemp("live") / "part.csv", 1000.0)


@pytest.fixture(scope="session")
def short(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Takeoff and climb."""
    return begun(tmp_path_factory.mktemp("live") / "short.csv", 240.0)
