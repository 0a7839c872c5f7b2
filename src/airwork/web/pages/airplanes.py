"""Airplanes: the tables as charts to point at, the check's complaints, today's numbers, and the file to edit."""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence
from datetime import date
from functools import lru_cache
from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, JSONResponse, RedirectResponse, Response
from starlette.exceptions import HTTPException

from airwork.airplane import Airplane
from airwork.airplane.check import Complaint, check_airplane, in_print, printed_so
from airwork.airplane.check.begun import check_begun
from airwork.airplane.file.lines import line_numbers
from airwork.airplane.file.load import parse_airplane_file
from airwork.airplane.file.model import AirplaneFile
from airwork.airplane.file.progress import progress
from airwork.airplane.performance import Condition
from airwork.errors import AirworkError, InputError
from airwork.jobs.asking import ASKED, question
from airwork.logbook import fleet
from airwork.logbook.records import AirplaneEntry
from airwork.output import handbook_charts, performance_charts
from airwork.output.chart import Chart
from airwork.typed_file import tables
from airwork.web import (
    access,
    airplane_form,
    airplane_tables,
    airplane_write,
    book,
)
from airwork.web.airplane_kinds import title
from airwork.web.answers import page, wants_json
from airwork.web.folder import Entry
from airwork.web.kept import Kept
from airwork.web.meanwhile import CHANGED, mark_of

router = APIRouter()
NOT_ASKED = {"dewpoint", "field_oat", "runway_heading", "wind", "surface", "slope", "factor"}  # too much for a form
NEEDED = {key for key, about in AirplaneFile.model_fields.items() if about.is_required()}  # parts of every file
FIELDS = {name: words for group in ASKED.values() for name, words in group.items() if name not in NOT_ASKED}


def _entry(request: Request, key: str) -> Entry:
    try:
        found: Entry = request.app.state.folder.find("airplane", key)
    except InputError:
        raise HTTPException(404) from None
    return found


@router.get("/airplanes", response_class=HTMLResponse)
def airplanes(request: Request) -> Response:
    """Every airplane in the folder, and the invented ones."""
    return _list(request)


def _list(request: Request, problem: str = "", status: int = 200) -> Response:
    entered: tuple[AirplaneEntry, ...] = ()
    if book.has_logbook(request):
        with book.reading(request) as connection:
            entered = fleet.airplanes(connection)
    lines = [(entry, entry.unfinished) for entry in request.app.state.folder.entries("airplane")]
    values = {"lines": lines, "entered": entered, "problem": problem,
              "logbook": book.has_logbook(request), "said": access.said_once(request)}  # fmt: skip
    return page(request, "airplanes.html", values, status=status)


@router.post("/airplanes/registration", response_class=HTMLResponse, dependencies=access.TEACHES)
def registration(
    request: Request,
    registration: Annotated[str, Form(max_length=50)] = "",
    key: Annotated[str, Form(max_length=120)] = "",
    technically_advanced: Annotated[str, Form(max_length=4)] = "",
) -> Response:
    """One airplane of a kind, entered in the logbook under its registration."""
    try:
        facts = fleet.airplane_facts(request.app.state.folder.airplane(_entry(request, key).key))
        with book.store_of(request).change() as connection:
            made = fleet.add_airplane(connection, registration, now_utc_s=time.time(), **facts,
                                      technically_advanced=technically_advanced == "yes")  # fmt: skip
    except InputError as found:
        return _list(request, str(found), 422)
    request.state.session.said = f"{made.registration}, {made.make_model}, is entered in the logbook."
    return RedirectResponse("/airplanes", 303)


@router.get("/airplanes/{key}.json")
def airplane_json(request: Request, key: str) -> Response:
    """The day's numbers as data; the question in the address."""
    from airwork.airplane.numbers import numbers_for

    _entry(request, key)
    airplane = request.app.state.folder.airplane(key)
    return JSONResponse(numbers_for(airplane, question(request.query_params, airplane)).as_json())


@router.get("/airplanes/{key}", response_class=HTMLResponse)
def airplane(request: Request, key: str) -> Response:
    entry = _entry(request, key)
    try:
        found = request.app.state.folder.airplane(key)
    except InputError:  # a file that can't be read is edited, not shown
        return RedirectResponse(f"/airplanes/{entry.key}/fields", 303)
    asked = {k: v for k, v in request.query_params.items() if k in FIELDS}
    text = entry.read()
    file = _of_file.of((found, text), lambda: _shown_of_file(found, text))
    day = _of_day.of((entry, found, asked), lambda: _shown_of_day(entry, found, asked))
    drawn = [*day["fitted"], *file["charts"]]
    values = {
        **file, **day, "entry": entry, "airplane": found, "asked": asked,
        "fields": {k: (words, hint.replace("mph", found.dial_unit))
                   for k, (words, hint) in FIELDS.items() if k != "mp" or not found.fixed_pitch},
        "charts": drawn, "chart_data": {c.key: c.as_json() for c in drawn},
    }  # fmt: skip
    return page(request, "airplane.html", values)


_of_file, _of_day = Kept[dict[str, Any]](12), Kept[dict[str, Any]](30)


def _shown_of_file(found: Airplane, text: str) -> dict[str, Any]:
    """What the page shows of the file alone."""
    complaints = _placed(check_airplane(found, line_numbers(text)), text)
    return {
        "complaints": complaints, "answers": printed_so(found), "charts": handbook_charts.charts_of(found),
        "envelope": handbook_charts.envelope_svg(found, None), "tables": airplane_tables.tables_of(text),
    }  # fmt: skip


def _shown_of_day(entry: Entry, found: Airplane, asked: dict[str, str]) -> dict[str, Any]:
    """What it shows for the day asked about, and what flights have taught."""
    numbers, problem = _numbers(found, asked)
    fitted, said = _fitted(found, asked)
    return {"numbers": numbers, "problem": problem, "fitted": fitted, "fit_said": said,
            "learned": _learned(entry, found)}  # fmt: skip


def _placed(complaints: Any, text: str) -> list[tuple[Any, str]]:
    """Each complaint with the part of the file it is about; "" for the whole."""
    parts = airplane_form.parts_of(text)
    return [(c, next((p for p in parts if f"{c.where.table}.".startswith(f"{p}.")), "")) for c in complaints]


def _numbers(found: Any, asked: dict[str, str]) -> tuple[Any, str]:
    from airwork.airplane.numbers import numbers_for

    try:
        return numbers_for(found, question(asked, found)), ""
    except AirworkError as problem:
        return None, str(problem)


def _learned(entry: Entry, found: Any) -> dict[str, Any] | None:
    """What flights and readings have taught of an airplane; None where there is nothing yet."""
    from airwork.airplane.performance import performance
    from airwork.airplane.performance.differences import differences
    from airwork.airplane.performance.flight_words import history_lines
    from airwork.airplane.performance.knowledge import read_knowledge

    try:
        known, model = read_knowledge(entry.path), performance(found)
    except AirworkError:
        return None
    fitted = found.file.fitted
    flights = [] if fitted is None else fitted.flights
    if not flights and not model.learned.readings_used:
        return None
    history = history_lines([(e.date, e.kind, e.name, e.changed) for e in known.history])
    says = list(fitted.says) if fitted is not None else [d.words for d in differences(model)]
    return {"flights": flights, "readings": len(model.learned.readings_used), "says": says, "history": history}


def _fitted(found: Any, asked: dict[str, str]) -> tuple[list[Chart], str]:
    """The power curve for the air asked about."""
    from airwork.airplane.numbers.question import Today

    try:
        today = Today.of(found, question(asked, found))
        at = Condition(today.mass_kg, today.pressure_altitude_m, today.temperature_k)
        return [*performance_charts.own_against_book(found, at), *performance_charts.power_curve(found, at)], ""
    except AirworkError as problem:
        return [], str(problem)


@router.post("/airplanes/{key}/stands-so", response_class=HTMLResponse, dependencies=access.TEACHES)
def stands_so(
    request: Request,
    key: str,
    asked: Annotated[str, Form(max_length=1000)],
    by: Annotated[str, Form(max_length=200)] = "",
) -> Response:
    """The handbook has it so: a question of the check is answered for good."""
    entry = _entry(request, key)
    text = entry.read()
    for c in _checked(text, entry.key)[1]:
        if c.asked[0] == asked:
            request.app.state.folder.save("airplane", entry.key, in_print.answered(text, c, by, f"{date.today()}"))
    return RedirectResponse(f"/airplanes/{entry.key}", 303)


@lru_cache(maxsize=8)  # a person goes from part to part of one file
def _checked(text: str, key: str) -> tuple[InputError | None, Sequence[Complaint]]:
    """(what stops the file from being read, the check's complaints; of an unfinished one those inside its tables)."""
    try:
        return None, check_airplane(Airplane(parse_airplane_file(text, where=key)), line_numbers(text))
    except InputError as problem:
        try:
            return problem, check_begun(tables(text, key))
        except InputError:  # no TOML
            return problem, ()


@router.get("/airplanes/{key}/fields", response_class=HTMLResponse, dependencies=access.TEACHES)
def fields(request: Request, key: str, part: str = "", saved: bool = False) -> Response:
    """The file field by field, a part at a time, the complaints beside their fields."""
    entry = _entry(request, key)
    text = entry.read()
    parts = airplane_form.parts_of(text)
    if part not in (*parts, *airplane_form.absent_parts(text)):
        part = parts[0] if parts else "airplane"
    return _fields(request, entry, text, part, *_checked(text, entry.key), saved=saved)


def _fields(
    request: Request, entry: Entry, text: str, part: str, problem: InputError | None,
    complaints: Sequence[Complaint] = (), *, typed: Mapping[str, str] | None = None, saved: bool = False,
    status: int = 200,
) -> Response:  # fmt: skip
    said = airplane_form.Said(() if problem is None else problem.each, complaints)
    shown = airplane_form.sections(text, part, said, typed)
    there = airplane_form.parts_of(text)
    left = said.left_of(part, there)
    if wants_json(request):
        return JSONResponse(_looked(shown, left), status)
    absent = airplane_form.absent_parts(text)
    values = {"entry": entry, "part": part, "parts": [(p, title(p), said.counts(p)) for p in there],
              "begin": [(p, title(p)) for p in absent], "sections": shown, "left": left,
              "progress": progress(airplane_form.parsed(text)), "problem": problem, "saved": saved,
              "read": _as_it_stands(entry.read(), part), "refused": status in {409, 422}, "unsaved": typed is not None,
              "may_go": part in there and part not in NEEDED,
              "here": title(part)}  # fmt: skip
    return page(request, "airplane_fields.html", values, status=status)


def _as_it_stands(text: str, part: str) -> str:
    """Changes when anything of the part does."""
    found: Any = airplane_form.parsed(text)
    for name in part.split("."):
        found = found.get(name, {}) if isinstance(found, dict) else {}
    return mark_of(found)


def _looked(shown: list[airplane_form.Section], left: Sequence[str]) -> dict[str, Any]:
    """What is said of a form as it stands, by the names of its fields and rows."""
    cells = [c for s in shown for c in (*s.cells, *s.missing)]
    rows = {}
    for grid in (g for s in shown for g in s.grids):
        for number, inside, said in grid.rows:
            words = [*said, *(f"{c.label}: {w}" for c in inside for w in c.said)]
            if words:
                rows[f"{grid.path}/{number}"] = words
            cells += inside
    tables = {s.path: list(s.said) for s in shown if s.said}
    said_of = {c.name: list(c.said) for c in cells if c.said}
    return {"cells": said_of, "rows": rows, "tables": tables, "left": list(left)}


def _whole(text: str) -> bool:
    """Has it every table a briefing asks?"""
    return not progress(airplane_form.parsed(text)).missing


@router.post("/airplanes/{key}/fields", response_class=HTMLResponse, dependencies=access.TEACHES)
def save_fields(request: Request, key: str, sent: access.Typed) -> Response:
    """A part's fields checked and written into the file; a row's button only changes the form.

    A file that can be read is not written over by one that can't; an unfinished one is kept as far as it is.
    """
    entry, typed = _entry(request, key), {name: value.replace("\r\n", "\n") for name, value in sent.items()}
    text, part, what = entry.read(), typed.get("part", ""), typed.get("what", "save")
    if part not in (*airplane_form.parts_of(text), *airplane_form.absent_parts(text)):
        raise InputError("there is no such part of the file.", where=part[:60] or "part")
    if do := typed.get("do", ""):
        grids = [g for s in airplane_form.sections(text, part, airplane_form.Said(), typed) for g in s.grids]
        typed = airplane_write.changed_rows(typed, grids, do)
        return _fields(request, entry, text, part, None, typed=typed)
    read = typed.pop("read", "")
    if read and read != _as_it_stands(text, part) and what in {"save", "take out"} and not wants_json(request):
        meanwhile = InputError(
            f"was {CHANGED}: what you typed stands below. Look at the file as it is now in another window, then save "
            "again.",
            where=title(part),
        )
        return _fields(request, entry, text, part, meanwhile, typed=typed, status=409)
    may_go = what == "take out" and part not in NEEDED
    new = airplane_write.taken_out(text, part) if may_go else airplane_write.written(text, part, typed)
    problem, complaints = _checked(new, entry.key)
    unfinished = _checked(text, entry.key)[0] is not None
    if (problem and not unfinished) or what not in {"save", "take out"} or wants_json(request):
        status = 422 if problem and what == "save" and not wants_json(request) else 200
        return _fields(request, entry, text, part, problem, complaints, typed=typed, status=status)
    request.app.state.folder.save("airplane", entry.key, new)
    if not problem and _whole(new) and (unfinished or not _whole(text)):
        return RedirectResponse(f"/airplanes/{entry.key}/read-back", 303)
    return RedirectResponse(f"/airplanes/{entry.key}/fields?{urlencode({'part': part, 'saved': 'true'})}", 303)
