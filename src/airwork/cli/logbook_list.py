"""List students, instructors, airplanes, places or flights, or the kinds of endorsements and dates there are.

airwork logbook list students
airwork logbook list flights --student Ann --newest 10
airwork logbook list kinds --authority us
"""

from __future__ import annotations

import argparse
import math

from sqlalchemy import Connection

from airwork.cli.logbook_tools import Told, json_option, opened, table
from airwork.errors import InputError
from airwork.logbook import fleet, pages, people
from airwork.logbook.attempts import is_everyday, named_in_a_line
from airwork.logbook.pages import FlightLine
from airwork.logbook.records import hours
from airwork.logbook.rules import load_rules
from airwork.output.hours import SEAL_MARK

BOOK = "own"
WHAT = ("students", "instructors", "airplanes", "places", "flights", "kinds")


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("what", choices=WHAT, metavar="WHAT", help=", ".join(WHAT))
    parser.add_argument("--student", metavar="NAME", help="flights: whose")
    parser.add_argument("--newest", type=int, metavar="N", help="flights: only the newest")
    parser.add_argument("--authority", default="us", help="kinds: whose rules")
    json_option(parser)


def run(args: argparse.Namespace, book: None) -> Told:
    if args.what == "kinds":  # of the rules, not of a logbook
        return _kinds(args)
    if args.what == "flights" and not args.student:
        raise InputError("say whose: --student NAME.", where="list flights")
    with opened(args, "read") as connection:
        return {
            "students": _students, "instructors": _instructors, "airplanes": _airplanes, "places": _places,
            "flights": _flights,
        }[args.what](connection, args)  # fmt: skip


def _students(book: Connection, _args: argparse.Namespace) -> Told:
    found = pages.students(book)
    head = ("name", "aims at", "flights", "hours", "last flown")
    rows = [(s.student.name, s.student.certificate_aimed, str(s.flights), hours(s.total_s), str(s.last_flown or ""))
            for s in found]  # fmt: skip
    return Told(found, lambda: table(head, rows, right=(2, 3)))


def _instructors(book: Connection, _args: argparse.Namespace) -> Told:
    found = people.people(book, instructors=True)
    rows = [(p.name, p.certificate_held, p.time_zone) for p in found]
    return Told(found, lambda: table(("name", "holds", "zone"), rows))


def _airplanes(book: Connection, _args: argparse.Namespace) -> Told:
    found = pages.airplane_lines(book)
    flags = ("tailwheel", "complex", "high_performance", "technically_advanced")
    rows = [
        (a.registration, a.make_model, a.aircraft_class.replace("_", " "), str(n), hours(total),
         ", ".join(f.replace("_", " ") for f in flags if getattr(a, f)))
        for a, n, total in found
    ]  # fmt: skip
    head = ("registration", "make and model", "class", "flights", "hours", "")
    return Told(found, lambda: table(head, rows, right=(3, 4)))


def _places(book: Connection, _args: argparse.Namespace) -> Told:
    found = fleet.places(book)
    towers = {True: "tower", False: "no tower", None: "not known"}
    rows = [(p.ident, _degrees(p.latitude_rad), _degrees(p.longitude_rad), p.time_zone, towers[p.towered], p.name)
            for p in found]  # fmt: skip
    return Told(found, lambda: table(("ident", "lat", "lon", "zone", "tower", "name"), rows, right=(1, 2)))


def _degrees(angle_rad: float | None) -> str:
    return "" if angle_rad is None else f"{math.degrees(angle_rad):.4f}"


def _flights(book: Connection, args: argparse.Namespace) -> Told:
    who = people.find_person(book, args.student)
    found = pages.flight_lines(book, who.id, newest=args.newest, waiting=True)
    return Told(found, lambda: table(FLIGHT_HEAD, [flight_cells(line) for line in found], right=(2, 5)))


FLIGHT_HEAD = ("flight", "date", "hours", "role", "airplane", "ldg", "route", "with", "flown")


def flight_cells(line: FlightLine) -> tuple[str, ...]:
    """A flight of a list as text."""
    row = line.logged.flight
    landings = sum(m.number for m in line.logged.movements if m.what == "landing")
    plane = line.logged.airplane.registration if line.logged.airplane else ""
    flown = ", ".join(named_in_a_line(t) for t in line.tasks if not is_everyday(t)) or row.remarks
    return (
        row.id[:8], str(row.local_date), hours(row.total_s), row.role, plane, str(landings or ""), line.way,
        line.instructor + SEAL_MARK[line.signed.state], "; ".join(filter(None, (line.note, flown))),
    )  # fmt: skip


def _kinds(args: argparse.Namespace) -> Told:
    rules = load_rules(args.authority)
    rows = []
    for kind in rules.held:
        good = "does not expire"
        if kind.days is not None:
            good = f"{kind.days} days" if kind.days else "the day"
        elif months := kind.calendar_months or kind.months:
            from_40 = kind.calendar_months_from_40 or kind.months_from_40
            good = f"{months} {'calendar ' if kind.calendar_months else ''}months"
            good += f", {from_40} from 40" if from_40 else ""
        rows.append((kind.id, kind.kind, good, f"{kind.text}; {kind.known}"))
    caution = f"\n{rules.authority.title}. {rules.authority.checked}"
    return Told(
        [kind.model_dump(exclude_none=True) for kind in rules.held],
        lambda: f"{table(('kind', '', 'good for', 'what it is'), rows)}\n{caution}",
    )
