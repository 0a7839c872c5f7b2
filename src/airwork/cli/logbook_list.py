"""List students, instructors, airplanes, places or flights, or the kinds of endorsements and dates there are.

airwork logbook list students
airwork logbook list flights --student Ann --newest 10
airwork logbook list kinds --authority us
"""

from __future__ import annotations

import argparse
import math
from typing import Any

from airwork.cli import DONE
from airwork.cli.logbook_tools import hours, json_option, opened, print_json, table

WHAT = ("students", "instructors", "airplanes", "places", "flights", "kinds")


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("what", choices=WHAT, metavar="WHAT", help=", ".join(WHAT))
    parser.add_argument("--student", metavar="NAME", help="flights: whose")
    parser.add_argument("--newest", type=int, metavar="N", help="flights: only the newest")
    parser.add_argument("--authority", default="us", help="kinds: whose rules")
    json_option(parser)


def run(args: argparse.Namespace) -> int:
    """Print the list."""
    from airwork.errors import InputError

    if args.what == "kinds":
        return _kinds(args)
    if args.what == "flights" and not args.student:
        raise InputError("say whose: --student NAME.", where="list flights")
    head, rows, right, data = _read(args)
    if args.json:
        print_json(data)
    else:
        print(table(head, rows, right=right))
    return DONE


Listing = tuple[tuple[str, ...], list[tuple[str, ...]], tuple[int, ...], Any]


def _read(args: argparse.Namespace) -> Listing:
    from airwork.logbook import fleet, pages, people

    rows: list[tuple[str, ...]]
    with opened(args) as store, store.read() as connection:
        if args.what == "students":
            found = pages.students(connection)
            rows = [
                (s.student.name, s.student.certificate_aimed, str(s.flights), hours(s.total_s), str(s.last_flown or ""))
                for s in found
            ]
            return ("name", "aims at", "flights", "hours", "last flown"), rows, (2, 3), found
        if args.what == "instructors":
            teachers = people.people(connection, instructors=True)
            return (
                ("name", "holds", "zone"),
                [(p.name, p.certificate_held, p.time_zone) for p in teachers],
                (),
                teachers,
            )
        if args.what == "airplanes":
            planes = pages.airplane_lines(connection)
            flags = ("tailwheel", "complex", "high_performance", "technically_advanced")
            rows = [
                (a.registration, a.make_model, a.aircraft_class.replace("_", " "), str(n), hours(total),
                 ", ".join(f.replace("_", " ") for f in flags if getattr(a, f)))
                for a, n, total in planes
            ]  # fmt: skip
            return ("registration", "make and model", "class", "flights", "hours", ""), rows, (3, 4), planes
        if args.what == "places":
            places = fleet.places(connection)
            rows = [
                (p.ident, "" if p.latitude_rad is None else f"{math.degrees(p.latitude_rad):.4f}",
                 "" if p.longitude_rad is None else f"{math.degrees(p.longitude_rad):.4f}", p.time_zone,
                 {True: "tower", False: "no tower", None: "not known"}[p.towered], p.name)
                for p in places
            ]  # fmt: skip
            return ("ident", "lat", "lon", "zone", "tower", "name"), rows, (1, 2), places
        who = people.find_person(connection, args.student)
        lines = pages.flight_lines(connection, who.id, newest=args.newest, waiting=True)
    rows = [flight_cells(line) for line in lines]
    return FLIGHT_HEAD, rows, (2, 5), lines


FLIGHT_HEAD = ("flight", "date", "hours", "role", "airplane", "ldg", "route", "with", "flown")


def flight_cells(line: Any) -> tuple[str, ...]:
    """A flight of a list as text."""
    from airwork.logbook.attempts import is_everyday, named_in_a_line
    from airwork.output.hours import SEAL_MARK

    row = line.logged.flight
    landings = sum(m.number for m in line.logged.movements if m.what == "landing")
    plane = line.logged.airplane.registration if line.logged.airplane else ""
    route = "–".join(line.route) if len(set(line.route)) > 1 else (line.route[0] if line.route else "")
    flown = ", ".join(named_in_a_line(t) for t in line.tasks if not is_everyday(t)) or row.remarks
    return (
        row.id[:8], str(row.local_date), hours(row.total_s), row.role, plane, str(landings or ""), route,
        line.instructor + SEAL_MARK[line.signed.state], "; ".join(filter(None, (line.note, flown))),
    )  # fmt: skip


def _kinds(args: argparse.Namespace) -> int:
    from airwork.logbook.rules import load_rules

    rules = load_rules(args.authority)
    if args.json:
        print_json([kind.model_dump(exclude_none=True) for kind in rules.held])
        return DONE
    rows = []
    for kind in rules.held:
        if kind.days is not None:
            good = f"{kind.days} days" if kind.days else "the day"
        elif kind.calendar_months or kind.months:
            months = kind.calendar_months or kind.months
            from_40 = kind.calendar_months_from_40 or kind.months_from_40
            good = f"{months} {'calendar ' if kind.calendar_months else ''}months" + (
                f", {from_40} from 40" if from_40 else ""
            )
        else:
            good = "does not expire"
        rows.append((kind.id, kind.kind, good, f"{kind.text}; {kind.known}"))
    print(table(("kind", "", "good for", "what it is"), rows))
    print(f"\n{rules.authority.title}. {rules.authority.checked}")
    return DONE
