"""The pages of docs/: links lead somewhere, commands are real and all named, code on a page runs, the site builds."""

from __future__ import annotations

import argparse
import doctest
import html
import importlib
import re
import runpy
import shlex
import subprocess
import sys
import types
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest

from airwork.cli import COMMANDS
from airwork.cli import _find as find_command
from airwork.maneuvers import ROOMS, rooms
from airwork.maneuvers.declared import Room
from airwork.maneuvers.grading.evidence import Evidence
from airwork.maneuvers.seeing.view_building import build_view
from airwork.maneuvers.setup import Order
from maneuvers.days import airplane, conditions, fitted, standard_for
from maneuvers.test_ideal_recognized import as_flight

ROOT = Path(__file__).parents[1]
DOCS = ROOT / "docs"
PAGES = sorted(DOCS.rglob("*.md"))
FENCE = re.compile(r"^```(\w*)\n(.*?)^```$", re.M | re.S)
# Left out: placeholders in capitals, pipes, and lists that explain a command on its own line after two blanks.
NOT_A_COMMAND = re.compile(r"…|\.\.\.|\b[A-Z]{4,}\b(?!\d)|: |\||\S {2,}[^# ]")
NAMES = [page.relative_to(DOCS).as_posix() for page in PAGES]


def prose(page: Path) -> str:
    """The page without its code, where a bracket is no link."""
    return re.sub(r"`[^`\n]*`", "", FENCE.sub("", page.read_text(encoding="utf-8")))


def anchors(page: Path) -> set[str]:
    """Ids of a page's headings, as the site's maker makes them."""
    from markdown.extensions.toc import slugify

    text = FENCE.sub("", page.read_text(encoding="utf-8"))
    heads = [re.sub(r"[`*]|\[([^\]]*)\]\([^)]*\)", r"\1", head) for head in re.findall(r"^#+ (.*)$", text, re.M)]
    return {slugify(html.unescape(head), "-") for head in heads}


@pytest.mark.parametrize("page", [*PAGES, ROOT / "README.md"], ids=[*NAMES, "README.md"])
def test_links_lead_to_a_page_and_a_heading_that_exist(page: Path) -> None:
    for target in re.findall(r"\]\(([^)\s]+)\)", prose(page)):
        if re.match(r"[a-z]+:", target):
            continue
        path, _, anchor = target.partition("#")
        leads_to = (page.parent / path).resolve() if path else page
        assert leads_to.exists(), target
        if page != ROOT / "README.md":
            assert leads_to.is_relative_to(DOCS), f"{target} leads out of the site"
        if anchor:
            assert anchor in anchors(leads_to), target


def test_every_command_is_named_on_a_page() -> None:
    text = "\n".join(page.read_text(encoding="utf-8") for page in PAGES)
    assert [name for name in COMMANDS if f"airwork {name}" not in text] == []


def test_every_room_is_on_the_page_of_maneuvers() -> None:
    text = (DOCS / "maneuvers.md").read_text(encoding="utf-8")
    assert [kind for kind in ROOMS if f"`{kind}`" not in text] == []


def test_the_page_says_where_each_maneuver_begins_and_ends() -> None:
    """Every room that recognizes says so in its own words, and the page has them."""
    text = (DOCS / "maneuvers.md").read_text(encoding="utf-8")
    seen = [one for one in rooms() if one.propose is not None]
    assert [one.kind for one in seen if f"| `{one.kind}` | {one.extent} |" not in text or "→" not in one.extent] == []


def commands() -> Iterator[tuple[str, str]]:
    """(page, command line) of every airwork command on the pages, those that a shell could run as they stand."""
    for name, page in zip(NAMES, PAGES, strict=True):
        text = page.read_text(encoding="utf-8")
        code = [body for _, body in FENCE.findall(text)] + re.findall(r"(?:^    .*\n)+", text, re.M)
        for block in code:
            for line in re.findall(r"^(?:    )?(?:\$ )?(airwork (?:.*\\\n)*.*)$", block, re.M):
                plain = re.sub(r" *\\\n *", " ", line)
                if not NOT_A_COMMAND.search(re.sub(r'"[^"]*"|KOGA', "", plain)):
                    yield name, plain


@pytest.mark.parametrize(("page", "line"), [pytest.param(*c, id=f"{c[0]}-{k}") for k, c in enumerate(commands())])
def test_a_command_on_a_page_is_understood(page: str, line: str) -> None:
    """Options and arguments are those of today's program; nothing is run."""
    words = shlex.split(line.partition(" > ")[0], comments=True)[1:]
    if words[-1] in {"COMMAND", "--help"}:
        return
    found = find_command(words)
    assert found, line
    name, rest = found
    module = importlib.import_module(f"airwork.cli.{COMMANDS[name][0]}")
    parser = argparse.ArgumentParser(prog=f"airwork {name}", allow_abbrev=False)
    module.configure(parser)
    try:
        parser.parse_args(rest)
    except SystemExit as refused:
        pytest.fail(f"{page}: {line}: exit {refused.code}")


def code_of(page: str, file: str) -> str:
    """A file that a tutorial has its reader write."""
    text = (DOCS / page).read_text(encoding="utf-8")
    found = re.search(rf"<!-- file {re.escape(file)} -->\n```\w+\n(.*?)^```$", text, re.M | re.S)
    assert found, file
    return found[1]


def test_the_maneuver_of_the_developers_tutorial_works() -> None:
    """Set up, flown ideally, seen by its own recognizer over most of its time, and graded."""
    code = code_of("tutorials/developer.md", "try/src/airwork/maneuvers/coordination_rolls.py")
    module = types.ModuleType("coordination_rolls")
    exec(compile(code, "coordination_rolls.py", "exec"), module.__dict__)
    room: Room = module.ROOM
    name, standard = "larkmoor_155", standard_for("steep_turn")
    day = conditions(name, "standard, 15 kt")
    order = Order(airplane(name), fitted(name), day, standard)
    trace = room.ideal(room.brief(order), order)
    flight = as_flight(trace)
    view = build_view(flight)
    assert view is not None
    best = max(room.seen(view), key=lambda e: e.score)
    assert best.score > 0.6
    assert best.end_s - best.start_s == pytest.approx(trace.time_s[-1] - 10.0, abs=8.0)
    assert room.grade is not None
    grade = room.grade(best, Evidence(flight, view, standard))
    assert grade.measured["sides"] == 8.0
    assert np.isfinite(grade.measured["nose_swing_deg"])


def test_the_notebook_page_does_the_whole_job_as_printed() -> None:
    """Its examples are run in order; an ellipsis stands for what a later airwork may find otherwise."""
    failed, tried = doctest.testfile(str(DOCS / "notebook.md"), module_relative=False, optionflags=doctest.ELLIPSIS)
    assert tried > 20
    assert failed == 0


@pytest.mark.parametrize("tool", ["api_page", "architecture_picture", "airplane_file_docs"])
def test_what_a_tool_writes_is_what_the_code_says(tool: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The reference from the docstrings, the picture of the floors, the airplane file's page from its models."""
    monkeypatch.setattr(sys, "argv", [tool, "--check"])
    assert runpy.run_path(str(ROOT / "tools" / f"{tool}.py"))["main"]() == 0, f"run python tools/{tool}.py"


class Loaded(HTMLParser):
    """What a page of the site would fetch by itself (a link that a reader clicks is not that)."""

    def __init__(self) -> None:
        super().__init__()
        self.addresses: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = dict(attrs)
        if tag in {"script", "img", "iframe", "source"}:
            self.addresses.append(found.get("src") or "")
        if tag == "link" and found.get("rel") in {"stylesheet", "icon", "shortcut icon", "preload", "preconnect"}:
            self.addresses.append(found.get("href") or "")


def test_the_site_builds_without_a_complaint_and_fetches_nothing_from_elsewhere(tmp_path: Path) -> None:
    """`mkdocs build --strict`: no page left out, no link or anchor broken. Then every page is looked through."""
    command = [sys.executable, "-m", "mkdocs", "build", "--strict", "--site-dir", str(tmp_path / "site")]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    pages = sorted((tmp_path / "site").rglob("*.html"))
    assert len(pages) > len(PAGES)
    for page in pages:
        loaded = Loaded()
        loaded.feed(page.read_text(encoding="utf-8"))
        assert [a for a in loaded.addresses if re.match(r"https?:|//", a)] == [], page.name
    for style in (tmp_path / "site").rglob("*.css"):
        assert not re.search(r"(?:url\(|@import )[\"']?(?:https?:)?//", style.read_text(encoding="utf-8")), style.name


def test_what_the_readme_shows_is_what_the_program_prints(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Every line below a command in its first example, in the demo's folder, without a logbook of one's own."""
    import shutil

    import airwork
    from airwork.cli import main

    shutil.copytree(Path(airwork.__file__).parent / "demo_files", tmp_path / "demo")
    monkeypatch.chdir(tmp_path / "demo")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    block = next(body for kind, body in FENCE.findall(text) if kind == "console")
    parts = re.split(r"^\$ airwork (.*)\n", block, flags=re.M)[1:]
    assert len(parts) == 6
    for line, shown in zip(parts[::2], parts[1::2], strict=True):
        assert main(shlex.split(line)) == 0
        printed = [p.split() for p in capsys.readouterr().out.splitlines()]  # blanks that don't break are blanks
        missing = [s for s in shown.splitlines() if s.strip() != "..." and s.split() not in printed]
        assert missing == [], line


@pytest.mark.parametrize("name", ["card.png", "debrief.png", "today.png"])
def test_a_picture_is_there_and_small(name: str) -> None:
    """Made by tools/pictures.py; 150 kB at most, so that a page opens at once."""
    path = DOCS / "pictures" / name
    assert path.read_bytes().startswith(b"\x89PNG")
    assert path.stat().st_size <= 150_000
