"""Enter an airplane or a place.

  airwork logbook add airplane INV155 --file larkmoor_155
  airwork logbook add airplane INV77 --model "Club two-seater" --tailwheel
  airwork logbook add place KOGA --zone America/Denver
  airwork logbook add place STRIP --lat 40.12 --lon -105.3 --elevation 5200ft --no-tower

A place that the offline airport data know is looked up by its identifier.
"""

from __future__ import annotations

import argparse
import math
from typing import Any

from sqlalchemy import Connection

from airwork.cli.logbook_tools import now_s, typed
from airwork.errors import InputError
from airwork.logbook import fleet
from airwork.logbook.typed import place

BOOK, CREATES = "change", True
KINDS = ("tailwheel", "complex", "high_performance")


def configure(parser: argparse.ArgumentParser, what: str) -> None:
    add = parser.add_argument
    if what == "airplane":
        add("registration", metavar="REGISTRATION")
        add("--model", default="", help='make and model, as endorsements name it: "Larkmoor 155"')
        add("--file", default="", help="airplane file or its id; make, model and gear are read from it")
        add("--category", default="airplane")
        add("--class", dest="aircraft_class", default="single_engine_land")
        add("--tailwheel", action="store_true")
        add("--complex", action="store_true", help="retractable gear, flaps, controllable propeller")
        add("--high-performance", action="store_true", help="more than 200 hp")
        add("--advanced", action="store_true", help="technically advanced airplane")
    else:
        add("ident", metavar="IDENT", help="identifier of the airfield, or your own short name")
        add("--name")
        add("--lat", help="degrees, north positive")
        add("--lon", help="degrees, east positive")
        add("--elevation", help="5200ft")
        add("--zone", help="time zone: America/Denver")
        tower = parser.add_mutually_exclusive_group()
        tower.add_argument("--tower", dest="towered", action="store_true", default=None)
        tower.add_argument("--no-tower", dest="towered", action="store_false")


def run(args: argparse.Namespace, book: Connection, what: str) -> str:
    return _airplane(args, book) if what == "airplane" else _place(args, book)


def _airplane(args: argparse.Namespace, book: Connection) -> str:
    facts: dict[str, Any] = {}
    if args.file:
        from airwork.jobs.files import load_airplane

        facts = fleet.airplane_facts(load_airplane(args.file))
    facts["make_model"] = args.model or facts.get("make_model", "")
    facts |= {name: True for name in KINDS if getattr(args, name)}
    entry = fleet.add_airplane(
        book, args.registration, now_utc_s=now_s(), category=args.category, aircraft_class=args.aircraft_class,
        technically_advanced=args.advanced, **facts,
    )  # fmt: skip
    kinds = [name.replace("_", "-") for name in KINDS if getattr(entry, name)]
    return f"airplane {entry.registration} entered: {', '.join([entry.make_model, *kinds])}"


def _place(args: argparse.Namespace, book: Connection) -> str:
    if (args.lat is None) != (args.lon is None):
        raise InputError("give both --lat and --lon.", where="place")
    entry = fleet.add_place(book, args.ident, now_utc_s=now_s(), towered=args.towered, **place(typed(args), "--"))
    at = ", ".join(f"{math.degrees(x):.4f}" for x in entry.position_rad or ()) or "position not known"
    return f"place {entry.ident} entered: {entry.name or 'no name'} ({at})"
