"""In the chair: a briefed lesson rehearsed as its ideal flight, on the debrief's own screen."""

from __future__ import annotations

from urllib.parse import urlencode

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from airwork.jobs.files import load_airplane
from airwork.jobs.rehearsing import rehearse_lesson
from airwork.output.chair import chair_values
from airwork.standards import load_standard
from airwork.web import lesson_rows, planned
from airwork.web.answers import page
from airwork.web.land import surroundings
from airwork.web.which_lesson import changes_in, form_of, opened

router = APIRouter()


@router.get("/chair", response_class=HTMLResponse)
def chair(request: Request, lesson: str = "") -> Response:
    """The lesson of the address with its changes, as Today shows it, to be flown in a chair."""
    entry = opened(request, lesson)
    read = planned.read(entry, form_of(entry, changes_in(request.query_params)))
    flown = rehearse_lesson(read, load_airplane(read.airplane_path), plan=planned.planned(read).judged())
    values = chair_values(flown, load_standard(read.student.certificate), around=surroundings)
    query = urlencode(list(lesson_rows.state(request.query_params).items()))
    return page(request, "chair.html", {**values, "query": query, "verdict": flown.briefing.verdict})
