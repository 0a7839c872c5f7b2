"""The invented airplanes, fitted once."""

import pytest

from airwork.airplane import load_airplane
from airwork.airplane.performance import performance

NAMES = ("larkmoor_155", "wrenbrook_108", "caldmere_200")


@pytest.fixture(scope="session")
def fitted(airplane_folder):
    """name -> Performance of the invented airplanes, handbook and nine readings each."""
    return {name: performance(load_airplane(airplane_folder / f"{name}.toml")) for name in NAMES}
