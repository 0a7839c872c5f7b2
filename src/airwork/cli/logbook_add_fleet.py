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

from airwork.cli import DONE
from airwork.cli.logbook_tools import now_s, opened


def configure(parser: argparse.ArgumentParser, what: str) -> None:
    add = parser.add_argument
    if what == "airplane":
        add("registration", metavar="REGISTRATION")
        add("--model", default="", help='make and model, as endorsements name it: "Larkmoor 155"')
        add("--file", default="", help="airplane file or its id; make, model and gear are read from it")
        add("--category", default="airplane")
        add("--class", dest="aircraft_class", default="single_engine_land")
        add("--tailwheel", action="store_true", default=None)
        add("--complex", action="store_true", default=None, help="retractable gear, flaps, controllable propeller")
        add("--high-performance", action="store_true", default=None, help="more than 200 hp")
        add("--advanced", action="store_true", help="technically advanced airplane")
    else:
        add("ident", metavar="IDENT", help="identifier of the airfield, or your own short name")
        add("--name", default="")
        add("--lat", type=float, help="degrees, north positive")
        add("--lon", type=float, help="degrees, east positive")
        add("--elevation", help="5200ft")
        add("--zone", default="", help="time zone: America/Denver")
        tower = parser.add_mutually_exclusive_group()
        tower.add_argument("--tower", dest="towered", action="store_true", default=None)
        tower.add_argument("--no-tower", dest="towered", action="store_false")


def run(args: argparse.Namespace, what: str) -> int:
    """Enter it."""
    return _airplane(args) if what == "airplane" else _place(args)


def _airplane(args: argparse.Namespace) -> int:
    from airwork.logbook import fleet

    facts: dict[str, Any] = {"make_model": args.model}
    if args.file:
        from airwork.jobs.files import load_airplane

        facts = fleet.airplane_facts(load_airplane(args.file))
        facts["make_model"] = args.model or facts["make_model"]
    for name in ("tailwheel", "complex", "high_performance"):
        facts[name] = facts.get(name, False) if getattr(args, name) is None else True
    with opened(args, create=True) as store, store.change() as connection:
        entry = fleet.add_airplane(
            connection, args.registration, now_utc_s=now_s(), category=args.category,
            aircraft_class=args.aircraft_class, technically_advanced=args.advanced, **facts,
        )  # fmt: skip
    kinds = [n.replace("_", "-") for n in ("tailwheel", "complex", "high_performance") if getattr(entry, n)]
    print(f"airplane {entry.registration} entered: {entry.make_model}{', ' + ', '.join(kinds) if kinds else ''}")
    return DONE


def _place(args: argparse.Namespace) -> int:
    from airwork.errors import InputError
    from airwork.logbook import fleet
    from airwork.units import parse

    if (args.lat is None) != (args.lon is None):
        raise InputError("give both --lat and --lon.", where="place")
    with opened(args, create=True) as store, store.change() as connection:
        entry = fleet.add_place(
            connection, args.ident, now_utc_s=now_s(), name=args.name,
            latitude_rad=None if args.lat is None else math.radians(args.lat),
            longitude_rad=None if args.lon is None else math.radians(args.lon),
            elevation_m=parse(args.elevation, "altitude", where="--elevation") if args.elevation else None,
            time_zone=args.zone, towered=args.towered,
        )  # fmt: skip
    at = "position not known" if entry.position_rad is None else (
        f"{math.degrees(entry.position_rad[0]):.4f}, {math.degrees(entry.position_rad[1]):.4f}"
    )  # fmt: skip
    print(f"place {entry.ident} entered: {entry.name or 'no name'} ({at})")
    return DONE
