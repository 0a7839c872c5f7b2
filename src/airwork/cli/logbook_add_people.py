"""Enter a student or an instructor.

airwork logbook add student "Ann Example" --born 1990-02-03 --zone America/Denver --aimed private
airwork logbook add instructor "Ike Teacher" --held commercial --zone America/Denver
"""

from __future__ import annotations

import argparse

from airwork.cli import DONE
from airwork.cli.logbook_tools import now_s, opened


def configure(parser: argparse.ArgumentParser, what: str) -> None:
    add = parser.add_argument
    add("name", metavar="NAME", help="as it shall stand on records")
    add("--born", metavar="DATE", help="birth date, which medical dates depend on: 1990-02-03")
    add("--zone", default="UTC", help="time zone where they fly: America/Denver")
    add("--held", default="commercial" if what == "instructor" else "student",
        help="certificate held: none, student, private, commercial, instructor")  # fmt: skip
    add("--aimed", default="private", help="standard aimed at: private, commercial, easa_ppl, …")
    add("--authority", default="us", help="whose rules: us, eu")
    add("--contact", default="", help="telephone, mail, whatever helps")
    add("--certificate-number", default="", help="of the certificate held")


def run(args: argparse.Namespace, what: str) -> int:
    """Enter the person."""
    from airwork.logbook import people
    from airwork.logbook.days import read_date

    with opened(args, create=True) as store, store.change() as connection:
        entry = people.add_person(
            connection, args.name, now_utc_s=now_s(), student=what == "student", instructor=what == "instructor",
            born_on=read_date(args.born, "--born") if args.born else None, time_zone=args.zone,
            certificate_held=args.held, certificate_aimed=args.aimed, authority=args.authority, contact=args.contact,
            certificate_number=args.certificate_number,
        )  # fmt: skip
        where = store.where
    print(f"{what} {entry.name} entered in {where}")
    if what == "student" and entry.born_on is None:
        print("  without a birth date the shorter duration of a medical is taken; add it with airwork logbook change")
    return DONE
