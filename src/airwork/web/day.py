"""The planned lessons of a day: when each begins and is over, and whom and what it takes."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from fastapi import Request

from airwork.days import read_moment
from airwork.errors import AirworkError
from airwork.jobs.briefing import brief_lesson
from airwork.lesson.lesson import Lesson
from airwork.lesson.verdict import Reason
from airwork.logbook.taken import Aboard, Taken, flown_between
from airwork.web import book, which_airplane
from airwork.web.folder import Entry
from airwork.web.kept import Kept

USUAL_S = 90.0 * 60.0  # of a lesson that can't be briefed yet; our own choice
DAY_S = 86400.0
SAME_TIME = "the same time"  # the topic of a reason: the day's page says more
_lengths: Kept[float] = Kept(200)


def on(lessons: Iterable[Entry], day: dt.date, around: int = 0) -> list[Entry]:
    """The lessons of a day, or so many days around it; the invented ones are nobody's."""
    days = {(day + dt.timedelta(days=n)).isoformat() for n in range(-around, around + 1)}
    return [e for e in lessons if e.day in days and not e.shipped]


def taken(request: Request, entry: Entry) -> Taken:
    """Whom and what a planned lesson takes, from engine start to engine off."""
    try:
        start: float | None = read_moment(f"{entry.day} {entry.clock}", entry.zone, "time")
    except AirworkError:
        start = None
    over = None if start is None else start + length_s(entry)
    return Taken(entry.key, start, over, entry.zone, Aboard(entry.student),
                 Aboard(entry.instructor) if entry.instructor else None, registration(request, entry.airplane),
                 entry.title, planned=True)  # fmt: skip


def length_s(entry: Entry) -> float:
    """From engine start to engine off; the usual length where the lesson can't be briefed yet. [s]"""

    def briefed() -> float:
        try:
            found = brief_lesson(entry.path, currency=())
        except AirworkError:
            return USUAL_S
        return found.end_utc_s - found.start_utc_s

    return _lengths.of((entry.path, entry.changed_s), briefed)


def registration(request: Request, airplane: str) -> str:
    """Which airplane a lesson takes, by its file: the logbook's only one of that file, the file where it has none; ""
    where it has several, since a lesson doesn't say which."""
    known = which_airplane.keys(request)
    if Counter(key for _, key in known)[airplane] > 1:
        return ""
    return next((one.registration for one, key in known if key == airplane), airplane)


@dataclass(frozen=True, slots=True)
class Beside:
    """What else is planned or on record around a lesson. own : the lesson's own people, airplane and time."""

    own: Taken
    planned: tuple[Taken, ...]
    flown: tuple[Taken, ...]

    @property
    def reasons(self) -> tuple[Reason, ...]:
        """Who and what of the lesson is taken at that time; not by whom: it stands on the student's card too."""
        found = []
        for other in (*self.planned, *self.flown):
            if shared := self.own.shared(other):
                by = "another lesson" if other.planned else "a flight on record"
                text = f"{' and '.join(shared)} {'is' if len(shared) == 1 else 'are'} taken by {by}, {other.times}"
                found.append(Reason(SAME_TIME, "think", text, change="another time, instructor or airplane"))
        return tuple(found)

    @property
    def training_planned(self) -> list[tuple[float, float]]:
        """The instructor's other lessons that are not flown yet, start and end. [s since 1970 UTC]"""
        teacher = self.own.instructor
        return [
            (one.start_utc_s, one.end_utc_s) for one in self.planned
            if teacher is not None and teacher.is_(one.instructor)
            and one.start_utc_s is not None and one.end_utc_s is not None
            and not any(flight.pilot.is_(one.pilot) and flight.at_once(one) for flight in self.flown)
        ]  # fmt: skip


def beside(request: Request, lesson: Lesson, others: Iterable[Entry], length: float, airplane: str) -> Beside:
    """What is planned and on record around a lesson. others : the lessons around. airplane : its file's key."""
    alone = lesson.student.solo or lesson.instructor is None
    start, over = lesson.start_utc_s, lesson.start_utc_s + length
    own = Taken("", start, over, lesson.zone, Aboard(lesson.student.name),
                None if alone else Aboard(lesson.instructor.name),  # type: ignore[union-attr]
                "" if lesson.simulator else registration(request, airplane), planned=True)  # fmt: skip
    planned = tuple(taken(request, e) for e in others)
    flown: tuple[Taken, ...] = ()
    if book.has_logbook(request):
        with book.reading(request) as connection:
            flown = flown_between(connection, start - DAY_S, over + DAY_S)
    return Beside(own, planned, flown)
