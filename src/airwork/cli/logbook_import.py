"""Take in recordings, or a debriefed flight.

  airwork logbook import flight.csv --student Ann --instructor Ike --airplane INV155
  airwork logbook import flights/*.csv --student Ann --instructor Ike --airplane INV155 --standard our_school.toml
  airwork logbook import debrief.json --recording flight.csv --student Ann --instructor Ike --route HOME HOME

FILE is a recording (it is debriefed on the way, against the standard the student aims at and with the file of the
airplane) or what airwork debrief --json wrote. The recording is kept with the flight:
the bytes as they came and the clean columns. Importing the same flight twice changes nothing and says so. Of several
FILES each is taken in by itself; one that can't be is named and stops nothing.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from airwork.airplane import find_airplane_file
from airwork.cli import COULD_NOT, DONE
from airwork.cli.logbook_add_flight import flight_options
from airwork.cli.logbook_tools import Told, lines, opened, typed
from airwork.errors import AirworkError, InputError
from airwork.jobs.debriefing import debrief_flight, read_flight
from airwork.jobs.entering import enter_flight
from airwork.jobs.files import airplane_file_of
from airwork.jobs.learning import learn_from_debrief
from airwork.logbook import fleet, people
from airwork.logbook import typed as read
from airwork.logbook.debrief_json import DebriefFacts, read_debrief
from airwork.logbook.flights import flight_by_id
from airwork.logbook.recordings import Packing
from airwork.logbook.records import hours
from airwork.recording.flight import Flight

BOOK = "own"
OF_MANY = {"file", "student", "instructor", "role", "airplane", "airplane_file", "standard", "renew", "data"}


def configure(parser: argparse.ArgumentParser) -> None:
    add = parser.add_argument
    add("file", metavar="FILE", nargs="+", type=Path, help="a recording, or debrief.json")
    add("--recording", metavar="FILE", type=Path, help="the recording the debrief was made from, to keep with it")
    add("--student", "--pilot", dest="student", metavar="NAME", help="whose flight it is")
    flight_options(parser)
    add("--airplane-file", metavar="FILE", help="a recording: airplane file to debrief it with, where it isn't found")
    add(
        "--standard",
        metavar="NAME|FILE",
        help="a recording: standard to hold it against; the one aimed at if not given",
    )
    add("--start", help='start, when the recording names no date: "2026-06-14 09:00"')
    add("--renew", action="store_true", help="take this debrief in place of an earlier one; marks stay")


def run(args: argparse.Namespace, book: None) -> Told:
    files: list[Path] = args.file
    if len(files) > 1:
        for name, value in vars(args).items():
            if value and name not in OF_MANY:
                raise InputError("goes with one flight alone.", where=f"--{name.replace('_', '-')}")
    said, failed = [], False
    for path in files:
        try:
            said.append(_flight(argparse.Namespace(**{**vars(args), "file": path})))
        except (AirworkError, OSError) as problem:
            if len(files) == 1:
                raise
            said.append(f"{path.name}: not taken in: {' '.join(str(problem).split())}")
            failed = True
    return Told(said, lambda: "\n".join(said), COULD_NOT if failed else DONE)


def _flight(args: argparse.Namespace) -> str:
    if not args.student:
        raise InputError("say whose flight it is: --student NAME.", where="import")
    texts = typed(args)
    read.times_s(texts, "--"), read.passengers(texts, "--")  # a slip is said before the debrief is made
    facts, packing, clean, remarks = _read(args)
    with opened(args) as store:
        done = enter_flight(facts, texts, logbook=store, recording=packing, clean=clean, renew=args.renew, mark="--")
        with store.read() as connection:
            row = flight_by_id(connection, done.flight_id)
    more = list(done.said)
    if done.changed:
        none = f"in no airplane; airwork logbook change flight {row.id[:8]} --airplane …"
        more = [*remarks, *([] if done.registration else [none]), *more]
    verb = "taken in" if done.changed else "unchanged"
    plane = f", in {done.registration}" if done.registration and done.changed else ""
    flown = f"{row.role} {hours(row.total_s) or '0.0'} h, {len(facts.episodes)} maneuvers"
    return lines(f"flight {row.id[:8]} of {row.local_date} {verb}: {flown}{plane}", *more)


def _read(args: argparse.Namespace) -> tuple[DebriefFacts, Packing | None, Flight | None, tuple[str, ...]]:
    """The debrief, the recording (being packed meanwhile) and its clean columns where there is one, what to say."""
    raw = args.file.read_bytes()
    if raw.lstrip()[:1] == b"{" and b'"episodes"' in raw:
        facts = read_debrief(raw, args.file.name)
        if args.standard or args.airplane_file:
            option = "--standard" if args.standard else "--airplane-file"
            raise InputError("this debrief is made already; it goes with a recording alone.", where=option)
        if args.recording is None:
            return facts, None, None, ()
        packing = Packing(args.recording.read_bytes(), args.recording.name)
        clean = read_flight(args.recording)
        packing.was_read(clean)
        return facts, packing, clean, ()
    if args.recording is not None:
        raise InputError(
            "is no debrief; give the recording alone, or a debrief with --recording.", where=str(args.file)
        )
    standard, file, remark = _held_against(args)
    packing = Packing(raw, args.file.name)
    clean = read_flight(args.file, airplane=file or None)
    packing.was_read(clean)
    found = debrief_flight(clean, airplane=file or None, standard=standard)
    return read_debrief(found.as_json(), args.file.name), packing, clean, (remark, *learn_from_debrief(found, file))


def _held_against(args: argparse.Namespace) -> tuple[str, str, str]:
    """The standard, the airplane's file ("" for none), and what to say of it."""
    with opened(args, "read") as connection:
        standard = args.standard or people.find_person(connection, args.student).certificate_aimed
        plane = fleet.find_airplane(connection, args.airplane) if args.airplane else None
    if args.airplane_file:
        file = str(find_airplane_file(args.airplane_file))
    elif plane is None:
        return standard, "", f"debriefed against {standard}, without an airplane file"
    elif not plane.airplane_file:
        return standard, "", f"debriefed against {standard}; {plane.registration} is entered without an airplane file"
    else:
        found = airplane_file_of(plane.airplane_file, args.file.parent)
        if found is None:
            missing = f"{plane.registration}, {plane.airplane_file}: not found here (--airplane-file FILE)"
            return standard, "", f"debriefed against {standard}, without the file of {missing}"
        file = str(found)
    return standard, file, f"debriefed against {standard}, with {file}"
