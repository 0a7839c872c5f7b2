"""Quantities as a person writes them in a lesson file ("17 gal", "29.92 inHg", "240/12G18 kt"), read into SI."""

from __future__ import annotations

import math
import re
from typing import Annotated, Any

from pydantic import BeforeValidator
from pydantic_core import PydanticCustomError

from airwork import units
from airwork.airdata.angles import wrap_positive_rad
from airwork.errors import UnitError
from airwork.lesson.winds import Aloft, Wind

FILL_IN = "FILL IN"  # what `airwork lesson new` writes where only the user knows


def complain(message: str) -> PydanticCustomError:
    """An error that pydantic hands on with the field it happened in; braces in the text are kept."""
    return PydanticCustomError("lesson", "{message}", {"message": message})


def _read(value: Any, kind: units.Kind, low: float, high: float, said: str) -> float:
    if isinstance(value, (bool, list, dict)) or value is None:
        raise complain(f"expected a quantity with its unit, e.g. {said}")
    if str(value).strip().upper() == FILL_IN:
        raise complain(f"still says FILL IN; write e.g. {said}")
    try:
        number = units.parse(value, kind)
    except UnitError as problem:
        raise complain(problem.problem) from None
    if not low <= number <= high:
        raise complain(f"{value!r} can't be right; expected something like {said}")
    return number


def _quantity(kind: units.Kind, low: float, high: float, said: str) -> BeforeValidator:
    return BeforeValidator(lambda value: _read(value, kind, low, high, said))


# Bounds catch slips of a unit (feet for inches), not bad ideas: those are the verdict's business.
Mass = Annotated[float, _quantity("mass", 0.0, 2_000.0, '"152 lb" or "69 kg"')]
Volume = Annotated[float, _quantity("volume", 0.0, 2.0, '"17 gal" or "64 L"')]
Flow = Annotated[float, _quantity("volume_flow", 1e-7, 1e-4, '"7 gph" or "26 L/h"')]
Altitude = Annotated[float, _quantity("altitude", -500.0, 7_000.0, '"7,500 ft" or "2,300 m"')]
Height = Annotated[float, _quantity("altitude", 0.0, 20_000.0, '"3,000 ft"')]
Length = Annotated[float, _quantity("distance", 1.0, 20_000.0, '"3,500 ft" or "1,070 m"')]
Distance = Annotated[float, _quantity("distance", 10.0, 400_000.0, '"5 NM"')]
Visibility = Annotated[float, _quantity("distance", 0.0, 200_000.0, '"10 SM" or "9 km"')]
Speed = Annotated[float, _quantity("speed", 0.0, 200.0, '"12 kt"')]
Pressure = Annotated[float, _quantity("pressure", 85_000.0, 109_000.0, '"29.92 inHg" or "1013 hPa"')]
Temperature = Annotated[float, _quantity("temperature", 200.0, 335.0, '"18 °C"')]
Angle = Annotated[float, _quantity("angle", -math.tau, math.tau, '"45 deg"')]
Duration = Annotated[float, _quantity("time", 0.0, 12 * 3600.0, '"30 min"')]
Ratio = Annotated[float, _quantity("ratio", -1.0, 10.0, '"65 %" or 0.65')]


_WIND = re.compile(
    r"^\s*(?P<dir>\d{1,3}|VRB|variable)\s*(?P<ref>°?\s*[TM])?\s*(?:/|at|@|\s)\s*(?P<speed>\d{1,3}(?:\.\d+)?)"
    r"(?:\s*(?:G|gust(?:ing|s)?(?:\s*to)?)\s*(?P<gust>\d{1,3}(?:\.\d+)?))?\s*(?P<unit>kt|mph|km/h|m/s)\s*$",
    re.IGNORECASE,
)


def read_wind(value: Any) -> Wind:
    """A wind as written: "240/12 kt", "240/12G18 kt", "240M/12 kt" (magnetic), "VRB/4 kt", "calm"."""
    said = '"240/12G18 kt" (true; "240M/12 kt" for magnetic), "VRB/4 kt" or "calm"'
    text = str(value).strip()
    if text.lower() in {"calm", "00000kt"}:
        return Wind(None, 0.0)
    match = _WIND.match(text) if isinstance(value, str) else None
    if match is None:
        raise complain(f"can't read the wind {text!r}; write {said}")
    unit = match["unit"].lower()
    speed = units.from_unit(float(match["speed"]), unit)
    gust = None if match["gust"] is None else units.from_unit(float(match["gust"]), unit)
    if gust is not None and gust < speed:
        raise complain(f"the gust in {text!r} is below the wind; write {said}")
    if max(speed, gust or 0.0) > 100.0:
        raise complain(f"{text!r} can't be right; write {said}")
    if match["dir"].isalpha():
        return Wind(None, speed, gust)
    degrees = float(match["dir"])
    if degrees > 360.0:
        raise complain(f"{degrees:.0f} in {text!r} is no direction (000 to 360)")
    direction = float(wrap_positive_rad(math.radians(degrees)))
    return Wind(direction, speed, gust, magnetic=bool(match["ref"]) and match["ref"].strip("° ").upper() == "M")


_ALOFT = re.compile(
    r"^\s*(?P<alt>[\d,.]+\s*(?:ft|m)|FL\s*\d{2,3})\s+(?P<wind>.+?(?:kt|mph|km/h|m/s)|calm)(?P<temp>.*)$"
)


def read_aloft(value: Any) -> Aloft:
    """A wind aloft as written: "6,000 ft 250/18 kt 12 °C"; the temperature may be left out."""
    match = _ALOFT.match(value) if isinstance(value, str) else None
    if match is None:
        raise complain(f'can\'t read the wind aloft {value!r}; write "6,000 ft 250/18 kt 12 °C"')
    wind = read_wind(match["wind"])
    temp = match["temp"].strip(" ,")
    altitude = _read(match["alt"], "altitude", -500.0, 20_000.0, '"6,000 ft"')
    return Aloft(altitude, wind, _read(temp, "temperature", 200.0, 335.0, '"12 °C"') if temp else None)


WindText = Annotated[Wind, BeforeValidator(read_wind)]
AloftText = Annotated[Aloft, BeforeValidator(read_aloft)]
