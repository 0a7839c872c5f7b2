"""Do the whole job on the demo: brief a lesson, debrief its recordings, fill a logbook, open the page.

Everything in it is invented but the field and the lake: people, airplanes, weather, flights (flown in a flight dynamics
library). The folder is yours to change; running the command again makes only what is missing. The page is opened at a
terminal only, and serves until Ctrl+C.

  airwork demo
  airwork demo --into my_demo
  airwork demo --no-page
"""

from __future__ import annotations

import argparse
import contextlib
import io
import sys
import textwrap
import tomllib
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

from airwork.cli import CAUTION, DONE, main
from airwork.errors import InputError

DEFAULT = "airwork-demo"
USUAL_PORT = 8642  # of `airwork serve`


def configure(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("folder", metavar="FOLDER", nargs="?", type=Path, help="the same as --into")
    parser.add_argument("--into", metavar="FOLDER", type=Path, help=f"folder; {DEFAULT} if not given")
    parser.add_argument("--no-page", action="store_true", help="don't open the page at the end")


def run(args: argparse.Namespace) -> int:
    """Copy, brief, debrief, record; say what was made and what to try next; open the page."""
    folder: Path = args.into or args.folder or Path(DEFAULT)
    folder.mkdir(parents=True, exist_ok=True)
    files = resources.files("airwork").joinpath("demo_files")
    _copy(files, folder)
    print(f"The demo is in {folder}/. Invented people, airplanes and flights; not for navigation.\n")
    for lesson in sorted((folder / "lessons").glob("*.toml")):
        _brief(lesson)
    index = tomllib.loads((folder / "recordings" / "index.toml").read_text(encoding="utf-8"))
    for entry in index["recording"]:
        _debrief(folder, entry)
    _record(folder, index)
    print("Try next:")
    print("  airwork numbers larkmoor_155 --altitude 6500ft --altimeter 30.05inHg --oat 24C --weight 2200lb")
    print(f"  airwork brief {next(iter(sorted((folder / 'lessons').glob('*.toml'))))}")
    first = index["recording"][0]
    print(f"  airwork debrief {folder / 'recordings' / first['file']} --airplane {first['airplane']}")
    book = folder / "logbook.sqlite"
    print(f'  airwork logbook progress "{index["student"]["name"]}" --data {book}')
    print(f"  airwork serve --folder {folder} --data {book}")
    print(f"\n{CAUTION}")
    if args.no_page or not (sys.stdin.isatty() and sys.stdout.isatty()):
        return DONE
    print()
    return main(["serve", "--folder", str(folder), "--data", str(book), "--port", str(_free_port()), "--open"])


def _free_port() -> int:
    """The usual port, or 0 (any) where something listens there already."""
    import socket

    with socket.socket() as trying:
        trying.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            trying.bind(("127.0.0.1", USUAL_PORT))
        except OSError:
            return 0
    return USUAL_PORT


def _record(folder: Path, index: dict[str, Any]) -> None:
    """Fill a logbook by the very commands a user would type; one that is there already stays as it is."""
    book = folder / "logbook.sqlite"
    if book.exists():
        print(f"Record   {book} is there already; left as it is\n")
        return
    student, teacher = index["student"], index["instructor"]
    lines = [
        ["add", "student", student["name"], "--born", student["born"], "--zone", student["zone"], "--aimed", "private"],
        ["add", "instructor", teacher["name"], "--held", "commercial", "--zone", teacher["zone"]],
    ]
    lines += [["add", "airplane", mark, "--file", airplane] for airplane, mark in index["registrations"].items()]
    lines += [["add", "place", ident, "--zone", zone] for ident, zone in index["places"].items()]
    for person, held in index["dates"].items():
        lines += [["add", "date", "--person", person, "--kind", kind, "--on", on] for kind, on in held.items()]
    solo, both = index["solo"], ["--student", student["name"], "--instructor", teacher["name"]]
    for kind in solo["kinds"]:
        what = ["--kind", kind, "--on", solo["on"], "--airplane", index["registrations"][solo["airplane"]]]
        lines.append(["add", "endorsement", *what, *both])
    for entry in index["recording"]:
        if entry.get("pilot") == student["name"]:
            who = [*both[:2], "--role", "solo"] if entry.get("role") == "solo" else both
            mark = index["registrations"][entry["airplane"]]
            lines.append(["import", str(folder / "recordings" / entry["file"]), *who, "--airplane", mark])
    print(f"Record   {book}")
    for line in lines:
        said = io.StringIO()
        with contextlib.redirect_stdout(said):
            code = main(["logbook", *line, "--data", str(book)])
        if code != DONE:
            raise InputError("the demo's logbook could not be filled; see the line above.", where=str(book))
        print(f"         {said.getvalue().splitlines()[0]}")
    print()


def _copy(source: Traversable, into: Path) -> None:
    """Copy a folder of the package; a file that is there already is the user's and stays."""
    from airwork.files import write_whole

    for item in source.iterdir():
        if item.name.startswith(("_", ".")):
            continue
        target = into / item.name
        if item.is_dir():
            target.mkdir(exist_ok=True)
            _copy(item, target)
        elif not target.exists():
            write_whole(target, item.read_bytes())


def _brief(lesson: Path) -> None:
    from airwork.files import write_whole
    from airwork.jobs.briefing import brief_lesson
    from airwork.output.card import card_pdf, make_card

    briefing = brief_lesson(lesson)
    card = lesson.with_suffix(".card.pdf")
    write_whole(card, card_pdf(make_card(briefing), "a5"))
    print(f"Brief    {lesson.name}: {briefing.verdict.headline}")
    print(f"         card: {card}\n")


def _debrief(folder: Path, entry: dict[str, Any]) -> None:
    from airwork.debrief.ideals import ideals_of
    from airwork.files import write_whole
    from airwork.jobs.debriefing import debrief_flight
    from airwork.logbook.attempts import named_in_a_line
    from airwork.output.report import report_html
    from airwork.web.land import surroundings

    recording = folder / "recordings" / entry["file"]
    airplane = folder / "airplanes" / f"{entry['airplane']}.toml"
    found = debrief_flight(recording, airplane=airplane, standard=entry["standard"], weight=entry["weight"])
    report = recording.with_suffix(".debrief.html")
    write_whole(report, report_html(found, zone=entry["zone"], ideals=ideals_of(found), around=surroundings))
    words = [f"{named_in_a_line(g.episode.kind)}{' (not held)' if g.met is False else ''}" for g in found.episodes]
    print(f"Debrief  {recording.name}: {entry['title']}")
    print(textwrap.fill(", ".join(words), 100, initial_indent=" " * 9, subsequent_indent=" " * 9))
    print(f"         report: {report}\n")
