"""The invented airplanes, fitted once; the numbers they were computed from."""

import tomllib
from pathlib import Path

import pytest

from airwork.airplane import load_airplane
from airwork.airplane.performance import performance

NAMES = ("larkmoor_155", "wrenbrook_108", "caldmere_200")


@pytest.fixture(scope="session")
def fitted(airplane_folder):
    """name -> Performance of the invented airplanes, handbook and nine readings each."""
    return {name: performance(load_airplane(airplane_folder / f"{name}.toml")) for name in NAMES}


@pytest.fixture(scope="session")
def truth():
    """What the invented airplanes' tables were computed from (`tests/sources/airplane_truth.toml`)."""
    return tomllib.loads((Path(__file__).parents[2] / "sources" / "airplane_truth.toml").read_text())
