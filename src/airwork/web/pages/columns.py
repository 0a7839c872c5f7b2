"""What the columns of a recording are, pointed at by a person; kept for the next file of that layout."""

from __future__ import annotations

import re
from dataclasses import asdict, replace
from typing import Annotated, Any

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from airwork.errors import InputError
from airwork.recording import pointing
from airwork.recording.layout import interpret
from airwork.recording.mapping import checked_meaning, find_mapping
from airwork.recording.quantities import QUANTITIES
from airwork.recording.unit_words import BY_NAME
from airwork.web import access, which_airplane
from airwork.web.answers import page
from airwork.web.desk import About

router = APIRouter()
# As a person who has a flight in mind says it; the others are called as they are.
NAMES = {
    "elapsed": "time since the start", "time": "time, UTC", "local_time": "time, local", "date": "date, UTC",
    "local_date": "date, local", "gps_altitude": "altitude, satellites", "indicated_altitude": "altitude, altimeter",
    "pressure_altitude": "altitude, pressure (1013)", "altitude": "altitude, either", "speed": "speed, either",
    "ground_speed": "speed over the ground", "indicated_airspeed": "airspeed, indicated",
    "track": "track over the ground", "magnetic_heading": "heading, magnetic", "true_heading": "heading, true",
    "rpm": "RPM", "egt": "EGT", "cht": "CHT",
}  # fmt: skip
COMMAND = re.compile(r"; [^;]*airwork recording map .*")  # how it is said at a terminal; here it is pointed at
MANY = ("egt", "cht")  # one column for each cylinder
HIGH, WIDE = 50.0, 240.0  # of a column's line


def _page(
    request: Request, about: About, typed: dict[int, tuple[str, str]] | None = None, *, problem: str = "",
    wrong: int = -1, status: int = 200,
) -> Response:  # fmt: skip
    desk = request.app.state.desk
    path = desk.recording(about)
    table = pointing.table_of(path)
    settled, _ = find_mapping(path, table.names, None)
    columns = [_shown(c) for c in pointing.columns_of(table, settled)]
    for n, (what, unit) in (typed or {}).items():
        columns[n] |= {"said": what, "unit": unit}
    every = [q.name for q in QUANTITIES.values() if q.name not in {"side", "aircraft", "not_needed"}]
    fits = {q: [u.name for u in BY_NAME.values() if u.dimension in {QUANTITIES[q].dimension, *QUANTITIES[q].also}]
            for q in every}  # fmt: skip
    values = {
        "about": about, "columns": columns, "rows": f"{table.frame.height:,}", "problem": problem, "wrong": wrong,
        "unread": COMMAND.sub(".", desk.why_unread(about)), "names": NAMES, "wanted": pointing.WANTED,
        "others": [q for q in every if q not in pointing.WANTED], "units": list(BY_NAME),
        "known": {"units": fits, "many": list(MANY)},
    }  # fmt: skip
    return page(request, "columns.html", values, status=status)


def _shown(column: pointing.Column) -> dict[str, Any]:
    values = [y for _, y in column.line]
    low, high = (min(values), max(values)) if values else (0.0, 0.0)
    room = (high - low) or 1.0
    path = "".join(
        f"{'L' if n else 'M'}{x * WIDE:.1f} {2.0 + HIGH * (high - y) / room:.1f}"
        for n, (x, y) in enumerate(column.line)
    )
    return {**asdict(column), "lowest": low, "highest": high, "path": path}


@router.get("/debriefs/{debrief_id}/columns", response_class=HTMLResponse)
def columns(request: Request, debrief_id: str) -> Response:
    """The first rows of the file, column by column."""
    return _page(request, access.debrief_or_404(request, debrief_id))


@router.get("/debriefs/{debrief_id}/aircraft", response_class=HTMLResponse)
def aircraft(request: Request, debrief_id: str) -> Response:
    """The aircraft of a recording that holds several, to choose whose flight it is."""
    about = access.debrief_or_404(request, debrief_id)
    there = pointing.several(request.app.state.desk.recording(about))
    values = {"about": about, "there": there, "most": max((n for _, n in there), default=1)}
    return page(request, "aircraft.html", values)


@router.post("/debriefs/{debrief_id}/aircraft", response_class=HTMLResponse)
def choose_aircraft(
    request: Request,
    debrief_id: str,
    aircraft: Annotated[str, Form(max_length=100)] = "",
) -> Response:
    """Debrief that one's flight."""
    about, desk = access.debrief_or_404(request, debrief_id), request.app.state.desk
    _require_not_entered(about)
    if aircraft not in dict(pointing.several(desk.recording(about))):
        raise InputError(f"there is no {aircraft[:40]!r} in it.", where="aircraft")
    about = replace(about, aircraft=aircraft, edits=(), said=())
    if about.airplane_from in {"recording", which_airplane.LAST}:  # of the one before
        about = replace(about, airplane="", registration="", airplane_from="")
    desk.read_anew(about)
    request.app.state.workshop.bring(about, access.account_of(request).name)
    return RedirectResponse(f"/debriefs/{about.id}", 303)


def _require_not_entered(about: About) -> None:
    if about.flight_id:
        raise InputError("is in the logbook as it was read; take that entry back first.", where=about.file_name)


@router.post("/debriefs/{debrief_id}/columns", response_class=HTMLResponse)
def point(request: Request, debrief_id: str, typed: access.Typed) -> Response:
    """Keep what the columns are and debrief at once."""
    about = access.debrief_or_404(request, debrief_id)
    _require_not_entered(about)
    desk, workshop = request.app.state.desk, request.app.state.workshop
    table = pointing.table_of(desk.recording(about))
    said = {n: (typed.get(f"what/{n}", "")[:60], typed.get(f"unit/{n}", "")[:60]) for n in range(len(table.names))}
    settled: dict[str, str] = {}
    for n, (what, unit) in said.items():
        meaning = f"{what}:{unit}" if what and unit else what or "ignore"
        try:
            settled[table.names[n]] = checked_meaning(meaning, table.names[n] or f"column {n + 1}")
        except InputError as found:
            return _page(request, about, said, problem=str(found), wrong=n, status=422)
    try:
        interpret(table, settled, about.file_name)
    except InputError as found:
        return _page(request, about, said, problem=str(found), status=422)
    desk.point(about, table.names, settled, everywhere=access.is_instructor(request))
    try:
        workshop.bring(about, access.account_of(request).name)
    except InputError as found:
        return _page(request, about, said, problem=str(found), status=422)
    return RedirectResponse(f"/debriefs/{about.id}", 303)
