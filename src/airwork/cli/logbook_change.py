"""Put an entry right: a person, an airplane, a place, or a flight's airplane and remarks.

airwork logbook change person Ann --born 1990-02-03 --held private --aimed commercial
airwork logbook change airplane INV155 --model "Larkmoor 155" --complex yes
airwork logbook change place STRIP --zone America/Denver --tower no
airwork logbook change flight 03ae6e3d --airplane INV155 --remarks "first of the season"
"""

from __future__ import annotations

import argparse
from typing import Any

from sqlalchemy import Connection

from airwork.cli.logbook_add_people import person_options
from airwork.cli.logbook_tools import now_s, typed
from airwork.errors import InputError
from airwork.logbook import fleet, people
from airwork.logbook import typed as read
from airwork.logbook.flights import change_flight

BOOK = "change"
# As given with yes or no -> the record's field.
FLAGS = {
    "person": {"student": "is_student", "instructor": "is_instructor"},
    "airplane": {
        "tailwheel": "tailwheel", "complex": "complex", "high_performance": "high_performance",
        "advanced": "technically_advanced",
    },
    "place": {"tower": "towered"},
    "flight": {},
}  # fmt: skip
AIRPLANE = {"model": "make_model", "aircraft_class": "aircraft_class", "category": "category"}


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("what", choices=list(FLAGS))
    parser.add_argument("which", metavar="NAME", help="name, registration, identifier, or a flight's number")
    person = parser.add_argument_group("person")
    person.add_argument("--name")
    person_options(person)
    plane = parser.add_argument_group("airplane")
    plane.add_argument("--model")
    plane.add_argument("--class", dest="aircraft_class")
    plane.add_argument("--category")
    place = parser.add_argument_group("place (also --name, --zone)")
    for name in ("lat", "lon", "elevation"):
        place.add_argument(f"--{name}")
    for group, what in ((person, "person"), (plane, "airplane"), (place, "place")):
        for name in FLAGS[what]:
            group.add_argument(f"--{name.replace('_', '-')}", choices=["yes", "no"])
    flight = parser.add_argument_group("flight (until it is signed)")
    flight.add_argument("--airplane", metavar="REGISTRATION")
    flight.add_argument("--remarks", metavar="WORDS")


def run(args: argparse.Namespace, book: Connection) -> str:
    """Change it and say what was changed."""
    given, what, which = typed(args), args.what, args.which
    changes: dict[str, Any] = {field: given[name] == "yes" for name, field in FLAGS[what].items() if name in given}
    if what == "person":
        changes = read.person(given, "--") | changes
    elif what == "airplane":
        changes = {field: given[name] for name, field in AIRPLANE.items() if name in given} | changes
    elif what == "place":
        changes = read.place(given, "--") | changes
    else:
        changes = {"airplane_id": fleet.find_airplane(book, args.airplane).id} if args.airplane else {}
        changes |= {} if args.remarks is None else {"remarks": args.remarks}
    if not changes:
        raise InputError("nothing to change was given; --help lists the options.", where="change")
    now = now_s()
    if what == "person":
        people.change_person(book, people.find_person(book, which), now_utc_s=now, **changes)
    elif what == "airplane":
        fleet.change_airplane(book, fleet.find_airplane(book, which), now_utc_s=now, **changes)
    elif what == "place":
        fleet.change_place(book, fleet.place_known(book, which), now_utc_s=now, **changes)
    else:
        change_flight(book, which, now_utc_s=now, **changes)
    names = ", ".join(name.removeprefix("is_").removesuffix("_id") for name in changes)
    return f"{what} {which}: {names} changed"
