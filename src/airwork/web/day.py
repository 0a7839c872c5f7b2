"""The planned lessons of a day: when each is, whom and what it takes, and each briefed beside the rest."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass, replace

from fastapi import Request

from airwork.days import local_date, read_moment
from airwork.errors import AirworkError
from airwork.jobs.files import load_airplane
from airwork.lesson.briefing import Briefing
from airwork.lesson.lesson import Lesson
from airwork.lesson.plan import NO_LOGBOOK
from airwork.lesson.verdict import Reason
from airwork.logbook.taken import Aboard, Taken, flown_between
from airwork.web import access, book, planned, which_airplane
from airwork.web.folder import Entry
from airwork.web.kept import Kept
from airwork.web.lesson_form import LessonForm

USUAL_S = 90.0 * 60.0  # of a lesson that can't be briefed yet; our own choice
DAY_S = 86400.0
SAME_TIME = "the same time"  # the topic of a reason: the day's page says more
_briefed: Kept[Briefing] = Kept(50)


def on(lessons: Iterable[Entry], day: dt.date, around: int = 0) -> list[Entry]:
    """The lessons of a day, or so many days around it; the invented ones are nobody's."""
    days = {(day + dt.timedelta(days=n)).isoformat() for n in range(-around, around + 1)}
    return [e for e in lessons if e.day in days and not e.shipped]


def taken(request: Request, entry: Entry) -> Taken:
    """Whom and what a planned lesson takes, from engine start to engine off."""
    return _until_its_end(_begun(request, entry), entry)


def _begun(request: Request, entry: Entry) -> Taken:
    """As `taken`, its end not known yet: that asks for the whole lesson to be planned."""
    try:
        start: float | None = read_moment(f"{entry.day} {entry.clock}", entry.zone, "time")
    except AirworkError:
        start = None
    return Taken(entry.key, start, None, entry.zone, Aboard(entry.student),
                 Aboard(entry.instructor) if entry.instructor else None, registration(request, entry.airplane),
                 entry.title, planned=True)  # fmt: skip


def _until_its_end(begun: Taken, entry: Entry) -> Taken:
    if begun.start_utc_s is None:
        return begun
    try:
        length_s = planned.planned(planned.read(entry)).length_s
    except AirworkError:
        length_s = USUAL_S
    return replace(begun, end_utc_s=begun.start_utc_s + length_s)


def registration(request: Request, airplane: str) -> str:
    """Which airplane a lesson takes, by its file: the logbook's only one of that file, the file where it has none; ""
    where it has several, since a lesson doesn't say which."""
    known: dict[str, str] | None = getattr(request.state, "registrations", None)
    if known is None:  # asked for each lesson around each lesson of a day
        known = {}
        for one, key in which_airplane.keys(request):
            known[key] = "" if key in known else one.registration
        request.state.registrations = known
    return known.get(airplane, airplane)


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
    """What is planned and on record around a lesson. others : the lessons around. airplane : its file's key.

    A lesson of other people in another airplane is nothing to it.
    """
    alone = lesson.student.solo or lesson.instructor is None
    start, over = lesson.start_utc_s, lesson.start_utc_s + length
    own = Taken("", start, over, lesson.zone, Aboard(lesson.student.name),
                None if alone else Aboard(lesson.instructor.name),  # type: ignore[union-attr]
                "" if lesson.simulator else registration(request, airplane), planned=True)  # fmt: skip
    around = ((_begun(request, e), e) for e in others)
    ended = tuple(_until_its_end(one, e) for one, e in around if own.both(one))
    flown: tuple[Taken, ...] = ()
    if book.has_logbook(request):
        with book.reading(request) as connection:
            flown = flown_between(connection, start - DAY_S, over + DAY_S)
    return Beside(own, ended, flown)


def briefing(request: Request, entry: Entry, form: LessonForm | None = None) -> Briefing:
    """The briefing of a lesson as its form, or its file, stands, beside what else is planned and on record.

    Raises
    ------
    InputError, NotPossible, OutOfRange : it can't be briefed.
    """
    lesson = planned.read(entry, form)
    airplane, account = load_airplane(lesson.airplane_path), access.account_of(request)
    date = local_date(lesson.start_utc_s, lesson.zone)
    every = [] if entry.shipped else request.app.state.folder.entries("lesson")
    others = [e for e in on(every, date, around=1) if e.key != entry.key]

    def judged() -> Briefing:
        return planned.planned(lesson).judged(lambda length_s: _currency(request, lesson, length_s, others)).briefing

    return _briefed.of((lesson, airplane, account.teaches or account, _newest_entry(request), others), judged)


def _newest_entry(request: Request) -> str:
    """Changes with every change of the logbook; "" without one."""
    from airwork.logbook import history

    if not book.has_logbook(request):
        return ""
    with book.reading(request) as connection:
        return history.newest(connection)


def _currency(request: Request, lesson: Lesson, length_s: float, others: list[Entry]) -> tuple[Reason, ...] | None:
    """What the logbook says of the lesson, and who or what of it is taken by another.

    None where nobody was asked: there is no logbook, or it is a student's whose lesson it isn't.
    """
    from airwork.logbook.for_lesson import lesson_reasons

    if not access.is_instructor(request) and lesson.student.name.casefold() != access.student_name(request).casefold():
        return None
    found = beside(request, lesson, others, length_s, lesson.airplane_path.stem)
    twice = found.reasons
    if not book.has_logbook(request):
        return (*twice, NO_LOGBOOK) if twice else None
    with book.reading(request) as connection:
        return (*twice, *lesson_reasons(connection, lesson, length_s=length_s, training_planned=found.training_planned))
