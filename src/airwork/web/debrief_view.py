"""What the Debrief page shows: the report's own values, the track for the map, and the way into the logbook."""

from __future__ import annotations

import io
import math
from collections import OrderedDict
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from fastapi import Request

from airwork.errors import AirworkError
from airwork.units import clock
from airwork.web import which_airplane
from airwork.web.land import surroundings

if TYPE_CHECKING:
    from airwork.debrief import Debrief
    from airwork.logbook.pages import FlightPage
    from airwork.maneuvers.setup import Trace
    from airwork.output.debrief_doc import Marks
    from airwork.web.desk import About


LEAST_TURN_RAD = math.radians(60.0)  # less is a correction of heading


def kinds() -> list[tuple[str, str]]:
    """(kind, title) of every maneuver, those airwork can't grade too."""
    from airwork.maneuvers import rooms

    return [(one.kind, one.title) for one in rooms()]


def values(found: Debrief, zone: str, told: Debrief | None = None) -> dict[str, Any]:
    """The report's values, ready to be kept as JSON. told : the same flight with what earlier ones say of it."""
    from airwork.output.debrief_doc import dial_of, make_debrief_doc
    from airwork.output.report import report_values

    said = told or found
    shown = report_values(said, make_debrief_doc(said, zone=zone, every=True), ideals=ideals(found))
    strange = [] if found.flight.has("latitude_rad") else list(found.flight.source.get("not_understood") or [])
    named = [str(found.flight.source[n]) for n in which_airplane.SAID if found.flight.source.get(n)]
    return {
        **shown, "alarms": list(found.misfits), "recording_names": named,
        "wants_elevation": found.wants_elevation, "dial": dial_of(found),
        "strange_columns": strange, "several": list(found.flight.source.get("aircraft_in_file") or []),
    }  # fmt: skip


def beside_earlier(request: Request, about: About, found: Debrief) -> Debrief:
    """With what the student's earlier flights in the logbook say of the same exercises."""
    from airwork.jobs.so_far import with_so_far
    from airwork.web import book

    if not about.student or not book.has_logbook(request):
        return found
    with book.reading(request) as connection:
        return with_so_far(found, connection, about.student)


def shown(request: Request, about: About) -> dict[str, Any]:
    """The report's values, kept beside the recording."""

    def made(found: Debrief) -> dict[str, Any]:
        return values(found, about.zone, beside_earlier(request, about, found))

    kept: dict[str, Any] = request.app.state.desk.kept(about, "page", made)
    return kept


_made: OrderedDict[int, tuple[Debrief, dict[int, Trace]]] = OrderedDict()  # page, map and paper ask one after another
MADE = 3


def ideals(found: Debrief) -> dict[int, Trace]:
    """The ideal of each episode whose set-up is possible in that air, by its position."""
    from airwork.debrief.ideals import ideals_of

    kept = _made.get(id(found))
    if kept is not None and kept[0] is found:
        return kept[1]
    try:
        traces = dict(ideals_of(found))
    except AirworkError:
        traces = {}
    _made[id(found)] = found, traces
    while len(_made) > MADE:
        _made.popitem(last=False)
    return traces


def map_data(found: Debrief) -> dict[str, Any]:
    """The track in degrees at the report's times, the maneuvers' ideals, area, land and airports around."""
    from airwork.output.report_map import track_data

    return track_data(found.flight, found.plan.corners_rad, ideals(found), around=surroundings)


def earlier(request: Request, about: About, kind: str) -> list[dict[str, Any]]:
    """The student's earlier attempts of a kind that can be laid beside: where each is had, and its line."""
    from airwork.logbook.earlier import earlier_attempts
    from airwork.output.debrief_words import deviation, judged
    from airwork.web import book

    if not about.student or not book.has_logbook(request):
        return []
    dial = _dial(request, about)
    with book.reading(request) as connection:
        found = earlier_attempts(connection, about.student, kind, but=about.flight_id)
    out = []
    for e in found:
        marks = {"not held": "✗", "briefly out and corrected": "~ briefly out:"}
        out_of = sorted((c for c in e.judged if c[4] in marks), key=lambda c: list(marks).index(c[4]))
        missed = ", ".join(
            f"{marks[verdict]} {name} {deviation(worst, unit, dial)}".strip()
            for name, worst, unit, _, verdict, *_ in out_of[:2]
        )
        at = f"/debriefs/{about.id}/attempt.json?flight={e.flight_id}&position={e.position}"
        which = f"{e.day:%-d %b %Y}, {clock(e.start_s)}{_turned(e.turned_rad)}"
        out.append({"at": at, "words": f"{which}: {missed or 'no limit missed'}", "judged": judged(e.judged, dial)})
    return out


def _turned(by_rad: float | None) -> str:
    """Which way, where it turned at all: two of one day are told apart by it."""
    if by_rad is None or abs(by_rad) < LEAST_TURN_RAD:
        return ""
    return f", {'left' if by_rad < 0 else 'right'} {math.degrees(abs(by_rad)):.0f}°"


def attempt(request: Request, about: About, flight_id: str, position: int) -> dict[str, Any] | None:
    """One earlier attempt's samples as they are plotted, and when its first turn begins; None when there is none."""
    from airwork.logbook.earlier import attempt as logged
    from airwork.output.report_map import positions
    from airwork.output.report_series import LEAD_S, part_of, roll_in_s
    from airwork.web import book

    with book.reading(request) as connection:
        found = logged(connection, about.student, flight_id, position)
    if found is None:
        return None
    flight, start, end = found
    shown = part_of(flight, start - LEAD_S, end + LEAD_S, _dial(request, about))
    shown |= positions(flight, np.asarray(shown["t"], dtype=float))
    return {"series": shown, "roll": roll_in_s(flight, start, end)}


def _dial(request: Request, about: About) -> str:
    return str(shown(request, about)["dial"])


def _as_data(asking: Request, about: About) -> dict[str, Any]:
    return asking.app.state.desk.debrief(about).as_json()


def _report(asking: Request, about: About, marks: Marks, whose: str) -> str:
    from airwork.output.report import report_html

    found = asking.app.state.desk.debrief(about)
    return report_html(found, zone=about.zone, ideals=ideals(found), marks=marks, whose=whose)


def _pdf(asking: Request, about: About, marks: Marks, whose: str) -> bytes:
    from airwork.output.debrief_pdf import debrief_pdf

    found = asking.app.state.desk.debrief(about)
    return debrief_pdf(found, zone=about.zone, ideals=ideals(found), marks=marks, student=whose)


PAPERS: dict[str, Callable[..., Any]] = {"json": _as_data, "report": _report, "pdf": _pdf}


def from_logbook(request: Request, logged: FlightPage) -> About:
    """The flight's recording on the desk: the one that lies there, else the logbook's copy, debriefed anew.

    Against the standard it was graded by; one that this airwork hasn't (a school's own) gives way to the one aimed at.
    """
    from airwork.logbook.recordings import original
    from airwork.web import book
    from airwork.web.desk import new_about

    desk, folder = request.app.state.desk, request.app.state.folder
    there: About | None = next((a for a in desk.all() if a.flight_id == logged.flight.id), None)
    if there is not None:
        return there
    with book.reading(request) as connection:
        pilot = book.person_or_404(connection, logged.flight.pilot_id or "")
        name, raw = original(connection, logged.flight.recording_sha256)
    standard = logged.standard.partition(" ")[0].removeprefix("us_")  # its id, then its edition
    try:
        folder.standard(standard)
    except AirworkError:
        standard = pilot.certificate_aimed or "private"
    file = logged.airplane.airplane_file if logged.airplane else ""
    airplane = next((e.key for e in folder.entries("airplane") if e.key == Path(file).stem), "")
    about = new_about(
        airplane=airplane, standard=standard, student=pilot.id, student_name=pilot.name, zone=pilot.time_zone,
        flight_id=logged.flight.id, flown=str(logged.flight.local_date),
    )  # fmt: skip
    found: About = desk.add(io.BytesIO(raw), name, about, (logged.debrief or {}).get("lesson"))
    return found


def renew(asking: Request, about: About, by: str) -> None:
    """A corrected debrief in the logbook in the place of the one before; the entry, marks and remarks stay.

    by : who changes it; asked where the debrief is open.
    """
    from airwork.jobs.entering import enter_flight
    from airwork.logbook import history, people
    from airwork.logbook.entering import FlightEntry
    from airwork.web import book

    desk, store = asking.app.state.desk, book.store_of(asking)
    with store.read() as connection:
        pilot = people.person_by_id(connection, about.student)
    with history.acting(by):
        entry = FlightEntry(pilot, "dual")  # as it stands there already
        enter_flight(desk.debrief(about), entry, logbook=store, recording=desk.recording(about), renew=True)
