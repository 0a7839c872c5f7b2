"""SQLite files written whole: a draft beside the file, settled on the disk, then moved into place."""

from __future__ import annotations

import os
import sqlite3
import tempfile
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from airwork.errors import AirworkError


def copied(raw: Any, path: Path) -> None:
    """A copy of the open SQLite database `raw` (the driver's connection) as it stands at this moment."""
    with beside(path) as draft:
        backed_up(raw, draft)
        settle(draft, path)


@contextmanager
def beside(path: Path) -> Iterator[Path]:
    """A draft in the folder of a file, gone afterwards unless it was moved into place.

    Raises
    ------
    AirworkError : the disk is full, or fails, or the folder's own is not there.
    """
    draft = path
    try:
        path.parent.mkdir(exist_ok=True)  # not its parents: a stick that is not there is no place
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".sqlite")
        os.close(handle)
        draft = Path(name)
        yield draft
    except (sqlite3.OperationalError, OSError) as problem:
        said = getattr(problem, "strerror", None) or problem
        raise AirworkError(f"{path}: {said}; nothing was written. Make room or choose another place.") from None
    finally:
        if draft != path:
            for end in ("", "-wal", "-shm", "-journal"):
                draft.with_name(draft.name + end).unlink(missing_ok=True)


def backed_up(raw: Any, draft: Path) -> None:
    """SQLite's own online backup of an open database into a draft."""
    target = sqlite3.connect(draft)
    try:
        raw.backup(target)
        target.execute("PRAGMA journal_mode = DELETE")  # one file, nothing beside it
    finally:
        target.close()


def damage(run: Callable[[str], Iterable[Any]]) -> list[str]:
    """What of an open SQLite database is not whole, in words.

    run : a statement's rows; a file too broken to be looked over raises as its connection does.
    """
    found = [str(row[0]) for row in run("PRAGMA integrity_check") if row[0] != "ok"]
    return found + [f"a row of {row[0]} refers to nothing" for row in run("PRAGMA foreign_key_check")]


def refuse_foreign(raw: Any, tables: Iterable[str], where: str) -> None:
    """A trigger, or a view in the place of a table, acts on what is entered or read without its being seen.

    Raises
    ------
    AirworkError : there is one; airwork never makes any.
    """
    ours = set(tables)
    for kind, name in raw.execute("SELECT type, name FROM sqlite_master WHERE type IN ('trigger', 'view')"):
        if kind == "trigger" or name in ours:
            raise AirworkError(
                f"{where}: has a {kind} {name!r}, put in by something other than airwork; it would change or hide what "
                "is entered. Restore a backup, or take it out with a database's tools and run airwork logbook check."
            )


def fold_wal(draft: Path) -> None:
    """Everything into the one file, no write-ahead log beside it."""
    connection = sqlite3.connect(draft)
    try:
        connection.execute("PRAGMA journal_mode = DELETE")
    finally:
        connection.close()


def settle(draft: Path, path: Path) -> None:
    """On the disk, readable by its owner alone, then in place."""
    with draft.open("rb") as file:
        os.fsync(file.fileno())
    draft.chmod(0o600)
    draft.replace(path)
