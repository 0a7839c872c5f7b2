"""What leaves the server: pages from templates, and every problem as words, as a page or as JSON."""

from __future__ import annotations

import logging
import re
from typing import Any
from urllib.parse import quote

import jinja2
from fastapi import Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import HTMLResponse, JSONResponse, Response
from starlette.exceptions import HTTPException

from airwork.logbook.attempts import named_in_a_line, title_of
from airwork.logbook.records import hours
from airwork.units import NM_M
from airwork.version import VERSION
from airwork.web import guard
from airwork.web.accounts import Account

CAUTION = "Handbook, local rules and the instructor decide. Not for navigation."
MENU = (
    ("/", "Today"),
    ("/day", "Day"),
    ("/debriefs", "Debrief"),
    ("/airplanes", "Airplanes"),
    ("/students", "Students"),
)
SCHOOL = ("/school", "School")
_log = logging.getLogger("airwork.web")

_environment = jinja2.Environment(
    loader=jinja2.ChoiceLoader(
        [jinja2.PackageLoader("airwork.web", "templates"), jinja2.PackageLoader("airwork.output", "templates")]
    ),
    autoescape=True,
    undefined=jinja2.StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)


def _clock(seconds: float) -> str:
    """ "12:30.25": minutes and seconds from the start, as they are typed. Exact to a hundredth."""
    hundredths = round(seconds * 100)
    minutes, rest = divmod(hundredths, 6000)
    text = f"{rest / 100:05.2f}".rstrip("0").rstrip(".")
    return f"{minutes}:{text}"


def _grids(lines: Any) -> list[tuple[list[tuple[str, list[Any]]], list[str]]]:
    """Lines of a section as tables: those with a column side by side, the others one to a row. (rows, columns)"""
    out: list[tuple[list[tuple[str, list[Any]]], list[str]]] = []
    for line in lines:
        wide = bool(line.column)
        if not out or bool(out[-1][1]) != wide:
            out.append(([], []))
        rows, columns = out[-1]
        if wide and line.column not in columns:
            columns.append(line.column)
        if wide and rows and rows[-1][0] == line.name:
            rows[-1][1].append(line)
        else:
            rows.append((line.name, [line]))
    return out


_environment.filters["grids"] = _grids
_environment.filters["clock"] = _clock
_environment.filters["maneuver"] = title_of
_environment.filters["in_a_line"] = named_in_a_line
_environment.filters["route"] = lambda idents: (
    f"{idents[0]} and back" if len(idents) > 1 == len(set(idents)) else " ".join(idents)
)
_environment.filters["hours"] = lambda seconds: hours(seconds) or "0.0"


_COMMAND = re.compile(r"\bairwork [a-z]+|(?<!\w)--[a-z]|\[\[")


def in_page_words(text: str) -> str:
    """A message without what it says to write at a command or in a file; whole where nothing else is left.

    >>> in_page_words("no column tells the time (item, price); name one with: airwork recording map FILE; or say it.")
    'no column tells the time (item, price).'
    """
    text = text.replace("this key is missing", "still empty")
    kept, dropped = [], False
    for part in re.split(r"(?<=[.;])\s+", text):
        dropped = bool(_COMMAND.search(part)) or (dropped and part.startswith(("or ", "or,")))
        if not dropped:
            kept.append(part)
    said = " ".join(kept)
    return text if not said or len(said) == len(text) else f"{said.rstrip(';.')}."


def page(request: Request, template: str, values: dict[str, Any] | None = None, *, status: int = 200) -> HTMLResponse:
    """A page from its template, with what every page needs."""
    session: guard.Session | None = getattr(request.state, "session", None)
    account: Account | None = getattr(request.state, "account", None)
    chief = account is not None and account.role == "chief" and request.app.state.settings.data is not None
    values = dict(values or {})
    if isinstance(values.get("problem"), str):
        values["problem"] = in_page_words(values["problem"])
    common = {
        "account": account,
        "token": session.token if session else "",
        "path": request.url.path,
        "page_caution": CAUTION,
        "version": VERSION,
        "menu": (*MENU, SCHOOL) if chief else MENU,
        "m_per_nm": f"{NM_M:g}",
    }
    return HTMLResponse(_environment.get_template(template).render({**values, **common}), status)


def as_file(name: str) -> dict[str, str]:
    """The header that offers an answer as a file, whatever letters its name has (RFC 6266)."""
    plain = name.encode("ascii", "replace").decode().replace("?", "_").replace('"', "_")
    return {"Content-Disposition": f"attachment; filename=\"{plain}\"; filename*=UTF-8''{quote(name)}"}


class PdfResponse(Response):
    """A PDF, so named in the OpenAPI description."""

    media_type = "application/pdf"


def wants_json(request: Request) -> bool:
    """A `.json` twin or a script asked."""
    return request.url.path.endswith(".json") or "application/json" in request.headers.get("accept", "")


def problem(request: Request, status: int, text: str) -> Response:
    if wants_json(request):
        return JSONResponse({"error": text}, status)
    return page(request, "error.html", {"title": "This did not work", "text": in_page_words(text)}, status=status)


async def said_plainly(request: Request, found: Exception) -> Response:
    """An AirworkError: its own line."""
    return problem(request, 422, str(found))


async def http_error(request: Request, found: Exception) -> Response:
    """Not found, not allowed."""
    assert isinstance(found, HTTPException)
    plain = found.detail == "Not Found"
    text = "There is no such page." if plain else str(found.detail)
    return problem(request, found.status_code, text)


async def not_valid(request: Request, found: Exception) -> Response:
    """A form or address whose fields don't fit."""
    assert isinstance(found, RequestValidationError)
    lines = [f"{'.'.join(str(p) for p in e['loc'][1:])}: {e['msg']}" for e in found.errors()]
    return problem(request, 422, "; ".join(lines) or "The form does not fit.")


async def fault(request: Request, found: Exception) -> Response:
    """A fault in airwork itself: logged with its trace, said in one line."""
    _log.error("fault at %s", request.url.path, exc_info=found)
    text = f"A fault in airwork itself ({type(found).__name__}). Nothing was half-written. Please report it."
    return problem(request, 500, text)
