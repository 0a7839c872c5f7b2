"""Flights in the logbook: adding, signing, taking out, reading back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, replace
from functools import cache
from typing import Any

import sqlalchemy as sa
from sqlalchemy import Connection

from airwork.days import local_date, local_text
from airwork.errors import InputError
from airwork.logbook.entering import Completed, FlightEntry, complete
from airwork.logbook.experience import LoggedFlight
from airwork.logbook.records import AirplaneEntry, FlightRow, Movement, Person, Place, clean, new_id, record
from airwork.logbook.schema import (
    airplane,
    criterion,
    debrief,
    episode,
    flight,
    mark,
    movement,
    removed,
    signature,
    signing_key,
    stop,
    write_new,
)


def add_flight(connection: Connection, entry: FlightEntry, *, now_utc_s: float, overlap: bool = False) -> Completed:
    """Enter a flight. One that overlaps another of the same pilot is refused unless `overlap`.

    One that names the signed entry it corrects (`corrects_id`) counts in its place once it is signed, with the debrief
    and the marks of that flight; the signed one stays as it is.
    """
    done = complete(entry)
    row = done.row
    if row.corrects_id is not None:
        row = replace(row, source=_corrected(connection, row).source)
    elif row.start_utc_s is not None and row.end_utc_s is not None and not overlap:
        _refuse_overlap(connection, row)
    write_new(connection, flight, row, now_utc_s)
    write_parts(connection, row.id, entry.route, done.movements)
    if row.corrects_id is not None:
        _carry_over(connection, row.corrects_id, row.id)
    return replace(done, row=row)


def _carry_over(connection: Connection, old_id: str, later_id: str) -> None:
    """What was flown and how it was marked, as with the entry that is put right; its recording stays there."""
    for table in (debrief, episode, criterion, mark):
        theirs = connection.execute(sa.select(table).where(table.c.flight_id == old_id)).mappings().all()
        own = [{**one, "flight_id": later_id} for one in theirs]
        if own:
            connection.execute(sa.insert(table), [{**one, "id": new_id()} if "id" in one else one for one in own])


def write_parts(connection: Connection, flight_id: str, route: Sequence[Place], movements: Sequence[Movement]) -> None:
    if route:
        rows = [{"flight_id": flight_id, "position": i, "place_id": p.id} for i, p in enumerate(route)]
        connection.execute(sa.insert(stop), rows)
    if movements:
        moves = [{"flight_id": flight_id, "position": i, **asdict(m)} for i, m in enumerate(movements)]
        connection.execute(sa.insert(movement), moves)


def _refuse_overlap(connection: Connection, row: FlightRow) -> None:
    f = flight.c
    other = connection.execute(
        sa.select(f.start_utc_s, f.time_zone).where(
            f.pilot_id == row.pilot_id, f.start_utc_s < row.end_utc_s, f.end_utc_s > row.start_utc_s, counts()
        )
    ).first()
    if other is not None:
        raise InputError(
            f"overlaps the flight of {local_text(other.start_utc_s, other.time_zone)} already entered for this pilot.",
            where="flight",
        )


def _corrected(connection: Connection, row: FlightRow) -> FlightRow:
    """The entry it puts right. InputError where it may not be."""
    old = flight_by_id(connection, row.corrects_id or "")
    if old.pilot_id != row.pilot_id:
        raise InputError("is a flight of somebody else.", where=f"flight {old.id[:8]}")
    if old.signed_utc_s is None:
        raise InputError("is not signed; change or remove the entry itself.", where=f"flight {old.id[:8]}")
    if old.signed_by_id not in {None, row.instructor_id}:
        from airwork.logbook import people, seal

        signer = people.person_by_id(connection, old.signed_by_id or "")
        if seal.has_key(connection, signer):  # who has left signs nothing more
            raise InputError(
                f"is signed by {signer.name}, who signs what is to count in its place: name them as its instructor.",
                where=f"flight {old.id[:8]}",
            )
    others = flight.c.id != row.id
    later = connection.execute(sa.select(flight.c.id).where(flight.c.corrects_id == old.id, others)).scalar()
    if later is not None:
        raise InputError(f"is corrected by flight {later[:8]} already; correct that one.", where=f"flight {old.id[:8]}")
    return old


def is_signed(connection: Connection, flight_id: str) -> bool:
    """Somebody has signed it, here or elsewhere."""
    from airwork.logbook import seal

    found = flight_by_id(connection, flight_id)
    return found.signed_utc_s is not None or seal.seal_of(connection, "flight", found.id).state in {"sealed", "broken"}


def refuse_signed(connection: Connection, flight_id: str) -> FlightRow:
    """The flight, when nobody has signed it. InputError when somebody has, here or elsewhere."""
    found = flight_by_id(connection, flight_id)
    if is_signed(connection, found.id):
        raise InputError(
            "is signed by its instructor; a signed entry stays as it is. Put it right with a new entry that names it "
            f"(airwork logbook add flight --corrects {found.id[:8]}).",
            where=f"flight {found.id[:8]}",
        )
    return found


def remove_flight(connection: Connection, flight_id: str, *, now_utc_s: float) -> None:
    """Take a flight out, with its debrief, marks and notes; its recording goes when no other flight has it."""
    from airwork.logbook.recordings import drop_unused

    found = refuse_signed(connection, flight_id)
    connection.execute(sa.delete(flight).where(flight.c.id == found.id))
    connection.execute(sa.insert(removed), {"id": found.id, "what": "flight", "utc_s": now_utc_s, "keep_until": None})
    drop_unused(connection)


def change_flight(connection: Connection, flight_id: str, *, now_utc_s: float, **changes: str) -> None:
    """Put right which airplane (`airplane_id`) and the remarks (`remarks`); a signed entry stays as it was signed."""
    found = refuse_signed(connection, flight_id)
    if "remarks" in changes:
        changes["remarks"] = clean(changes["remarks"], "remarks", longest=4000)
    connection.execute(sa.update(flight).where(flight.c.id == found.id).values(**changes, changed_utc_s=now_utc_s))


def rewrite_flight(connection: Connection, flight_id: str, entry: FlightEntry, *, now_utc_s: float) -> Completed:
    """Put an unsigned entry right as a whole; its debrief, marks and notes stay, the history keeps what stood there."""
    found = refuse_signed(connection, flight_id)
    if entry.pilot.id != found.pilot_id:
        raise InputError("is a flight of somebody else.", where=f"flight {found.id[:8]}")
    done = complete(entry)
    kept = {"id", "source", "recording_sha256", "corrects_id", "came_from", "lesson_id"}
    values = {name: value for name, value in asdict(done.row).items() if name not in kept}
    if found.corrects_id is not None and done.row.instructor_id != found.instructor_id:
        _corrected(connection, replace(done.row, id=found.id, corrects_id=found.corrects_id))
    connection.execute(sa.update(flight).where(flight.c.id == found.id).values(**values, changed_utc_s=now_utc_s))
    for parts in (stop, movement):
        connection.execute(sa.delete(parts).where(parts.c.flight_id == found.id))
    write_parts(connection, found.id, entry.route, done.movements)
    return done


def sign_flight(connection: Connection, flight_id: str, instructor: Person, password: str, *, now_utc_s: float) -> None:
    """The instructor signs a training entry (14 CFR 61.189(a)) with their own key; from then on it stays as it is."""
    from airwork.logbook import seal

    found = refuse_signed(connection, flight_id)
    if found.instructor_id != instructor.id:
        raise InputError(f"{instructor.name} did not give this training.", where=f"flight {flight_id[:8]}")
    seal.sign(connection, "flight", [found.id], instructor, password, now_utc_s=now_utc_s)
    connection.execute(
        sa.update(flight)
        .where(flight.c.id == found.id)
        .values(signed_by_id=instructor.id, signed_utc_s=now_utc_s, changed_utc_s=now_utc_s)
    )


def flight_by_id(connection: Connection, text: str) -> FlightRow:
    """The flight of an identity or of its first six characters or more."""
    asked = clean(text, "flight", needed=True, longest=32).lower()
    if len(asked) < 6 or not asked.isalnum():
        raise InputError(f"{text!r}: write at least 6 characters of the flight's identity (logbook list flights).")
    rows = connection.execute(sa.select(flight).where(flight.c.id.startswith(asked)).limit(2)).all()
    if len(rows) != 1:
        raise InputError(f"{'no flight' if not rows else 'more than one flight'} {text!r}.", where="flight")
    return record(FlightRow, rows[0])


def newest_of(connection: Connection, flight_id: str) -> str:
    """The last of the entries that put a flight right, one after the other; itself where none does."""
    while later := connection.execute(sa.select(flight.c.id).where(flight.c.corrects_id == flight_id)).scalar():
        flight_id = later
    return flight_id


def flights_of_recording(connection: Connection, sha256: str) -> tuple[str, ...]:
    """Identities of the flights entered from a recording; none for ""."""
    rows = connection.execute(sa.select(flight.c.id).where(flight.c.recording_sha256 == sha256)) if sha256 else ()
    return tuple(row.id for row in rows)


def flights_of(connection: Connection, pilot_id: str) -> tuple[LoggedFlight, ...]:
    """A pilot's flights that count, in order of date, with airplane and movements."""
    return logged_flights(connection, sa.and_(flight.c.pilot_id == pilot_id, counts()))


def sealed(of: Any = flight) -> sa.ColumnElement[bool]:
    """A flight that is signed with a key known here; a signature is only taken in where it verifies."""
    s, k = signature.alias(f"{of.name}_s").c, signing_key.alias(f"{of.name}_k").c
    return sa.exists().where(s.what == "flight", s.thing_id == of.c.id, k.id == s.key_id, k.known_here).correlate(of)


@cache
def waits() -> sa.ColumnElement[bool]:
    """A correction that nobody has signed yet: what it is to put right counts."""
    old = flight.alias("old")
    return sa.exists().where(old.c.id == flight.c.corrects_id).correlate(flight) & ~sealed()


@cache  # put together once: it stands in nearly every question about flights
def counts() -> sa.ColumnElement[bool]:
    """A flight in whose place no signed later entry of its pilot counts, and no correction that waits to be signed.

    Of several that are signed (two logbooks joined) the one signed last.
    """
    later, rival, f = flight.alias("later"), flight.alias("rival"), flight.c
    same = later.c.pilot_id.is_not_distinct_from(f.pilot_id)
    replaced = sa.exists().where(later.c.corrects_id == f.id, same, sealed(later)).correlate(flight)
    when, own = sa.func.coalesce(rival.c.signed_utc_s, 0.0), sa.func.coalesce(f.signed_utc_s, 0.0)
    after = sa.or_(when > own, sa.and_(when == own, rival.c.id > f.id))
    beaten = sa.exists().where(rival.c.corrects_id == f.corrects_id, after, sealed(rival)).correlate(flight)
    return ~replaced & ~beaten & ~waits()


def in_time() -> tuple[sa.ColumnElement[object], ...]:
    """Flights in order of time; one without a time of day comes first on its day, on every kind of database."""
    return flight.c.local_date, sa.func.coalesce(flight.c.start_utc_s, 0.0), flight.c.id


def logged_flights(connection: Connection, which: sa.ColumnElement[bool]) -> tuple[LoggedFlight, ...]:
    """The flights a condition on `flight` picks, in order of date, with airplane and movements."""
    f, m = flight.c, movement.c
    columns = [f[name] for name in FlightRow.__slots__]
    rows = connection.execute(sa.select(*columns).where(which).order_by(*in_time())).all()
    flown = [FlightRow(*row) for row in rows]
    wanted = {one.airplane_id for one in flown if one.airplane_id}
    planes = {
        row.id: record(AirplaneEntry, row)
        for row in connection.execute(sa.select(airplane).where(airplane.c.id.in_(wanted)))
    }
    moves: dict[str, list[Movement]] = {}
    for row in connection.execute(
        sa.select(m.flight_id, m.what, m.number, m.utc_s, m.full_stop, m.night, m.late_night, m.towered)
        .join(flight, m.flight_id == f.id)
        .where(which)
        .order_by(m.flight_id, m.position)
    ):
        moves.setdefault(row[0], []).append(Movement(*row[1:]))
    return tuple(LoggedFlight(one, planes.get(one.airplane_id or ""), tuple(moves.get(one.id, ()))) for one in flown)


def training_given(
    connection: Connection, instructor_id: str, around_utc_s: float, zone_name: str
) -> tuple[tuple[float, float], ...]:
    """Start and end of the flights around a moment in which an instructor gave training. [s since 1970 UTC]

    A flight entered with its day only is placed right before the moment when its day is the moment's or the one before:
    the worst case, since where in the day it was is not on record.
    """
    f = flight.c
    today = local_date(around_utc_s, zone_name)
    rows = connection.execute(
        sa.select(f.start_utc_s, f.end_utc_s, f.dual_s, f.local_date).where(
            f.instructor_id == instructor_id,
            f.dual_s > 0,
            counts(),
            sa.or_(
                f.start_utc_s.between(around_utc_s - 2 * 86400.0, around_utc_s + 2 * 86400.0),
                sa.and_(
                    f.start_utc_s.is_(None), f.local_date.between(local_date(around_utc_s - 86400.0, zone_name), today)
                ),
            ),
        )
    )
    given, at = [], around_utc_s
    for start, end, dual, _day in rows:
        if start is None:
            given.append((at - dual, at))
            at -= dual
        else:
            given.append((start, start + dual if end is None else min(end, start + dual)))
    return tuple(given)
