"""Take in a debriefed flight, or a student's export from another logbook.

  airwork debrief flight.csv --json > debrief.json
  airwork logbook import debrief.json --recording flight.csv --student Ann --instructor Ike --route HOME HOME
  airwork logbook import flight.csv --student Ann --instructor Ike
  airwork logbook import ann.zip

FILE is what airwork debrief --json wrote, a recording (it is debriefed on the way), or a zip of airwork logbook export.
The recording is kept with the flight: the bytes as they came and the clean columns. Importing the same flight twice
changes nothing and says so.
"""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from airwork.cli import DONE
from airwork.cli.logbook_add_flight import flight_options, times_s
from airwork.cli.logbook_tools import data_option, hours, now_s, opened, said
from airwork.errors import InputError

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from airwork.logbook.debrief_json import DebriefFacts
    from airwork.logbook.importing import FlightAbout
    from airwork.logbook.recordings import Packed
    from airwork.recording.flight import Flight


def configure(parser: argparse.ArgumentParser) -> None:
    """Arguments."""
    add = parser.add_argument
    add("file", metavar="FILE", type=Path, help="debrief.json, a recording, or a student's export (.zip)")
    add("--recording", metavar="FILE", type=Path, help="the recording the debrief was made from, to keep with it")
    add("--student", "--pilot", dest="student", metavar="NAME", help="whose flight it is")
    flight_options(parser)
    add("--start", help='start, when the recording names no date: "2026-06-14 09:00"')
    add("--lesson", metavar="ID", help="the lesson it belongs to")
    add("--renew", action="store_true", help="take this debrief in place of an earlier one; marks stay")
    add("--same-names", action="store_true", help="an export: a person of the same name is the same person")
    data_option(parser)


def run(args: argparse.Namespace) -> int:
    """Take it in."""
    start = args.file.read_bytes()[:4]
    if start == b"PK\x03\x04" and args.file.suffix.lower() == ".zip" and _is_export(args.file):
        return _export(args)
    return _flight(args)


def _is_export(path: Path) -> bool:
    import zipfile

    try:
        with zipfile.ZipFile(path) as zipped:
            return "student.json" in zipped.namelist()
    except zipfile.BadZipFile:
        return False


def _export(args: argparse.Namespace) -> int:
    from airwork.logbook.exporting import import_student

    with opened(args, create=True) as store:
        done = import_student(store, args.file, same_names=args.same_names)
    if done.nothing_new:
        print("everything in it is in the logbook already; nothing was changed")
    else:
        print("taken in: " + ", ".join(f"{n} {table}" for table, n in {**done.added, **done.changed}.items()))
    said(done.said)
    return DONE


def _flight(args: argparse.Namespace) -> int:
    from airwork.logbook import recordings
    from airwork.logbook.importing import import_debrief

    if not args.student:
        raise InputError("say whose flight it is: --student NAME.", where="import")
    facts, raw, name, clean = _read(args)
    with opened(args) as store:
        packed: Packed | None = None
        if raw is not None:
            sha256 = recordings.sha256_of(raw)
            with store.read() as connection:
                kept = sha256 == facts.recording_sha256 and recordings.is_kept(connection, sha256)
            packed = None if kept else recordings.pack(raw, name, clean)
        with store.change() as connection:  # places that are new are entered with it
            about = _about(connection, args, facts, clean)
        done = import_debrief(store, facts, about, now_utc_s=now_s(), recording=packed, renew=args.renew)
        with store.read() as connection:
            from airwork.logbook.flights import flight_by_id

            row = flight_by_id(connection, done.flight_id)
    verb = "taken in" if done.changed else "unchanged"
    print(f"flight {row.id[:8]} of {row.local_date} {verb}: {row.role} {hours(row.total_s) or '0.0'} h, "
          f"{len(facts.episodes)} maneuvers")  # fmt: skip
    said(done.said)
    return DONE


def _read(args: argparse.Namespace) -> tuple[DebriefFacts, bytes | None, str, Flight | None]:
    """The debrief, and the recording's bytes, name and clean columns where there is one."""
    from airwork.logbook.debrief_json import read_debrief

    raw = args.file.read_bytes()
    if raw.lstrip()[:1] == b"{" and b'"episodes"' in raw:
        facts = read_debrief(raw, args.file.name)
        if args.recording is None:
            return facts, None, "", None
        from airwork.recording import read_flight

        return facts, args.recording.read_bytes(), args.recording.name, read_flight(args.recording)
    if args.recording is not None:
        raise InputError(
            "is no debrief; give the recording alone, or a debrief with --recording.", where=str(args.file)
        )
    from airwork.logbook.debriefing import debrief_recording

    debriefed, clean = debrief_recording(args.file, _certificate(args))
    return read_debrief(debriefed, args.file.name), raw, args.file.name, clean


def _certificate(args: argparse.Namespace) -> tuple[str, str]:
    """The standard the student aims at, and the airplane's file where the logbook names one."""
    from airwork.logbook import fleet, people

    with opened(args) as store, store.read() as connection:
        aimed = people.find_person(connection, args.student).certificate_aimed
        plane = fleet.find_airplane(connection, args.airplane).airplane_file if args.airplane else ""
    return aimed, plane


def _about(connection: Connection, args: argparse.Namespace, facts: DebriefFacts, clean: Any) -> FlightAbout:
    from airwork.logbook import fleet, people
    from airwork.logbook.days import read_moment
    from airwork.logbook.importing import FlightAbout, moving_s, place_of

    pilot = people.find_person(connection, args.student)
    teacher = people.find_person(connection, args.instructor, instructor=True) if args.instructor else None
    if args.role is None and teacher is None:
        raise InputError("say who was in charge: --instructor NAME, or --role solo or pic.", where="import")
    plane = fleet.find_airplane(connection, args.airplane) if args.airplane else None
    if plane is None and facts.airplane:
        plane = next(
            (a for a in fleet.airplanes(connection) if facts.airplane in {a.airplane_file, a.make_model}), None
        )
    route = tuple(fleet.place_for(connection, ident, now_utc_s=now_s()) for ident in args.route)
    at, found = place_of(connection, clean)
    zone = ((route or found)[0].time_zone if route or found else "") or pilot.time_zone
    times = times_s(args)
    moving = moving_s(clean)
    if moving is not None:
        times.setdefault("total", round(moving / 360.0) * 360.0)  # tenths of an hour
    return FlightAbout(
        pilot, args.role or "dual", instructor=teacher, airplane=plane, route=route or found, departure_rad=at,
        start_utc_s=read_moment(args.start, zone, "--start") if args.start else None, total_s=times.pop("total", None),
        times_s=times, passengers=args.passengers, remarks=args.remarks, lesson_id=args.lesson,
    )  # fmt: skip
