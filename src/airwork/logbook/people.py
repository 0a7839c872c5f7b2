"""Students and instructors: entering them, finding them by name, putting them right."""

from __future__ import annotations

from dataclasses import asdict, replace
from typing import Any

import sqlalchemy as sa
from sqlalchemy import Connection

from airwork.errors import InputError
from airwork.logbook import seal
from airwork.logbook.plausible import refuse_person
from airwork.logbook.records import Person, clean, clean_name, new_id, read_as, record
from airwork.logbook.schema import person, write_again, write_new


def add_person(
    connection: Connection,
    name: str,
    *,
    now_utc_s: float,
    student: bool = False,
    instructor: bool = False,
    **facts: Any,
) -> Person:
    """Enter a person; `facts` are the other fields of `Person`. A name already entered is refused, since two people of
    one name can't be told apart by it.
    """
    entry = _checked(Person(new_id(), name, student, instructor, **facts))
    _refuse_taken(connection, entry)
    write_new(connection, person, entry, now_utc_s)
    return entry


def change_person(connection: Connection, found: Person, *, now_utc_s: float, **changes: Any) -> Person:
    """Put a person's entry right; returns the entry as it now stands."""
    entry = _checked(replace(found, **changes))
    if entry.name != found.name:
        _refuse_taken(connection, entry)
    write_again(connection, person, entry, now_utc_s)
    return entry


def _refuse_taken(connection: Connection, entry: Person) -> None:
    """A name that reads as another person's, whatever letters and marks it is made of."""
    wanted = read_as(entry.name)
    taken = next((p.name for p in people(connection) if p.id != entry.id and read_as(p.name) == wanted), None)
    if taken is not None:
        raise InputError(
            f"{taken} is entered already. Change that entry, or tell two people of one name apart (Ann Field 1998).",
            where="name",
        )
    signed = next((n for i, n in seal.signed_names(connection) if i != entry.id and read_as(n) == wanted), None)
    if signed is not None:
        raise InputError(f"{signed} stands in what is signed, as somebody else's name; take another.", where="name")


def _checked(entry: Person) -> Person:
    refuse_person(asdict(entry))
    return replace(
        entry,
        name=clean_name(entry.name, "name"),
        contact=clean(entry.contact, "contact", longest=500),
        certificate_number=clean(entry.certificate_number, "certificate number", longest=100),
        certificate_held=clean(entry.certificate_held, "certificate held", needed=True, longest=50),
        certificate_aimed=clean(entry.certificate_aimed, "certificate aimed at", needed=True, longest=50),
    )


def people(connection: Connection, *, students: bool = False, instructors: bool = False) -> tuple[Person, ...]:
    """Everybody entered, or the students, or the instructors, by name."""
    query = sa.select(person).order_by(sa.func.lower(person.c.name), person.c.id)
    if students:
        query = query.where(person.c.is_student)
    if instructors:
        query = query.where(person.c.is_instructor)
    return tuple(record(Person, row) for row in connection.execute(query))


def person_by_id(connection: Connection, person_id: str) -> Person:
    row = connection.execute(sa.select(person).where(person.c.id == person_id)).first()
    if row is None:
        raise InputError("nobody with this identity in the logbook.", where=person_id)
    return record(Person, row)


def find_person(connection: Connection, text: str, *, student: bool = False, instructor: bool = False) -> Person:
    """The one person a text means: an identity, a whole name, or a part of it that fits only one."""
    asked = clean(text, "name", needed=True).casefold()
    all_of_them = people(connection, students=student, instructors=instructor)
    for fits in (
        [p for p in all_of_them if p.id == asked],
        [p for p in all_of_them if p.name.casefold() == asked],
        [p for p in all_of_them if asked in p.name.casefold() or (len(asked) >= 6 and p.id.startswith(asked))],
    ):
        if len(fits) == 1:
            return fits[0]
        if len(fits) > 1:
            raise InputError(f"{text!r} fits {', '.join(p.name for p in fits)}; write more of the name.", where="name")
    what = "student" if student else "instructor" if instructor else "person"
    known = ", ".join(p.name for p in all_of_them[:8]) or f"no {what} yet"
    raise InputError(f"no {what} {text!r} in the logbook ({known}).", where="name")
