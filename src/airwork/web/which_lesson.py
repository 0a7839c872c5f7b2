"""Which lesson a page is about: the one its address names, else today's; and its form with the address's changes."""

from __future__ import annotations

import contextlib
import datetime as dt
import time
from collections.abc import Mapping
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from fastapi import Request
from starlette.exceptions import HTTPException

from airwork.airplane import Airplane
from airwork.days import local_date
from airwork.errors import InputError, Where
from airwork.jobs.files import load_airplane
from airwork.lesson.file import find_airplane
from airwork.web import access, lesson_rows
from airwork.web.folder import Entry
from airwork.web.lesson_form import LessonForm, read_form

USUAL_LENGTH = dt.timedelta(minutes=90)  # of a lesson that is looked at while it goes on; our own choice


def seen(request: Request) -> list[Entry]:
    """The lessons somebody may see: a student their own, by the name in the lesson, and the invented one."""
    entries: list[Entry] = request.app.state.folder.entries("lesson")
    if access.is_instructor(request):
        return entries
    name = access.student_name(request)
    return [e for e in entries if e.shipped or (name and e.student.casefold() == name.casefold())]


def named(request: Request, lesson: str) -> Entry:
    """The lesson of a key. HTTPException 404 for none."""
    for entry in seen(request):
        if entry.key == lesson:
            return entry
    raise HTTPException(404)


def opened(request: Request, lesson: str) -> Entry:
    """The lesson named in the address, else the one the page would open. HTTPException 404 for none."""
    lesson = lesson or newest(seen(request))
    if not lesson:
        raise HTTPException(404, "There is no lesson here yet; `airwork lesson new` writes one to start from.")
    return named(request, lesson)


def newest(lessons: list[Entry], now: dt.datetime | None = None) -> str:
    """The key of the lesson opened when none is named: today's, else the next to come, else the newest changed."""
    own = [e for e in lessons if not e.shipped] or lessons
    now = now or dt.datetime.now(dt.UTC)
    due = [e for e in own if (days := days_ago(e.day, e.zone, now)) is not None and days <= 0]
    if due:
        return min(due, key=lambda e: (e.day, _over(e, now), e.clock, -e.changed_s)).key
    return max(own, key=lambda e: e.changed_s).key if own else ""


def _over(lesson: Entry, now: dt.datetime) -> bool:
    """It began long enough ago to be over."""
    try:
        here = ZoneInfo(lesson.zone) if lesson.zone else None
        begun = dt.datetime.fromisoformat(f"{lesson.day} {lesson.clock}").replace(tzinfo=here)
        return now - begun.astimezone(dt.UTC) > USUAL_LENGTH
    except (ValueError, TypeError, OSError, ZoneInfoNotFoundError):
        return False


def today(request: Request) -> dt.date:
    """The day it is where one flies, by the newest lesson's zone; the machine may stand in another."""
    for entry in sorted((e for e in seen(request) if e.zone), key=lambda e: (e.shipped, -e.changed_s)):
        with contextlib.suppress(InputError):  # a zone nobody knows: the lesson's page says so
            return local_date(time.time(), str(entry.zone))
    return dt.date.today()


def days_ago(date: object, zone: object, now: dt.datetime | None = None) -> int | None:
    """Days from a lesson's day to today where it is flown, below 0 for one to come; None where the file doesn't say."""
    try:
        here = ZoneInfo(str(zone)) if zone else None
        now = now or dt.datetime.now(dt.UTC)
        return (now.astimezone(here).date() - dt.date.fromisoformat(str(date))).days
    except (ValueError, OSError, ZoneInfoNotFoundError):
        return None


def changes_in(given: Mapping[str, str]) -> dict[str, str]:
    """The fields in an address. Names without a value given are left as the file has them."""
    return {k: v for k, v in lesson_rows.state(given).items() if k != "lesson"}


def form_of(entry: Entry, asked: Mapping[str, str]) -> LessonForm:
    """A lesson's form with the values asked for; another airplane's tanks are looked up beside the lesson."""

    def tanks(name: str) -> tuple[str, ...]:
        return tuple(tank.name for tank in airplane_beside(entry, name).tanks)

    return read_form(entry.read(), asked, tanks)


def airplane_beside(entry: Entry, name: str) -> Airplane:
    """The airplane a lesson names, looked for beside the lesson first."""
    return load_airplane(find_airplane(name, entry.path.parent, Where.of("", ("airplane", "file"), dotted=True)))
