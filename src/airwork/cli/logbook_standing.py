"""Whether a lesson may be flown as far as the record goes: what forbids it, what is not on record, what runs out.

  airwork logbook standing Ann --start "2026-06-16 09:00" --hours 1.2 --role dual --instructor Ike --airplane INV155
  airwork logbook standing Ann --start "2026-06-16 09:00" --hours 1.5 --role solo --route HOME NEAR HOME

With --strict the exit code is 1 when something forbids it or is not on record.
"""

from __future__ import annotations

import argparse

from sqlalchemy import Connection

from airwork.airdata.geodesy import leg
from airwork.cli import DONE, NOT_MET
from airwork.cli.logbook_tools import Told, now_s, table
from airwork.days import read_moment
from airwork.logbook import fleet, pages, people
from airwork.logbook.records import HOUR_S
from airwork.logbook.standing import LessonAsked, Standing

BOOK = "read"
WORDS = {
    "forbidden": "forbidden by the record", "not shown": "not shown by the record", "allowed": "allowed by the record",
}  # fmt: skip


def configure(parser: argparse.ArgumentParser) -> None:
    add = parser.add_argument
    add("student", metavar="NAME")
    add("--start", help='"2026-06-16 09:00"; now if not given')
    add("--hours", type=float, default=1.5, help="planned flight time; 1.5 if not given")
    add("--role", choices=["dual", "solo", "pic"], help="dual with an instructor if not given")
    add("--instructor", metavar="NAME")
    add("--airplane", metavar="REGISTRATION")
    add("--passengers", type=int, default=0, metavar="N")
    add("--route", nargs="+", default=[], metavar="PLACE", help="departure and every place to land at")
    add("--night", choices=["yes", "no"], help="where the departure's position is not known")
    add("--strict", action="store_true", help="exit with 1 when it is not allowed as far as the record shows")


def run(args: argparse.Namespace, book: Connection) -> Told:
    who = people.find_person(book, args.student)
    teacher = people.find_person(book, args.instructor, instructor=True) if args.instructor else None
    route = [fleet.place_known(book, ident) for ident in args.route]
    zone = (route[0].time_zone if route else "") or who.time_zone
    start = read_moment(args.start, zone, "--start") if args.start else now_s()
    home = route[0].position_rad if route else None
    others = [p for p in route if p.ident != route[0].ident]
    far = [leg(*home, *p.position_rad).distance_m for p in others if home and p.position_rad]
    dark = None if args.night is None else args.night == "yes"
    asked = LessonAsked(
        start_utc_s=start, end_utc_s=start + args.hours * HOUR_S, time_zone=zone,
        role=args.role or ("dual" if teacher else "solo"),
        airplane=fleet.find_airplane(book, args.airplane) if args.airplane else None, passengers=args.passengers,
        farthest_m=max(far, default=0.0) if len(far) == len(others) else None,
        other_places=tuple(dict.fromkeys(p.ident for p in others)), position_rad=home, night=dark, late_night=dark,
    )  # fmt: skip
    found = pages.lesson_standing(book, who.id, asked, instructor_id=teacher.id if teacher else None)
    data = {"answer": found.answer, "who": found.who, "day": found.day, "findings": found.findings}
    code = NOT_MET if args.strict and found.answer != "allowed" else DONE
    return Told(data, lambda: _text(found, asked, judged=bool(route) or dark is not None), code)


def _text(found: Standing, asked: LessonAsked, *, judged: bool) -> str:
    """judged : day or night is known."""
    rows = []
    for f in found.findings:
        words = f.text.replace(": not on record: ", ": ") if f.level == "not on record" else f.text
        rows.append((f.level, f"{words} [{f.known}]"))
    out = [f"{found.who}, {asked.role} on {found.day}: {WORDS[found.answer]}"]
    out.append(table(("", "what"), rows, indent="  ") if rows else "  no rule on file speaks of this flight")
    if not judged:
        out.append("  day or night was not judged: say where (--route PLACE) or which (--night yes, --night no)")
    return "\n".join(out)
