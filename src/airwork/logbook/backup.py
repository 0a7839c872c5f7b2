"""Backing a logbook up to one SQLite file, checked before it counts, and restoring it here or elsewhere.

A backup is itself a logbook: it opens with --data. A school's PostgreSQL logbook is backed up to the same kind of file.
"""

from __future__ import annotations

import dataclasses
import re
import sqlite3
import tempfile
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from urllib.parse import quote

from airwork.errors import AirworkError, InputError
from airwork.logbook import carry, history, sqlite_files
from airwork.logbook.checking import check
from airwork.logbook.schema import TABLES
from airwork.logbook.store import Store, open_store

_DATED = re.compile(r"logbook-\d{8}T\d{6}Z\.sqlite")


@dataclass(frozen=True, slots=True)
class Copied:
    """A backup or a restoration done. rows : by table. newest : hash of the history's newest entry, to note down.

    wrong : what `check` finds wrong with it. kept : where what was replaced is kept, "" where nothing was.
    """

    path: str
    size_bytes: int
    rows: dict[str, int]
    newest: str = ""
    wrong: tuple[str, ...] = ()
    kept: str = ""


def back_up(store: Store, path: Path) -> Copied:
    """Write a backup, whole or not at all, and open it to see that it holds every row.

    Raises
    ------
    InputError : the file exists and is no backup, or is the logbook itself.
    """
    if store.path is not None and path.exists() and path.samefile(store.path):
        raise InputError("is the logbook itself; choose another file.", where=str(path))
    if path.exists() and not _is_logbook(path):
        raise InputError("exists and is no logbook; choose another name.", where=str(path))
    with sqlite_files.beside(path) as draft:
        if store.is_sqlite:
            with store.read() as connection:
                wanted = carry.counts(connection)
                sqlite_files.backed_up(connection.connection.driver_connection, draft)
        else:
            copy = dataclasses.replace(open_store(draft, create=True), keeps_history=False)  # as it is, right or wrong
            try:
                with store.read() as source, copy.change() as target:
                    wanted = carry.copy_all(source, target)
            finally:
                copy.close()
            sqlite_files.fold_wal(draft)
        found = _checked(draft)
        if found != wanted:
            raise AirworkError(f"{path}: the backup doesn't hold every row; nothing was written. Try again.")
        sqlite_files.settle(draft, path)
    looked = check(store)
    return Copied(str(path), path.stat().st_size, found, looked.newest, looked.wrong)


def back_up_in(store: Store, folder: Path, keep: int) -> tuple[Copied, tuple[str, ...]]:
    """A backup named by its moment, in a folder of them; then, if it is whole, all but the newest `keep` go.

    Returns
    -------
    the backup, and the names of those taken away: only files so named, and only once the new one is checked.
    """
    done = back_up(store, folder / f"logbook-{datetime.now(UTC):%Y%m%dT%H%M%SZ}.sqlite")
    dated = sorted(p for p in folder.iterdir() if _DATED.fullmatch(p.name))
    gone = [] if done.wrong else dated[: max(len(dated) - keep, 0)]
    for old in gone:
        old.unlink()
    return done, tuple(old.name for old in gone)


def restore(backup: Path, store: Store, *, replace: bool = False, agreed: bool = False) -> Copied:
    """Bring a backup into a logbook: an empty one, or, with `replace`, instead of everything in it. One transaction.

    The backup is checked first, and one with something wrong in it is restored when that is `agreed`; one of an older
    airwork is brought up to date on a copy, never in place. What is replaced in a file is kept beside it.
    """
    if not backup.is_file():
        raise InputError("there is no such file.", where=str(backup))
    if not _is_logbook(backup):
        raise InputError("is no backup of a logbook.", where=str(backup))
    with tempfile.TemporaryDirectory(prefix="airwork-") as folder:
        draft = Path(folder) / "backup.sqlite"
        _copied(backup, draft)
        _checked(draft)
        old = open_store(draft)
        kept = ""
        try:
            if (wrong := check(old).wrong) and not agreed:
                raise AirworkError(
                    f"{backup.name}: {'; '.join(wrong[:3])}. Nothing was changed; --agree restores it all the same."
                )
            if replace and store.path is not None:
                kept = f"{store.path}.before-{datetime.now(UTC):%Y%m%dT%H%M%SZ}"
                with store.read() as connection:
                    sqlite_files.copied(connection.connection.driver_connection, Path(kept))
            with old.read() as source, store.change() as target:
                there, there_newest = carry.counts(target), history.newest(target)
                if any(there.values()):
                    if not replace:
                        raise InputError(
                            f"holds {there['person']} people and {there['flight']} flights; --replace puts the backup "
                            "in their place, airwork logbook merge joins the two.",
                            where=store.where,
                        )
                    carry.clear(target)
                done = carry.copy_all(source, target)
                if carry.counts(target) != done:
                    raise AirworkError(f"{store.where}: not every row arrived; nothing was changed.")
                history.mark(target, "restored", {"from": backup.name, "instead of": there_newest})
                newest = history.newest(target)
        finally:
            old.close()
    return Copied(store.where, backup.stat().st_size, done, newest, wrong, kept)


def _copied(backup: Path, draft: Path) -> None:
    """All of it: what lies in a write-ahead log beside it too, as of a logbook copied while it was open."""
    try:
        with closing(sqlite3.connect(f"file:{quote(str(backup.resolve()))}?mode=ro", uri=True)) as source:
            sqlite_files.backed_up(source, draft)
    except sqlite3.DatabaseError as problem:
        raise AirworkError(f"{backup.name}: the file is damaged ({problem}).") from None


def set_aside(path: Path, backup: Path) -> Path:
    """A damaged logbook moved to a name of its own, once its backup is found whole; nothing is thrown away."""
    _checked(backup)
    aside = path.with_name(f"{path.name}.damaged-{datetime.now(UTC):%Y%m%dT%H%M%SZ}")
    for end in ("-wal", "-shm"):  # what was not folded into it yet belongs to it
        beside = path.with_name(path.name + end)
        if beside.exists():
            beside.replace(aside.with_name(aside.name + end))
    return path.replace(aside)


def _is_logbook(path: Path) -> bool:
    asked = "SELECT 1 FROM sqlite_master WHERE name = 'alembic_version'"
    try:
        with closing(sqlite3.connect(f"file:{path}?mode=ro", uri=True)) as connection:
            return connection.execute(asked).fetchone() is not None
    except sqlite3.DatabaseError:
        return False


def _checked(draft: Path) -> dict[str, int]:
    """Row counts of a SQLite logbook found whole; AirworkError when it is not."""
    connection = sqlite3.connect(draft)
    try:
        if wrong := sqlite_files.damage(connection.execute):
            raise AirworkError(f"{draft.name}: the file is damaged ({wrong[0]}).")
        names = {row[0] for row in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
        return {
            t.name: int(connection.execute(f"SELECT count(*) FROM {t.name}").fetchone()[0])
            for t in TABLES
            if t.name in names
        }
    except sqlite3.DatabaseError as problem:
        raise AirworkError(f"{draft.name}: the file is damaged ({problem}).") from None
    finally:
        connection.close()
