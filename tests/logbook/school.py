"""An invented school for the tests: people, airplanes, places and debriefs made up here."""

from __future__ import annotations

import hashlib
import json
import multiprocessing
import os
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from multiprocessing.forkserver import ensure_running
from typing import Any

import pytest
import sqlalchemy as sa
from sqlalchemy import Connection

from airwork.logbook import fleet, flights, keeping, marks, people, recordings, seal
from airwork.logbook.debrief_json import DebriefFacts, read_debrief
from airwork.logbook.entering import FlightEntry
from airwork.logbook.held import Validity
from airwork.logbook.importing import import_debrief
from airwork.logbook.records import AirplaneEntry, Held, Person, Place, new_id
from airwork.logbook.schema import flight, lesson
from airwork.logbook.store import Store

NOW = datetime(2026, 6, 15, 18, 0, tzinfo=UTC).timestamp()
DAY_S = 86400.0
RAW = b"".join(b"%d,6500,100\n" % n for n in range(3000))
NOON = datetime(2026, 6, 14, 18, 0, tzinfo=UTC).timestamp()
DAY = date(2026, 6, 14)
H = 3600.0
ZONE = "America/Denver"
PASSWORD = "calm wind only 26"


def programs() -> Any:
    """Other programs at the same logbook, each a process of its own, begun from one that has loaded what they need."""
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["pytest", "logbook.school", "airwork.logbook.checking"])
    with pytest.MonkeyPatch.context() as patch:  # the server looks for what it loads where any Python would
        patch.setenv("PYTHONPATH", os.pathsep.join(filter(None, sys.path)))
        ensure_running()
    return context


@dataclass(frozen=True)
class School:
    """Who and what the tests work with."""

    student: Person
    instructor: Person
    larkmoor: AirplaneEntry
    caldmere: AirplaneEntry
    home: Place
    near: Place  # 24 NM north of home
    far: Place  # 60 NM north of home


def found(connection: Connection) -> School:
    """Enter the school in an empty logbook. Positions are invented: home at 40° N 105° W, the others due north."""
    import math

    home = (math.radians(40.0), math.radians(-105.0))
    per_nm = math.radians(1.0 / 59.9591)  # worked-examples P4: one degree of latitude at 40° N is 59.9591 NM
    add = {"now_utc_s": NOW, "time_zone": ZONE}
    return School(
        student=people.add_person(connection, "Ann Example", student=True, born_on=date(1990, 2, 3), **add),
        instructor=people.add_person(connection, "Ike Teacher", instructor=True, certificate_held="commercial", **add),
        larkmoor=fleet.add_airplane(
            connection, "INV155", now_utc_s=NOW, make_model="Larkmoor 155", airplane_file="larkmoor_155"
        ),
        caldmere=fleet.add_airplane(
            connection, "N200CM", now_utc_s=NOW, make_model="Caldmere 200", airplane_file="caldmere_200", complex=True
        ),
        home=fleet.add_place(connection, "HOME", latitude_rad=home[0], longitude_rad=home[1], towered=False, **add),
        near=fleet.add_place(
            connection, "NEAR", latitude_rad=home[0] + 24.0 * per_nm, longitude_rad=home[1], towered=True, **add
        ),
        far=fleet.add_place(connection, "FARR", latitude_rad=home[0] + 60.0 * per_nm, longitude_rad=home[1], **add),
    )


def endorse(connection: Connection, student: Person, by: Person, kind: str, given_on: date = DAY, **more: Any) -> None:
    """An endorsement written down."""
    paper = Held(new_id(), kind, given_on, instructor_id=by.id, is_endorsement=True, **more)
    keeping.put_on_record(connection, student, paper, now_utc_s=NOW)


def note_date(connection: Connection, who: Person, kind: str, on: date, until: date | None = None) -> Validity:
    """A date written down."""
    return keeping.put_on_record(connection, who, Held(new_id(), kind, on, until), now_utc_s=NOW)


def criterion(name: str, limit: str, worst: float | None, unit: str, verdict: str) -> dict[str, Any]:
    """One criterion as a debrief prints it; limit : "±100 ft" or "+10/−0 kt"."""
    high, _, low = limit.lstrip("±+").split()[0].partition("/−")
    low, high = -float(low or high), float(high)
    return {
        "name": name, "limit": limit, "low": low, "high": high, "unit": unit, "worst": worst, "within_fraction": 0.9,
        "verdict": verdict, "why": f"{name} {verdict}", "first_excursion_s": None, "longest_excursion_s": None,
        "trend_per_min": None, "source": "FAA-S-ACS-6C", "label": "V",
    }  # fmt: skip


def episode(kind: str, at_s: float, criteria: Sequence[dict[str, Any]], wind_kt: float | None = None) -> dict[str, Any]:
    """One maneuver as a debrief prints it."""
    measured = {"entry_altitude_ft": 6500.0} | ({"wind_kt": wind_kt} if wind_kt is not None else {})
    return {
        "kind": kind, "title": kind.replace("_", " "), "start_s": at_s, "end_s": at_s + 60.0, "start_utc": None,
        "end_utc": None, "confidence": 0.9, "phases": [], "evidence": [], "target": {"bank_deg": 45.0},
        "target_source": "lesson", "measured": measured, "met": False, "criteria": list(criteria), "causes": [],
    }  # fmt: skip


def debrief_dict(
    start_utc_s: float = NOW - DAY_S,
    *,
    recording: bytes = b"",
    episodes: Sequence[dict[str, Any]] | None = None,
    duration_s: float = 4680.0,
) -> dict[str, Any]:
    """A debrief as `airwork debrief --json` writes it."""
    if episodes is None:
        steep = [
            criterion("altitude", "±100 ft", 140.0, "ft", "not held"),
            criterion("airspeed", "±10 kt", -6.0, "kt", "held"),
        ]
        slow = [criterion("airspeed", "+10/−0 kt", 4.0, "kt", "held")]
        episodes = [
            episode("takeoff", 120.0, []),
            episode("steep_turn", 900.0, steep, 12.0),
            episode("slow_flight", 1500.0, slow, 12.0),
            episode("landing", duration_s - 180.0, []),
        ]
    return {
        "flight": {
            "name": "flight.csv", "sha256": hashlib.sha256(recording).hexdigest() if recording else "",
            "start_utc": _utc(start_utc_s), "end_utc": _utc(start_utc_s + duration_s), "duration_s": duration_s,
            "samples": 4680, "airplane": "Larkmoor 155",
            "standard": {"id": "us_private", "title": "Private", "edition": "FAA-S-ACS-6C", "thresholds": []},
            "airwork_version": "0.1.0", "met": False,
            "contacts": [{"kind": "takeoff", "time_s": 120.0}, {"kind": "landing", "time_s": duration_s - 120.0}],
            "clearing_turns": [], "excursions": [],
        },
        "quality": [],
        "wind": [{"start_s": 0.0, "end_s": 600.0, "from_deg": 270.0, "speed_kt": 10.0, "known": "derived"}],
        "episodes": list(episodes),
        "fuel": {},
        "notes": [],
    }  # fmt: skip


def _utc(utc_s: float) -> str:
    return datetime.fromtimestamp(utc_s, tz=UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def debriefed(start_utc_s: float = NOW - DAY_S, **more: Any) -> DebriefFacts:
    """The same, read."""
    return read_debrief(json.dumps(debrief_dict(start_utc_s, **more)))


def fill(store: Store) -> School:
    """A logbook with a row in every table."""
    with store.change() as connection:
        s = found(connection)
        connection.execute(
            sa.insert(lesson).values(
                id="a" * 32, student_id=s.student.id, instructor_id=s.instructor.id, title="steep turns",
                planned_utc_s=NOON, lesson_file="# lesson", briefing_json="{}", changed_utc_s=NOON,
            )
        )  # fmt: skip
    about = FlightEntry(
        s.student, "dual", instructor=s.instructor, airplane=s.larkmoor, route=(s.home, s.home),
        remarks="Ann flew well",
    )  # fmt: skip
    done = import_debrief(
        store,
        debriefed(NOON, recording=RAW),
        about,
        now_utc_s=NOW,
        recording=recordings.pack(RAW, "f.csv"),
    )
    with store.change() as connection:
        connection.execute(sa.update(flight).where(flight.c.id == done.flight_id).values(lesson_id="a" * 32))
        flights.add_flight(
            connection,
            FlightEntry(s.student, "solo", NOON + 10 * H, NOON + 11 * H, airplane=s.larkmoor),
            now_utc_s=NOON,
        )
        marks.give_mark(
            connection, s.student, "steep_turn", "practice", given_by="instructor", by=s.instructor,
            now_utc_s=NOW, flight_id=done.flight_id, position=1, remark="Ann: look outside",
        )  # fmt: skip
        solo = {"make_model": "Larkmoor 155", "words": "calm wind only"}
        endorse(connection, s.student, s.instructor, "endorsement.solo", **solo)
        endorse(connection, s.student, s.instructor, "complex")
        note_date(connection, s.student, "medical.third", DAY)
        keeping.add_note(
            connection,
            s.student,
            "Ann is afraid of stalls",
            now_utc_s=NOW,
            by=s.instructor,
            for_instructors=True,
        )
        gone = flights.add_flight(
            connection, FlightEntry(s.student, "solo", NOON + 20 * H, NOON + 21 * H), now_utc_s=NOON
        )
        flights.remove_flight(connection, gone.row.id, now_utc_s=NOW)
        seal.make_key(connection, s.instructor, PASSWORD, now_utc_s=NOW)
        flights.sign_flight(connection, done.flight_id, s.instructor, PASSWORD, now_utc_s=NOW)
        ids = seal.unsigned_endorsements(connection, s.instructor)
        seal.sign(connection, "endorsement", ids, s.instructor, PASSWORD, now_utc_s=NOW)
    return s
