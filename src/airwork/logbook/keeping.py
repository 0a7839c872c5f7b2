"""Endorsements, dates and notes: writing them down and reading them back. They are added to, never rewritten."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Literal

import sqlalchemy as sa
from sqlalchemy import Connection

from airwork.days import local_date
from airwork.errors import InputError
from airwork.logbook.held import ENDS, Validity, best, validity
from airwork.logbook.people import person_by_id
from airwork.logbook.records import Held, Person, clean, new_id
from airwork.logbook.rules import HeldKind, Rules, load_rules
from airwork.logbook.schema import dated, endorsement, note, removed


def put_on_record(connection: Connection, who: Person, paper: Held, *, now_utc_s: float) -> Validity:
    """Write down what somebody holds: an endorsement of an instructor's, or a date (a medical examination, a
    certificate issued, a test passed, anything of one's own).

    The kind is found in the rules file of their authority. A date it doesn't describe is kept as written and is good
    until its own expiry.

    Raises
    ------
    InputError : unknown kind, no make and model or place where it is given for one, a date that can't be.
    """
    rules = load_rules(who.authority)
    paper = replace(
        paper, kind=_kind_meant(rules, paper), make_model=clean(paper.make_model, "make and model"),
        place=clean(paper.place, "place"), words=clean(paper.words, "words"), result=clean(paper.result, "result"),
    )  # fmt: skip
    if paper.is_endorsement:
        _refuse_given(connection, who, paper, rules.held_kind(paper.kind))
    _check_dates(who, paper.on_date, paper.expires_on, now_utc_s)
    both = {"id": paper.id, "kind": paper.kind, "expires_on": paper.expires_on, "utc_s": now_utc_s}
    if paper.is_endorsement:
        given = {name: getattr(paper, name) for name in ("instructor_id", "make_model", "words", "result")}
        given |= {"student_id": who.id, "given_on": paper.on_date, "place": paper.place.upper()}
        connection.execute(sa.insert(endorsement), both | given)
    else:
        on = {"person_id": who.id, "on_date": paper.on_date, "remark": paper.words}
        connection.execute(sa.insert(dated), both | on)
    return validity(paper, rules, who.born_on)


def _kind_meant(rules: Rules, paper: Held) -> str:
    """The rules' name for what a paper says it is; a date of one's own as it is written."""
    asked = clean(paper.kind, "kind", needed=True, longest=60)
    try:
        return rules.find_held(asked, "endorsement" if paper.is_endorsement else "date").id
    except InputError:
        if paper.is_endorsement or paper.expires_on is None:
            raise
        return asked


def _refuse_given(connection: Connection, student: Person, paper: Held, rule: HeldKind | None) -> None:
    """InputError for an endorsement that can't be given so."""
    if rule is not None and rule.per_make_model and not paper.make_model:
        raise InputError(f"{rule.text}: say for which make and model.", where="endorsement")
    if rule is not None and rule.per_place and not paper.place:
        raise InputError(f"{rule.text}: say for which place.", where="endorsement")
    if student.id == paper.instructor_id:
        raise InputError("nobody endorses themselves.", where="endorsement")
    by = person_by_id(connection, paper.instructor_id or "")
    if not by.is_instructor:
        raise InputError(f"{by.name} is not entered as an instructor.", where="endorsement")


def lacking(
    connection: Connection, student: Person, kind: HeldKind | None, day: date, make_model: str | None = None
) -> tuple[str, ...]:
    """What an endorsement rests on and the record does not show for a day, a line each; empty if nothing.

    What the rules ask before it, and what any flight under it needs of the pilot (medical, flight review). make_model :
    what it is given for; None: not said yet, and what is held for one model alone is named with it.
    """
    rules, held, out = load_rules(student.authority), holdings(connection, student), []
    if kind is None:
        return ()
    for asked in filter(None, map(rules.held_kind, kind.after)):
        models = {v.held.make_model for v in held if v.held.kind == asked.id and v.good_on(day)}
        one = best(asked.id, held, day, make_model=make_model or "")
        if one is not None and one.good_on(day):
            continue
        if not models:
            out.append(f"Not on record before it: {asked.text} [{asked.known}].")
        elif make_model is None and asked.per_make_model:
            out.append(f"On record before it for {', '.join(sorted(models))} only: {asked.text} [{asked.known}].")
        else:
            out.append(f"Not on record before it: {asked.text} [{asked.known}], not for this make and model.")
    asking = [n for n in rules.need if any(kind.id in group for group in n.any_of)]
    here = [n for n in asking if n.when.is_for(student.certificate_held)]
    if asking and not here:
        out.append(f"No rule here asks it of {student.name}, who holds {student.certificate_held}.")
    roles = {role for n in here for role in n.when.roles}
    for n in rules.need:
        alike = n.who == "pilot" and roles & set(n.when.roles) and n.when.always(student.certificate_held)
        if n in asking or not alike:
            continue
        papers = [
            group[0] for group in n.any_of if len(group) == 1
        ]  # what a flight needs by its kind is not asked here
        good = [one for one in (best(name, held, day) for name in papers) if one is not None]
        if papers and not any(one.good_on(day) for one in good):
            ran = max((one for one in good if one.until), key=lambda one: str(one.until), default=None)
            how = "Not on record" if ran is None else f"{ran.over[0].upper()}{ran.over[1:]}"
            out.append(f"{how}, for flying on it: {n.text} [{n.known}].")
    return tuple(out)


def take_back(
    connection: Connection, what: Literal["endorsement", "dated", "note"], identity: str, *, now_utc_s: float
) -> None:
    """Take out an endorsement nobody has signed, a date or a note: made by mistake. The history keeps what it said.

    Raises
    ------
    InputError : a signed endorsement.
    """
    from airwork.logbook import seal

    table = {"endorsement": endorsement, "dated": dated, "note": note}[what]
    if what == "endorsement" and seal.seal_of(connection, what, identity).state in {"sealed", "broken"}:
        raise InputError("is signed and stays as it is; end it instead.", where="endorsement")
    connection.execute(sa.delete(table).where(table.c.id == identity))
    connection.execute(sa.insert(removed), {"id": identity, "what": what, "utc_s": now_utc_s, "keep_until": None})


def end(connection: Connection, identity: str, by: Person, why: str, password: str, *, now_utc_s: float) -> str:
    """End a signed endorsement from today on: by an entry of its own, signed at once. Returns the day and by whom.

    Raises
    ------
    InputError : one nobody has signed, or that has ended; no reason; what `seal.sign` refuses.
    """
    from airwork.logbook import seal

    e, new = endorsement.c, new_id()
    row = connection.execute(sa.select(endorsement).where(e.id == identity)).one()._mapping
    if seal.seal_of(connection, "endorsement", identity).state not in {"sealed", "broken"}:
        raise InputError("nobody has signed it; take it back instead.", where="endorsement")
    if any(one.id == identity and one.ended_on for one in _given(connection, row["student_id"])):
        raise InputError("has ended already.", where="endorsement")
    day = local_date(now_utc_s, person_by_id(connection, row["student_id"]).time_zone)
    said = {
        "id": new, "kind": f"{ENDS}{identity}", "given_on": day, "expires_on": None, "instructor_id": by.id,
        "words": clean(why, "why", needed=True, longest=2000), "result": "", "came_from": "", "utc_s": now_utc_s,
    }  # fmt: skip
    connection.execute(sa.insert(endorsement), {**row, **said})
    seal.sign(connection, "endorsement", [new], by, password, now_utc_s=now_utc_s)
    return f"{day} by {by.name}"


def _check_dates(person: Person, on_date: date, expires_on: date | None, now_utc_s: float) -> None:
    today = local_date(now_utc_s, person.time_zone)
    if on_date > today:
        raise InputError(f"{on_date} is in the future (today is {today}).", where="date")
    if person.born_on is not None and on_date < person.born_on:
        raise InputError(f"{on_date} is before {person.name} was born.", where="date")
    if expires_on is not None and expires_on < on_date:
        raise InputError(f"would expire on {expires_on}, before it begins on {on_date}.", where="date")


def add_note(
    connection: Connection,
    about: Person,
    words: str,
    *,
    now_utc_s: float,
    by: Person | None = None,
    flight_id: str | None = None,
    for_instructors: bool = False,
) -> str:
    """A note about a student or a flight of theirs; returns its identity."""
    identity = new_id()
    connection.execute(
        sa.insert(note),
        {
            "id": identity,
            "person_id": about.id,
            "flight_id": flight_id,
            "by_id": by.id if by else None,
            "words": clean(words, "note", needed=True),
            "for_instructors": for_instructors,
            "utc_s": now_utc_s,
        },
    )
    return identity


def holdings(connection: Connection, person: Person) -> tuple[Validity, ...]:
    """Everything a person holds or held, newest first, each with its last good day."""
    rules, d = load_rules(person.authority), dated.c
    rows = _given(connection, person.id) + [
        Held(r.id, r.kind, r.on_date, r.expires_on, words=r.remark)
        for r in connection.execute(sa.select(dated).where(d.person_id == person.id))
    ]
    rows.sort(key=lambda h: (h.on_date, h.kind, h.id), reverse=True)
    return tuple(validity(row, rules, person.born_on) for row in rows)


def _given(connection: Connection, student_id: str) -> list[Held]:
    """The endorsements somebody was given, each with what ended it."""
    from airwork.logbook import seal

    rows = connection.execute(sa.select(endorsement).where(endorsement.c.student_id == student_id)).all()
    seals = seal.seals_of(connection, "endorsement", [r.id for r in rows])
    doubted = {i: one.why for i, one in seals.items() if one.state in {"claimed", "broken"}}
    given = {
        r.id: Held(
            r.id, r.kind, r.given_on, r.expires_on, r.make_model, r.place, r.words, r.instructor_id, r.result,
            is_endorsement=True, claimed=doubted.get(r.id, ""),
        )
        for r in rows if not r.kind.startswith(ENDS)
    }  # fmt: skip
    ends = [(seals[r.id].state in {"sealed", "broken"}, r) for r in rows if r.kind.removeprefix(ENDS) in given]
    for certain, r in sorted(ends, key=lambda end: (end[0], -end[1].utc_s)):  # the first certain one has the last word
        told, which = f"by {seals[r.id].by}: {r.words}".removesuffix(": "), r.kind.removeprefix(ENDS)
        if not certain:
            told = f"on {r.given_on} {told} ({seals[r.id].why or 'not signed'})"
        given[which] = replace(given[which], ended_on=r.given_on if certain else None, ended=told)
    return list(given.values())
