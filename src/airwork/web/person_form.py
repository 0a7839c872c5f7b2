"""A person's entry and papers as forms: what is typed, held against the logbook, and what stands on record."""

from __future__ import annotations

import time
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection

from airwork.days import local_date
from airwork.errors import InputError
from airwork.logbook import fleet, keeping, people, typed
from airwork.logbook.held import Validity
from airwork.logbook.records import Person
from airwork.logbook.rules import authorities, load_rules
from airwork.logbook.seal import Seal, seals_of
from airwork.standards import available
from airwork.standards.load import SHORT_NAMES

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


def typed_of(who: Person) -> dict[str, str]:
    """An entry as it stands, in the form's words."""
    texts = {name: str(getattr(who, field) or "") for name, field in typed.PERSON.items()}
    return {**texts, "student": "yes" if who.is_student else "", "instructor": "yes" if who.is_instructor else ""}


def read_entry(sent: Mapping[str, str], who: Person | None = None) -> dict[str, Any]:
    """The entry as typed, for `add_person` and `change_person`; an aim of the entry's own (a school's) may stay."""
    usual = {"zone": "", "held": "student", "aimed": "private", "authority": "us"}
    found = typed.person({**dict.fromkeys(typed.PERSON, ""), **usual, **sent})
    aimed = found["certificate_aimed"]
    if aimed not in aims() and (who is None or aimed != who.certificate_aimed):
        raise InputError(f"no standard {aimed[:40]!r}; there are {', '.join(aims())}.", where="aims at")
    return found


def paper(connection: Connection, who: Person, sent: Mapping[str, str], by: Person | None = None) -> Validity:
    """What is typed, written down: the endorsement an instructor gives, or a date; one of one's own needs its last good
    day."""
    own = "" if by else sent.get("own", "").strip()
    kind = own or sent.get("kind", "")
    if not kind:
        asked = ("which one?", "endorsement") if by else ("which one? Choose, or write what it is called.", "date")
        raise InputError(asked[0], where=asked[1])
    if own and not sent.get("expires", "").strip():
        raise InputError("the rules don't know it: say until when it is good.", where="good until")
    return typed.paper(connection, who, {**sent, "kind": kind}, by=by, now_utc_s=time.time())
