"""Airplanes and places: entering them, finding them, and what can be looked up for them."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import asdict, replace
from datetime import date
from typing import Any

import sqlalchemy as sa
from sqlalchemy import Connection

from airwork.errors import InputError
from airwork.logbook.plausible import refuse_place
from airwork.logbook.records import AirplaneEntry, Place, clean, new_id, record
from airwork.logbook.schema import airplane, flight, place, write_again, write_new
from airwork.units import HP_W

HIGH_PERFORMANCE_W = 200.0 * HP_W  # more than 200 hp (14 CFR 61.31(f))
HERE_M = 4000.0  # a place so near is where a flight began or ended


def add_airplane(connection: Connection, registration: str, *, now_utc_s: float, **facts: Any) -> AirplaneEntry:
    """Enter an airplane; `facts` are the fields of `AirplaneEntry`."""
    entry = _checked_airplane(AirplaneEntry(new_id(), registration, **facts))
    if _one(connection, airplane, airplane.c.registration, entry.registration) is not None:
        raise InputError(f"{entry.registration} is entered already.", where="airplane")
    write_new(connection, airplane, entry, now_utc_s)
    return entry


def change_airplane(connection: Connection, found: AirplaneEntry, *, now_utc_s: float, **changes: Any) -> AirplaneEntry:
    """Put an airplane's entry right."""
    entry = _checked_airplane(replace(found, **changes))
    write_again(connection, airplane, entry, now_utc_s)
    return entry


def _checked_airplane(entry: AirplaneEntry) -> AirplaneEntry:
    return replace(
        entry,
        registration=clean(entry.registration, "registration", needed=True, longest=50).upper(),
        make_model=clean(entry.make_model, "make and model", needed=True, longest=100),
        airplane_file=clean(entry.airplane_file, "airplane file", longest=100),
        category=clean(entry.category, "category", needed=True, longest=50),
        aircraft_class=clean(entry.aircraft_class, "class", needed=True, longest=50),
    )


def airplane_facts(loaded: Any) -> dict[str, Any]:
    """What a loaded airplane file says of the entry's fields; landing gear is read where the file names it."""
    gear = str(getattr(getattr(loaded.file, "airplane", None), "landing_gear", "")).lower()
    retractable = "retract" in gear
    return {
        "make_model": loaded.name,
        "airplane_file": loaded.id,
        "tailwheel": "tailwheel" in gear or "conventional" in gear,
        "complex": retractable and not loaded.fixed_pitch and loaded.flaps_full > 0,
        "high_performance": loaded.rated_power_w > HIGH_PERFORMANCE_W,
    }


def airplanes(connection: Connection) -> tuple[AirplaneEntry, ...]:
    rows = connection.execute(sa.select(airplane).order_by(airplane.c.registration))
    return tuple(record(AirplaneEntry, row) for row in rows)


def last_flown(connection: Connection, pilot_id: str, until: date | None = None) -> AirplaneEntry | None:
    """The airplane of a pilot's newest flight that names one, up to a day; None without one."""
    f = flight.c
    row = connection.execute(
        sa.select(airplane)
        .join(flight, f.airplane_id == airplane.c.id)
        .where(f.pilot_id == pilot_id, *([] if until is None else [f.local_date <= until]))
        .order_by(f.local_date.desc(), sa.func.coalesce(f.start_utc_s, 0.0).desc())
    ).first()
    return None if row is None else record(AirplaneEntry, row)


def find_airplane(connection: Connection, text: str) -> AirplaneEntry:
    """The airplane of a registration, a make and model or an airplane file's id, when only one fits."""
    asked = clean(text, "airplane", needed=True).casefold()
    every = airplanes(connection)
    for fits in (
        [a for a in every if asked in {a.registration.casefold(), a.id}],
        [a for a in every if asked in {a.make_model.casefold(), a.airplane_file.casefold()}],
        [a for a in every if asked in a.registration.casefold() or asked in a.make_model.casefold()],
    ):
        if len(fits) == 1:
            return fits[0]
        if len(fits) > 1:
            raise InputError(
                f"{text!r} fits {', '.join(a.registration for a in fits)}; write the registration.", where="airplane"
            )
    known = ", ".join(a.registration for a in every[:8]) or "none yet"
    raise InputError(
        f"no airplane {text!r} in the logbook ({known}); enter it with airwork logbook add airplane.", where="airplane"
    )


def plain(registration: str) -> str:
    """Letters and figures alone: INV-155 is INV155."""
    return re.sub(r"[^a-z0-9]", "", registration.casefold())


def named(entries: Iterable[AirplaneEntry], registration: str) -> AirplaneEntry | None:
    """The airplane of a registration however it is written; None for none."""
    return next((a for a in entries if registration and plain(a.registration) == plain(registration)), None)


def airplane_of(connection: Connection, debriefed: str) -> AirplaneEntry | None:
    """The airplane a debrief names by its file's id or model. InputError when several are entered: they look alike."""
    fits = [a for a in airplanes(connection) if debriefed and debriefed in {a.airplane_file, a.make_model}]
    if len(fits) > 1:
        which = ", ".join(a.registration for a in fits)
        raise InputError(f"{debriefed}: {which} are entered; say which: --airplane REGISTRATION.", where="airplane")
    return fits[0] if fits else None


def add_place(connection: Connection, ident: str, *, now_utc_s: float, **facts: Any) -> Place:
    """Enter a place; `facts` are the fields of `Place`.

    What isn't given is looked up in the offline airport data, where it knows the identifier.
    """
    entry = Place(new_id(), clean(ident, "place", needed=True, longest=20).upper(), **facts)
    if _one(connection, place, place.c.ident, entry.ident) is not None:
        raise InputError(f"{entry.ident} is entered already.", where="place")
    if entry.position_rad is None and (known := _looked_up(entry.ident)) is not None:
        entry = replace(
            entry, name=entry.name or known.name, latitude_rad=known.latitude_rad, longitude_rad=known.longitude_rad,
            elevation_m=known.elevation_m if entry.elevation_m is None else entry.elevation_m,
        )  # fmt: skip
    entry = replace(entry, name=clean(entry.name, "name", longest=200))
    refuse_place(asdict(entry))
    write_new(connection, place, entry, now_utc_s)
    return entry


def _looked_up(ident: str) -> Any:
    from airwork.lesson.places import find_place as find_airport

    try:
        return find_airport(ident)
    except InputError:
        return None  # a strip of the user's own: it stands without a position until one is given


def change_place(connection: Connection, found: Place, *, now_utc_s: float, **changes: Any) -> Place:
    """Put a place's entry right."""
    entry = replace(found, **changes)
    refuse_place(asdict(entry))
    write_again(connection, place, entry, now_utc_s)
    return entry


def places(connection: Connection) -> tuple[Place, ...]:
    return tuple(record(Place, row) for row in connection.execute(sa.select(place).order_by(place.c.ident)))


def place_for(connection: Connection, ident: str, *, now_utc_s: float) -> Place:
    """The place of an identifier, entered on the way when it is new."""
    row = _one(connection, place, place.c.ident, clean(ident, "place", needed=True).upper())
    return record(Place, row) if row is not None else add_place(connection, ident, now_utc_s=now_utc_s)


def place_known(connection: Connection, ident: str) -> Place:
    """The place of an identifier that is entered."""
    row = _one(connection, place, place.c.ident, clean(ident, "place", needed=True).upper())
    if row is None:
        raise InputError(f"no place {ident!r} in the logbook.", where="place")
    return record(Place, row)


def nearest_place(connection: Connection, position_rad: tuple[float, float]) -> Place | None:
    """The entered place nearest to a position, if one is so near."""
    from airwork.airdata.geodesy import leg

    near = [(leg(*position_rad, *p.position_rad).distance_m, p) for p in places(connection) if p.position_rad]
    best = min(near, key=lambda pair: pair[0], default=None)
    return best[1] if best is not None and best[0] <= HERE_M else None


def _one(connection: Connection, table: sa.Table, column: sa.Column[Any], value: str) -> Any:
    return connection.execute(sa.select(table).where(column == value)).first()
