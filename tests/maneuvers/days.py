"""Days, airplanes and set-ups shared by the tests of set-up and ideal path."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from typing import Any

import airwork
from airwork.airdata.column import AirColumn, WindLayer
from airwork.airplane import Airplane, load_airplane
from airwork.airplane.performance import Performance, performance
from airwork.errors import AirworkError
from airwork.maneuvers import room
from airwork.maneuvers.setup import Conditions, Order, SetUp, Trace
from airwork.standards import Standard, load_standard
from airwork.units import FT_M, KT_MPS

FOLDER = Path(airwork.__file__).parent / "demo_files" / "airplanes"
AIRPLANES = ("larkmoor_155", "wrenbrook_108", "caldmere_200")
COMMERCIAL_KINDS = {"chandelle", "lazy_eight", "eights_on_pylons", "steep_spiral", "accelerated_stall", "power_off_180"}


def wind(from_deg: float, kt: float, altitude_m: float = 500.0) -> tuple[WindLayer, ...]:
    return (WindLayer(altitude_m, math.radians(from_deg), kt * KT_MPS),)


# name -> (air, ground elevation [m])
DAYS = {
    "standard, calm": (AirColumn(), 0.0),
    "standard, 15 kt": (AirColumn(winds=wind(240.0, 15.0)), 60.0),
    "cold": (AirColumn(temperature_k=253.15, setting_pa=103_000.0, winds=wind(330.0, 22.0)), 0.0),
    "hot and high": (
        AirColumn(temperature_k=308.15, temperature_altitude_m=1676.0, winds=wind(200.0, 12.0, 1700.0)),
        1676.0,
    ),
    "storm": (AirColumn(winds=wind(270.0, 58.0)), 100.0),
}


@lru_cache(maxsize=8)
def airplane(name: str, dial: str = "") -> Airplane:
    found = load_airplane(FOLDER / f"{name}.toml")
    return found.with_dial(dial) if dial else found


def fitted(name: str, dial: str = "") -> Performance:
    return performance(airplane(name, dial))


def standard_for(kind: str) -> Standard:
    return load_standard("commercial" if kind in COMMERCIAL_KINDS else "private")


def conditions(name: str, day: str, load: float = 0.95, **more: Any) -> Conditions:
    air, ground = DAYS[day]
    return Conditions(air=air, mass_kg=load * airplane(name).max_takeoff_mass_kg, ground_elevation_m=ground, **more)


_MADE: dict[str, Any] = {}  # each is asked for by several tests, and an ideal takes its time


def _once(make: Callable[[], Any], *asked: object) -> Any:
    """What was made, or refused, when the same was asked for before."""
    if (key := repr(asked)) not in _MADE:
        try:
            _MADE[key] = make()
        except AirworkError as refused:
            _MADE[key] = refused
    if isinstance(found := _MADE[key], AirworkError):
        raise found
    return found


def order(kind: str, name: str, day: str, target: dict[str, Any] | None = None, load: float = 0.95) -> Order:
    return Order(airplane(name), fitted(name), conditions(name, day, load), standard_for(kind), target or {})


def set_up(kind: str, name: str, day: str, target: dict[str, Any] | None = None, load: float = 0.95) -> SetUp:
    made: SetUp = _once(lambda: room(kind).brief(order(kind, name, day, target, load)), kind, name, day, target, load)
    return made


def ideal(kind: str, name: str, day: str, target: dict[str, Any] | None = None) -> tuple[SetUp, Trace]:
    made = set_up(kind, name, day, target)
    trace: Trace = _once(lambda: room(kind).ideal(made, order(kind, name, day, target)), kind, name, day, target)
    return made, trace


def number(made: SetUp, name: str) -> float:
    """The value of a line of the set-up."""
    return next(n.value.value for n in made.numbers if n.name == name)


def feet(altitude_ft: float) -> float:
    return altitude_ft * FT_M
