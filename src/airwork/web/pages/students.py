"""Students: progress, what is left, what expires, flights."""

from __future__ import annotations

import time
from typing import Annotated, Literal

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from airwork.errors import InputError
from airwork.logbook.as_json import plain
from airwork.logbook.flights import sign_flight
from airwork.logbook.pages import FlightPage, StudentPage, student_page
from airwork.logbook.pages import students as lines
from airwork.logbook.seal import has_key
from airwork.web import access, book, debrief_view, guard
from airwork.web.answers import page

router = APIRouter()
NEWEST = 40


@router.get("/students", response_class=HTMLResponse)
def students(request: Request) -> Response:
    """Every student; a student goes to their own page."""
    account = access.account_of(request)
    if not book.has_logbook(request):
        return page(request, "students.html", {"lines": None})
    if account.role == "student":
        return RedirectResponse(f"/students/{account.person}", 303)
    with book.reading(request) as connection:
        return page(request, "students.html", {"lines": lines(connection)})


@router.get("/students.json")
def students_json(request: Request) -> Response:
    """Every student as data; a student sees themselves."""
    account = access.account_of(request)
    with book.reading(request) as connection:
        found = [line for line in lines(connection) if access.may_see_student(account, line.student.id)]
    return JSONResponse(plain(found))


def _student(request: Request, student_id: str, newest: int | None = NEWEST) -> StudentPage:
    access.require_student(request, student_id)
    with book.reading(request) as connection:
        book.person_or_404(connection, student_id)
        return student_page(
            connection, student_id, now_utc_s=time.time(), newest=newest,
            instructor_notes=access.is_instructor(request),
        )  # fmt: skip


@router.get("/students/{student_id}.json")
def student_json(request: Request, student_id: str) -> Response:
    """A student's page as data."""
    return JSONResponse(plain(_student(request, student_id)))


@router.get("/students/{student_id}", response_class=HTMLResponse)
def student(request: Request, student_id: str, flights: Literal["newest", "all"] = "newest") -> Response:
    """A student's page; with all their flights where the address asks for them."""
    newest = NEWEST if flights == "newest" else None
    return page(request, "student.html", {"one": _student(request, student_id, newest)})


@router.get("/flights/{flight_id}.json")
def flight_json(request: Request, flight_id: str) -> Response:
    """A logged flight as data."""
    return JSONResponse(plain(access.flight_or_404(request, flight_id)))


@router.get("/flights/{flight_id}", response_class=HTMLResponse)
def flight(request: Request, flight_id: str) -> Response:
    """A logged flight with its marks."""
    return _flight_page(request, access.flight_or_404(request, flight_id))


def _flight_page(request: Request, found: FlightPage, problem: str = "", status: int = 200) -> Response:
    from airwork.logbook.changes import changes

    account = access.account_of(request)
    desk = [
        a for a in request.app.state.desk.all()
        if a.flight_id == found.flight.id and access.may_see_student(account, a.student)
    ]  # fmt: skip
    with book.reading(request) as connection:
        signers = [p for p in access.may_sign_as(request, connection) if p.id == found.flight.instructor_id]
        told = changes(connection, thing=found.flight.id) if account.teaches else ()
        keyless = bool(signers) and not has_key(connection, signers[0])
    own = account.teaches and account.person == found.flight.instructor_id
    values = {"one": found, "desk": desk[0] if desk else None, "signers": signers, "problem": problem, "changes": told,
              "said": access.said_once(request), "keyless": keyless,
              "may_change": account.role == "chief" or own}  # fmt: skip
    return page(request, "flight.html", values, status=status)


@router.post("/flights/{flight_id}/sign", response_class=HTMLResponse)
def sign(
    request: Request,
    flight_id: str,
    password: Annotated[str, Form(max_length=1000)] = "",
    instructor: Annotated[str, Form(max_length=64)] = "",
) -> Response:
    """The instructor signs, in their own name, with the password that guards their key."""
    found = access.flight_or_404(request, flight_id)
    access.require_instructor(request)
    said, right = guard.tries(request, "signature")
    if said:
        return _flight_page(request, found, said, 429)
    try:
        with book.store_of(request).change() as connection:
            by = access.own_instructor(request, connection, instructor)
            sign_flight(connection, found.flight.id, by, password, now_utc_s=time.time())
    except InputError as problem:
        return _flight_page(request, found, str(problem), 422)
    right()
    return RedirectResponse(f"/flights/{found.flight.id}", 303)


@router.post("/flights/{flight_id}/debrief", response_class=HTMLResponse)
def open_debrief(request: Request, flight_id: str) -> Response:
    """The debrief of a flight whose recording the logbook kept, wherever it was entered."""
    found = access.flight_or_404(request, flight_id)
    if not found.recording_kept:
        raise InputError("the logbook has no recording of this flight.", where="debrief")
    return RedirectResponse(f"/debriefs/{debrief_view.from_logbook(request, found).id}", 303)
