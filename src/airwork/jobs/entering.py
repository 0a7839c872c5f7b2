"""Enter a flight in the logbook: debrief and recording, with who flew, in which airplane, from where, how long."""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence
from pathlib import Path

from sqlalchemy import Connection

from airwork.debrief import Debrief
from airwork.errors import InputError
from airwork.logbook import fleet, people
from airwork.logbook.days import read_moment
from airwork.logbook.debrief_json import DebriefFacts, read_debrief
from airwork.logbook.entering import FlightEntry
from airwork.logbook.importing import Imported, import_debrief, moving_s, place_of
from airwork.logbook.recordings import Packing, is_kept
from airwork.logbook.records import AirplaneEntry, Person, Place, Role
from airwork.logbook.store import Store, open_store
from airwork.recording.flight import Flight

TENTH_S = 360.0  # flight time is logged in tenths of an hour


def enter_flight(
    found: Debrief | DebriefFacts,
    *,
    logbook: Store | str | Path | None = None,
    student: str | Person,
    instructor: str | Person | None = None,
    airplane: str | AirplaneEntry | None = None,
    role: Role | None = None,
    recording: str | Path | Packing | None = None,
    clean: Flight | None = None,
    route: Sequence[str] = (),
    start: str = "",
    times_s: Mapping[str, float] | None = None,
    passengers: int = 0,
    remarks: str = "",
    lesson_id: str | None = None,
    renew: bool = False,
) -> Imported:
    """A debriefed flight in the logbook, once however often it is asked, all of it or nothing.

    Parameters
    ----------
    logbook : an open one, a file, folder or address; the user's own if not given.
    student, instructor : names as entered, or people. role : dual with an instructor; without one it must be given.
    airplane : registration, or the entry; "" for none; if not given the only one entered of the debrief's model.
    recording : its file, or the recording being packed; kept with the flight when it is the debrief's own.
    clean : the Flight, where the debrief comes as facts alone; times and places are taken from it.
    route : places in order; new ones are entered. start : "2026-06-14 09:00", where the recording has no date.
    times_s : flight times by kind, as `FlightEntry`; the total from first to last movement if not given. [s]
    renew : a corrected debrief takes the place of the one before; marks and remarks stay.

    Raises
    ------
    InputError : somebody or something that isn't entered, a recording that isn't the debrief's.
    """
    now = time.time()
    facts = found if isinstance(found, DebriefFacts) else read_debrief(found.as_json())
    flight = clean if isinstance(found, DebriefFacts) else found.flight
    packing = recording if isinstance(recording, Packing) or recording is None else _packing(Path(recording), flight)
    store = logbook if isinstance(logbook, Store) else open_store(logbook)
    try:
        with store.change() as connection:  # places that are new are entered with it
            pilot = people.find_person(connection, student) if isinstance(student, str) else student
            teacher = _teacher(connection, instructor)
            if role is None and teacher is None:
                raise InputError("say who was in charge: an instructor, or the role solo or pic.", where="role")
            plane, chosen = _airplane(connection, airplane, facts.airplane)
            there = tuple(fleet.place_for(connection, ident, now_utc_s=now) for ident in route)
            at, seen = place_of(connection, flight)
            kept = packing is not None and _kept(connection, packing, facts)
        about = FlightEntry(
            pilot, role or "dual", instructor=teacher, airplane=plane, route=there or seen, departure_rad=at,
            start_utc_s=read_moment(start, _zone(there or seen, pilot), "start") if start else None,
            times_s=_times(times_s, flight), passengers=passengers, remarks=remarks, lesson_id=lesson_id,
        )  # fmt: skip
        packed = None if packing is None or kept else packing.done()
        done = import_debrief(store, facts, about, now_utc_s=now, recording=packed, renew=renew)
    finally:
        if store is not logbook:
            store.close()
    said = (*chosen, *done.said) if done.changed else done.said
    return Imported(done.flight_id, done.changed, said, plane.registration if plane else "")


def _packing(path: Path, flight: Flight | None) -> Packing:
    """The recording being packed, its columns too."""
    packing = Packing(path.read_bytes(), path.name)
    if flight is not None:
        packing.was_read(flight)
    return packing


def _kept(connection: Connection, packing: Packing, facts: DebriefFacts) -> bool:
    """The recording is there already, bytes and columns."""
    sha256 = packing.sha256.result()
    return sha256 == facts.recording_sha256 and is_kept(connection, sha256)


def _teacher(connection: Connection, instructor: str | Person | None) -> Person | None:
    if not isinstance(instructor, str):
        return instructor
    return people.find_person(connection, instructor, instructor=True) if instructor else None


def _airplane(
    connection: Connection, airplane: str | AirplaneEntry | None, model: str
) -> tuple[AirplaneEntry | None, tuple[str, ...]]:
    """The entry, and what to say where it was not named."""
    if isinstance(airplane, AirplaneEntry):
        return airplane, ()
    if airplane is not None:
        return fleet.find_airplane(connection, airplane) if airplane else None, ()
    only = fleet.airplane_of(connection, model)
    return only, () if only is None else (f"{only.registration} taken: the only {only.make_model} entered",)


def _zone(route: Sequence[Place], pilot: Person) -> str:
    return (route[0].time_zone if route else "") or pilot.time_zone


def _times(times_s: Mapping[str, float] | None, flight: Flight | None) -> dict[str, float]:
    """The times typed, and the total: typed, else from first to last movement, in tenths of an hour."""
    times, moving = dict(times_s or {}), moving_s(flight)
    if moving is not None:
        times.setdefault("total", round(moving / TENTH_S) * TENTH_S)
    return times
