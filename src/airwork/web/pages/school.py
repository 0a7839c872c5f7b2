"""The chief instructor's page: who is due, expiring, unsigned, stuck; what is weak; who changed what."""

from __future__ import annotations

import time
from threading import Lock, Thread
from typing import Annotated, Literal

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, Response

from airwork.errors import AirworkError
from airwork.logbook import history
from airwork.logbook.changes import changes
from airwork.logbook.questions import Answer, Question, ask, questions
from airwork.logbook.school import School
from airwork.logbook.school import school as look
from airwork.logbook.store import Store
from airwork.web import access, book, which_lesson
from airwork.web.answers import page
from airwork.web.kept import Kept

router = APIRouter(dependencies=access.CHIEF)
NEWEST = 60
HOUR_S = 3600.0  # looked at anew so often whatever is entered: a day ends, at each student's place in its own hour
MOST_S = 0.3  # of progress worked out for this page; the rest is worked out meanwhile
_looked: Kept[tuple[School, Answer]] = Kept(2)  # everybody's progress is worked out: seconds for a large school


@router.get("/school", response_class=HTMLResponse)
def school(request: Request, by: Annotated[str, Query(max_length=120)] = "") -> Response:
    """The school this morning. by : only what this person changed."""
    today = which_lesson.today(request).isoformat()
    planned: dict[str, str] = {}
    for entry in request.app.state.folder.entries("lesson"):
        name = entry.student.casefold()
        if name and not entry.shipped and entry.day >= today:
            planned[name] = min(planned.get(name, entry.day), entry.day)
    with book.reading(request) as connection:
        now = time.time()
        came_from = (request.app.state.settings.data, history.newest(connection), int(now // HOUR_S), planned)
        found, weak = _looked.of(
            came_from,
            lambda: (
                look(connection, now_utc_s=now, planned=planned, most_s=MOST_S),
                ask(connection, "weak"),
            ),
        )
        if found.left:
            _looked.forget()
            Thread(target=_look_at_all, args=(book.store_of(request),), daemon=True, name="progress").start()
        told = changes(connection, most=NEWEST * (8 if by else 1))
    shown = [c for c in told if not by or c.by == by][:NEWEST]
    values = {"school": found, "weak": weak, "changes": shown, "by": by, "who": sorted({c.by for c in told})}
    return page(request, "school.html", values | {"questions": questions()})


_looking = Lock()


def _look_at_all(store: Store) -> None:
    """Work out everybody's progress for the next look, where nobody does it already."""
    if not _looking.acquire(blocking=False):
        return
    try:
        with store.read() as connection:
            look(connection, now_utc_s=time.time())
    except AirworkError:
        pass  # the next look asks again
    finally:
        _looking.release()


@router.get("/school/{question}", response_class=HTMLResponse)
def answer(request: Request, question: Question, names: Literal["", "yes"] = "") -> Response:
    """One question of the school answered from its flights. names : instructors by name, not by letter."""
    with book.reading(request) as connection:
        found = ask(connection, question, names=bool(names))
    return page(request, "school_answer.html", {"found": found, "names": names, "questions": questions()})
