"""A student: hours, where they stand, what to fly next, what is left, what expires.

airwork logbook show Ann
airwork logbook show Ann --test-on 2026-08-01 --json
"""

from __future__ import annotations

import argparse

from sqlalchemy import Connection

from airwork.cli.logbook_left import left_table
from airwork.cli.logbook_list import FLIGHT_HEAD, flight_cells
from airwork.cli.logbook_progress import next_lines, task_table
from airwork.cli.logbook_tools import Told, counted, now_s, table
from airwork.days import read_date
from airwork.logbook import pages, people
from airwork.logbook.pages import StudentPage
from airwork.logbook.records import hours

BOOK = "read"


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("student", metavar="NAME")
    parser.add_argument("--test-on", metavar="DATE", help="planned practical test; today if not given")
    parser.add_argument("--newest", type=int, default=8, metavar="N", help="flights to list")


def run(args: argparse.Namespace, book: Connection) -> Told:
    test_on = read_date(args.test_on, "--test-on") if args.test_on else None
    who = people.find_person(book, args.student)
    page = pages.student_page(book, who.id, now_utc_s=now_s(), test_on=test_on, newest=args.newest)
    return Told(page, lambda: page_text(page))


def page_text(page: StudentPage) -> str:
    who, t = page.student, page.totals
    born = f", born {who.born_on}" if who.born_on else ""
    out = [
        f"{who.name}: holds {who.certificate_held}, aims at {who.certificate_aimed} ({page.progress.standard}){born}"
    ]
    parts = [f"{hours(t.time_s('total')) or '0.0'} h in {counted(t.flights, 'flight')}"]
    for kind in ("dual", "solo", "pic", "cross_country", "night"):
        if t.time_s(kind):
            parts.append(f"{kind.replace('_', ' ')} {hours(t.time_s(kind))}")
    out.append("  " + ", ".join([*parts, f"{counted(t.landings, 'landing')} ({t.landings_night} at night)"]))
    out += ["", "Fly next:", *next_lines(page.progress)]
    out += ["", "Tasks:", task_table(page.progress, flown_only=True)]
    aim = page.aimed_title or who.certificate_aimed
    out += ["", f"Left for the {aim}:", left_table(page.left, page.rules, open_only=True)]
    out += ["", f"Expired, or expires within 60 days of {page.today}:", expiry_table(page)]
    recent = []
    for r in page.recent if who.certificate_held not in {"none", "student"} else ():
        answer = f"yes, until {r.until}" if r.until else f"no ({r.takeoffs} and {r.landings})"
        recent.append(f"  {r.rule.text}: {answer} [{r.rule.known}]")
    if recent:
        out += ["", "Recent experience to carry passengers:", *recent]
    if page.notes:
        out += ["", "Notes:"]
        for n in page.notes[:5]:
            mark = " (instructors only)" if n.for_instructors else ""
            out.append(f"  {n.by or 'unknown'}{mark}: {n.words}")
    out += [
        "",
        "Flights:",
        table(FLIGHT_HEAD, [flight_cells(line) for line in page.flights], right=(2, 5), indent="  "),
    ]
    out += ["", f"{page.rules.authority.title}: {page.rules.authority.checked} The regulation in force decides."]
    return "\n".join(out)


def expiry_table(page: StudentPage) -> str:
    """What has run out or will soon."""
    rows = []
    for v in page.running_out:
        verb = "ran out" if v.until and v.until < page.today else "runs out"
        rows.append((str(v.until), verb, v.text + (f" ({v.remark})" if v.remark else "")))
    return table(("date", "", "what"), rows, indent="  ") if rows else "  nothing on record"
