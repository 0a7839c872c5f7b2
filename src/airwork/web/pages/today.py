"""Today: the lesson as a form, its numbers, verdict, fuel and path at once, the card to take along."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import replace
from typing import Annotated, Any
from urllib.parse import parse_qsl, urlencode

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from airwork.airplane.book_units import US_BOOK
from airwork.errors import AirworkError, InputError
from airwork.lesson.again import misfits
from airwork.maneuvers import rooms
from airwork.output.card import card_pdf, make_card
from airwork.output.typeset import kneeboard_paper
from airwork.typed_file import tables
from airwork.web import access, brief_view, day, lesson_rows, what_if, which_lesson
from airwork.web.answers import PdfResponse, as_file, in_page_words, page
from airwork.web.folder import Entry
from airwork.web.kept import Kept
from airwork.web.lesson_form import AIRPLANE, FUEL_OF, Field, LessonForm, read_form
from airwork.web.meanwhile import CHANGED, mark_of
from airwork.web.which_lesson import changes_in, form_of, opened

router = APIRouter()


def _shown(request: Request, entry: Entry, given: Mapping[str, str], problem: str = "") -> dict[str, Any]:
    """The form and, when the lesson can be briefed, its numbers; else the problem with the field it is at."""
    asked = changes_in(given)
    at: dict[str, str] = {}
    view, weather = None, {}
    try:
        form = form_of(entry, asked)
    except AirworkError as found:
        form = _without_airplane(entry, asked)
        problem, at = _in_page_words(form, found), _fields_of(form, found)
    else:
        try:
            briefing = day.briefing(request, entry, form)
            view, weather = brief_view.view(briefing), brief_view.weather_given(briefing)
        except AirworkError as found:
            problem, at = _every_problem(request, entry, asked, form, found)
    unfinished = _unfinished(request, entry, asked) if problem else None
    if unfinished is not None:
        own = "" if unfinished.key == entry.airplane else " The lesson keeps its own."
        problem, at = f"{unfinished.title} can't be used yet: its handbook is not typed to the end.{own}", {}
    query = urlencode(list(lesson_rows.state(given).items()))
    return {"entry": entry, "form": form, "view": view, "problem": problem, "problem_at": at, "query": query,
            "same_time": day.SAME_TIME, "unfinished": unfinished,
            "given": weather}  # fmt: skip


def _without_airplane(entry: Entry, asked: Mapping[str, str]) -> LessonForm:
    """The form with what was typed, but another airplane that can't be read; as in the file where that isn't it."""
    try:
        return read_form(entry.read(), {k: v for k, v in asked.items() if k not in {AIRPLANE, FUEL_OF}})
    except AirworkError:
        return read_form(entry.read(), {})


def _unfinished(request: Request, entry: Entry, asked: Mapping[str, str]) -> Entry | None:
    """The airplane of the lesson, where no lesson can use it yet."""
    key = asked.get(AIRPLANE, entry.airplane)
    found = [e for e in request.app.state.folder.entries("airplane") if e.key == key]
    return next((e for e in found if e.unfinished), None)


def _what_if(request: Request, entry: Entry) -> dict[str, Any]:
    """The lesson of the address against the same one hotter, heavier, with other fuel; nothing without a change."""
    shown: dict[str, Any] = {"lines": None, "come": [], "gone": [], "problem": ""}
    try:
        what = what_if.asked(request.query_params)
        if what.any:
            form = form_of(entry, changes_in(request.query_params))
            was = day.briefing(request, entry, form)
            now = day.briefing(request, entry, replace(form, data=what_if.changed(form.data, was, what)))
            shown["lines"], shown["come"], shown["gone"] = what_if.differences(was, now)
    except AirworkError as found:
        shown["problem"] = str(found)
    return shown


@router.get("/today/what-if", response_class=HTMLResponse)
def what_if_page(request: Request, lesson: str = "") -> Response:
    """The comparison alone, for the page's sliders."""
    return page(request, "_what_if.html", _what_if(request, opened(request, lesson)))


def _every_problem(
    request: Request, entry: Entry, asked: dict[str, str], form: LessonForm, found: AirworkError
) -> tuple[str, dict[str, str]]:
    """All that is wrong with what was typed, in a line and by field: what is wrong with one value hides what is wrong
    with the next, so each is looked for with those found so far as the file has them."""
    said, at = [_in_page_words(form, found)], _fields_of(form, found)
    while rest := {k: v for k, v in asked.items() if k not in at}:
        if len(rest) == len(asked):
            break
        asked = rest
        try:
            form = form_of(entry, rest)
            day.briefing(request, entry, form)
            break
        except AirworkError as another:
            fresh = {n: words for n, words in _fields_of(form, another).items() if n in rest}
            if not fresh:
                break
            at |= fresh
            said.append(_in_page_words(form, another, only=fresh))
    return "\n".join(said), at


def _in_page_words(form: LessonForm, problem: AirworkError, only: Collection[str] | None = None) -> str:
    """The problem, a line each, with the names of the form's fields in place of the file's keys. only : of these."""
    labels = {f.path: f.label for f in form.fields if only is None or f.name in only}
    each = problem.each if isinstance(problem, InputError) else ()
    said = [f"{labels[one.where.path]}: {in_page_words(one.problem)}" for one in each if one.where.path in labels]
    said += [] if only is not None else [str(one) for one in each if one.where.path not in labels]
    return "\n".join(said) or str(problem)


def _fields_of(form: LessonForm, problem: AirworkError) -> dict[str, str]:
    """The fields that an error is about, each with its words."""
    by_path = {f.path: f.name for f in form.fields}
    found: dict[str, str] = {}
    for one in problem.each if isinstance(problem, InputError) else ():
        if name := by_path.get(one.where.path):
            found.setdefault(name, in_page_words(one.problem))
    return found


def _choices(request: Request, entry: Entry, form: LessonForm) -> dict[str, Any]:
    """Seats and bag places of the lesson's airplane, and every maneuver, to add rows from."""
    kinds = [(one.kind, one.title) for one in rooms()]
    named = form.data.get("airplane")
    every = [e for e in request.app.state.folder.entries("airplane") if not e.goes_with_typed]
    planes = {e.key: f"{e.title}{' (unfinished)' if e.unfinished else ''}" for e in every}
    metric = form.data.get("units") == "metric"
    printed = US_BOOK.metric() if metric else US_BOOK
    found = {"seats": [], "bag_places": [], "kinds": kinds, "airplanes": planes, "misfits": (), "book": printed}
    try:
        name = str(named["file"]) if isinstance(named, dict) else ""
        airplane = which_lesson.airplane_beside(entry, name)
    except (AirworkError, KeyError):
        return found
    places = brief_view.places_to_load(airplane)
    wrong = misfits(form.data, airplane) if form.other_airplane else ()
    printed = airplane.book.metric() if metric else airplane.book
    more = {"misfits": wrong, "airplane_name": airplane.name, "book": printed}
    return {**found, "seats": places[0], "bag_places": places[1], **more}


@router.get("/", response_class=HTMLResponse)
def today(request: Request, lesson: str = "", do: str = "") -> Response:
    """The lesson of the day: the one asked for, else the newest changed. `do` : a row's button."""
    lesson = lesson or which_lesson.newest(which_lesson.seen(request))
    if not lesson:
        return page(request, "today_none.html")
    entry = which_lesson.named(request, lesson)
    problem = ""
    if do:
        try:
            asked = lesson_rows.done(tables(entry.read(), "lesson"), request.query_params, do)
            return RedirectResponse(f"/?{urlencode({**asked, 'lesson': lesson})}", 303)
        except AirworkError as found:
            problem = str(found)
    return _today(request, entry, request.query_params, problem)


def _today(
    request: Request, entry: Entry, given: Mapping[str, str], problem: str = "", *, held: str = "", status: int = 200
) -> Response:
    """The page with the values given in it. held : why they were not written."""
    shown = _shown(request, entry, given, problem)
    data = shown["form"].data
    more = {"lessons": which_lesson.seen(request), "said": access.said_once(request), "held": held,
            "read": _mark(entry), "days_ago": which_lesson.days_ago(data.get("date"), data.get("zone")),
            "sliders": what_if.SLIDERS, "if_query": request.query_params, "if_named": what_if.NAMED,
            "if_shown": _what_if(request, entry),
            "map": shown["view"]["map"] if shown["view"] else brief_view.bare_map(data)}  # fmt: skip
    return page(request, "today.html", {**shown, **_choices(request, entry, shown["form"]), **more}, status=status)


@router.get("/today/numbers.json")
def numbers(request: Request, lesson: str = "") -> Response:
    """What changes with the form: the numbers as HTML, the map's data, the problem and its field."""
    shown = _shown(request, opened(request, lesson), request.query_params)
    html, more = (bytes(page(request, f"_today_{part}.html", shown).body).decode() for part in ("numbers", "more"))
    path_map = shown["view"]["map"] if shown["view"] else brief_view.bare_map(shown["form"].data)
    given = {f.name: shown["given"].get(f.name) or f.example for f in shown["form"].fields if f.path[0] == "weather"}
    answer = {"html": html, "more": more, "map": path_map, "problem": shown["problem"], "at": shown["problem_at"],
              "given": given, "changed": bool(shown["form"].changes or shown["problem"])}  # fmt: skip
    return JSONResponse(answer)


@router.get("/today.json")
def today_json(request: Request, lesson: str = "") -> Response:
    """The briefing as data, with the changes of the address in it; without a lesson named the one the page opens."""
    entry = opened(request, lesson)
    return JSONResponse(day.briefing(request, entry, form_of(entry, changes_in(request.query_params))).as_json())


@router.get("/today/card.pdf", response_class=PdfResponse)
def card(request: Request, lesson: str = "") -> Response:
    """The card to take along."""

    entry = opened(request, lesson)
    briefing = day.briefing(request, entry, form_of(entry, changes_in(request.query_params)))
    made = card_pdf(make_card(briefing), kneeboard_paper(metric=briefing.style.metric))
    return PdfResponse(made, headers=as_file(f"{entry.key}.card.pdf"))


@router.post("/today/save", response_class=HTMLResponse, dependencies=access.TEACHES)
def save(
    request: Request,
    lesson: Annotated[str, Form(max_length=200)],
    query: Annotated[str, Form(max_length=20_000)] = "",
    read: Annotated[str, Form(max_length=64)] = "",
) -> Response:
    """Write the changes of the address into the lesson file; a shipped lesson becomes the user's copy.

    `read` : what the file held as the page was made; when it holds something else now, nothing is written and the
    changes stand in the form over the file as it is. Neither is what can't be read or briefed: it stands there too.
    """
    entry = which_lesson.named(request, lesson)
    asked = changes_in(dict(parse_qsl(query, keep_blank_values=True)))
    given = {"lesson": lesson, **asked}
    if read and read != _mark(entry):
        old = _texts.of((read,), str)
        mine = read_form(old, asked).changes if old else asked
        held = (
            f"The lesson was {CHANGED}: your changes stand in the form below, over the lesson as it is now. Look at "
            "them, and save again."
        )
        return _today(request, entry, {"lesson": lesson, **mine}, held=held, status=409)
    try:
        form = form_of(entry, asked)
        day.briefing(request, entry, form)  # what can't be briefed isn't written
    except AirworkError as found:
        return _today(request, entry, given, str(found), held="Nothing was written.", status=422)
    before = {f.name: f.shown for f in read_form(entry.read(), {}).fields}
    told = [_told(f, before.get(f.name, "")) for f in form.fields if f.changed]
    told += [f"{table}: rows added, moved or taken out" for table in form.orders]
    request.app.state.folder.save("lesson", entry.key, form.write_into(entry.read()))
    if request.state.session is not None:
        request.state.session.said = f"Written: {'; '.join(told)}." if told else "Nothing had changed."
    return RedirectResponse(f"/?lesson={entry.key}", 303)


def _told(field: Field, before: str) -> str:
    """What became of a field, to a person."""
    was, now = (text.replace("_", " ") if field.choices else text for text in (before, field.shown))
    return f"{field.label} {was} → {now}" if was and now else f"{field.label} {now or f'{was} taken out'}"


_texts: Kept[str] = Kept(200)  # lessons as pages were made of them: whose change is whose is seen by it


def _mark(entry: Entry) -> str:
    """Changes when the file's text does."""
    text = entry.read()
    mark = mark_of(text)
    _texts.of((mark,), lambda: text)
    return mark
