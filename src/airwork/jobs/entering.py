"""Enter a flight in the logbook: debrief and recording, with who flew, in which airplane, from where, how long."""

from __future__ import annotations

import time
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from sqlalchemy import Connection

from airwork.debrief import Debrief
from airwork.errors import InputError
from airwork.logbook import fleet, people
from airwork.logbook.debrief_json import DebriefFacts, read_debrief
from airwork.logbook.entering import FlightEntry
from airwork.logbook.importing import Imported, import_debrief, moving_s, place_of
from airwork.logbook.recordings import Packing, is_kept
from airwork.logbook.records import tenths_s
from airwork.logbook.store import Store, open_store
from airwork.logbook.typed import Typed
from airwork.logbook.typed import flight as read_flight_typed
from airwork.recording.flight import Flight


def enter_flight(
    found: Debrief | DebriefFacts,
    about: FlightEntry | Typed,
    *,
    logbook: Store | str | Path | None = None,
    recording: str | Path | Packing | None = None,
    clean: Flight | None = None,
    renew: bool = False,
    mark: str = "",
) -> Imported:
    """A debriefed flight in the logbook, once however often it is asked, all of it or nothing.

    Parameters
    ----------
    about : who flew, in what, from where, as typed: `{"student": "Ann", "instructor": "Ike"}`, by the names that
        `logbook.typed.flight` reads; or read already. Times and places not given are taken from the recording; an
        airplane not named is the only one entered of the debrief's model, one named "" is none.
    logbook : an open one, a file, folder or address; the user's own if not given.
    recording : its file, or the recording being packed; kept with the flight when it is the debrief's own.
    clean : the Flight, where the debrief comes as facts alone; times and places are taken from it.
    renew : a corrected debrief takes the place of the one before; marks and remarks stay.
    mark : stands before a name of `about` where a message names it.

    Raises
    ------
    InputError : somebody or something that isn't entered, a recording that isn't the debrief's.
    """
    now = time.time()
    facts = found if isinstance(found, DebriefFacts) else read_debrief(found.as_json())
    flight = clean if isinstance(found, DebriefFacts) else found.flight
    packing = recording if isinstance(recording, Packing) or recording is None else _packing(Path(recording), flight)
    store = logbook if isinstance(logbook, Store) else open_store(logbook)
    chosen: tuple[str, ...] = ()
    try:
        with store.change() as connection:  # places that are new are entered with it
            at, seen = place_of(connection, flight)
            if not isinstance(about, FlightEntry):
                about, chosen = _typed(
                    connection, {"route": " ".join(p.ident for p in seen), **about}, facts, now, mark
                )
            kept = packing is not None and _kept(connection, packing, facts)
        about = replace(
            about, route=about.route or seen, departure_rad=at, times_s=_times(about.times_s, flight)
        )  # fmt: skip
        packed = None if packing is None or kept else packing.done()
        done = import_debrief(store, facts, about, now_utc_s=now, recording=packed, renew=renew)
    finally:
        if store is not logbook:
            store.close()
    said = (*chosen, *done.said) if done.changed else done.said
    return replace(done, said=said, registration=about.airplane.registration if about.airplane else "")


def _typed(
    connection: Connection, typed: Typed, facts: DebriefFacts, now_utc_s: float, mark: str
) -> tuple[FlightEntry, tuple[str, ...]]:
    """The entry that texts tell, and what to say where the airplane was not named."""
    pilot = people.find_person(connection, typed.get("student") or "")
    teacher = typed.get("instructor")
    by = people.find_person(connection, teacher, instructor=True) if teacher else None
    if not typed.get("role") and by is None:
        raise InputError("say who was in charge: an instructor, or the role solo or pic.", where="role")
    entry = read_flight_typed(connection, pilot, typed, now_utc_s=now_utc_s, instructor=by, mark=mark)
    only = fleet.airplane_of(connection, facts.airplane) if typed.get("airplane") is None else None
    if only is None:
        return entry, ()
    return replace(entry, airplane=only), (f"{only.registration} taken: the only {only.make_model} entered",)


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


def _times(times_s: Mapping[str, float], flight: Flight | None) -> dict[str, float]:
    """The times typed, and the total: typed, else from first to last movement, in tenths of an hour."""
    times, moving = dict(times_s), moving_s(flight)
    if moving is not None:
        times.setdefault("total", tenths_s(moving))
    return times
