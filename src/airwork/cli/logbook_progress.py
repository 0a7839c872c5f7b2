"""The trend of each task with its uncertainty, what to fly next and why, and the picture on one page.

  airwork logbook progress Ann
  airwork logbook progress Ann --out progress.pdf
  airwork logbook progress Ann --thresholds our_school.toml --json

The chance is that of the weakest criterion being held in the next attempt, with wind and airplane taken into account
where the flights can tell. The instructor's mark always stands.
"""

from __future__ import annotations

import argparse
from pathlib import Path

from sqlalchemy import Connection

from airwork.cli.logbook_tools import Told, now_s, table
from airwork.days import local_date
from airwork.errors import InputError
from airwork.files import write_whole
from airwork.logbook import pages, people
from airwork.logbook.progress import StudentProgress, TaskProgress
from airwork.logbook.thresholds import thresholds

BOOK = "read"


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("student", metavar="NAME")
    parser.add_argument("--out", metavar="FILE", type=Path, help="the picture: .png, .pdf or .svg")
    parser.add_argument("--thresholds", metavar="FILE", type=Path, help="a school's own thresholds (TOML)")


def run(args: argparse.Namespace, book: Connection) -> Told:
    """The tasks; the picture is drawn."""
    kind = "" if args.out is None else args.out.suffix.lower().lstrip(".")
    if args.out is not None and kind not in {"png", "pdf", "svg"}:
        raise InputError(f"{str(args.out)!r} must end in .png, .pdf or .svg.", where="--out")
    who = people.find_person(book, args.student)
    found = pages.progress_of(book, who, local_date(now_s(), who.time_zone), limits=thresholds(args.thresholds))
    if args.out is not None:
        from airwork.output.progress_picture import progress_picture

        write_whole(args.out, progress_picture(found, who.name, kind))
    out = [f"{who.name}, {found.standard}, {found.today}\n", "Fly next:", *next_lines(found), "", task_table(found)]
    out.append("\nChances are airwork's estimate from what was recorded; the instructor decides.")
    return Told(found, lambda: "\n".join(out if args.out is None else [*out, f"picture: {args.out}"]))


def next_lines(found: StudentProgress) -> list[str]:
    """The three to fly next and why."""
    if not found.next_three:
        return ["  nothing stands out"]
    return [f"  {n}. {task.title}: {task.why}" for n, task in enumerate(found.next_three, 1)]


def task_table(found: StudentProgress, *, flown_only: bool = False) -> str:
    rows = [_cells(t) for t in found.tasks if not flown_only or t.attempts or t.instructor or t.student]
    head = ("task", "status", "chance", "flown", "last", "instructor", "student", "why")
    return table(head, rows, right=(2, 3), indent="  ") if rows else "  none flown yet"


def _cells(t: TaskProgress) -> tuple[str, ...]:
    forecast = t.forecast_why
    if t.forecast:
        forecast = (
            f"ready in {t.forecast.low} to {t.forecast.high} more lessons with it "
            f"({t.forecast.sure:.0%} of likely courses, if learning goes on)"
        )
    why = "; ".join(part for part in (t.why, forecast) if part)
    chance = "" if t.chance_said is None else f"{t.chance_said:.0%}"
    return (
        t.title, t.status, chance, str(t.attempts or ""), str(t.last_flown or ""),
        t.instructor.level if t.instructor else "", t.student.level if t.student else "", why,
    )  # fmt: skip
