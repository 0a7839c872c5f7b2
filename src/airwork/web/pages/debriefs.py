"""Debrief: a recording brought in, the flight at once; corrections, marks, share."""

from __future__ import annotations

import datetime as dt
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Form, HTTPException, Query, Request, UploadFile
from fastapi.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from airwork import days
from airwork.debrief.correct import SAME_START_S, Correction, NotSeen
from airwork.debrief.instructed import TARGETS, Instructed, seconds
from airwork.errors import InputError
from airwork.jobs.files import text_or_none
from airwork.lesson.file import load_lesson
from airwork.logbook import history
from airwork.logbook.flights import is_signed, refuse_signed
from airwork.logbook.pages import FlightPage, flight_page
from airwork.maneuvers import room
from airwork.recording import pointing
from airwork.units import clock, from_unit, to_unit
from airwork.web import access, book, debrief_view, which_airplane, which_lesson
from airwork.web.answers import PdfResponse, as_file, page
from airwork.web.desk import About, Desk, new_about

router = APIRouter()
PROGRAMS = {
    "correction",
    "time",
    "maneuver",
    "says",
    "said",
    "instructor's word",
}  # places that say nothing to a reader
STANDARDS = ("private", "commercial", "sport", "instructor", "easa_ppl", "easa_lapl", "easa_cpl")


def _desk(request: Request) -> Desk:
    found: Desk = request.app.state.desk
    return found


@router.get("/debriefs", response_class=HTMLResponse)
def debriefs(request: Request) -> Response:
    """What is on the desk, and the form to bring a recording."""
    return _bring_page(request)


def _bring_page(request: Request, problem: str = "", status: int = 200) -> Response:
    account, desk = access.account_of(request), _desk(request)
    lines = [a for a in desk.all() if access.may_see_student(account, a.student)]
    unread = {a.id for a in lines if desk.why_unread(a)}
    there = Counter(a.sha256 for a in lines if a.sha256)
    folder = request.app.state.folder
    names = {kind: {e.key: e.title for e in folder.entries(kind)} for kind in ("lesson", "airplane")}
    values = {"lines": lines, "problem": problem, "unread": unread, "names": names, "there": there, **_choices(request)}
    return page(request, "debriefs.html", values, status=status)


def _choices(request: Request) -> dict[str, Any]:
    folder = request.app.state.folder
    lessons = folder.entries("lesson") if access.is_instructor(request) else []
    lessons.sort(key=lambda e: e.when, reverse=True)
    today = which_lesson.today(request).isoformat()
    lessons.sort(key=lambda e: (e.shipped, e.day > today))  # what was flown last comes first
    return {
        "airplanes": folder.entries("airplane"), "registered": which_airplane.registered(request),
        "lessons": lessons, "standards": _standards(request),
        "students": access.students_to_choose(request),
    }  # fmt: skip


def _standards(request: Request) -> tuple[str, ...]:
    """Names to choose from: the school's own files first, then the published ones."""
    own = tuple(e.key for e in request.app.state.folder.entries("standard"))
    return (*own, *(s for s in STANDARDS if s not in own))


@router.post("/debriefs", response_class=HTMLResponse)
def bring(
    request: Request,
    recording: UploadFile,
    airplane: Annotated[str, Form(max_length=100)] = "",
    lesson: Annotated[str, Form(max_length=100)] = "",
    standard: Annotated[str, Form(max_length=40)] = "",
    zone: Annotated[str, Form(max_length=60)] = "",
    student: Annotated[str, Form(max_length=64)] = "",
) -> Response:
    """Take a recording in and debrief it; a problem is shown beside the form."""
    account = access.account_of(request)
    if account.role == "student":  # theirs, whatever the form says; lessons are the instructors'
        student, lesson = account.person, ""
    names = dict(access.students_to_choose(request))
    if student and student not in names:
        access.require_student(request, student)
        raise InputError("nobody with this identity in the logbook.", where="student")
    try:
        standard = standard or book.aimed_at(request, student, _standards(request), STANDARDS[0])
        _check_choices(request, lesson, standard)
        about = new_about(
            lesson=lesson, standard=standard, student=student, student_name=names.get(student, ""),
            zone=zone.strip() or _zone(request, lesson, student), zone_settled=bool(zone.strip() or lesson),
        )  # fmt: skip
        about = which_airplane.chosen(request, about, airplane)
        days.zone(about.zone, "zone")
        workshop = request.app.state.workshop
        workshop.require_room(account.name, recording.size or 0)
        about = _desk(request).add(recording.file, recording.filename or "recording", about, later=True)
        workshop.bring(about, account.name)
    except InputError as found:
        return _bring_page(request, str(found), 422)
    return RedirectResponse(f"/debriefs/{about.id}", 303)


def _zone(request: Request, lesson: str, student: str) -> str:
    """The time zone of the lesson's place, else the student's."""
    if lesson:
        return load_lesson(request.app.state.folder.find("lesson", lesson).path).zone
    if student:
        with book.reading(request) as connection:
            return book.person_or_404(connection, student).time_zone
    return "UTC"


def _check_choices(request: Request, lesson: str, standard: str) -> None:
    if lesson:
        request.app.state.folder.find("lesson", lesson)
    known = _standards(request)
    if standard not in known:
        raise InputError(f"{standard[:40]!r} is none of {', '.join(known)}.", where="standard")


@router.get("/debriefs/{debrief_id}.json")
def debrief_json(request: Request, debrief_id: str) -> Response:
    """The debrief as data, by its schema."""
    about = access.debrief_or_404(request, debrief_id)
    return JSONResponse(request.app.state.workshop.paper("json", about))


@router.get("/debriefs/{debrief_id}/map.json")
def map_json(request: Request, debrief_id: str) -> Response:
    """The track, its maneuvers, land and airports around."""
    about = access.debrief_or_404(request, debrief_id)
    return JSONResponse(_desk(request).kept(about, "map", debrief_view.map_data))


@router.get("/debriefs/{debrief_id}/earlier.json")
def earlier(request: Request, debrief_id: str, kind: Annotated[str, Query(max_length=48)] = "") -> Response:
    """The same student's earlier attempts of a kind, to be laid beside one of this flight."""
    about = access.debrief_or_404(request, debrief_id)
    return JSONResponse(debrief_view.earlier(request, about, kind))


@router.get("/debriefs/{debrief_id}/attempt.json")
def attempt(request: Request, debrief_id: str, flight: Annotated[str, Query(max_length=64)], position: int) -> Response:
    """One of those attempts as it is plotted."""
    about = access.debrief_or_404(request, debrief_id)
    found = debrief_view.attempt(request, about, flight, position) if about.student else None
    if found is None:
        raise HTTPException(404, "No such attempt of this student with a recording.")
    return JSONResponse(found)


@router.get("/debriefs/{debrief_id}/report.html", response_class=HTMLResponse)
def report(request: Request, debrief_id: str) -> Response:
    """The whole debrief as one file to send on. Downloaded: a page with scripts of its own never runs here."""
    about = access.debrief_or_404(request, debrief_id)
    entry = _entry(request, about)
    html = request.app.state.workshop.paper(
        "report", about, _given(request, about, entry), _whose(request, about, entry)
    )
    headers = {**as_file(f"{_file_name(about)}.html"), "Content-Security-Policy": "sandbox"}
    return Response(html, media_type="text/html; charset=utf-8", headers=headers)


@router.get("/debriefs/{debrief_id}/debrief.pdf", response_class=PdfResponse)
def debrief_pdf(request: Request, debrief_id: str) -> Response:
    """The whole debrief on paper, marks and remarks with it."""
    about = access.debrief_or_404(request, debrief_id)
    entry = _entry(request, about)
    made = request.app.state.workshop.paper("pdf", about, _given(request, about, entry), _whose(request, about, entry))
    return PdfResponse(made, headers=as_file(f"{_file_name(about)}.pdf"))


def _file_name(about: About) -> str:
    """Of what is sent on: whose flight of which day, where that is known."""
    named = " ".join(filter(None, (about.flown[:10], about.student_name)))
    return f"debrief {named}" if about.student_name else f"debrief-{about.file_name.split('.')[0]}"


def _whose(request: Request, about: About, entry: FlightPage | None) -> str:
    """Who flew it, who taught, in which airplane, who has signed it and when: as the logbook has it, else as was chosen
    with the recording."""
    if entry is None:
        chosen = about.registration if about.airplane_from == "chosen" else ""
        return ", ".join(filter(None, (about.student_name, chosen)))
    signed = entry.signed
    if entry.seal.state == "sealed" and not _as_signed(request, about, entry):
        signed = f"not the debrief {entry.seal.by} signed"
    plane = f" in {entry.airplane.registration}" if entry.airplane else ""
    return f"{entry.pilot}{f' with {entry.instructor}' if entry.instructor else ''}{plane}, {signed}"


def _entry(request: Request, about: About) -> FlightPage | None:
    """Its flight in the logbook."""
    if not about.flight_id or not book.has_logbook(request):
        return None
    with book.reading(request) as connection:
        return flight_page(connection, about.flight_id)


def _as_signed(request: Request, about: About, one: FlightPage) -> bool:
    """Does the debrief tell the maneuvers the logbook has of the flight? Made anew it may not: by hand, or from the
    logbook's copy without what was put right."""
    there = (one.debrief or {}).get("episodes", ())
    here = debrief_view.shown(request, about)["maneuvers"]
    return len(here) == len(there) and all(
        a["kind"] == b["kind"] and abs(a["start_s"] - b["start_s"]) < SAME_START_S
        for a, b in zip(here, there, strict=True)
    )


@router.get("/debriefs/{debrief_id}", response_class=HTMLResponse)
def debrief_page(request: Request, debrief_id: str) -> Response:
    """The flight at once; while it waits for its debrief, its place in the queue."""
    workshop = request.app.state.workshop
    try:
        workshop.require_good(debrief_id)
    except InputError as found:
        return _bring_page(request, str(found), 422)
    about = access.debrief_or_404(request, debrief_id, waiting_too=True)
    place = workshop.place(about.id)
    if place:
        return page(request, "waiting.html", {"about": about, "place": place})
    if _desk(request).why_unread(about):
        several = pointing.several(_desk(request).recording(about))
        asked = "aircraft" if several and not about.aircraft else "columns"
        return RedirectResponse(f"/debriefs/{about.id}/{asked}", 303)
    return _page(request, about)


def _page(
    request: Request, about: About, *, problem: str = "", status: int = 200, at: int = 0,
    tried: tuple[str, str, str] = ("", "", ""), as_said: str = "",
) -> Response:  # fmt: skip
    """The debrief. problem : said in the section of maneuver `at`, else above; tried : kind, start, end typed there.

    as_said : how it can be entered on somebody's word.
    """
    shown = debrief_view.shown(request, about)
    other = which_airplane.another(request, about, shown["recording_names"])
    entry = _entry(request, about)
    marks, instructors, scale, signed = _marks(request, about, entry)
    titles = {e.key: e.title for e in request.app.state.folder.entries("airplane")}
    named = which_airplane.in_words(about, titles.get(about.airplane, about.airplane))
    if about.airplane_from == which_airplane.LAST:
        shown["facts"] = [(n, named if n == "airplane" else text) for n, text in shown["facts"]]
    account = access.account_of(request)
    twins = [a for a in _desk(request).twins(about) if access.may_see_student(account, a.student)]
    values = {
        **shown, "about": about, "twins": twins,
        "problem": problem, "problem_at": at, "tried": tried, "as_said": as_said,
        "alarms": [*filter(None, [other]), *shown["alarms"]],
        "kinds": debrief_view.kinds(), "marks": marks, "scale": scale, "signed": signed,
        "instructors": instructors, "students": access.students_to_choose(request),
        "has_logbook": book.has_logbook(request), "tools": "_maneuver_tools.html",
        "targets": {name: f"{t[2]}, {_unit(name, str(shown['dial']))}" for name, t in TARGETS.items()},
        "named": named, "whose": _whose(request, about, entry), "entry": entry,
        "tomorrow": f"{which_lesson.today(request) + dt.timedelta(days=1)}",
        **_choices(request),
    }  # fmt: skip
    return page(request, "debrief.html", values, status=status)


def _unit(target: str, dial: str) -> str:
    """What a target is typed in: a speed as the airplane's own indicator shows it."""
    unit = TARGETS[target][1]
    return dial if unit == "kt" else "°" if unit == "deg" else unit


def _marks(
    request: Request, about: About, entry: FlightPage | None
) -> tuple[dict[int, Any], list[tuple[str, str]], dict[str, str], str]:
    """Marks by episode, instructors to choose from, the scale; how the flight is signed, "" where it isn't."""
    if not book.has_logbook(request):
        return {}, [], {}, ""
    from airwork.logbook.marks import SCALE, marks_of_flight

    with book.reading(request) as connection:
        given = marks_of_flight(connection, about.flight_id) if about.flight_id else ()
        who = [(p.id, p.name) for p in access.may_sign_as(request, connection)]
        signed = bool(about.flight_id) and is_signed(connection, about.flight_id)
    one = entry if signed else None
    if one is None:
        words = ""
    elif not _as_signed(request, about, one):  # marks go by the maneuver's place
        given, words = (
            (),
            f"This is not the debrief that {one.seal.by or 'its instructor'} signed: the entry has that one.",
        )
    else:
        sealed = one.seal.state == "sealed"
        how = f"S{one.signed[1:]}, the signature is verified" if sealed else f"Signed by {one.instructor}"
        words = f"{how}: a mark given now stands beside those that were signed."
    return {m.position: m for m in given if m.position is not None}, who, SCALE, words


def _given(request: Request, about: About, entry: FlightPage | None) -> dict[int, list[tuple[str, str]]]:
    """Marks and remarks in words, for what is sent on."""
    return {
        position: [
            (f"{who}{f', {m.by}' if m.by else ''}{', after the signature' if m.after_signature else ''}",
             ", ".join(filter(None, (m.level, m.remark))))
            for who in ("instructor", "student") if getattr(given, who) for m in getattr(given, who).each
        ]
        for position, given in _marks(request, about, entry)[0].items()
    }  # fmt: skip


def _change(
    request: Request, about: About, changed: Callable[[], About], number: int | None = None,
    tried: tuple[str, str, str] = ("", "", ""),
) -> Response:  # fmt: skip
    """A debrief made anew as `changed` gives it, in the logbook too; a problem is said on its page."""
    try:
        if about.flight_id and book.has_logbook(request):
            with book.reading(request) as connection:
                refuse_signed(connection, about.flight_id)
        now = changed()
        request.app.state.workshop.work(now)
        _desk(request).note(now)
    except InputError as found:
        as_said = (", ungraded", ", graded")[found.graded] if isinstance(found, NotSeen) else ""
        told = found.problem if str(found.where) in PROGRAMS else str(found)
        return _page(request, about, problem=told, status=422, at=number or 0, tried=tried, as_said=as_said)
    if now.flight_id and book.has_logbook(request):  # marks and remarks stay with their maneuvers
        request.app.state.workshop.whole(debrief_view.renew, now, history.actor())
    return RedirectResponse(f"/debriefs/{about.id}{'' if number is None else f'#m{number}'}", 303)


@router.post("/debriefs/{debrief_id}/correct", response_class=HTMLResponse)
def correct(  # noqa: PLR0913
    request: Request,
    debrief_id: str,
    kind: Annotated[str, Form(max_length=48)] = "",
    start: Annotated[str, Form(max_length=20)] = "",
    end: Annotated[str, Form(max_length=20)] = "",
    was_kind: Annotated[str, Form(max_length=48)] = "",
    was_start_s: Annotated[float | None, Form()] = None,
    as_said: Annotated[bool, Form()] = False,
    by: Annotated[str, Form(max_length=120)] = "",
    number: Annotated[int, Form()] = 0,
) -> Response:
    """Put one episode right; graded anew, or as_said: where nothing recorded looks like it, entered ungraded."""
    about, account = access.debrief_or_404(request, debrief_id), access.account_of(request)
    access.require_instructor(request)

    def changed() -> About:
        if not kind and was_start_s is None:
            raise InputError("choose a maneuver.", where="maneuver")
        limits = (seconds(start), seconds(end)) if kind else (0.0, 0.0)
        if kind and was_kind:
            _require_apart(kind, limits, [
                m for m in debrief_view.shown(request, about)["maneuvers"]
                if m["kind"] != was_kind or was_start_s is None or abs(m["start_s"] - was_start_s) > SAME_START_S
            ])  # fmt: skip
        who = (account.name if account.person else by.strip()) if as_said else ""
        if as_said and not who:
            raise NotSeen("say who says so.", where="says")
        return replace(about, edits=(*about.edits, Correction(kind, *limits, was_kind, was_start_s, who)))

    return _change(request, about, changed, number, (kind, start, end))


def _require_apart(kind: str, limits: tuple[float, float], others: list[dict[str, Any]]) -> None:
    """One stretch is one maneuver, but for what lies inside another by its nature, as a stall in slow flight.

    Raises
    ------
    InputError : half of another, or half of what is entered, would be both.
    """
    start, end = limits
    over = [
        m for m in others
        if room(kind).holds is not room(m["kind"]).family and room(m["kind"]).holds is not room(kind).family
        and 2.0 * (min(end, m["end_s"]) - max(start, m["start_s"])) > min(end - start, m["end_s"] - m["start_s"]) > 0.0
    ]  # fmt: skip
    if over:
        words = " and ".join(f"{m['number']}. {m['title'].lower()} ({clock(m['start_s'])})" for m in over)
        raise InputError(f"reaches over {words}: give other times, or first take out what it wasn't.", where="time")


@router.post("/debriefs/{debrief_id}/say", response_class=HTMLResponse)
def say(  # noqa: PLR0913
    request: Request,
    debrief_id: str,
    kind: Annotated[str, Form(max_length=48)] = "",
    at_s: Annotated[float, Form(allow_inf_nan=False)] = 0.0,
    what: Annotated[Literal["asked", "judge", "target"], Form()] = "asked",
    start: Annotated[str, Form(max_length=20)] = "",
    end: Annotated[str, Form(max_length=20)] = "",
    target: Annotated[str, Form(max_length=20)] = "",
    value: Annotated[float, Form(allow_inf_nan=False)] = 0.0,
    by: Annotated[str, Form(max_length=120)] = "",
    number: Annotated[int, Form()] = 0,
) -> Response:
    """What was asked for in the air, said by an instructor; graded anew by it, and kept with who said it."""
    about, account = access.debrief_or_404(request, debrief_id), access.account_of(request)
    access.require_instructor(request)

    def changed() -> About:
        times = (0.0, 0.0) if what == "target" else (seconds(start), seconds(end))
        who = account.name if account.person else by.strip()
        wanted = value
        if what == "target" and TARGETS.get(target, ("", ""))[1] == "kt":
            dial = str(debrief_view.shown(request, about)["dial"])
            wanted = float(to_unit(from_unit(value, dial), "kt"))
        word = Instructed(kind, at_s, what, who, *times, target if what == "target" else "", wanted)
        return replace(about, said=(*about.said, word))

    return _change(request, about, changed, number)


@router.post("/debriefs/{debrief_id}/about", response_class=HTMLResponse)
def change_about(
    request: Request,
    debrief_id: str,
    airplane: Annotated[str, Form(max_length=100)] = "",
    lesson: Annotated[str, Form(max_length=100)] = "",
    standard: Annotated[str, Form(max_length=40)] = "private",
    zone: Annotated[str, Form(max_length=60)] = "",
    lesson_anew: Annotated[bool, Form()] = False,
    student: Annotated[str | None, Form(max_length=64)] = None,
) -> Response:
    """Another airplane, lesson, standard or zone; debriefed anew. A student may, for a flight not entered yet.

    student : whose flight it is, for an instructor to say.
    """
    about, teaches = access.debrief_or_404(request, debrief_id), access.is_instructor(request)
    if about.flight_id:
        access.require_instructor(request)

    def changed() -> About:
        wanted = lesson if teaches else about.lesson
        _check_choices(request, wanted, standard)
        now = replace(about, lesson=wanted, standard=standard, zone=zone.strip() or about.zone)
        now = which_airplane.chosen(request, now, airplane)
        if teaches and student is not None and student != about.student:
            now = _given_to(request, about, now, student)
        days.zone(now.zone, "zone")
        if lesson_anew and teaches:
            _desk(request).forget_lesson(now)
        return which_airplane.said(request, now, request.app.state.workshop.work(about))

    return _change(request, about, changed)


def _given_to(request: Request, about: About, now: About, student: str) -> About:
    """The recording as another student's, corrections and all. What was taken from the one before, the airplane flown
    last and the time zone, is taken anew."""
    names = dict(access.students_to_choose(request))
    if about.flight_id:
        raise InputError("it is in the logbook: take the entry back there first.", where="student")
    if student and student not in names:
        raise InputError("nobody with this identity in the logbook.", where="student")
    if about.airplane_from == which_airplane.LAST and now.airplane == about.airplane:
        now = which_airplane.chosen(request, now, "")
    before = _zone(request, about.lesson, about.student)
    if now.zone == about.zone == before:
        now = replace(now, zone=_zone(request, now.lesson, student))
    if now.standard == about.standard == STANDARDS[0]:
        now = replace(now, standard=book.aimed_at(request, student, _standards(request), STANDARDS[0]))
    return replace(now, student=student, student_name=names.get(student, ""))


@router.post("/debriefs/{debrief_id}/elevation", response_class=HTMLResponse)
def change_elevation(
    request: Request,
    debrief_id: str,
    elevation: Annotated[str, Form(max_length=20)] = "",
) -> Response:
    """The ground's elevation, where the recording never stands on it; debriefed anew. "" takes it back."""
    about, given = access.debrief_or_404(request, debrief_id), elevation.strip()
    if about.flight_id:
        access.require_instructor(request)

    def changed() -> About:
        text_or_none(given or None, "altitude", "elevation")
        return replace(about, elevation=given)

    return _change(request, about, changed)


@router.post("/debriefs/{debrief_id}/uncorrect", response_class=HTMLResponse)
def uncorrect(
    request: Request, debrief_id: str, which: Annotated[str, Form(pattern=r"^((edits|said)/\d{1,4}/\d{1,4})?$")] = ""
) -> Response:
    """One correction taken back, "said/0/2": the first of the two there were on the page; all where none is named."""
    about = access.debrief_or_404(request, debrief_id)
    access.require_instructor(request)

    def changed() -> About:
        if not which:
            return replace(about, edits=(), said=())
        table, number, of = which.split("/")
        every = list(about.edits if table == "edits" else about.said)
        if not int(number) < len(every) == int(of):
            raise InputError("were changed meanwhile in another window; look again.", where="corrections")
        del every[int(number)]
        return replace(about, **{table: tuple(every)})  # type: ignore[arg-type]  # of the table's own kind

    return _change(request, about, changed)


@router.post("/debriefs/{debrief_id}/remove", response_class=HTMLResponse)
def remove(request: Request, debrief_id: str) -> Response:
    """Off the desk."""
    about = access.debrief_or_404(request, debrief_id)
    access.require_instructor(request)
    _desk(request).remove(about)
    return RedirectResponse("/debriefs", 303)


@router.post("/debriefs/{debrief_id}/mark", response_class=HTMLResponse)
def mark(
    request: Request,
    debrief_id: str,
    position: Annotated[int, Form(ge=0)],
    level: Annotated[str, Form(max_length=40)],
    remark: Annotated[str, Form(max_length=4000)] = "",
    instructor: Annotated[str, Form(max_length=64)] = "",
) -> Response:
    """A mark and a remark: the student's by the student, the instructor's by an instructor."""
    from airwork.logbook.marks import give_mark

    about = access.debrief_or_404(request, debrief_id)
    if not about.flight_id:
        raise InputError("enter the flight in the logbook first; marks are kept there.", where="mark")
    account = access.account_of(request)
    with book.store_of(request).change() as connection:
        student = book.person_or_404(connection, about.student)
        by = access.own_instructor(request, connection, instructor) if account.teaches else student
        give_mark(
            connection, student, "", level, given_by="instructor" if account.teaches else "student", by=by,
            now_utc_s=time.time(), flight_id=about.flight_id, position=position, remark=remark,
        )  # fmt: skip
    return RedirectResponse(f"/debriefs/{about.id}#m{position + 1}", 303)
