"""The place of a lesson: from the airport data, the user's own, or both. No runway heading is guessed."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import replace

from airwork.airdata.angles import turn_from_to_rad, wrap_positive_rad
from airwork.errors import InputError, OutOfRange, Where
from airwork.lesson.lesson import PlaceGiven, RunwayGiven
from airwork.lesson.places import Place, Runway, find_place, tidy_runway_name
from airwork.units import DEG_RAD

OTHER_RUNWAY_RAD = 30.0 * DEG_RAD  # a number is the magnetic heading's, to 10° and some years of its change
VARIES_RAD = 30.0 * DEG_RAD  # as much more where the heading is true


def place_of(part: PlaceGiven, day: dt.date, where: Where) -> Place:
    """The place with its runways; InputError for what is missing or unknown."""
    place = _known(part, where)
    latitude, longitude = place.latitude_rad, place.longitude_rad
    if part.position_rad is not None:
        latitude, longitude = part.position_rad
    elevation = place.elevation_m if part.elevation_m is None else part.elevation_m
    if elevation is None:
        raise InputError('the airport data give no elevation; write elevation = "3,279 ft".', where=where)
    own = tuple(_runway(r, place.runway(r.name)) for r in part.runways)
    if any(r.heading_magnetic_rad is not None for r in part.runways):
        east = part.variation_rad if part.variation_rad is not None else _variation(latitude, longitude, day, where)
        own = tuple(_to_true(r, written, east) for r, written in zip(own, part.runways, strict=True))
    for index, (runway, written) in enumerate(zip(own, part.runways, strict=True)):
        if written.heading_rad is not None:
            _held_to_its_name(runway.name, written.heading_rad, where.at("runways", index, "heading"), VARIES_RAD)
        elif written.heading_magnetic_rad is not None:
            _held_to_its_name(runway.name, written.heading_magnetic_rad, where.at("runways", index, "heading_magnetic"))
    named = {tidy_runway_name(r.name) for r in own}
    rest = tuple(r for r in place.runways if tidy_runway_name(r.name) not in named)
    name = part.name or place.name
    return Place(place.ident, name, latitude, longitude, elevation, (*own, *rest), place.source)


def _known(part: PlaceGiven, where: Where) -> Place:
    """The airport of the data, else the user's own strip, under its identifier where it has one."""
    if part.name is None or part.position_rad is None or part.elevation_m is None:
        if part.airport is None:
            raise InputError('give airport = "KOGA", or your own name, position and elevation.', where=where)
        return find_place(part.airport, where=where.at("airport"))
    if part.airport is None:
        return Place(part.name, part.name, 0.0, 0.0, None, (), "given")
    try:
        return find_place(part.airport, where=where.at("airport"))
    except InputError:
        ident = part.airport.strip().upper()
        return Place(ident, part.name, 0.0, 0.0, None, (), "given")


def _held_to_its_name(name: str, heading_rad: float, where: Where, more_rad: float = 0.0) -> None:
    """A runway's number is its heading in tens of degrees; InputError where the two can't be one runway's."""
    number = re.match(r"(0?[1-9]|[12]\d|3[0-6])(?!\d)", name)
    if number is None:
        return
    off = abs(float(turn_from_to_rad(int(number[0]) * 10.0 * DEG_RAD, heading_rad)))
    if off > OTHER_RUNWAY_RAD + more_rad:
        heading = round(heading_rad / DEG_RAD) % 360
        raise InputError(
            f"runway {name} can't have the heading {heading}°: its number says about {int(number[0]) * 10}°; "
            "put one of the two right.",
            where=where,
        )


def _variation(latitude: float, longitude: float, day: dt.date, where: Where) -> float:
    from airwork.airdata.magnetic import decimal_year, variation

    try:
        return variation(latitude, longitude, decimal_year(day)).variation_rad
    except OutOfRange as problem:
        raise InputError(f'{problem} Write variation = "8 deg" (east positive).', where=where) from None


def _to_true(runway: Runway, written: RunwayGiven, variation_rad: float) -> Runway:
    if written.heading_rad is not None or written.heading_magnetic_rad is None:
        return runway
    heading = float(wrap_positive_rad(written.heading_magnetic_rad + variation_rad))
    return replace(runway, heading_rad=heading, heading_how="given, magnetic")


def _runway(part: RunwayGiven, known: Runway | None) -> Runway:
    """The user's own values over what the data say."""
    base = known or Runway(part.name)
    given = part.heading_rad is not None
    return Runway(
        name=tidy_runway_name(part.name),
        heading_rad=float(wrap_positive_rad(part.heading_rad or 0.0)) if given else base.heading_rad,
        takeoff_m=part.length_m or base.takeoff_m,
        landing_m=part.landing_length_m or part.length_m or base.landing_m,
        surface=part.surface or base.surface,
        slope=base.slope if part.slope is None else part.slope,
        heading_how="given" if given else base.heading_how,
        source="given" if known is None else f"given; {known.source}",
    )


def runway_name(part: PlaceGiven, place: Place, where: Where) -> str | None:
    """Name of the runway the lesson asks for, None if it names none.

    Raises
    ------
    InputError : no such runway, or its heading is not known.
    """
    if part.runway is None:
        return None
    found = place.runway(part.runway)
    if found is None:
        known = ", ".join(r.name for r in place.runways) or "none"
        raise InputError(
            f"{place.ident} has no runway {part.runway!r} (known: {known}); add it under [[place.runways]] with "
            "heading, length and surface.",
            where=where,
        )
    if found.heading_rad is None:
        reason = found.heading_how or "the airport data give none"
        raise InputError(
            f"the heading of runway {found.name} is not known ({reason}); add [[place.runways]] name = "
            f'"{found.name}" with heading = "… deg" (true) or heading_magnetic.',
            where=where,
        )
    return found.name
