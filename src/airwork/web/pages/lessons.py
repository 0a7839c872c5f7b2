"""A new lesson on the page: from the last one, from what a student should fly next, or from nothing."""

from __future__ import annotations

import datetime as dt
import re
import time
import unicodedata
from typing import Annotated, Any

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from airwork.errors import AirworkError, InputError
from airwork.lesson.again import lesson_again
from airwork.lesson.blank import Answers, lesson_text
from airwork.typed_file import tables
from airwork.web import access, book, person_form, which_lesson
from airwork.web.answers import page
from airwork.web.folder import Folder

router = APIRouter(dependencies=access.TEACHES)
NEWEST = 30  # lessons to begin from
BLANK = ""
ASKED = (
    ("airport", "departure airport", "KOGA"), ("zone", "time zone", "America/Denver"),
    ("student_weight", "weight of the student", "150 lb, 68 kg"),
    ("instructor_weight", "weight of the instructor", "180 lb"), ("bags", "weight of the bags", "20 lb, or 0 lb"),
    ("fuel", "usable fuel in each tank", "15 gal, 57 L"),
)  # fmt: skip
KEPT = (
    "student",
    "name",
    "date",
    "time",
    "title",
    "begin",
    "these",
    "airplane",
    "units",
    *(name for name, _, _ in ASKED),
)
LONGEST = 200  # letters of an answer


def _fly_next(request: Request, student_id: str) -> dict[str, Any]:
    """What the logbook would fly next with a student; whether it has nothing to go by."""
    from airwork.days import local_date
    from airwork.logbook.worked_out import progress_in_brief
    from airwork.maneuvers import ROOMS

    if not student_id or not book.has_logbook(request):
        return {"next": (), "nothing_flown": False}
    access.require_student(request, student_id)
    with book.reading(request) as connection:
        student = book.person_or_404(connection, student_id)
        today = local_date(time.time(), student.time_zone)
        found = progress_in_brief(connection, [(student, today)])[student.id]
    return {"next": tuple(t for t in found.next_three if t.kind in ROOMS), "nothing_flown": found.nothing_flown}


def _page(request: Request, typed: dict[str, str], problem: str = "", status: int = 200) -> Response:
    student = typed.get("student", "")
    students = access.students_to_choose(request)
    name = dict(students).get(student, "")
    folder = request.app.state.folder
    lessons = folder.entries("lesson")
    own = max((e for e in lessons if not e.shipped), key=lambda e: e.changed_s, default=None)
    # to begin from: the student's own first, then the newest
    lessons.sort(key=lambda e: (e.shipped, bool(name) and e.student.casefold() != name.casefold(), -e.changed_s))
    last = Answers.today(tables(own.read(), "lesson")) if own else None
    values = {
        "students": students, "problem": problem, "these": bool(typed.get("these")),
        "typed": {n: getattr(last, n, "") for n in ("airport", "zone", "airplane")} | typed,
        "lessons": lessons[:NEWEST],
        **_fly_next(request, student), "name": name, "airplanes": folder.entries("airplane"), "asked": ASKED,
        "today": which_lesson.today(request).isoformat(),
    }  # fmt: skip
    return page(request, "lesson_new.html", values, status=status)


@router.get("/lessons/new", response_class=HTMLResponse)
def new(request: Request, on: Annotated[str, Query(max_length=10)] = "") -> Response:
    """The questions with what the address has of their answers; with a student chosen, what they should fly next,
    ticked where one asks for these. on : a day."""
    given = {name: request.query_params[name][:LONGEST] for name in KEPT if name in request.query_params}
    return _page(request, {"date": on, **given})


@router.post("/lessons/new", response_class=HTMLResponse)
def make(
    request: Request, typed: access.Typed, fly: Annotated[list[str], Form(default_factory=list, max_length=60)]
) -> Response:
    """Write the lesson into the folder and open it. fly : kinds of maneuvers ticked."""
    try:
        key = _write(request, typed, fly)
    except AirworkError as found:
        return _page(request, typed, str(found), 422)
    request.state.session.said = (
        "A new lesson. Weather and fuel are asked for each day: paste the reports, dip the tanks."
    )
    return RedirectResponse(f"/?lesson={key}", 303)


def _write(request: Request, typed: dict[str, str], kinds: list[str]) -> str:
    folder = request.app.state.folder
    day, clock = _day(request, typed.get("date", "")), typed.get("time", "").strip()
    name = dict(access.students_to_choose(request)).get(typed.get("student", ""), typed.get("name", "").strip())
    begin = typed.get("begin", BLANK)
    if begin:
        text = lesson_again(folder.find("lesson", begin).read(), day=day, time=clock, student=name,
                            instructor=_teacher(request), exercises=kinds or None,
                            certificate=_aim(request, typed),
                            limits=lambda role, who: _limits_of(folder, role, who))  # fmt: skip
    else:
        text = lesson_text(_answers(request, typed, day, clock, name, kinds), folder.path)
    if title := typed.get("title", "").strip():
        text = _titled(text, title)
    key = _free(folder, f"{day} {name or 'lesson'}")
    folder.save("lesson", key, text)
    return key


def _limits_of(folder: Folder, role: str, name: str) -> dict[str, Any] | None:
    """A person's own limits, as the newest lesson that carries their name has them."""
    for entry in sorted(folder.entries("lesson"), key=lambda e: -e.changed_s):
        try:
            one = tables(entry.read(), "lesson").get(role)
        except AirworkError:
            continue
        if not entry.shipped and isinstance(one, dict) and str(one.get("name", "")).casefold() == name.casefold():
            own = one.get("limits")
            return own if isinstance(own, dict) else None
    return None


def _teacher(request: Request) -> str:
    """Who teaches it: who is logged in, at a machine without accounts the logbook's only instructor; else "".

    An earlier lesson's instructor, or the invented one's, is not taken for them.
    """
    if not book.has_logbook(request):
        return access.account_of(request).name
    with book.reading(request) as connection:
        own = access.may_sign_as(request, connection)
    return own[0].name if len(own) == 1 else ""


def _aim(request: Request, typed: dict[str, str]) -> str:
    """What the student aims at; a school's own standard is no lesson's."""
    return book.aimed_at(request, typed.get("student", ""), person_form.aims())


def _titled(text: str, title: str) -> str:
    import tomlkit

    document = tomlkit.parse(text)
    document["title"] = title
    return tomlkit.dumps(document)


def _answers(request: Request, typed: dict[str, str], day: dt.date, clock: str, name: str, kinds: list[str]) -> Answers:
    answers = Answers.today({}, metric=typed.get("units") == "metric").with_exercises(tuple(kinds))
    given = {**{k: typed.get(k, "").strip() for k, _, _ in ASKED}, "airplane": typed.get("airplane", ""),
             "date": day.isoformat(), "time": clock, "student": name,
             "instructor": _teacher(request), "certificate": _aim(request, typed)}  # fmt: skip
    for field, value in given.items():
        if value:
            answers = answers.with_field(field, value)
    return answers


def _day(request: Request, text: str) -> dt.date:
    try:
        return dt.date.fromisoformat(text.strip()) if text.strip() else which_lesson.today(request)
    except ValueError:
        raise InputError(f"{text[:20]!r} is no date; write 2025-09-20.", where="date") from None


def _base(letter: str) -> str:
    """Ø as O, Æ as AE: the letters in a Latin letter's name, which not all fall apart into a base and a sign."""
    named = re.fullmatch(r"LATIN (CAPITAL|SMALL) LETTER ([A-Z]{1,2})( WITH .+)?", unicodedata.name(letter, ""))
    if letter == "ß" or named is None:
        return "ss" if letter == "ß" else letter
    return named[2] if named[1] == "CAPITAL" else named[2].lower()


def _free(folder: Any, wanted: str) -> str:
    """A name for the file that no lesson has yet."""
    latin = "".join(map(_base, unicodedata.normalize("NFKC", wanted)))
    plain = unicodedata.normalize("NFKD", latin).encode("ascii", "ignore").decode()
    plain = re.sub(r"[^A-Za-z0-9-]+", "_", plain).strip("_")[:60]
    taken = {e.key for e in folder.entries("lesson")}
    return next(k for k in (plain, *(f"{plain}_{n}" for n in range(2, 1000))) if k not in taken)


@router.post("/lessons/copy", response_class=HTMLResponse)
def copy(
    request: Request,
    lesson: Annotated[str, Form(max_length=200)] = "",
    title: Annotated[str, Form(max_length=120)] = "",
) -> Response:
    """The same lesson once more, under another title."""
    folder = request.app.state.folder
    entry = folder.find("lesson", lesson)
    named = title.strip() or f"{entry.title}, copy"
    key = _free(folder, named)
    folder.save("lesson", key, _titled(entry.read(), named))
    request.state.session.said = f"A copy, “{named}”. Everything in it is as in “{entry.title}”, weather and fuel too."
    return RedirectResponse(f"/?lesson={key}", 303)


@router.post("/lessons/take-out", response_class=HTMLResponse)
def take_out(request: Request, lesson: Annotated[str, Form(max_length=200)] = "") -> Response:
    """A lesson taken out of the folder; it can be put back."""
    folder = request.app.state.folder
    title = folder.find("lesson", lesson).title
    word = folder.take_out("lesson", lesson)
    return page(request, "lesson_out.html", {"title": title, "word": word})


@router.post("/lessons/put-back", response_class=HTMLResponse)
def put_back(request: Request, word: Annotated[str, Form(max_length=200)] = "") -> Response:
    """A lesson that was taken out, where it was."""
    key = request.app.state.folder.put_back("lesson", word)
    return RedirectResponse(f"/?lesson={key}", 303)
