"""Enter a flight, or a whole CSV of them from an older logbook.

  airwork logbook add flight --student Ann --instructor Ike --airplane INV155 --start "2026-06-14 09:00" \\
      --end "2026-06-14 10:18" --route HOME HOME --takeoffs 4 --landings "3 full-stop" --landings 1
  airwork logbook add flight --student Ann --role solo --airplane INV155 --date 2026-05-02 --hours 0.9 --landings 3
  airwork logbook add flights old_pages.csv --student Ann

--landings and --takeoffs take a number and, of full-stop, night, late-night and towered, what they were; several times
if they differ. Night and tower are worked out where start, end and place tell. late-night is the period that counts for
carrying passengers. The CSV has one line for each flight and these columns, of which date and hours are needed:
date, start, end, hours, role, instructor, airplane, route, takeoffs, landings, night, instrument, actual,
cross_country, test_preparation, ground, passengers, distance_nm, farthest_nm, remarks. Either every line is entered
or none.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from airwork.cli import DONE
from airwork.cli.logbook_tools import HOUR_S, hours, now_s, opened, said


def configure(parser: argparse.ArgumentParser, what: str) -> None:
    add = parser.add_argument
    if what == "flights":
        add("file", metavar="FILE.csv", type=Path)
        add("--student", required=True, metavar="NAME", help="whose flights they are")
    else:
        add("--student", "--pilot", dest="student", required=True, metavar="NAME", help="whose flight it is")
        flight_options(parser)
        add("--start", help='"2026-06-14 09:00" local time at the departure, or with its offset')
        add("--end", help='"2026-06-14 10:18"')
        add("--date", help="the day alone, for an entry that has no times")
        add("--takeoffs", action="append", default=[], metavar="N…", help='4, or "2 night towered"')
        add("--landings", action="append", default=[], metavar="N…", help='4, or "3 full-stop night"')
        add("--distance", help='length of the route: "150 NM"; worked out where the places are known')
        add("--farthest", help='straight distance to the farthest landing: "60 NM"')
        add("--corrects", metavar="ID", help="the signed flight that this entry puts right and counts in place of")
        add("--overlap", action="store_true", help="enter it although it overlaps another flight")


def flight_options(parser: argparse.ArgumentParser) -> None:
    """Options that a typed and an imported flight share."""
    add = parser.add_argument
    add("--instructor", metavar="NAME", help="who gave the training")
    add("--role", choices=["dual", "solo", "pic"], help="dual with an instructor if not given")
    add("--airplane", metavar="REGISTRATION")
    add("--route", nargs="+", default=[], metavar="PLACE", help="departure and every place landed at")
    for name, words in (
        ("hours", "of flight"), ("night", "at night"), ("instrument", "by reference to instruments, simulated"),
        ("actual", "in actual instrument conditions"), ("cross-country", "cross-country"), ("pic", "in command"),
        ("test-preparation", "in preparation for the test"), ("ground", "ground training"),
    ):  # fmt: skip
        add(f"--{name}", type=float, metavar="H", help=f"hours {words}")
    add("--passengers", type=int, default=0, metavar="N")
    add("--remarks", default="", metavar="WORDS")


TIMES = {
    "hours": "total", "night": "night", "instrument": "instrument_simulated", "actual": "instrument_actual",
    "cross_country": "cross_country", "pic": "pic", "test_preparation": "test_preparation", "ground": "ground_training",
}  # fmt: skip


def times_s(args: argparse.Namespace) -> dict[str, float]:
    """Seconds by kind, of the hours typed."""
    return {kind: getattr(args, name) * HOUR_S for name, kind in TIMES.items() if getattr(args, name) is not None}


def run(args: argparse.Namespace, what: str) -> int:
    """Enter it."""
    return _many(args) if what == "flights" else _one(args)


def _one(args: argparse.Namespace) -> int:
    from airwork.logbook import fleet, flights, people
    from airwork.logbook.days import read_date, read_moment
    from airwork.logbook.entering import FlightEntry
    from airwork.logbook.paper import read_movements
    from airwork.units import parse

    with opened(args) as store, store.change() as connection:
        pilot = people.find_person(connection, args.student)
        teacher = people.find_person(connection, args.instructor, instructor=True) if args.instructor else None
        route = tuple(fleet.place_for(connection, ident, now_utc_s=now_s()) for ident in args.route)
        zone = (route[0].time_zone if route else "") or pilot.time_zone
        entry = FlightEntry(
            pilot=pilot,
            role=args.role or ("dual" if teacher else "pic"),
            start_utc_s=read_moment(args.start, zone, "--start") if args.start else None,
            end_utc_s=read_moment(args.end, zone, "--end") if args.end else None,
            local_date=read_date(args.date, "--date") if args.date else None,
            instructor=teacher,
            airplane=fleet.find_airplane(connection, args.airplane) if args.airplane else None,
            route=route,
            times_s=times_s(args),
            movements=read_movements(args.takeoffs, args.landings),
            passengers=args.passengers,
            remarks=args.remarks,
            corrects_id=flights.flight_by_id(connection, args.corrects).id if args.corrects else None,
            distance_m=parse(args.distance, "distance", where="--distance") if args.distance else None,
            farthest_landing_m=parse(args.farthest, "distance", where="--farthest") if args.farthest else None,
        )
        done = flights.add_flight(connection, entry, now_utc_s=now_s(), overlap=args.overlap)
    row = done.row
    print(f"flight {row.id[:8]} of {row.local_date} entered: {row.role} {hours(row.total_s) or '0.0'} h")
    said(done.notes)
    return DONE


def _many(args: argparse.Namespace) -> int:
    from airwork.logbook import people
    from airwork.logbook.paper import enter_csv

    with opened(args) as store, store.change() as connection:
        pilot = people.find_person(connection, args.student)
        done = enter_csv(connection, pilot, args.file.read_bytes(), args.file.name, now_utc_s=now_s())
    total = sum(one.row.total_s for one in done)
    print(f"{len(done)} flights of {pilot.name} entered, {hours(total) or '0.0'} h")
    return DONE
