"""Opening a logbook: one SQLite file by default, PostgreSQL by address; every change is one transaction.

Both kinds behave alike: foreign keys hold, readers see one moment, writers wait for one another, and a change
that fails or a program that dies leaves nothing behind.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any
from urllib.parse import quote

import sqlalchemy as sa
from sqlalchemy import Connection, Engine
from sqlalchemy.exc import DatabaseError, IntegrityError, OperationalError
from sqlalchemy.pool import StaticPool

from airwork.errors import AirworkError, InputError
from airwork.logbook import history, migrations, sqlite_files
from airwork.logbook.schema import metadata

WAIT_S = 10.0  # how long a writer waits for another before it gives up
FILE_NAME = "logbook.sqlite"
# Pages of 16 kB (set when the file is made) and a journal of up to 64 MB: recordings of megabytes are written faster.
_PRAGMAS = (
    "page_size = 16384", "foreign_keys = ON", "secure_delete = ON", "journal_mode = WAL", "synchronous = FULL",
    "wal_autocheckpoint = 4000",
)  # fmt: skip
_READ_PRAGMAS = ("foreign_keys = ON",)
_WRITERS_LOCK = 0x61697277  # any fixed number: PostgreSQL's advisory lock for "one writer of an airwork logbook"


class Damaged(AirworkError):
    """A file that is no database any more. where : it, as its store calls it."""

    def __init__(self, where: str, said: str) -> None:
        self.where = where
        super().__init__(
            f"{where}: {said}. If it is a logbook, it is damaged: airwork logbook restore FILE --replace puts a backup "
            "in its place."
        )


@dataclass(frozen=True, slots=True)
class Store:
    """An open logbook. Equality is identity.

    where : the file or the address (without its password), for messages.
    """

    engine: Engine
    where: str
    path: Path | None  # None for PostgreSQL and for a logbook in memory
    keeps_history: bool = True  # False: a carrier between two logbooks
    read_only: bool = False  # on a medium or in a folder nobody can write to

    @property
    def is_sqlite(self) -> bool:
        """Kept in a file or in memory, not on a server."""
        return self.engine.dialect.name == "sqlite"

    @contextmanager
    def read(self) -> Iterator[Connection]:
        """A connection that sees the logbook as it stands at one moment."""
        with _said_plainly(self.where), self.engine.connect() as connection:
            if not self.is_sqlite:
                connection.execution_options(isolation_level="REPEATABLE READ", postgresql_readonly=True)
            with connection.begin():
                yield connection

    @contextmanager
    def change(self) -> Iterator[Connection]:
        """A connection for one change: all of it is kept, or, after any error, none. Writers wait for one another."""
        if self.read_only:
            raise AirworkError(f"{self.where}: can't be written here (read-only). Nothing was changed.")
        with _said_plainly(self.where), self.engine.connect() as connection:
            connection.execution_options(airwork_writes=True)
            with connection.begin():
                if not self.is_sqlite:
                    connection.execute(sa.text(f"SET LOCAL lock_timeout = {int(WAIT_S * 1000)}"))
                    connection.execute(sa.select(sa.func.pg_advisory_xact_lock(_WRITERS_LOCK)))
                if not self.keeps_history:
                    yield connection
                    return
                touched = history.tracked(connection)
                yield connection
                history.append(connection, touched)

    def close(self) -> None:
        """Let go of the file or the server."""
        self.engine.dispose()


def default_path() -> Path:
    """The logbook file in the platform's folder for a user's data."""
    from platformdirs import user_data_path

    return user_data_path("airwork", appauthor=False) / FILE_NAME


def open_store(where: str | Path | None = None, *, create: bool = False) -> Store:
    """Open a logbook and bring its tables up to date.

    Parameters
    ----------
    where : a file, a folder (the file in it is logbook.sqlite), or postgresql://…; None takes the environment's
        AIRWORK_DATA, else the platform's data folder.
    create : make an empty logbook where there is none; otherwise that is an InputError.
    """
    path = file_of(where)
    if path is None:
        store = _open_server(_named(where))
    else:
        if not path.exists():
            if not create:
                raise InputError(
                    "there is no logbook here yet; start one with: airwork logbook add student NAME.", where=str(path)
                )
            path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            os.close(os.open(path, os.O_CREAT | os.O_RDWR, 0o600))  # its owner's alone: names and medical dates
        store = Store(_sqlite_engine(path), str(path), path, read_only=not _writable(path))
    try:
        _bring_up_to_date(store, create=create)
    except BaseException:
        store.close()
        raise
    return store


def file_of(where: str | Path | None) -> Path | None:
    """The file a logbook is kept in, as `open_store` is told it; None for one on a server."""
    given = _named(where)
    path = Path(given).expanduser()
    return None if "://" in given else path / FILE_NAME if path.is_dir() or path.suffix == "" else path


def _named(where: str | Path | None) -> str:
    return str(where if where is not None else os.environ.get("AIRWORK_DATA") or default_path())


def memory_store() -> Store:
    """An empty logbook in memory, for carrying rows from one logbook to another."""
    store = Store(_sqlite_engine(None), "memory", None, keeps_history=False)
    with store.engine.connect() as connection:
        connection.connection.cursor().executescript(_all_tables())
    return store


@cache
def _all_tables() -> str:
    """SQLite's words that make every table, written out once: it takes four times as long as making them."""
    said: list[str] = []
    sqlite = sa.make_url("sqlite://").get_dialect()()
    listening = sa.create_mock_engine("sqlite://", lambda ddl, *_, **__: said.append(str(ddl.compile(dialect=sqlite))))
    metadata.create_all(listening, checkfirst=False)
    return ";".join(said)


def _writable(path: Path) -> bool:
    """Both the file and its folder: SQLite keeps files beside it."""
    return os.access(path, os.W_OK) and os.access(path.parent, os.W_OK)


def _address(path: Path | None) -> sa.URL | str:
    """SQLite's address of a file; of one that can't be written, such that nothing is wanted beside it."""
    if path is None:
        return "sqlite://"
    if _writable(path):
        return sa.URL.create("sqlite", database=str(path))
    journal = path.with_name(f"{path.name}-wal")
    still = {} if journal.exists() and journal.stat().st_size else {"immutable": "1"}  # else somebody is writing it
    query = {"mode": "ro", "uri": "true", **still}
    return sa.URL.create("sqlite", database=f"file:{quote(str(path.resolve()))}", query=query)


def _sqlite_engine(path: Path | None) -> Engine:
    options: dict[str, Any] = {"connect_args": {"timeout": WAIT_S, "check_same_thread": False}}
    if path is None:
        options["poolclass"] = StaticPool
    pragmas = _PRAGMAS if path is None or _writable(path) else _READ_PRAGMAS
    engine = sa.create_engine(_address(path), **options)

    @sa.event.listens_for(engine, "connect")
    def on_connect(raw: Any, _record: Any) -> None:
        raw.isolation_level = None  # this module begins transactions itself, so that changes to tables are in them too
        cursor = raw.cursor()
        for pragma in pragmas:
            cursor.execute(f"PRAGMA {pragma}")
        cursor.close()

    @sa.event.listens_for(engine, "begin")
    def on_begin(connection: Connection) -> None:
        writes = connection.get_execution_options().get("airwork_writes")
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    history.watch(engine)
    return engine


def _open_server(address: str) -> Store:
    scheme, rest = address.split("://", 1)
    if scheme not in {"postgresql", "postgres", "postgresql+psycopg"}:
        raise InputError(f"can't keep a logbook in {scheme!r}; give a file or a postgresql:// address.", where="--data")
    shown = re.sub(r":[^:@/]*@", ":…@", f"postgresql://{rest}")
    try:
        import psycopg  # noqa: F401
    except ImportError:
        raise InputError("needs the psycopg package: pip install 'airwork[school]'.", where=shown) from None
    try:
        url = sa.make_url(f"postgresql+psycopg://{rest}")
    except (sa.exc.ArgumentError, ValueError):
        raise InputError("is no address of a database; write postgresql://user@host/name.", where=shown) from None
    engine = sa.create_engine(url, connect_args={"connect_timeout": int(WAIT_S)})
    history.watch(engine)
    return Store(engine, shown, None)


def _bring_up_to_date(store: Store, *, create: bool) -> None:
    with store.read() as connection:
        if store.is_sqlite:
            sqlite_files.refuse_foreign(connection.connection.driver_connection, metadata.tables, store.where)
        found = migrations.version(connection)
        if found is None and sa.inspect(connection).get_table_names():
            raise InputError("is a database of something else; give airwork one of its own.", where=store.where)
    if found == migrations.HEAD:
        return
    if found is None and not create:
        raise InputError(
            "holds no logbook yet; start one with: airwork logbook add student NAME --data ….", where=store.where
        )
    if found is not None and not migrations.known(found):
        raise InputError(
            f"was written by a newer airwork (tables {found}); bring airwork up to date first.", where=store.where
        )
    if store.read_only:
        raise AirworkError(
            f"{store.where}: was written by an older airwork (tables {found}) and can't be written here (read-only); "
            "copy it to where it can be."
        )
    if found is not None and store.path is not None:
        with store.read() as connection:
            before = store.path.with_name(f"{store.path.name}.before-{migrations.HEAD}")
            sqlite_files.copied(connection.connection.driver_connection, before)
    with store.change() as connection:
        if found is None:
            migrations.begin(connection)
        else:
            migrations.upgrade(connection)
            history.take_stock(connection, everything=found < "0002")


@contextmanager
def _said_plainly(where: str) -> Iterator[None]:
    """A database's complaint as one line; programming errors pass through."""
    try:
        yield
    except IntegrityError:
        raise
    except OperationalError as problem:
        said = str(problem.orig).strip().splitlines()[0] if str(problem.orig).strip() else "no answer"
        if "locked" in said or "lock timeout" in said:
            raise AirworkError(
                f"{where}: another program has been writing for over {WAIT_S:.0f} s. Nothing was changed; try again."
            ) from None
        if "decode" in said:
            raise Damaged(where, said) from None
        if "unable to open" in said or "readonly" in said or "disk" in said or "connect" in said:
            full = " (is the disk full?)" if "disk" in said else ""
            raise AirworkError(f"{where}: {said}{full}. Nothing was changed.") from None
        raise
    except DatabaseError as problem:
        said = str(problem.orig).strip().splitlines()[0] if str(problem.orig).strip() else "no answer"
        if "not a database" in said or "malformed" in said or "encrypted" in said:
            raise Damaged(where, said) from None
        raise
