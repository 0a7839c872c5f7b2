"""Who and what is taken when: nobody sits in two airplanes at one time, and no airplane is in two places."""

from __future__ import annotations

from collections.abc import Container, Iterable
from dataclasses import dataclass
from datetime import date

import sqlalchemy as sa
from sqlalchemy import Connection

from airwork.days import local_date, local_text
from airwork.errors import InputError
from airwork.logbook.entering import FlightEntry
from airwork.logbook.flights import counts, in_time
from airwork.logbook.plausible import LONGEST_S
from airwork.logbook.records import HOUR_S, TENTH_S, hours, read_as
from airwork.logbook.schema import airplane, flight, movement, person


@dataclass(frozen=True, slots=True)
class Aboard:
    """Somebody. id : the logbook's; "" where only the name is known, as in a planned lesson."""

    name: str
    id: str = ""

    def is_(self, other: Aboard | None) -> bool:
        """The same person: by the logbook's identity where both have one, else by a name that reads the same."""
        if other is None:
            return False
        if self.id and other.id:
            return self.id == other.id
        return read_as(self.name) == read_as(other.name)


@dataclass(frozen=True, slots=True)
class Taken:
    """People and an airplane from one moment to another. [s since 1970 UTC]; None where only the day is on record.

    id : of the flight in the logbook, or of the planned lesson. airplane : its registration; "" where it isn't said
    which one. instructor : None for nobody aboard. title : what a lesson is called. planned : still to be flown.
    """

    id: str
    start_utc_s: float | None
    end_utc_s: float | None
    zone: str
    pilot: Aboard
    instructor: Aboard | None = None
    airplane: str = ""
    title: str = ""
    planned: bool = False

    def at_once(self, other: Taken) -> bool:
        """Both go on at some moment; not where either's times are unknown."""
        if self.start_utc_s is None or self.end_utc_s is None or other.start_utc_s is None or other.end_utc_s is None:
            return False
        return self.start_utc_s < other.end_utc_s and other.start_utc_s < self.end_utc_s

    def shared(self, other: Taken) -> tuple[str, ...]:
        """Who and what both need at one time.

        Nothing where both are one flight: the plan and what was flown of it, or one that both aboard have logged.
        """
        if not self.at_once(other):
            return ()
        if self.planned != other.planned and self.pilot.is_(other.pilot):
            return ()
        one_plane = self._one_plane(other) or not (self.airplane and other.airplane)
        if one_plane and (self.pilot.is_(other.instructor) or other.pilot.is_(self.instructor)):
            return ()
        return self.both(other)

    def both(self, other: Taken) -> tuple[str, ...]:
        """Who and what both need, at whatever time."""
        mine, theirs = ([who for who in (one.pilot, one.instructor) if who] for one in (self, other))
        people = [who.name for who in mine if any(who.is_(one) for one in theirs)]
        return (*people, *((self.airplane,) if self._one_plane(other) else ()))

    def _one_plane(self, other: Taken) -> bool:
        return bool(self.airplane) and self.airplane == other.airplane

    @property
    def times(self) -> str:
        """From when to when at its place, "14:30 to 15:41"; "" where only the day is on record."""
        if self.start_utc_s is None or self.end_utc_s is None:
            return ""
        begun, over = (local_text(t, self.zone or "UTC")[11:16] for t in (self.start_utc_s, self.end_utc_s))
        return f"{begun} to {over}"


def flown_on(connection: Connection, day: date) -> tuple[Taken, ...]:
    """The flights of a day that count, in order of time."""
    return _flown(connection, flight.c.local_date == day)


def flown_between(connection: Connection, start_utc_s: float, end_utc_s: float, *, but: str = "") -> tuple[Taken, ...]:
    """The flights that count, at any moment between two. but : the identity of one left out."""
    f = flight.c
    return _flown(connection, sa.and_(f.start_utc_s < end_utc_s, f.end_utc_s > start_utc_s, f.id != but))


def _flown(connection: Connection, which: sa.ColumnElement[bool]) -> tuple[Taken, ...]:
    f, pilot, teacher, plane = flight.c, person.alias("pilot"), person.alias("teacher"), airplane.c
    joined = flight.outerjoin(pilot, pilot.c.id == f.pilot_id).outerjoin(teacher, teacher.c.id == f.instructor_id)
    rows = connection.execute(
        sa.select(f.id, f.start_utc_s, f.end_utc_s, f.time_zone, f.pilot_id, f.instructor_id, plane.registration,
                  pilot.c.name.label("pilot"), teacher.c.name.label("teacher"), f.dual_s)
        .select_from(joined.outerjoin(airplane, plane.id == f.airplane_id))
        .where(which, counts())
        .order_by(*in_time())
    )  # fmt: skip
    return tuple(
        Taken(r.id, r.start_utc_s, r.end_utc_s, r.time_zone, Aboard(r.pilot or "", r.pilot_id or r.id),
              Aboard(r.teacher, r.instructor_id) if r.teacher and r.dual_s > 0 else None, r.registration or "")
        for r in rows
    )  # fmt: skip


def twice(lines: Iterable[Taken]) -> tuple[tuple[Taken, Taken, tuple[str, ...]], ...]:
    """Each two that need somebody or something at one time, and whom or what."""
    every = list(lines)
    pairs = ((one, two, one.shared(two)) for n, one in enumerate(every) for two in every[n + 1 :])
    return tuple(pair for pair in pairs if pair[2])


def at_once(connection: Connection, *, among: Container[str] | None = None, most: int = 50) -> list[str]:
    """Each two flights that count and put somebody in two places at once, in words; among : at least one of these.

    Flights are logged in tenths of an hour: by so much one may seem to begin before the other ends.
    """
    f, said, flying = flight.c, list[str](), list[tuple[float, Taken]]()
    timed = _flown(connection, sa.and_(f.start_utc_s.is_not(None), f.end_utc_s.is_not(None)))
    for start, end, row in sorted(((t.start_utc_s or 0.0, t.end_utc_s or 0.0, t) for t in timed), key=lambda t: t[:2]):
        flying = [(over, one) for over, one in flying if over > start]
        for over, one in flying:
            shared, same = one.shared(row), one.pilot.is_(row.pilot)
            if not (same or (shared and min(over, end) - start > TENTH_S)):
                continue
            busy = f"{' and '.join(shared)} {'are' if len(shared) > 1 else 'is'} in two flights"
            told = f"two flights of {row.pilot.name} overlap" if same else busy
            if among is None or one.id in among or row.id in among:
                said.append(f"{told} on {local_text(start, row.zone)} ({one.id[:8]}, {row.id[:8]})")
        flying.append((end, row))
    return said if len(said) <= most else [*said[:most], f"and {len(said) - most} more at the same time as another"]


def in_the_way(
    connection: Connection, entry: FlightEntry, end_utc_s: float | None = None, *, but: str = ""
) -> list[str]:
    """What of the logbook an entry can hardly stand beside, a line each.

    end_utc_s : where the entry itself doesn't say it. but : the entry it puts right.

    Raises
    ------
    InputError : it can't be: somebody would fly two flights at one time, or more hours than a day has.
    """
    start, end = entry.start_utc_s, entry.end_utc_s or end_utc_s
    if start is None or end is None:
        return _that_day(connection, entry, but)
    plane = entry.airplane
    teacher = entry.instructor if entry.role == "dual" or entry.times_s.get("dual") else None  # aboard, not only named
    new = Taken(but, start, end, "", Aboard(entry.pilot.name, entry.pilot.id),
                Aboard(teacher.name, teacher.id) if teacher else None, plane.registration if plane else "")  # fmt: skip
    asked = []
    for other in flown_between(connection, start, end, but=but):
        shared = new.shared(other)
        if not shared:
            continue
        day = local_date(other.start_utc_s or start, other.zone or "UTC")
        text = (
            f"{' and '.join(shared)} {'is' if len(shared) == 1 else 'are'} on record for a flight of "
            f"{other.pilot.name}{f' in {other.airplane}' if other.airplane else ''}, {day} {other.times}"
        )
        elsewhere = new.airplane and other.airplane and new.airplane != other.airplane
        if new.pilot.is_(other.pilot) or elsewhere:
            raise InputError(f"{text}; nobody flies two flights at one time.", where="start")
        asked.append(text)
    return asked


def _that_day(connection: Connection, entry: FlightEntry, but: str) -> list[str]:
    """Of an entry without times, the pilot's flight of that day that it may be a second time."""
    f, hours_s, plane = flight.c, entry.times_s.get("total"), entry.airplane
    m = movement.c
    landed = sa.select(sa.func.sum(m.number)).where(m.flight_id == f.id, m.what == "landing").scalar_subquery()
    found = connection.execute(
        sa.select(f.total_s, f.airplane_id, f.role, f.start_utc_s, f.time_zone, landed.label("landed"))
        .where(f.pilot_id == entry.pilot.id, f.local_date == entry.local_date, f.id != but, counts())
        .order_by(*in_time())
    ).all()  # fmt: skip
    if hours_s is None:
        return []
    if (whole := hours_s + sum(row.total_s for row in found)) > LONGEST_S:
        raise InputError(f"{whole / HOUR_S:.1f} h on {entry.local_date} with what is on record.", where="flight time")
    landings = sum(m.number for m in entry.movements if m.what == "landing")
    alike = (
        row for row in found
        if row.airplane_id == (plane and plane.id) and row.role == entry.role
        and abs(row.total_s - hours_s) < TENTH_S / 2.0 and (row.landed or 0) == landings
    )  # fmt: skip
    at = [f" at {local_text(r.start_utc_s, r.time_zone)[11:16]}" if r.start_utc_s is not None else "" for r in alike]
    told = f"{hours(hours_s)} h {entry.role}{f' in {plane.registration}' if plane else ''}, {landings} landings"
    return [f"{entry.pilot.name}: a flight on {entry.local_date}{at[0]} is on record with {told}"] if at else []
