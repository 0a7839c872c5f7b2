"""Students: progress, what is left, what expires, flights."""

from __future__ import annotations

import time
from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, JSONResponse, RedirectResponse, Response
from starlette.exceptions import HTTPException

from airwork.errors import InputError
from airwork.logbook.as_json import plain
from airwork.logbook.pages import FlightPage, StudentPage
from airwork.web import access, book, debrief_view
from airwork.web.answers import page

router = APIRouter()
NEWEST = 40


@router.get("/students", response_class=HTMLResponse)
def students(request: Request) -> Response:
    """Every student; a student goes to their own page."""
    from airwork.logbook.pages import students as lines

    account = access.account_of(request)
    if not book.has_logbook(request):
        return page(request, "students.html", {"lines": None})
    if account.role == "student":
        return RedirectResponse(f"/students/{account.student}", 303)
    with book.reading(request) as connection:
        return page(request, "students.html", {"lines": lines(connection)})


@router.get("/students.json")
def students_json(request: Request) -> Response:
    """Every student as data; a student sees themselves."""
    from airwork.logbook.pages import students as lines

    account = access.account_of(request)
    with book.reading(request) as connection:
        found = [line for line in lines(connection) if access.may_see_student(account, line.student.id)]
    return JSONResponse(plain(found))


def _student(request: Request, student_id: str) -> StudentPage:
    from airwork.logbook.pages import student_page

    access.require_student(request, student_id)
    with book.reading(request) as connection:
        book.person_or_404(connection, student_id)
        return student_page(
            connection, student_id, now_utc_s=time.time(), newest=NEWEST,
            instructor_notes=access.is_instructor(request),
        )  # fmt: skip


@router.get("/students/{student_id}.json")
def student_json(request: Request, student_id: str) -> Response:
    """A student's page as data."""
    return JSONResponse(plain(_student(request, student_id)))


@router.get("/students/{student_id}", response_class=HTMLResponse)
def student(request: Request, student_id: str) -> Response:
    """A student's page."""
    return page(request, "student.html", {"one": _student(request, student_id)})


def _flight(request: Request, flight_id: str) -> FlightPage:
    from airwork.logbook.pages import flight_page

    with book.reading(request) as connection:
        try:
            found = flight_page(connection, flight_id, instructor_notes=access.is_instructor(request))
        except InputError:
            raise HTTPException(404) from None
    access.require_student(request, found.flight.pilot_id or "")
    return found


@router.get("/flights/{flight_id}.json")
def flight_json(request: Request, flight_id: str) -> Response:
    """A logged flight as data."""
    return JSONResponse(plain(_flight(request, flight_id)))


@router.get("/flights/{flight_id}", response_class=HTMLResponse)
def flight(request: Request, flight_id: str) -> Response:
    """A logged flight with its marks."""
    found = _flight(request, flight_id)
    account = access.account_of(request)
    desk = [
        a for a in request.app.state.desk.all()
        if a.flight_id == found.flight.id and access.may_see_student(account, a.student)
    ]  # fmt: skip
    return page(request, "flight.html", {"one": found, "desk": desk[0] if desk else None})


@router.post("/flights/{flight_id}/debrief", response_class=HTMLResponse)
def open_debrief(request: Request, flight_id: str, token: Annotated[str, Form()] = "") -> Response:
    """The debrief of a flight whose recording the logbook kept, wherever it was entered."""
    access.require_token(request, token)
    found = _flight(request, flight_id)
    if not found.recording_kept:
        raise InputError("the logbook has no recording of this flight.", where="debrief")
    return RedirectResponse(f"/debriefs/{debrief_view.from_logbook(request, found).id}", 303)
