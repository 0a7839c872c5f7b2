"""The one place that decides who may do and see what. What somebody may not see does not exist for them: 404."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from fastapi import Depends, Request
from starlette.exceptions import HTTPException

from airwork.errors import InputError
from airwork.web import book, guard
from airwork.web.accounts import Account
from airwork.web.desk import About

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from airwork.logbook.pages import FlightPage
    from airwork.logbook.records import Person


def account_of(request: Request) -> Account:
    """Who asks. HTTPException 401 without a log-in."""
    account: Account | None = request.state.account
    if account is None:
        raise HTTPException(401, "Log in first.")
    return account


def is_instructor(request: Request) -> bool:
    """An instructor asks, or the chief."""
    return account_of(request).teaches


MOST_FIELDS, MOST_LETTERS = 10_000, 4000  # of a form: a handbook's part of 400 rows; of a field


async def from_our_page(request: Request) -> None:
    """Whatever changes something comes from a page of this session. HTTPException 403 otherwise."""
    if request.method == "POST":
        token = (await request.form(max_files=0, max_fields=MOST_FIELDS)).get("token")
        session, named = request.state.session, request.headers.get("x-airwork-token")
        if session is None or not guard.token_fits(session, token if isinstance(token, str) and token else named):
            raise HTTPException(403, "The page has grown old; load it again and repeat the change.")


async def typed_form(request: Request) -> dict[str, str]:
    """What a form holds, each value cut at `MOST_LETTERS`; `from_our_page` has read it."""
    return {name: text[:MOST_LETTERS] for name, text in (await request.form()).items() if isinstance(text, str)}


Typed = Annotated[dict[str, str], Depends(typed_form)]


def said_once(request: Request) -> str:
    """What was done by the form before, to be shown on this page alone."""
    session = request.state.session
    if session is None:
        return ""
    said: str = session.said
    session.said = ""
    return said


def require_instructor(request: Request) -> None:
    """Only an instructor. HTTPException 403 otherwise."""
    if not is_instructor(request):
        raise HTTPException(403, "Only an instructor may do this.")


def may_see_student(account: Account, student: str) -> bool:
    """An instructor sees every student, a student only their own; what belongs to nobody is the instructors'."""
    return account.teaches or (bool(student) and account.person == student)


def require_chief(request: Request) -> None:
    """Only the chief instructor. HTTPException 403 otherwise."""
    if account_of(request).role != "chief":
        raise HTTPException(403, "Only the chief instructor may do this.")


TEACHES, CHIEF = [Depends(require_instructor)], [Depends(require_chief)]  # of an address, or of all of a module


def may_sign_as(request: Request, connection: Connection) -> tuple[Person, ...]:
    """The instructors in whose name somebody may give marks, enter and sign: their own; at a machine without accounts
    whoever sits there chooses."""
    from airwork.logbook.people import people

    account = account_of(request)
    if not account.teaches:
        return ()
    everybody = people(connection, instructors=True)
    if not account.name:
        return everybody
    own = [p for p in everybody if p.id == account.person or (not account.person and p.name == account.name)]
    return tuple(own)


def own_instructor(request: Request, connection: Connection, asked: str) -> Person:
    """The instructor of an id, when this person may act as them. InputError otherwise."""
    own = may_sign_as(request, connection)
    found = next((p for p in own if p.id == asked), own[0] if len(own) == 1 and not asked else None)
    if found is None:
        raise InputError("marks, entries and signatures are given in one's own name.", where="instructor")
    return found


def require_student(request: Request, student: str) -> None:
    """Somebody who may see this student's things. HTTPException 404, so that nothing is told."""
    if not may_see_student(account_of(request), student):
        raise HTTPException(404)


def flight_or_404(request: Request, flight_id: str) -> FlightPage:
    """A logged flight that this person may see, instructors' notes for instructors."""
    from airwork.logbook.pages import flight_page

    with book.reading(request) as connection:
        try:
            found = flight_page(connection, flight_id, instructor_notes=is_instructor(request))
        except InputError:
            raise HTTPException(404) from None
    require_student(request, found.flight.pilot_id or "")
    return found


def student_name(request: Request) -> str:
    """The name in the logbook of the student who asks; "" without one."""

    account = account_of(request)
    if account.role != "student" or not book.has_logbook(request):
        return ""
    with book.reading(request) as connection:
        return book.person_or_404(connection, account.person).name


def students_to_choose(request: Request) -> list[tuple[str, str]]:
    """(id, name) of the students somebody may choose from: all for an instructor, oneself for a student."""
    from airwork.logbook.people import people

    if not book.has_logbook(request):
        return []
    account = account_of(request)
    with book.reading(request) as connection:
        return [(p.id, p.name) for p in people(connection, students=True) if may_see_student(account, p.id)]


def debrief_or_404(request: Request, debrief_id: str, *, waiting_too: bool = False) -> About:
    """A recording on the desk that this person may see. HTTPException 409 while it waits for its debrief."""
    about: About | None = request.app.state.desk.find(debrief_id)
    if about is None:
        raise HTTPException(404)
    require_student(request, about.student)
    if not waiting_too and request.app.state.workshop.place(about.id):
        raise HTTPException(409, "This recording waits for its debrief.")
    return about
