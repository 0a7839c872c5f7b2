"""Entries of the logbook on the page: a flight entered from its recording or lesson, put right, taken back."""

from __future__ import annotations

import time
from dataclasses import replace

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from sqlalchemy import Connection
from starlette.exceptions import HTTPException

from airwork.errors import AirworkError, InputError
from airwork.jobs.entering import enter_flight
from airwork.jobs.files import load_lesson
from airwork.logbook import fleet, flights, history
from airwork.logbook.debrief_json import read_debrief
from airwork.logbook.doubts import (
    NO_AIRPLANE,
    Doubts,
    Recorded,
    against,
    questions,
    recorded,
    recorded_of,
    require_possible,
)
from airwork.logbook.entering import FlightEntry, complete
from airwork.logbook.pages import FlightPage
from airwork.web import access, book, flight_form, which_airplane
from airwork.web.answers import page
from airwork.web.desk import About
from airwork.web.meanwhile import says_by_now

router = APIRouter()
_IDENTITIES = frozenset({"student", "instructor"})  # known by an id that says nothing to a reader


def _own_or_chief(request: Request, found: FlightPage) -> None:
    """The flight's own instructor, or the chief. HTTPException 403 for others."""
    access.require_instructor(request)
    account = access.account_of(request)
    if account.role != "chief" and account.person != found.flight.instructor_id:
        raise HTTPException(403, "Only the flight's instructor, or the chief, may do this.")


def _filled(request: Request, about: About | None, lesson: str) -> flight_form.Filled:
    """The form from recording, lesson and log-in, in this order."""
    filled = flight_form.Filled()
    account = access.account_of(request)
    if about is not None:
        filled.recorded = True
        filled.fill("the recording", **request.app.state.workshop.whole(flight_form.from_recording, about))
    with book.reading(request) as connection:
        if about is not None:
            filled.fill("what was chosen with it", student=about.student, airplane=about.registration)
            lesson = lesson or about.lesson
        if lesson:
            flight_form.from_lesson(
                filled, connection, load_lesson(request.app.state.folder.find("lesson", lesson).path)
            )
        own = access.may_sign_as(request, connection)
    if filled.values.get("role") != "solo" and account.person and any(p.id == account.person for p in own):
        filled.fill("your log-in", instructor=account.person)
    return filled


def _page(
    request: Request, filled: flight_form.Filled, *, title: str,
    problem: AirworkError | str | None = None, doubts: Doubts | None = None,
    corrects: FlightPage | None = None, status: int = 200, about: About | None = None,
) -> Response:  # fmt: skip
    with book.reading(request) as connection:
        more = flight_form.choices(connection)
        teachers = [(p.id, p.name) for p in access.may_sign_as(request, connection)]
    chosen = filled.values.get("instructor", "")
    action = f"{request.url.path}?{request.url.query}".removesuffix("?")  # with whose form it is
    if corrects is not None and chosen and chosen not in dict(teachers):
        teachers = [(chosen, corrects.instructor), *teachers]
    values = {
        **more, "filled": filled, "action": action, "title": title, "problem": _in_lines(problem),
        "doubts": doubts, "at": flight_form.at_fields(problem),
        "students": access.students_to_choose(request), "teachers": teachers, "roles": flight_form.ROLES,
        "hours": flight_form.HOURS, "corrects": corrects, "recorded": about.flown if about else "",
        "model": _unregistered(request, about) if about else "",
        "read": flight_form.as_it_stands(corrects) if corrects is not None else "",
    }  # fmt: skip
    return page(request, "flight_form.html", values, status=status)


def _in_lines(problem: AirworkError | str | None) -> str:
    """Everything that is wrong, a line each."""
    return "\n".join(str(one) for one in problem.each) if isinstance(problem, InputError) else str(problem or "")


def _unregistered(request: Request, about: About) -> str:
    """The model a recording was judged by, where the logbook has no airplane of that file."""
    here = {key for _, key in which_airplane.keys(request)}
    entries = request.app.state.folder.entries("airplane")
    return next((e.title for e in entries if e.key == about.airplane and e.key not in here), "")


@router.get("/flights/new", response_class=HTMLResponse, dependencies=access.TEACHES)
def new(request: Request, lesson: str = "", student: str = "") -> Response:
    """A flight without a recording, from a lesson or by hand."""
    filled = _filled(request, None, lesson)
    filled.fill("their page", student=student)
    return _page(request, filled, title="Enter a flight")


@router.get("/debriefs/{debrief_id}/enter", response_class=HTMLResponse)
def from_debrief(request: Request, debrief_id: str) -> Response:
    """The flight of a recording, ready to be entered."""
    about = access.debrief_or_404(request, debrief_id)
    access.require_instructor(request)
    if about.flight_id:
        return RedirectResponse(f"/flights/{about.flight_id}", 303)
    return _page(request, _filled(request, about, ""), title="Enter this flight", about=about)


@router.post("/flights/new", response_class=HTMLResponse, dependencies=access.TEACHES)
def enter_new(request: Request, typed: access.Typed) -> Response:
    """Enter a flight without a recording."""
    return _enter(request, typed, None, None)


@router.post("/debriefs/{debrief_id}/enter", response_class=HTMLResponse)
def enter_debrief(request: Request, debrief_id: str, typed: access.Typed) -> Response:
    """Enter the flight of a recording, with it and its debrief."""
    about = access.debrief_or_404(request, debrief_id)
    access.require_instructor(request)
    return _enter(request, typed, about, None)


@router.post("/flights/{flight_id}/correct", response_class=HTMLResponse)
def correct(request: Request, flight_id: str, typed: access.Typed) -> Response:
    """Put an entry right: in place while it is unsigned, by a new one that counts in its place once it is signed."""
    found = access.flight_or_404(request, flight_id)
    _own_or_chief(request, found)
    if (read := typed.pop("read", "")) and read != flight_form.as_it_stands(found):
        return _changed_meanwhile(request, typed, found)
    return _enter(request, typed, None, found)


def _changed_meanwhile(request: Request, typed: dict[str, str], found: FlightPage) -> Response:
    """What was typed, over the entry as somebody else has put it by now; nothing is written."""
    now = flight_form.Filled()
    flight_form.from_flight(now, found)
    problem = says_by_now(now.values, typed, but=_IDENTITIES)
    filled = flight_form.Filled(dict(typed), {}, found.flight.source == "debrief")
    return _page(request, filled, title="Put this entry right", problem=problem,
                 corrects=found, status=409)  # fmt: skip


def _enter(request: Request, typed: dict[str, str], about: About | None, old: FlightPage | None) -> Response:
    now, doubts = time.time(), Doubts()
    signed = old is not None and old.flight.signed_utc_s is not None
    try:
        seats = which_airplane.seats(request, typed.get("airplane", ""))
        flown = None if about is None else request.app.state.workshop.whole(_recorded, about)
        with book.store_of(request).change() as connection:
            entry = _read(request, connection, typed, about, old)
            if old is not None:
                flown = recorded_of(connection, old)
            if about is None:
                require_possible(entry, now, recorded=flown is not None)
                complete(entry)
            doubts = _doubts(connection, entry, flown, typed, old, seats)
            if not typed.get("sure"):
                doubts.refuse()
            flight_id = ""
            if old is not None and not signed:
                flights.rewrite_flight(connection, old.flight.id, entry, now_utc_s=now)
                flight_id = old.flight.id
            elif about is None:
                flight_id = flights.add_flight(connection, entry, now_utc_s=now).row.id
        if old is not None and signed:
            request.app.state.desk.hang(old.flight.id, flight_id)
        if about is not None:
            flight_id = request.app.state.workshop.whole(write_down, about, entry, history.actor())
            known = replace(about, flight_id=flight_id, student=entry.pilot.id, student_name=entry.pilot.name)
            request.app.state.desk.note(known)
    except AirworkError as problem:
        flew = about is not None or bool(old and old.flight.source == "debrief")
        title = "Put this entry right" if old is not None else "Enter this flight"
        return _page(request, flight_form.Filled(dict(typed), {}, flew), title=title,
                     problem=problem, doubts=doubts, corrects=old, about=about, status=422)  # fmt: skip
    said = "put right" if old is not None else "entered"
    told = dict.fromkeys(f.text for f in doubts.findings)
    request.state.session.said = f"The flight is {said}." + (f"\nThe record says: {'; '.join(told)}." if told else "")
    return RedirectResponse(f"/flights/{flight_id}", 303)


def _read(
    request: Request, connection: Connection, typed: dict[str, str], about: About | None, old: FlightPage | None
) -> FlightEntry:
    """The entry as typed; an airplane that only lacks its registration is entered with it."""
    now, wanted, teacher = time.time(), typed.get("instructor", ""), None
    if old is not None and wanted and wanted == old.flight.instructor_id:
        teacher = book.person_or_404(connection, wanted)
    elif wanted:
        teacher = access.own_instructor(request, connection, wanted)
    if (new := typed.get("registration", "").strip()) and about is not None:
        facts = fleet.airplane_facts(request.app.state.folder.airplane(about.airplane))
        typed["airplane"] = fleet.add_airplane(connection, new, now_utc_s=now, **facts).registration
    signed = old is not None and old.flight.signed_utc_s is not None
    entry = flight_form.entry_of(connection, typed, teacher, now_utc_s=now, of_signed=signed,
                                 corrects=old.flight.id if old is not None and signed else "")  # fmt: skip
    access.require_student(request, entry.pilot.id)
    if old is None:
        return entry
    entry = flight_form.as_before(entry, typed, old)
    return replace(entry, movements=entry.movements or old.movements) if old.flight.source == "debrief" else entry


def _doubts(
    connection: Connection, entry: FlightEntry, flown: Recorded | None, typed: dict[str, str],
    old: FlightPage | None, seats: int | None,
) -> Doubts:  # fmt: skip
    """What to ask of an entry; the record is asked about a new one, until somebody has said that it was flown so."""
    asked = questions(connection, entry, flown, seats=seats, but=old.flight.id if old else "")
    if old is not None or typed.get("sure"):
        return Doubts(tuple(asked))
    found = against(connection, entry, entry.start_utc_s if flown is None else flown.start_utc_s)
    return Doubts(tuple(asked), found if entry.airplane else (NO_AIRPLANE, *found))


def _recorded(asking: Request, about: About) -> Recorded:
    """What the recording on the desk says. Asked where the debrief is open."""
    found = asking.app.state.desk.debrief(about)
    return recorded(read_debrief(found.as_json()), found.flight)


def write_down(asking: Request, about: About, entry: FlightEntry, by: str) -> str:
    """Enter a recording's flight in somebody's name, where the debrief is open; its identity."""
    desk, store = asking.app.state.desk, book.store_of(asking)
    with history.acting(by):
        recording = desk.recording(about)
        return enter_flight(desk.debrief(about), entry, logbook=store, recording=recording, renew=True).flight_id


@router.get("/flights/{flight_id}/correct", response_class=HTMLResponse)
def correction(request: Request, flight_id: str) -> Response:
    """The entry as it stands, to be put right."""
    found = access.flight_or_404(request, flight_id)
    _own_or_chief(request, found)
    filled = flight_form.Filled()
    flight_form.from_flight(filled, found)
    return _page(request, filled, title="Put this entry right",
                 corrects=found)  # fmt: skip


@router.post("/flights/{flight_id}/take-back", response_class=HTMLResponse)
def take_back(request: Request, flight_id: str) -> Response:
    """Take an unsigned entry out again; the recording stays on the desk, the history keeps what was."""
    found = access.flight_or_404(request, flight_id)
    _own_or_chief(request, found)
    with book.store_of(request).change() as connection:
        flights.remove_flight(connection, found.flight.id, now_utc_s=time.time())
    request.app.state.desk.hang(found.flight.id, found.flight.corrects_id or "")
    return RedirectResponse(f"/students/{found.flight.pilot_id}", 303)
