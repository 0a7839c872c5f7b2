"""A new airplane on the page: begun by its name, thrown away while it is unfinished, read back when it is whole."""

from __future__ import annotations

import re
from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from airwork.airplane.check.proof import proof
from airwork.airplane.check.reading_back import read_back
from airwork.airplane.file.load import blank_text
from airwork.errors import InputError
from airwork.unit_words import folded
from airwork.web import access, airplane_tables
from airwork.web.answers import page

router = APIRouter()


@router.get("/airplanes/new", response_class=HTMLResponse, dependencies=access.TEACHES)
def new(request: Request) -> Response:
    """A name to begin with."""
    return _begin(request)


def _begin(request: Request, problem: str = "", status: int = 200) -> Response:
    return page(request, "airplane_begin.html", {"problem": problem}, status=status)


@router.post("/airplanes/new", response_class=HTMLResponse, dependencies=access.TEACHES)
def begin(request: Request, name: Annotated[str, Form(max_length=80)] = "") -> Response:
    """Begin one: its file, with what every airplane needs still to be filled in."""
    folder, name = request.app.state.folder, " ".join(name.split())
    key = re.sub(r"[^a-z0-9]+", "_", folded(name).lower()).strip("_")[:60]
    if not key:
        return _begin(request, "What do people call it? A name is needed.", 422)
    if any(e.key == key for e in folder.entries("airplane")):
        return _begin(request, f"{key} is there already; go on with it, or give another name.", 422)
    folder.save("airplane", key, blank_text(key, name))
    return RedirectResponse(f"/airplanes/{key}/fields", 303)


@router.post("/airplanes/{key}/drop", response_class=HTMLResponse, dependencies=access.TEACHES)
def drop(request: Request, key: str) -> Response:
    """Put an unfinished one aside."""
    folder = request.app.state.folder
    try:
        folder.airplane(key)
    except InputError:
        folder.take_out("airplane", key)
        return RedirectResponse("/airplanes", 303)
    raise InputError("is finished; it stays.", where=key[:60])


@router.get("/airplanes/{key}/read-back", response_class=HTMLResponse)
def reading_back(request: Request, key: str) -> Response:
    """The proof by common sense, the numbers no check can see, and every table as printed, to hold beside the book."""
    entry = request.app.state.folder.find("airplane", key)
    airplane = request.app.state.folder.airplane(key)
    values = {"entry": entry, "airplane": airplane, "proof": proof(airplane), "numbers": read_back(airplane),
              "tables": airplane_tables.tables_of(entry.read())}  # fmt: skip
    return page(request, "airplane_read_back.html", values)
