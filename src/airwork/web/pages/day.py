"""The day: who flies when, in which airplane, planned and flown, and what is asked for twice at one time."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, Response

from airwork.days import local_text
from airwork.errors import AirworkError, InputError
from airwork.logbook.taken import Taken, flown_on, twice
from airwork.web import access, book, which_lesson
from airwork.web import day as planned
from airwork.web.answers import page
from airwork.web.folder import Entry

router = APIRouter()


@dataclass(frozen=True, slots=True)
class Line:
    """One flight of the day. level, verdict : of a planned lesson, as its page says it; "" for what is flown."""

    taken: Taken
    times: str
    airplane: str
    address: str
    what: str
    level: str = ""
    verdict: str = ""

    @property
    def people(self) -> tuple[str, ...]:
        return tuple(who.name for who in (self.taken.pilot, self.taken.instructor) if who)


@router.get("/day", response_class=HTMLResponse)
def day(
    request: Request,
    on: Annotated[str, Query(max_length=10)] = "",
    who: Annotated[str, Query(max_length=200)] = "",
    airplane: Annotated[str, Query(max_length=100)] = "",
) -> Response:
    """Every flight of a day, planned or on record, that the person may see. who, airplane : only theirs, only its."""
    date = _date(request, on)
    lines = [_lesson(request, e) for e in planned.on(which_lesson.seen(request), date)] + _flown(request, date)
    lines.sort(key=lambda one: (one.taken.start_utc_s is None, one.taken.start_utc_s or 0.0, one.taken.pilot.name))
    shown = [one for one in lines if (not who or who in one.people) and (not airplane or one.airplane == airplane)]
    of = {id(one.taken): one for one in shown}
    clashes = [
        (shared, of.get(id(one)), of.get(id(two)), one, two)
        for one, two, shared in twice(one.taken for one in lines)
        if id(one) in of or id(two) in of
    ]
    taken = {id(side) for _, _, _, one, two in clashes for side in (one, two)}
    values = {
        "date": date, "lines": shown, "clashes": clashes,
        "taken": {n for n, one in enumerate(shown) if id(one.taken) in taken},
        "people": sorted({name for one in lines for name in one.people}), "who": who,
        "airplanes": sorted({one.airplane for one in lines if one.airplane}), "airplane": airplane,
        "before": date - dt.timedelta(days=1), "after": date + dt.timedelta(days=1),
        "zones": sorted({one.times[-5:].strip() for one in lines if one.times}),
    }  # fmt: skip
    return page(request, "day.html", values)


def _date(request: Request, text: str) -> dt.date:
    try:
        found = dt.date.fromisoformat(text) if text else which_lesson.today(request)
        return min(max(found, dt.date(1900, 1, 2)), dt.date(2999, 12, 30))
    except ValueError:
        raise InputError(f"{text!r} is no date; write 2025-09-20.", where="day") from None


def _lesson(request: Request, entry: Entry) -> Line:
    taken = planned.taken(request, entry)
    level, verdict = "", ""
    try:
        found = planned.briefing(request, entry).verdict
        level, verdict = found.level, found.level.upper()
    except AirworkError:
        verdict = "not ready"
    names = {e.key: e.title for e in request.app.state.folder.entries("airplane")}
    airplane = planned.registration(request, entry.airplane)
    if airplane in ("", entry.airplane):
        airplane = names.get(entry.airplane, entry.airplane)
    return Line(taken, _times(taken), airplane, f"/?lesson={entry.key}", entry.title, level, verdict)


def _flown(request: Request, date: dt.date) -> list[Line]:
    if not book.has_logbook(request):
        return []
    account = access.account_of(request)
    with book.reading(request) as connection:
        found = [one for one in flown_on(connection, date) if access.may_see_student(account, one.pilot.id)]
    return [Line(one, _times(one), one.airplane, f"/flights/{one.id}", "flown") for one in found]


def _times(one: Taken) -> str:
    """ "14:30–15:41 MST"; "" where only the day is known."""
    if one.start_utc_s is None or one.end_utc_s is None:
        return ""
    begun, over = (local_text(t, one.zone or "UTC") for t in (one.start_utc_s, one.end_utc_s))
    return f"{begun[11:16]}–{over[11:]}"
