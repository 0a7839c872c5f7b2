"""What the logbook's commands share: the option for the logbook, opening it, tables, hours, JSON."""

from __future__ import annotations

import argparse
import shutil
import textwrap
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    from airwork.logbook.merging import Merged
    from airwork.logbook.store import Store


@dataclass(frozen=True, slots=True)
class Told:
    """What came of a command: the facts as data, the same as text, the exit code."""

    data: Any
    text: Callable[[], str]
    code: int = 0


def data_option(parser: argparse.ArgumentParser) -> None:
    """--data: which logbook."""
    parser.add_argument(
        "--data",
        metavar="PATH|URL",
        help="the logbook: a file, a folder, or postgresql://… (else AIRWORK_DATA, else yours)",
    )


def json_option(parser: argparse.ArgumentParser) -> None:
    """--json: the same facts as data."""
    parser.add_argument("--json", action="store_true", help="the same facts as JSON, units in the key names")


def agree_option(parser: argparse.ArgumentParser) -> None:
    """--agree: changes to what is in the logbook already."""
    parser.add_argument(
        "--agree", action="store_true", help="take changes to what is here already; without it they are only listed"
    )


def password_option(parser: argparse.ArgumentParser) -> None:
    """--password-file: for scripts; otherwise it is asked for, or read as a line from stdin."""
    parser.add_argument(
        "--password-file", metavar="FILE", help="its first line is the password; asked for, or a line on stdin, without"
    )


def password(args: argparse.Namespace, whose: str, *, twice: bool = False) -> str:
    """A password: from the file named, typed unseen at a terminal, else the next line on stdin."""
    import getpass
    import sys
    from pathlib import Path

    if args.password_file is not None:
        return (Path(args.password_file).read_text("utf-8").splitlines() or [""])[0]
    if not sys.stdin.isatty():
        return sys.stdin.readline().rstrip("\n")
    typed = getpass.getpass(f"{whose}: ")
    if twice and getpass.getpass("once more: ") != typed:
        from airwork.errors import InputError

        raise InputError("the two are not the same; nothing was changed.", where="password")
    return typed


def now_s() -> float:
    """Now, in seconds since 1970 UTC."""
    return time.time()


@contextmanager
def opened(
    args: argparse.Namespace, book: Literal["store", "read", "change", "own"] = "store", *, create: bool = False
) -> Iterator[Any]:
    """The logbook asked for, closed afterwards: its store, or a connection to read or for one change; own: nothing."""
    from airwork.logbook.store import open_store

    if book == "own":
        yield None
        return
    store: Store = open_store(args.data, create=create)
    try:
        if book == "store":
            yield store
        else:
            with store.read() if book == "read" else store.change() as connection:
                yield connection
    finally:
        store.close()


# What the tables of the logbook are called by people, one and many; the rest is called as it is.
_THINGS = {
    "person": ("person", "people"),
    "movement": ("entry of takeoffs and landings", "entries of takeoffs and landings"),
    "episode": ("maneuver", "maneuvers"),
    "criterion": ("judged number", "judged numbers"),
    "dated": ("date", "dates"),
    "removed": ("removal", "removals"),
    "recording_bytes": ("recording's bytes", "recordings' bytes"),
    "history": ("entry of the history", "entries of the history"),
}


def counted(number: int, thing: str) -> str:
    """ "1 flight", "3 flights", "2 people"; also of the logbook's tables by their names."""
    one, many = _THINGS.get(thing, (thing.replace("_", " "), f"{thing.replace('_', ' ')}s"))
    return f"{number:,} {one if number == 1 else many}"


def counted_all(numbers: Mapping[str, int], none: str = "") -> str:
    """ "1 person, 3 flights": what there is of each table."""
    return ", ".join(counted(n, thing) for thing, n in numbers.items() if n) or none


def held(rows: Mapping[str, int]) -> str:
    """What a logbook holds, in a line."""
    return ", ".join(counted(rows[thing], thing) for thing in ("person", "flight", "recording"))


def joined(done: Merged, added: str, changed: str, nothing: str) -> str:
    """What came of rows brought in from elsewhere."""
    first, put_right = nothing, counted_all(done.changed)
    if not done.nothing_new:
        first = f"{added}: {counted_all(done.added, 'nothing')}" + (f"; {changed}: {put_right}" if put_right else "")
    return lines(first, *done.changes, *done.said)


def table(head: Sequence[str], rows: Sequence[Sequence[str]], *, right: Sequence[int] = (), indent: str = "") -> str:
    """Columns under a head; the last one is wrapped to the terminal."""
    if not rows:
        return f"{indent}none"
    cells = [[str(c) for c in row] for row in [head, *rows]]
    widths = [max(len(row[i]) for row in cells) for i in range(len(head))]
    room = max(
        30, min(140, shutil.get_terminal_size((110, 40)).columns) - len(indent) - sum(widths[:-1]) - 2 * (len(head) - 1)
    )
    out = []
    for n, row in enumerate(cells):
        parts = [c.rjust(w) if i in right else c.ljust(w) for i, (c, w) in enumerate(zip(row, widths, strict=True))]
        last = textwrap.wrap(row[-1], room) or [""]
        if len(head) - 1 in right:
            last = [parts[-1]]
        front = "  ".join(parts[:-1]) + ("  " if len(head) > 1 else "")
        out.append((indent + front + last[0]).rstrip())
        out += [indent + " " * len(front) + more for more in last[1:]]
        if n == 0:
            out.append(indent + "  ".join("-" * w for w in [*widths[:-1], min(widths[-1], room)]))
    return "\n".join(out)


def lines(first: str, *more: str) -> str:
    """A line, and remarks under it."""
    return "\n".join([first, *(f"  {line}" for line in more)])


def typed(args: argparse.Namespace) -> dict[str, str | None]:
    """The options as texts, by name; of several for one, all, with ; between them, or blanks (of a route)."""
    found = {name: "; ".join(v) if isinstance(v, list) else v for name, v in vars(args).items()}
    if isinstance(getattr(args, "route", None), list):
        found["route"] = " ".join(args.route)
    return {name: str(value) for name, value in found.items() if value is not None and value is not False}
