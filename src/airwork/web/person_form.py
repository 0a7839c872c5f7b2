"""A person's entry and papers as forms: what is typed, held against the logbook, and what stands on record."""

from __future__ import annotations

import time
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from airwork.errors import InputError
from airwork.logbook import fleet, keeping, people
from airwork.logbook.days import local_date, read_date
from airwork.logbook.held import Validity
from airwork.logbook.records import Person
from airwork.logbook.rules import authorities, load_rules
from airwork.logbook.seal import Seal, seals_of
from airwork.standards import available
from airwork.standards.load import SHORT_NAMES

if TYPE_CHECKING:
    from sqlalchemy import Connection

CERTIFICATES = ("none", "student", "private", "commercial", "instructor")


@dataclass(frozen=True, slots=True)
class Paper:
    """One thing held, as the page shows it. by : who gave it; seal : how it is signed, None for a date."""

    held: Validity
    by: str
    seal: Seal | None

    @property
    def what(self) -> str:
        """The logbook's word for it."""
        return "endorsement" if self.held.held.is_endorsement else "dated"


def papers(connection: Connection, person: Person) -> tuple[Paper, ...]:
    """Everything a person holds, newest first."""
    found = keeping.holdings(connection, person)
    names = {p.id: p.name for p in people.people(connection)}
    seals = seals_of(connection, "endorsement", [v.held.id for v in found if v.held.is_endorsement])
    return tuple(Paper(v, names.get(v.held.instructor_id or "", ""), seals.get(v.held.id)) for v in found)


def choices(connection: Connection, authority: str, models: Iterable[str] = ()) -> dict[str, Any]:
    """What there is to choose from. models : of airplane files, beside those of the logbook's airplanes."""
    rules = load_rules(authority)
    held = {one: [r for r in rules.held if r.kind == one] for one in ("endorsement", "date")}
    return {
        "certificates": CERTIFICATES, "standards": aims(), "authorities": authorities(), "kinds": held,
        "models": sorted({*models, *(a.make_model for a in fleet.airplanes(connection))}),
    }  # fmt: skip


def lacks(connection: Connection, person: Person) -> dict[str, tuple[str, ...]]:
    """Name of each endorsement that could be given today → what it rests on and the record does not show."""
    today = local_date(time.time(), person.time_zone)
    kinds = [one for one in load_rules(person.authority).held if one.kind == "endorsement"]
    found = {one.id: keeping.lacking(connection, person, one, today) for one in kinds}
    return {name: lines for name, lines in found.items() if lines}


def aims() -> dict[str, str]:
    """What one can aim at, as the logbook names it, with its title."""
    short = {name: word for word, name in SHORT_NAMES.items() if name == f"us_{word}"}
    return {short.get(name, name): title for name, title in available().items()}


def typed_of(person: Person) -> dict[str, str]:
    """An entry as it stands, in the form's words."""
    return {
        "name": person.name, "born": "" if person.born_on is None else person.born_on.isoformat(),
        "zone": person.time_zone, "held": person.certificate_held, "aimed": person.certificate_aimed,
        "authority": person.authority, "contact": person.contact, "number": person.certificate_number,
        "student": "yes" if person.is_student else "", "instructor": "yes" if person.is_instructor else "",
    }  # fmt: skip


def read_entry(typed: Mapping[str, str], person: Person | None = None) -> dict[str, Any]:
    """The entry as typed, for `add_person` and `change_person`; an aim of the entry's own (a school's) may stay."""
    aimed = typed.get("aimed", "private")
    if aimed not in aims() and (person is None or aimed != person.certificate_aimed):
        raise InputError(f"no standard {aimed[:40]!r}; there are {', '.join(aims())}.", where="aims at")
    born = typed.get("born", "").strip()
    return {
        "born_on": read_date(born, "born") if born else None, "time_zone": typed.get("zone", "").strip(),
        "certificate_held": typed.get("held", "student"), "certificate_aimed": aimed,
        "authority": typed.get("authority", "us"), "contact": typed.get("contact", ""),
        "certificate_number": typed.get("number", ""),
    }  # fmt: skip


def endorse(connection: Connection, student: Person, by: Person, typed: Mapping[str, str]) -> Validity:
    """The endorsement as typed, given and written down."""
    now = time.time()
    on, until = typed.get("on", "").strip(), typed.get("expires", "").strip()
    if not typed.get("kind"):
        raise InputError("which one?", where="endorsement")
    return keeping.endorse(
        connection, student, by, typed["kind"], now_utc_s=now,
        given_on=read_date(on, "given on") if on else local_date(now, student.time_zone),
        expires_on=read_date(until, "good until") if until else None, make_model=_model(connection, typed),
        place=typed.get("place", ""), words=typed.get("words", ""),
    )  # fmt: skip


def _model(connection: Connection, typed: Mapping[str, str]) -> str:
    """Make and model; a registration of the logbook means its make and model."""
    said = typed.get("model", "").strip()
    known = {a.registration.casefold(): a.make_model for a in fleet.airplanes(connection)}
    return known.get(said.casefold(), said)


def note_date(connection: Connection, person: Person, typed: Mapping[str, str]) -> Validity:
    """The date as typed, written down; one of one's own needs its last good day."""
    now = time.time()
    on, until = typed.get("on", "").strip(), typed.get("expires", "").strip()
    kind = typed.get("own", "").strip() or typed.get("kind", "")
    if not kind:
        raise InputError("which one? Choose, or write what it is called.", where="date")
    if typed.get("own", "").strip() and not until:
        raise InputError("the rules don't know it: say until when it is good.", where="good until")
    return keeping.note_date(
        connection, person, kind, now_utc_s=now,
        on_date=read_date(on, "on") if on else local_date(now, person.time_zone),
        expires_on=read_date(until, "good until") if until else None, remark=typed.get("remark", ""),
    )  # fmt: skip
