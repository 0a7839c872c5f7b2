"""Logbooks for the tests: SQLite in a temporary folder, and PostgreSQL where its programs are installed.

The PostgreSQL server is a throwaway cluster on a free loopback port, started once a session as an unprivileged user
(AIRWORK_TEST_POSTGRES names a server to use instead); each test has a database of its own.
"""

from __future__ import annotations

import os
import pwd
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
import sqlalchemy as sa

from airwork.logbook.store import Store, open_store
from logbook import school

Full = tuple[Store, school.School]


@dataclass
class MakeStore:
    """Makes logbooks by name: empty ones, and ones with a row in every table, filled once for all tests."""

    copy: Callable[[str, str], Store]  # (name, "empty" or "full")
    who: school.School

    def __call__(self, name: str) -> Store:
        return self.copy(name, "empty")

    def full(self, name: str) -> Full:
        return self.copy(name, "full"), self.who


def _programs() -> Path | None:
    """The folder with initdb and pg_ctl."""
    for found in [shutil.which("initdb"), *map(str, sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb")))]:
        if found:
            real = Path(found).resolve()
            if (real.parent / "postgres").exists():
                return real.parent
    newest = sorted(Path("/usr/lib/postgresql").glob("*/bin/postgres"))
    return newest[-1].parent if newest else None


def _unprivileged() -> dict[str, object]:
    """As whom to run the server: PostgreSQL refuses to run as root."""
    if os.geteuid() != 0:
        return {}
    for name in ("postgres", "nobody"):
        try:
            found = pwd.getpwnam(name)
        except KeyError:
            continue
        return {"user": found.pw_uid, "group": found.pw_gid, "extra_groups": []}
    pytest.skip("no unprivileged user to run PostgreSQL as")


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[str]:
    """Address of a server in which databases may be made."""
    given = os.environ.get("AIRWORK_TEST_POSTGRES")
    if given:
        yield given
        return
    programs = _programs()
    if programs is None:
        # In CI the server is installed on purpose: there a missing one is a failure, not a skip.
        absent = pytest.fail if os.environ.get("AIRWORK_REQUIRE_POSTGRES") else pytest.skip
        absent("PostgreSQL is not installed (Debian: postgresql)")
    pytest.importorskip("psycopg")
    who = _unprivileged()
    folder = Path(tempfile.mkdtemp(prefix="postgres-", dir=os.environ.get("PYTEST_DEBUG_TEMPROOT")))
    if who:
        os.chown(folder, int(str(who["user"])), int(str(who["group"])))

    def run(*command: str) -> None:
        done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False, **who)  # type: ignore[call-overload]
        assert done.returncode == 0, done.stdout + done.stderr

    data = str(folder / "data")
    run(str(programs / "initdb"), "-D", data, "-U", "airwork", "-A", "trust", "-E", "UTF8", "--locale=C", "--no-sync")
    control = [str(programs / "pg_ctl"), "-D", data, "-w", "-t", "600"]
    for left in reversed(range(5)):
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        settings = (
            f"-p {port} -c listen_addresses=127.0.0.1 -c unix_socket_directories='' -c fsync=off -c shared_buffers=16MB"
            " -c full_page_writes=off -c wal_level=minimal -c max_wal_senders=0 -c autovacuum=off"  # nothing is kept
        )
        try:
            run(*control, "-l", str(folder / "log"), "-o", settings, "start")
            break
        except AssertionError:  # another program has taken that port meanwhile
            if not left:
                raise
    try:
        yield f"postgresql://airwork@127.0.0.1:{port}/postgres"
    finally:
        run(*control, "-m", "immediate", "stop")
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(scope="session")
def files(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, school.School]:
    """Folder of an empty logbook and a full one, made once; each test takes copies. Who is in the full one."""
    folder = tmp_path_factory.mktemp("logbooks")
    open_store(folder / "empty.sqlite", create=True).close()
    full = open_store(shutil.copy(folder / "empty.sqlite", folder / "full.sqlite"))
    who = school.fill(full)
    full.close()
    return folder, who


@pytest.fixture(scope="session")
def server(postgres_server: str) -> Iterator[tuple[sa.Engine, str, school.School]]:
    """The server, the address of a database on it but for its name, and who is in the full logbook there."""
    address, url = postgres_server.rsplit("/", 1)[0], postgres_server.replace("postgresql://", "postgresql+psycopg://")
    engine = sa.create_engine(url, isolation_level="AUTOCOMMIT")  # one connection kept: beginning one takes 15 ms
    empty, filled = _template("empty"), _template("full")
    with engine.connect() as connection:
        connection.exec_driver_sql(f'CREATE DATABASE "{empty}"')
        open_store(f"{address}/{empty}", create=True).close()
        connection.exec_driver_sql(f'CREATE DATABASE "{filled}" TEMPLATE "{empty}"')
    full = open_store(f"{address}/{filled}")
    who = school.fill(full)
    full.close()
    yield engine, address, who
    with engine.connect() as connection:
        for name in (empty, filled):
            connection.exec_driver_sql(f'DROP DATABASE "{name}" WITH (FORCE)')
    engine.dispose()


def _template(kind: str) -> str:
    return f"{kind}_{os.getpid()}"


BOTH = ("sqlite", pytest.param("postgres", marks=pytest.mark.postgres))


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Every test on both kinds, but where its file says that one will do: a copy on a server costs a tenth second."""
    if "make_store" in metafunc.fixturenames:
        metafunc.parametrize("make_store", getattr(metafunc.module, "DATABASES", BOTH), indirect=True)


@pytest.fixture
def make_store(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[MakeStore]:
    """Makes logbooks by name, of either kind."""
    made: list[Store] = []
    if request.param == "sqlite":
        folder, who = request.getfixturevalue("files")

        def copied(name: str, kind: str) -> Store:
            made.append(open_store(shutil.copy(folder / f"{kind}.sqlite", tmp_path / f"{name}.sqlite")))
            return made[-1]

        yield MakeStore(copied, who)
        for store in made:
            store.close()
        return
    server, address, who = request.getfixturevalue("server")
    names: list[str] = []

    def make_database(name: str, kind: str) -> Store:
        database = f"test_{os.getpid()}_{abs(hash(request.node.nodeid)) % 10**9}_{name}"
        with server.connect() as connection:
            connection.exec_driver_sql(f'DROP DATABASE IF EXISTS "{database}" WITH (FORCE)')
            # Its files copied as they lie: two thirds less processor time than by the log, which newer servers take.
            copied = "STRATEGY FILE_COPY" if connection.dialect.server_version_info >= (15,) else ""  # type: ignore[operator]
            connection.exec_driver_sql(f'CREATE DATABASE "{database}" TEMPLATE "{_template(kind)}" {copied}')
        names.append(database)
        made.append(open_store(f"{address}/{database}"))
        return made[-1]

    yield MakeStore(make_database, who)
    for store in made:
        store.close()
    with server.connect() as connection:
        for database in names:
            connection.exec_driver_sql(f'DROP DATABASE "{database}" WITH (FORCE)')


@pytest.fixture
def store(make_store: MakeStore) -> Store:
    """One empty logbook."""
    return make_store("logbook")


@pytest.fixture
def full(make_store: MakeStore) -> Full:
    """One logbook with a row in every table, and who is in it."""
    return make_store.full("logbook")
