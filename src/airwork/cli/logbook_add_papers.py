"""Enter an endorsement, a date, a note or a lesson.

  airwork logbook add endorsement --student Ann --instructor Ike --kind endorsement.solo --airplane "Larkmoor 155"
  airwork logbook add endorsement --student Ann --instructor Ike --kind solo_other_airport --place NEAR
  airwork logbook add date --person Ann --kind medical.third --on 2026-01-05
  airwork logbook add note "flares high" --student Ann --by Ike --for-instructors
  airwork logbook add lesson lesson.toml --student Ann --instructor Ike

The endorsements and dates there are: airwork logbook list kinds. A date of your own needs --expires.
"""

from __future__ import annotations

import argparse
from contextlib import suppress
from pathlib import Path

from airwork.cli import DONE
from airwork.cli.logbook_tools import now_s, opened


def configure(parser: argparse.ArgumentParser, what: str) -> None:
    add = parser.add_argument
    if what in {"endorsement", "date"}:
        add("--kind", required=True, help="which: airwork logbook list kinds")
        add("--on", metavar="DATE", help="when given; today if not given")
        add("--expires", metavar="DATE", help="when written on it; else as the rules say")
    if what == "endorsement":
        add("--student", required=True, metavar="NAME")
        add("--instructor", required=True, metavar="NAME")
        add("--airplane", default="", metavar="MODEL", help="make and model, or a registration in the logbook")
        add("--place", default="", metavar="IDENT")
        add("--words", default="", help="conditions and limits")
        add("--result", default="", help="of the test endorsed for")
    elif what == "date":
        add("--person", "--student", dest="person", required=True, metavar="NAME")
        add("--remark", default="")
    elif what == "note":
        add("words", metavar="WORDS")
        add("--student", required=True, metavar="NAME")
        add("--by", metavar="NAME")
        add("--flight", metavar="ID")
        add("--for-instructors", action="store_true", help="not for the student's eyes")
    else:
        add("file", metavar="LESSON.toml", type=Path)
        add("--student", required=True, metavar="NAME")
        add("--instructor", metavar="NAME")
        add("--title", default="")
        add("--start", help='"2026-06-16 09:00"')


def run(args: argparse.Namespace, what: str) -> int:
    """Enter it."""
    return {"endorsement": _endorsement, "date": _date, "note": _note, "lesson": _lesson}[what](args)


def _endorsement(args: argparse.Namespace) -> int:
    from airwork.errors import InputError
    from airwork.logbook import fleet, keeping, people
    from airwork.logbook.days import local_date, read_date

    with opened(args) as store, store.change() as connection:
        student = people.find_person(connection, args.student)
        teacher = people.find_person(connection, args.instructor, instructor=True)
        model = args.airplane
        if model:
            with suppress(InputError):  # a model no airplane of the logbook has is taken as written
                model = fleet.find_airplane(connection, model).make_model
        done = keeping.endorse(
            connection, student, teacher, args.kind,
            given_on=read_date(args.on, "--on") if args.on else local_date(now_s(), student.time_zone),
            now_utc_s=now_s(), expires_on=read_date(args.expires, "--expires") if args.expires else None,
            make_model=model, place=args.place, words=args.words, result=args.result,
        )  # fmt: skip
        lacks = keeping.lacking(connection, student, done.rule, done.held.on_date, done.held.make_model)
    print(f"endorsed {student.name}: {done.text}, {f'good until {done.until}' if done.until else 'does not expire'}")
    if done.rule:
        print(f"  {done.rule.known}{'; ' + done.rule.note if done.rule.note else ''}")
    for line in lacks:
        print(f"  {line}")
    return DONE


def _date(args: argparse.Namespace) -> int:
    from airwork.logbook import keeping, people
    from airwork.logbook.days import local_date, read_date

    with opened(args) as store, store.change() as connection:
        person = people.find_person(connection, args.person)
        done = keeping.note_date(
            connection, person, args.kind,
            on_date=read_date(args.on, "--on") if args.on else local_date(now_s(), person.time_zone),
            now_utc_s=now_s(), expires_on=read_date(args.expires, "--expires") if args.expires else None,
            remark=args.remark,
        )  # fmt: skip
    print(f"{person.name}: {done.text}, {f'good until {done.until}' if done.until else 'does not expire'}")
    if done.rule:
        print(f"  {done.rule.known}{'; ' + done.rule.note if done.rule.note else ''}")
    if done.remark:
        print(f"  {done.remark}")
    return DONE


def _note(args: argparse.Namespace) -> int:
    from airwork.logbook import flights, keeping, people

    with opened(args) as store, store.change() as connection:
        about = people.find_person(connection, args.student)
        by = people.find_person(connection, args.by) if args.by else None
        on = flights.flight_by_id(connection, args.flight).id if args.flight else None
        keeping.add_note(
            connection, about, args.words, now_utc_s=now_s(), by=by, flight_id=on, for_instructors=args.for_instructors
        )
    print(f"noted for {about.name}")
    return DONE


def _lesson(args: argparse.Namespace) -> int:
    from airwork.logbook import people
    from airwork.logbook.days import read_moment
    from airwork.logbook.keeping import add_lesson

    with opened(args) as store, store.change() as connection:
        student = people.find_person(connection, args.student)
        teacher = people.find_person(connection, args.instructor, instructor=True) if args.instructor else None
        start = read_moment(args.start, student.time_zone, "--start") if args.start else None
        title = args.title or args.file.stem.replace("_", " ")
        lesson_id = add_lesson(
            connection, student, title, args.file.read_text("utf-8"), now_utc_s=now_s(), instructor=teacher,
            planned_utc_s=start,
        )  # fmt: skip
    print(f"lesson {lesson_id[:8]} entered for {student.name}: {title}")
    return DONE
