"""What is left to fly for the certificate a student aims at, rule by rule, with its source.

airwork logbook left Ann
airwork logbook left Ann --test-on 2026-08-01
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence

from sqlalchemy import Connection

from airwork.cli.logbook_tools import Told, now_s, table
from airwork.days import local_date, read_date
from airwork.logbook import flights, keeping, pages, people
from airwork.logbook.experience import Progress
from airwork.logbook.rules import Rules, load_rules

BOOK = "read"


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("student", metavar="NAME")
    parser.add_argument("--test-on", metavar="DATE", help="planned practical test; today if not given")


def run(args: argparse.Namespace, book: Connection) -> Told:
    who = people.find_person(book, args.student)
    rules = load_rules(who.authority)
    day = read_date(args.test_on, "--test-on") if args.test_on else local_date(now_s(), who.time_zone)
    found = pages.left_to_fly(who, rules, flights.flights_of(book, who.id), keeping.holdings(book, who), day)
    title = rules.authority.certificates.get(who.certificate_aimed, who.certificate_aimed)
    caution = f"\n{rules.authority.title}. {rules.authority.checked} The regulation in force decides."
    head = f"{who.name}: {title}, as of {day}"
    return Told(found, lambda: "\n".join([head, left_table(found, rules), caution]))


def left_table(found: Sequence[Progress], rules: Rules, *, open_only: bool = False) -> str:
    """Requirements with what is flown and left; those within another are set in."""
    if not found:
        return f"  {rules.authority.title}: no requirements on file for this certificate"
    parents = {p.rule.id: p.rule.within for p in found}

    def depth(name: str) -> int:
        return 0 if not parents.get(name) else 1 + depth(parents[name])

    rows = []
    for p in found:
        if open_only and p.met:
            continue
        left = (
            "done" if p.met else f"{p.left:.1f} {p.rule.unit}" if p.rule.unit == "h" else f"{p.left:.0f} {p.rule.unit}"
        )
        have = f"{p.have:.1f}" if p.rule.unit == "h" else f"{p.have:.0f}"
        notes = "; ".join(part for part in (p.rule.known, p.remark, p.rule.note) if part)
        rows.append((left, have, f"{p.need:g}", f"{'  ' * depth(p.rule.id)}{p.rule.text} [{notes}]"))
    if not rows:
        return "  everything on file is flown"
    return table(("left", "have", "of", "what"), rows, right=(1, 2), indent="  ")
