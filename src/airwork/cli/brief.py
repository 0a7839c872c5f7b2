"""Brief a lesson: the verdict, the plan in time, fuel by tank, and the card.

Prints verdict and plan, and writes the card beside the lesson file unless told otherwise.

  airwork brief lesson.toml
  airwork brief lesson.toml --card card.pdf --paper half-letter --briefing briefing.pdf
  airwork brief lesson.toml --json > briefing.json
  airwork brief demo --condition wind="260/25G34 kt" --condition temperature="34 °C"
  airwork brief lesson.toml --metar "METAR KOGA 201415Z 24011G17KT 10SM CLR 17/06 A3006" --kneeboard kneeboard.pdf

LESSON is a lesson file (`airwork lesson new` writes one), or "demo". --condition replaces one value of the lesson for
this run: wind, visibility, ceiling, temperature, dewpoint, altimeter, metar, taf, winds_aloft, area_metar, area_taf,
runway, date, time. --metar, --taf and --winds-aloft take the text as received. Where there is a logbook, it is asked
for currency, endorsements and medicals of student and instructor.
"""

from __future__ import annotations

import argparse
import sys
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from airwork.cli import DONE, NOT_MET
from airwork.errors import InputError

if TYPE_CHECKING:
    from airwork.lesson.briefing import Briefing


def configure(parser: argparse.ArgumentParser) -> None:
    add = parser.add_argument
    add("lesson", metavar="LESSON", help='lesson file, or "demo"')
    add("--card", metavar="OUT.pdf", type=Path, help="where to write the card; beside the lesson if not given")
    add("--no-card", action="store_true", help="write no card")
    add("--paper", choices=["a5", "half-letter"], help="size of the card; by the lesson's units if not given")
    add("--briefing", metavar="OUT", type=Path, help="write the full briefing too: .pdf or .html")
    add(
        "--kneeboard", metavar="OUT.pdf", type=Path, help="write one page for each exercise too, for the student's knee"
    )
    for name, what in (("metar", "report"), ("taf", "forecast"), ("winds-aloft", "winds aloft")):
        add(f"--{name}", metavar="TEXT", help=f"the {what} as received, in place of the lesson's")
    add(
        "--condition",
        "--conditions",
        action="append",
        default=[],
        metavar="NAME=VALUE",
        help='another value: wind="260/18 kt"',
    )
    add("--data", metavar="PATH|URL", help="the logbook to ask (else AIRWORK_DATA, else yours where there is one)")
    add("--no-logbook", action="store_true", help="ask no logbook")
    add("--full", action="store_true", help="print everything the full briefing holds")
    add("--json", action="store_true", help="the briefing as JSON on stdout, nothing else")
    add("--strict", action="store_true", help="exit with 1 when the verdict is not go")


def run(args: argparse.Namespace) -> int:
    """Print the briefing, write card and document, and say where they are."""
    kind = _kind_of(args.briefing)
    from airwork.jobs.briefing import ask_logbook, brief_lesson
    from airwork.jobs.files import DEMO_LESSON, load_lesson

    path = DEMO_LESSON if args.lesson == "demo" else Path(args.lesson)
    pasted = {name: getattr(args, name) for name in ("metar", "taf", "winds_aloft") if getattr(args, name)}
    lesson = load_lesson(path, conditions={**_changes(args.condition), **pasted})
    briefing = brief_lesson(lesson, currency=None if args.no_logbook else partial(ask_logbook, lesson, args.data))
    done = _write(args, briefing, path, kind)  # first: a reader that stops early (head) must not cost the card
    if args.json:
        print(briefing.to_json())
    else:
        from airwork.output.briefing_text import briefing_text

        print(briefing_text(briefing, full=args.full))
    for words, written in done:
        print(f"{words}: {written}", file=sys.stderr if args.json else sys.stdout)
    return NOT_MET if args.strict and briefing.verdict.level != "go" else DONE


def _write(args: argparse.Namespace, briefing: Briefing, path: Path, kind: str) -> list[tuple[str, Path]]:
    from airwork.files import write_whole
    from airwork.output.typeset import Paper, kneeboard_paper

    done = []
    paper: Paper = args.paper or kneeboard_paper(metric=briefing.style.metric)
    if not args.no_card:
        from airwork.output.card import card_pdf, make_card

        card = args.card or (Path.cwd() if args.lesson == "demo" else path.parent) / f"{path.stem}.card.pdf"
        write_whole(card, card_pdf(make_card(briefing), paper))
        done.append(("card", card))
    if args.kneeboard is not None:
        from airwork.output.kneeboard import kneeboard_pdf

        write_whole(args.kneeboard, kneeboard_pdf(briefing, paper))
        done.append(("kneeboard", args.kneeboard))
    if args.briefing is not None:
        if kind == "pdf":
            from airwork.output.briefing_pdf import briefing_pdf

            write_whole(args.briefing, briefing_pdf(briefing))
        else:
            from airwork.output.briefing_html import briefing_html

            write_whole(args.briefing, briefing_html(briefing))
        done.append(("briefing", args.briefing))
    return done


def _kind_of(briefing: Path | None) -> str:
    kind = "" if briefing is None else briefing.suffix.lower().lstrip(".")
    if briefing is not None and kind not in {"pdf", "html"}:
        raise InputError(f"{str(briefing)!r} must end in .pdf or .html.", where="--briefing")
    return kind


def _changes(given: list[str]) -> dict[str, str]:
    changes = {}
    for text in given:
        name, mark, value = text.partition("=")
        if not mark or not value.strip():
            raise InputError(f'{text!r}: write NAME=VALUE, e.g. wind="260/18 kt".', where="--condition")
        changes[name.strip().lower()] = value.strip()
    return changes
