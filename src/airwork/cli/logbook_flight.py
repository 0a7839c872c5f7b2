"""One flight with the three marks of each task side by side: measured, the instructor's, the student's.

airwork logbook flight 3f2a9c
"""

from __future__ import annotations

import argparse

from sqlalchemy import Connection

from airwork.cli.logbook_tools import Told, table
from airwork.logbook.attempts import title_of
from airwork.logbook.marks import Mark
from airwork.logbook.pages import FlightPage, flight_page
from airwork.logbook.records import hours

BOOK = "read"


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("flight", metavar="ID", help="the first 6 characters or more (airwork logbook list flights)")


def run(args: argparse.Namespace, book: Connection) -> Told:
    page = flight_page(book, args.flight)
    return Told(page, lambda: flight_text(page))


def flight_text(page: FlightPage) -> str:
    f = page.flight
    plane = f", {page.airplane.registration} ({page.airplane.make_model})" if page.airplane else ""
    who = f"{page.pilot or 'a forgotten student'}{' with ' + page.instructor if page.instructor else ''}"
    times = [
        f"{name.replace('_', ' ')} {hours(getattr(f, name + '_s'))}"
        for name in ("dual", "solo", "pic", "cross_country", "night", "instrument_simulated", "test_preparation")
        if getattr(f, name + "_s")
    ]
    out = [f"flight {f.id[:8]}, {f.local_date}: {who}{plane}"]
    out.append(f"  {hours(f.total_s) or '0.0'} h: {', '.join(times)}")
    if page.route:
        out.append("  " + " – ".join(p.ident for p in page.route))
    for m in page.movements:
        out.append(f"  {m.number} {m.what}{'s' if m.number != 1 else ''}{': ' if m.flags else ''}{', '.join(m.flags)}")
    if f.remarks:
        out.append(f"  {f.remarks}")
    signed = {"sealed": "signed by its instructor, signature verified", "not signed": "not signed"}.get(
        page.seal.state, f"{page.seal.state.upper()}: {page.seal.why}"
    )
    if f.corrects_id:
        then = "and counts in its place" if page.counts else "and counts in its place once it is signed"
        out.append(f"  corrects the signed flight {f.corrects_id[:8]} {then}")
    if page.corrected_by:
        then = "is to count in its place once it is signed" if page.counts else "counts in its place"
        out.append(f"  corrected by flight {page.corrected_by[:8]}, which {then}")
    out += [f"  signed as {words}" for words in page.seal.as_signed]
    kept = "recording kept" if page.recording_kept else "no recording kept"
    graded = f"; graded by {page.standard}, airwork {page.program_version}" if page.standard else ""
    out.append(f"  {signed}; {kept}{graded}")
    rows = [
        (
            "" if t.position is None else str(t.position + 1), title_of(t.kind), t.measured or "",
            "; ".join(_said(m, page) for m in (t.instructor, *t.also)), _said(t.student, page), t.stands,
            ", ".join(t.missed),
        )
        for t in page.marks
    ]  # fmt: skip
    if rows:
        out += ["", table(("no", "task", "measured", "instructor", "student", "stands", "missed"), rows, indent="  ")]
    out += [f"  {position + 1}: {words}" for position, words in page.told.items()]
    for n in page.notes:
        out.append(f"  {n.by or 'unknown'}: {n.words}")
    return "\n".join(out)


def _said(given: Mark | None, page: FlightPage) -> str:
    out = []
    for mark in given.each if given else ():
        by = mark.by if mark.by not in {page.pilot, page.instructor} else ""
        more = "; ".join(filter(None, (by, mark.remark, "after the signature" if mark.after_signature else "")))
        out.append(f"{mark.level} ({more})" if more else mark.level)
    return "; ".join(out)
