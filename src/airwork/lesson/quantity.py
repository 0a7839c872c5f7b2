"""Quantities as a person writes them in a lesson file ("17 gal", "29.92 inHg", "240° 11 kt"), read into SI."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from functools import partial
from typing import Annotated, Any, Literal, TypeVar

from pydantic import BeforeValidator, Field
from pydantic_core import PydanticCustomError

from airwork import units
from airwork.errors import UnitError
from airwork.lesson.weather import Aloft, Wind
from airwork.lesson.wind_text import parse_aloft, parse_wind
from airwork.typed_file import FILL_IN

Read = TypeVar("Read")

_BOUND = re.compile(r"^(?:P(?=\d)|[<>]|more than|less than)\s*", re.IGNORECASE)  # as a report or the page has it
_BARE = re.compile(r"\s*\d{2,4}(?:\.\d+)?\s*")


def complain(message: str, at: str = "") -> PydanticCustomError:
    """An error that pydantic hands on with the field it happened in; braces in the text are kept.

    at : of a whole table, the field of it that is to be mended.
    """
    return PydanticCustomError("own", "{message}", {"message": message, "at": at})


def _read(value: Any, kind: units.Kind, low: float, high: float, said: str, bare: str = "") -> float:
    if isinstance(value, (bool, list, dict)) or value is None:
        raise complain(f"expected a quantity with its unit, e.g. {said}")
    if str(value).strip().upper() == FILL_IN:
        raise complain(f"is still to be filled in; write e.g. {said}")
    try:
        number = units.parse(value, kind, default_unit=bare)
    except UnitError as problem:
        raise complain(problem.problem) from None
    if not low <= number <= high:
        raise complain(f"{value!r} can't be right; expected something like {said}")
    return number


def _quantity(kind: units.Kind, low: float, high: float, said: str, bare: str = "") -> BeforeValidator:
    return BeforeValidator(lambda value: _read(value, kind, low, high, said, bare))


def _pressure(value: Any) -> float:
    """An altimeter setting; a bare 29.92, 2992 or 1013 can only be one thing."""
    bare = isinstance(value, (int, float)) and not isinstance(value, bool)
    text = f"QNH {value}" if bare or (isinstance(value, str) and _BARE.fullmatch(value)) else value
    return _read(text, "pressure", 85_000.0, 109_000.0, '"29.92 inHg" or "1013 hPa"')


def _visibility(value: Any) -> float:
    """A visibility; a bare number as reports print it: four figures are meters, 9999 is ten kilometers or more."""
    if isinstance(value, str) and (four := re.fullmatch(r"\s*(\d{4})\s*", value)):
        return 10_000.0 if four[1] == "9999" else float(four[1])
    miles = re.fullmatch(r"\s*P?(?:(\d+)\s+)?(\d+)/(\d+)\s*(?:SM|mi|miles)?\s*", str(value), re.IGNORECASE)
    if miles and int(miles[3]):
        return (float(miles[1] or 0) + float(miles[2]) / float(miles[3])) * units.SM_M
    text = _BOUND.sub("", value.strip()) if isinstance(value, str) else value
    return _read(text, "distance", 0.0, 200_000.0, '"10 SM" or "9 km"', "SM")


def _ceiling(value: Any) -> float | Literal["none"]:
    """A ceiling above the field, "none", or a layer as reports print it: hundreds of feet."""
    if isinstance(value, str):
        if value.strip().lower() == "none":
            return "none"
        if layer := re.fullmatch(r"\s*(?:BKN|OVC|VV)(\d{3})\s*", value, re.IGNORECASE):
            return float(layer[1]) * 100.0 * units.FT_M
        if re.fullmatch(r"\s*\d{1,3}\s*", value):
            hundreds = int(value) * 100
            raise complain(f'{value!r} may be feet or hundreds of feet; write "{hundreds:,} ft" or "{int(value)} ft"')
    return _read(value, "altitude", 0.0, 20_000.0, '"3,000 ft", "OVC030" or "none"')


# Bounds catch slips of a unit (feet for inches), not bad ideas: those are the verdict's business.
Mass = Annotated[float, _quantity("mass", 0.0, 2_000.0, '"152 lb" or "69 kg"')]
Volume = Annotated[float, _quantity("volume", 0.0, 2.0, '"17 gal" or "64 L"')]
Flow = Annotated[float, _quantity("volume_flow", 1e-7, 1e-4, '"7 gph" or "26 L/h"')]
Altitude = Annotated[float, _quantity("altitude", -500.0, 7_000.0, '"7,500 ft" or "2,300 m"')]
Height = Annotated[float, _quantity("altitude", 0.0, 20_000.0, '"3,000 ft"')]
Ceiling = Annotated[float | Literal["none"], BeforeValidator(_ceiling)]
Length = Annotated[float, _quantity("distance", 1.0, 20_000.0, '"3,500 ft" or "1,070 m"')]
Distance = Annotated[float, _quantity("distance", 10.0, 400_000.0, '"5 NM"')]
Visibility = Annotated[float, BeforeValidator(_visibility)]
WindSpeed = Annotated[float, _quantity("speed", 0.0, 200.0, '"12 kt"', "kt")]
Pressure = Annotated[float, BeforeValidator(_pressure)]
Temperature = Annotated[float, _quantity("temperature", 200.0, 335.0, '"18 °C"', "°C")]
Angle = Annotated[float, _quantity("angle", -math.tau, math.tau, '"45 deg"')]
Duration = Annotated[float, _quantity("time", 0.0, 12 * 3600.0, '"30 min"')]
Ratio = Annotated[float, _quantity("ratio", -1.0, 10.0, '"65 %" or 0.65')]


def _position(value: Any) -> tuple[float, float]:
    """[latitude, longitude] in degrees, read into radians."""
    good = isinstance(value, (list, tuple)) and len(value) == 2
    if not good or not all(isinstance(v, (int, float)) and not isinstance(v, bool) for v in value):
        raise complain(f"{value!r} is no position; write [latitude, longitude] in degrees, e.g. [41.12, -101.77]")
    latitude, longitude = value
    if not (-89.0 <= latitude <= 89.0 and -180.0 <= longitude <= 180.0):
        raise complain(
            f"[{latitude}, {longitude}] is no position: latitude −89 to 89 first, longitude −180 to 180 next"
        )
    return latitude * units.DEG_RAD, longitude * units.DEG_RAD


Position = Annotated[tuple[float, float], BeforeValidator(_position)]
Text = Annotated[str, Field(min_length=1, max_length=400)]
Pasted = Annotated[str, Field(min_length=1, max_length=4000)]  # one or several, as pasted


def _told(read: Callable[[Any], Read], value: Any) -> Read:
    """What `wind_text` reads, in pydantic's errors."""
    try:
        return read(value)
    except UnitError as problem:
        raise complain(problem.problem.rstrip(".")) from None


WindText = Annotated[Wind, BeforeValidator(partial(_told, parse_wind))]
AloftText = Annotated[Aloft, BeforeValidator(partial(_told, parse_aloft))]
