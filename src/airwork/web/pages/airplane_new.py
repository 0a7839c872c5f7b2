"""A new airplane on the page: step by step from its handbook, gone on with another day, read back at the end."""

from __future__ import annotations

from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from airwork.airplane.writing import assemble, progress, proof, read_back
from airwork.airplane.writing.question import slug
from airwork.errors import AirworkError, InputError
from airwork.web import access, airplane_steps, airplane_tables
from airwork.web.answers import page, wants_json

router = APIRouter()


@router.get("/airplanes/new", response_class=HTMLResponse, dependencies=access.TEACHES)
def new(request: Request) -> Response:
    """What is begun, and a name to begin another."""
    return _begin(request)


def _begin(request: Request, problem: str = "", status: int = 200) -> Response:
    begun = airplane_steps.unfinished(request.app.state.folder.path)
    return page(request, "airplane_begin.html", {"begun": begun, "problem": problem}, status=status)


@router.post("/airplanes/new", response_class=HTMLResponse, dependencies=access.TEACHES)
def begin(request: Request, name: Annotated[str, Form(max_length=80)] = "") -> Response:
    """Begin one."""
    folder, key = request.app.state.folder, slug(name.strip())
    path = airplane_steps.place_of(folder.path, key)
    if not name.strip():
        return _begin(request, "What do people call it? A name is needed.", 422)
    if path.exists() or any(e.key == key for e in folder.entries("airplane")):
        return _begin(request, f"{key} is there already; go on with it, or give another name.", 422)
    airplane_steps.keep(path, {"name": " ".join(name.split())})
    return RedirectResponse(f"/airplanes/new/{key}", 303)


@router.get("/airplanes/new/{key}", response_class=HTMLResponse, dependencies=access.TEACHES)
def going_on(request: Request, key: str, part: str = "") -> Response:
    """One part of the book; without one named the first that isn't whole."""
    answers = airplane_steps.read(airplane_steps.place_of(request.app.state.folder.path, key))
    return _part(request, key, answers, airplane_steps.step(answers, part or airplane_steps.go_on_at(answers)))


def _part(
    request: Request, key: str, answers: airplane_steps.Answers, here: airplane_steps.Step, problem: str = "",
    status: int = 200,
) -> Response:  # fmt: skip
    left, drawn = airplane_steps.look_over(answers, here)
    come = str(progress(assemble({k: v for k, v in answers.items() if not k.startswith(airplane_steps.PARTS)})))
    known = airplane_steps.steps(answers)
    if wants_json(request):
        rows = {n: w for n, w in here.said.items() if "/" in n}
        return JSONResponse({
            "cells": {n: w for n, w in here.said.items() if "/" not in n}, "rows": rows, "tables": {}, "left": left,
            "drawn": drawn, "progress": come, "asks": here.asks,
            "steps": [far for _, far, _ in known],
        })  # fmt: skip
    names = [name for name, _, _ in known]
    at = names.index(here.name)
    values = {"key": key, "name": answers.get("name", key), "here": here, "steps": known, "left": left, "drawn": drawn,
              "progress": come, "problem": problem, "next": names[at + 1] if at + 1 < len(names) else "",
              "asks": here.asks}  # fmt: skip
    return page(request, "airplane_new.html", values, status=status)


@router.post("/airplanes/new/{key}", response_class=HTMLResponse, dependencies=access.TEACHES)
def typed(request: Request, key: str, values: access.Typed) -> Response:
    """Keep what was typed in a part; go on, only look, change rows, or make the file."""
    folder = request.app.state.folder
    path = airplane_steps.place_of(folder.path, key)
    answers = airplane_steps.read(path)
    if do := values.get("do", ""):
        values = airplane_steps.button(values, do)
    here = airplane_steps.take(answers, values.get("part", ""), values, patient=wants_json(request))
    if not here.questions:
        raise InputError("there is no such part of a handbook.", where="part")
    airplane_steps.keep(path, answers)
    what = values.get("what", "")
    if what == "finish" and not here.said:
        try:
            folder.save("airplane", key, airplane_steps.finished(answers))
        except AirworkError as found:
            return _part(request, key, answers, here, str(found), 422)
        path.unlink()
        return RedirectResponse(f"/airplanes/{key}/read-back", 303)
    if do or here.said or not what.startswith("to:"):
        stays = do or what == "look" or wants_json(request)
        return _part(request, key, answers, here, status=200 if stays or not here.said else 422)
    return RedirectResponse(f"/airplanes/new/{key}?part={quote(what.removeprefix('to:'))}", 303)


@router.post("/airplanes/new/{key}/drop", response_class=HTMLResponse, dependencies=access.TEACHES)
def drop(request: Request, key: str) -> Response:
    """Throw an unfinished one away."""
    airplane_steps.place_of(request.app.state.folder.path, key).unlink(missing_ok=True)
    return RedirectResponse("/airplanes/new", 303)


@router.get("/airplanes/{key}/read-back", response_class=HTMLResponse)
def reading_back(request: Request, key: str) -> Response:
    """The proof by common sense, the numbers no check can see, and every table as printed, to hold beside the book."""
    entry = request.app.state.folder.find("airplane", key)
    airplane = request.app.state.folder.airplane(key)
    values = {"entry": entry, "airplane": airplane, "proof": proof(airplane), "numbers": read_back(airplane),
              "tables": [t for t in airplane_tables.tables_of(airplane) if not t.key.startswith("fitted")]}  # fmt: skip
    return page(request, "airplane_read_back.html", values)
