"""Put an entry right: a person, an airplane, a place, or a flight's airplane and remarks.

airwork logbook change person Ann --born 1990-02-03 --held private --aimed commercial
airwork logbook change airplane INV155 --model "Larkmoor 155" --complex yes
airwork logbook change place STRIP --zone America/Denver --tower no
airwork logbook change flight 03ae6e3d --airplane INV155 --remarks "first of the season"
"""

from __future__ import annotations

import argparse
import math
from typing import Any

from airwork.cli import DONE
from airwork.cli.logbook_tools import now_s, opened
from airwork.errors import InputError


def configure(parser: argparse.ArgumentParser) -> None:
    add = parser.add_argument
    add("what", choices=["person", "airplane", "place", "flight"])
    add("which", metavar="NAME", help="name, registration, identifier, or a flight's number as in the lists")
    person = parser.add_argument_group("person")
    for name in ("name", "born", "zone", "held", "aimed", "authority", "contact", "certificate-number"):
        person.add_argument(f"--{name}")
    person.add_argument("--student", choices=["yes", "no"])
    person.add_argument("--instructor", choices=["yes", "no"])
    plane = parser.add_argument_group("airplane")
    plane.add_argument("--model")
    plane.add_argument("--class", dest="aircraft_class")
    plane.add_argument("--category")
    for name in ("tailwheel", "complex", "high-performance", "advanced"):
        plane.add_argument(f"--{name}", choices=["yes", "no"])
    place = parser.add_argument_group("place (also --name, --zone)")
    place.add_argument("--lat", type=float)
    place.add_argument("--lon", type=float)
    place.add_argument("--elevation")
    place.add_argument("--tower", choices=["yes", "no"])
    flight = parser.add_argument_group("flight (until it is signed)")
    flight.add_argument("--airplane", metavar="REGISTRATION")
    flight.add_argument("--remarks", metavar="WORDS")


PERSON = {
    "name": "name", "zone": "time_zone", "held": "certificate_held", "aimed": "certificate_aimed",
    "authority": "authority", "contact": "contact", "certificate_number": "certificate_number",
}  # fmt: skip
AIRPLANE = {"model": "make_model", "aircraft_class": "aircraft_class", "category": "category"}
AIRPLANE_FLAGS = {
    "tailwheel": "tailwheel", "complex": "complex", "high_performance": "high_performance",
    "advanced": "technically_advanced",
}  # fmt: skip


def run(args: argparse.Namespace) -> int:
    """Change it and say what was changed."""
    from airwork.logbook import fleet, people
    from airwork.logbook.days import read_date, zone
    from airwork.logbook.flights import change_flight
    from airwork.units import parse

    given = {name: value for name, value in vars(args).items() if value is not None}
    changes: dict[str, Any] = {}
    with opened(args) as store, store.change() as connection:
        if args.what == "person":
            changes = {field: given[option] for option, field in PERSON.items() if option in given}
            changes |= {f"is_{k}": given[k] == "yes" for k in ("student", "instructor") if k in given}
            if args.born:
                changes["born_on"] = read_date(args.born, "--born")
            _something(changes)
            found = people.find_person(connection, args.which)
            people.change_person(connection, found, now_utc_s=now_s(), **changes)
        elif args.what == "airplane":
            changes = {field: given[option] for option, field in AIRPLANE.items() if option in given}
            changes |= {field: given[option] == "yes" for option, field in AIRPLANE_FLAGS.items() if option in given}
            _something(changes)
            plane = fleet.find_airplane(connection, args.which)
            fleet.change_airplane(connection, plane, now_utc_s=now_s(), **changes)
        elif args.what == "flight":
            if args.airplane:
                changes["airplane_id"] = fleet.find_airplane(connection, args.airplane).id
            if args.remarks is not None:
                changes["remarks"] = args.remarks
            _something(changes)
            change_flight(connection, args.which, now_utc_s=now_s(), **changes)
        else:
            changes = {
                field: given[option] for option, field in (("name", "name"), ("zone", "time_zone")) if option in given
            }
            changes |= {
                f"{k}itude_rad": math.radians(given[s]) for k, s in (("lat", "lat"), ("long", "lon")) if s in given
            }
            if args.zone:
                zone(args.zone)
            if args.elevation:
                changes["elevation_m"] = parse(args.elevation, "altitude", where="--elevation")
            if args.tower:
                changes["towered"] = args.tower == "yes"
            _something(changes)
            place = fleet.place_known(connection, args.which)
            fleet.change_place(connection, place, now_utc_s=now_s(), **changes)
    names = ", ".join(name.removeprefix("is_").removesuffix("_id") for name in changes)
    print(f"{args.what} {args.which}: {names} changed")
    return DONE


def _something(changes: dict[str, Any]) -> None:
    if not changes:
        raise InputError("nothing to change was given; --help lists the options.", where="change")
