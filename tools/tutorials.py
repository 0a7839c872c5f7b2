"""Follows the tutorials: runs every command in them in a clean folder and puts in what it really printed.

    python tools/tutorials.py                 # all of docs/tutorials; writes the pages
    python tools/tutorials.py instructor      # one of them

A page's ```console blocks hold commands, each on a line that begins with "$ " (a line that ends in a backslash goes
on); what stands below them is replaced. HTML comments right before a block, unseen on the page, say more:

    <!-- file NAME -->              the block is a file: write it
    <!-- show head 12 -->           print the first 12 lines and "..."
    <!-- show WORDS to WORDS -->    print from the line that holds the first words to before the one with the second
    <!-- show only WORDS -->        print only the lines that hold the words
    <!-- fails -->                  the block's last command is shown failing (it must); any other must succeed

The number after --flight or sign is put right: that of the flight entered last. For pages that name a PostgreSQL server
(SHOWN_DB) one is started, where its programs are installed; the address on the page stays.
"""

from __future__ import annotations

import contextlib
import os
import pwd
import re
import shutil
import socket
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

PAGES = Path(__file__).parent.parent / "docs" / "tutorials"
BLOCK = re.compile(r"(?P<notes>(?:<!-- .*? -->\n)*)```(?P<kind>\w+)\n(?P<body>.*?)^```$", re.M | re.S)
SHOWN_DB = "postgresql://airwork@school-server/airwork"


@contextlib.contextmanager
def postgres() -> Iterator[str]:
    """Address of an empty database on a throwaway server of this machine."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/postgres"))
    if not found:
        raise SystemExit("tutorials: PostgreSQL is not installed (Debian: postgresql)")
    who = {}
    if os.geteuid() == 0:  # it refuses to run as root
        person = pwd.getpwnam("postgres")
        who = {"user": person.pw_uid, "group": person.pw_gid, "extra_groups": []}
    folder = tempfile.mkdtemp(prefix="airwork-tutorial-")
    if who:
        os.chown(folder, int(str(who["user"])), int(str(who["group"])))
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]

    def run(program: str, *arguments: str) -> None:
        command = [str(found[-1].parent / program), *arguments]
        subprocess.run(command, cwd=folder, check=True, stdout=subprocess.DEVNULL, **who)  # type: ignore[call-overload]

    data = folder + "/data"
    run("initdb", "-D", data, "-U", "airwork", "-A", "trust", "-E", "UTF8", "--locale=C", "--no-sync")
    settings = f"-p {port} -c listen_addresses=127.0.0.1 -c unix_socket_directories=''"
    run("pg_ctl", "-D", data, "-w", "-l", folder + "/log", "-o", settings, "start")
    try:
        run("createdb", "-h", "127.0.0.1", "-p", str(port), "-U", "airwork", "airwork")
        yield f"postgresql://airwork@127.0.0.1:{port}/airwork"
    finally:
        run("pg_ctl", "-D", data, "-w", "-m", "immediate", "stop")
        shutil.rmtree(folder, ignore_errors=True)


class Follower:
    """Somebody following one page in an empty folder, with an empty home."""

    def __init__(self, folder: Path, database: str | None) -> None:
        self.folder, self.database, self.flight = folder / "work", database, ""
        home = folder / "home"
        self.folder.mkdir()
        home.mkdir()
        path = f"{Path(sys.executable).parent}:/usr/bin:/bin"
        self.env = {"HOME": str(home), "PATH": path, "LANG": "C.UTF-8", "COLUMNS": "100"}
        self.env["AIRWORK_SOURCES"] = str(PAGES.parent.parent)

    def block(self, found: re.Match[str]) -> str:
        """The block with what its commands print today; a file is written."""
        notes, kind, body = found["notes"], found["kind"], found["body"]
        said = re.findall(r"<!-- (\w+) ?(.*?) -->", notes)
        files = [rest for word, rest in said if word == "file"]
        if files:
            (self.folder / files[0]).write_text(body, encoding="utf-8")
        if kind != "console":
            return found[0]
        shows = [rest for word, rest in said if word == "show"]
        fails = any(word == "fails" for word, _ in said)
        out: list[str] = []
        commands = re.findall(r"^\$ ((?:.*\\\n)*.*)$", body, re.M)
        for k, command in enumerate(commands):
            command = re.sub(r"(--flight|logbook sign) [0-9a-f]{8}", rf"\1 {self.flight}", command)
            printed = self.run(command, fails and k == len(commands) - 1)
            self.flight = (re.findall(r"^flight ([0-9a-f]{8})", "\n".join(printed), re.M) or [self.flight])[-1]
            out += [f"$ {command}", *(chosen(printed, shows[0]) if shows else printed)]
        return f"{notes}```console\n" + "\n".join(out) + "\n```"

    def run(self, command: str, fails: bool) -> list[str]:
        """Lines a command printed. Stops the whole when it did not end as the page says."""
        real = command.replace(SHOWN_DB, self.database or SHOWN_DB)
        kept = re.fullmatch(r"export (\w+)=(\S+)", real)
        if kept:
            self.env[kept[1]] = kept[2]
        done = subprocess.run(
            ["bash", "-c", real], cwd=self.folder, env=self.env, text=True, stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT, check=False,
        )  # fmt: skip
        if (done.returncode != 0) != fails:
            raise SystemExit(f"tutorials: exit {done.returncode} from\n  {command}\n{done.stdout}")
        text = done.stdout.replace(self.database, SHOWN_DB) if self.database else done.stdout
        return [line.rstrip() for line in text.rstrip("\n").splitlines()]


def chosen(lines: list[str], which: str) -> list[str]:
    """The lines a page wants to show, with dots where some were left out."""
    head = re.fullmatch(r"head (\d+)", which)
    if head:
        first, end = 0, int(head[1])
    elif which.startswith("only "):
        return [line for line in lines if which[5:] in line] or never(which)
    else:
        start, _, stop = which.partition(" to ")
        first = next((k for k, line in enumerate(lines) if start in line), -1)
        if first < 0:
            never(which)
        end = next(
            (k for k, line in enumerate(lines) if k > first and stop and stop in line), -1 if stop else len(lines)
        )
        if end < 0:
            never(which)
    part = lines[first:end]
    while part and not part[-1]:
        part.pop()
    return [*(["..."] if first else []), *part, *(["..."] if end < len(lines) else [])]


def never(which: str) -> list[str]:
    """A page that asks for words that were not printed is out of date."""
    raise SystemExit(f"tutorials: nothing printed holds {which!r}")


def main() -> int:
    """Follow the pages named, or all."""
    names = sys.argv[1:] or sorted(page.stem for page in PAGES.glob("*.md"))
    for name in names:
        page = PAGES / f"{name}.md"
        text = page.read_text(encoding="utf-8")
        with contextlib.ExitStack() as stack:
            database = stack.enter_context(postgres()) if SHOWN_DB in text else None
            follower = Follower(Path(stack.enter_context(tempfile.TemporaryDirectory())), database)
            followed = BLOCK.sub(follower.block, text)
        page.write_text(followed, encoding="utf-8")
        print(f"{name}: {len(re.findall('^[$] ', followed, re.M))} commands followed")
    return 0


if __name__ == "__main__":
    sys.exit(main())
