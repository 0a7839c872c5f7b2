"""Which airplane flew, and when: what a recording says, what was chosen, and which of the folder's files that is."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from fastapi import Request

from airwork.errors import AirworkError, InputError
from airwork.logbook import fleet
from airwork.logbook.records import AirplaneEntry
from airwork.web import book

if TYPE_CHECKING:
    from airwork.web.desk import About

REGISTERED = "="  # before a registration, to tell it from a file's key
STANDS = "stands"  # chosen: whatever it is
NONE = "none"  # chosen: judged without an airplane
LAST = "last"  # nothing says which: the one the student flew last, until somebody says so
SAID = ("aircraft", "aircraft_type")  # facts a recording may carry


def registered(request: Request) -> list[tuple[str, str]]:
    """(value, label) of the logbook's airplanes that have a file here."""
    return [(REGISTERED + a.registration, f"{a.registration}, {a.make_model}") for a, _ in keys(request)]


def keys(request: Request) -> list[tuple[AirplaneEntry, str]]:
    """The logbook's airplanes that have a file here, with its key."""
    return [(a, key) for a in _entries(request) if (key := _key(request, a.airplane_file))]


def seats(request: Request, registration: str) -> int | None:
    """How many an airplane of the logbook has, its pilot's included; None where its file isn't here or doesn't say."""
    key = next((key for a, key in keys(request) if a.registration == registration), "")
    try:
        return request.app.state.folder.airplane(key).file.airplane.seats if key else None
    except AirworkError:
        return None


def _entries(request: Request) -> tuple[AirplaneEntry, ...]:
    if not book.has_logbook(request):
        return ()
    with book.reading(request) as connection:
        return fleet.airplanes(connection)


def _key(request: Request, file: str) -> str:
    """The folder's key of an airplane file the logbook names; "" when it isn't here."""
    stem = re.split(r"[/\\]", file)[-1].removesuffix(".toml")
    keys = {e.key for e in request.app.state.folder.entries("airplane")}
    return stem if stem in keys else ""


def chosen(request: Request, about: About, choice: str) -> About:
    """The airplane somebody chose in a form; "" leaves it to what the recording says.

    Raises
    ------
    InputError : no such airplane.
    """
    if choice == STANDS or (about.airplane_from == "recording" and choice == standing(about)):
        return about
    if choice == NONE:
        return replace(about, airplane="", registration="", airplane_from=NONE)
    if choice.startswith(REGISTERED):
        wanted = choice.removeprefix(REGISTERED)
        entry = next((a for a in _entries(request) if a.registration == wanted), None)
        key = _key(request, entry.airplane_file) if entry else ""
        if entry is None or not key:
            raise InputError(f"there is no {wanted[:40]!r} in the logbook with a file here.", where="airplane")
        return replace(about, airplane=key, registration=entry.registration, airplane_from="chosen")
    if choice:
        request.app.state.folder.find("airplane", choice)
        return replace(about, airplane=choice, registration="", airplane_from="chosen")
    return replace(about, airplane="", registration="", airplane_from="")


def standing(about: About) -> str:
    """The choice that stands, as forms name it."""
    if about.airplane_from == NONE:
        return NONE
    return REGISTERED + about.registration if about.registration else about.airplane


def said(request: Request, about: About, source: Mapping[str, object]) -> About:
    """When it was flown, and where nobody chose an airplane: the one the recording names, if it is known here, else the
    student's last one, if the recording names none at all."""
    about = replace(about, flown=str(source.get("flown", "")))
    if about.airplane or about.airplane_from or about.lesson:
        return about
    words = [str(source[name]) for name in SAID if source.get(name)]
    for word in words:
        for entry in _entries(request):
            key = _key(request, entry.airplane_file)
            if key and fleet.plain(entry.registration) == fleet.plain(word):
                return replace(about, airplane=key, registration=entry.registration, airplane_from="recording")
    for word in words:
        fits = [
            e.key
            for e in request.app.state.folder.entries("airplane")
            if fleet.plain(word) in {fleet.plain(e.title), fleet.plain(e.key)}
        ]
        if len(fits) == 1:
            return replace(about, airplane=fits[0], airplane_from="recording")
    return about if words or not about.student else _last(request, about)


def _last(request: Request, about: About) -> About:
    """With the airplane its student flew last: of a recording here that says which, else of the logbook."""
    files = {e.key for e in request.app.state.folder.entries("airplane")}
    for one in request.app.state.desk.all():
        told = one.airplane_from in {"chosen", "recording"} and one.airplane in files and _before(one, about)
        if told and one.student == about.student and one.id != about.id:
            return replace(about, airplane=one.airplane, registration=one.registration, airplane_from=LAST)
    if not book.has_logbook(request):
        return about
    with book.reading(request) as connection:
        flown = fleet.last_flown(connection, about.student, until=_day(about))
    key = _key(request, flown.airplane_file) if flown else ""
    if flown is None or not key:
        return about
    return replace(about, airplane=key, registration=flown.registration, airplane_from=LAST)


def _day(about: About) -> date | None:
    """The day it was flown, where its recording says."""
    try:
        return date.fromisoformat(about.flown[:10])
    except ValueError:
        return None


def _before(one: About, about: About) -> bool:
    """A flight of the same day or before; True where either doesn't say."""
    days = _day(one), _day(about)
    return None in days or days[0] <= days[1]  # type: ignore[operator]


def another(request: Request, about: About, named: list[str]) -> str:
    """What to say where the recording names another registered airplane than the one chosen; "" else."""
    if about.airplane_from != "chosen" or not about.registration:
        return ""
    for word in named:
        other = fleet.named(_entries(request), word)
        if other is not None and other.registration != about.registration:
            return f"the recording names {other.registration}, {other.make_model}; chosen here is {about.registration}"
    return ""


def in_words(about: About, title: str) -> str:
    """How the airplane is known: "INV155, Larkmoor 155: the recording names it"."""
    if about.airplane:
        name = ", ".join(filter(None, (about.registration, title)))
        how = {"recording": "the recording names it", LAST: f"as {about.student_name or 'the student'} flew last"}
        return f"{name}: {how.get(about.airplane_from, 'chosen here')}"
    if about.lesson:
        return "the lesson's airplane"
    return "judged without an airplane" if about.airplane_from == NONE else ""
