"""Fixtures of the airplane tests: the invented airplanes, and a file made small for worked examples."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from airwork.airplane import Airplane, load_airplane
from airwork.airplane.file.model import AirplaneFile

NAMES = ("larkmoor_155", "wrenbrook_108", "caldmere_200")
SOURCES = Path(__file__).parent.parent / "sources"


@pytest.fixture(scope="session")
def airplanes(airplane_folder: Path) -> dict[str, Airplane]:
    """The invented airplanes by id."""
    return {name: load_airplane(airplane_folder / f"{name}.toml") for name in NAMES}


@pytest.fixture(scope="session")
def larkmoor(airplanes: dict[str, Airplane]) -> Airplane:
    """Larkmoor 155: mph dial, fixed pitch."""
    return airplanes["larkmoor_155"]


@pytest.fixture(scope="session")
def caldmere(airplanes: dict[str, Airplane]) -> Airplane:
    """Caldmere 200: knots, constant speed."""
    return airplanes["caldmere_200"]


@pytest.fixture(scope="session")
def truth() -> dict[str, dict[str, Any]]:
    """The numbers the invented airplanes were computed from. Invented data: tests only."""
    return tomllib.loads((SOURCES / "airplane_truth.toml").read_text())


@pytest.fixture
def small() -> Callable[..., Airplane]:
    """Makes an airplane of the fewest keys; keyword tables are added or put in their place."""

    def make(**tables: Any) -> Airplane:
        data: dict[str, Any] = {
            "airplane": {
                "schema_version": 1,
                "id": "worked_example",
                "name": "Worked example",
                "maximum_takeoff_weight_lb": 3400,
                "airspeed_indicator_unit": "kt",
            },
            "engine": {"rated_power_hp": 160, "rated_rpm": 2700, "fuel_system": "carburetor"},
            "propeller": {"type": "fixed_pitch"},
            "flaps": {"notches": [{"notch": 0}, {"notch": 1}]},
        }
        for key, table in tables.items():
            data[key] = {**data.get(key, {}), **table} if isinstance(table, dict) else table
        return Airplane(AirplaneFile.model_validate(data))

    return make
