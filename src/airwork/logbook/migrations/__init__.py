"""The tables' history: each version is a named step under `versions`; a step and its noting share one transaction.

A new logbook takes the tables of the schema at once; the steps are for one that an older airwork made.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import sqlalchemy as sa
from sqlalchemy import Connection

from airwork.logbook.schema import metadata

if TYPE_CHECKING:
    from alembic.config import Config
    from alembic.script import ScriptDirectory

HEAD = "0003"  # the newest step; named here so that an up-to-date logbook opens without loading Alembic
TABLE = "alembic_version"


def version(connection: Connection) -> str | None:
    """The step a database stands at; None when it has no tables of ours."""
    if not sa.inspect(connection).has_table(TABLE):
        return None
    found = connection.execute(sa.text(f"SELECT version_num FROM {TABLE}")).scalar()
    return None if found is None else str(found)


def begin(connection: Connection) -> None:
    """Make the tables of an empty database and note where they stand, in the connection's transaction."""
    stands = sa.Table(TABLE, sa.MetaData(), sa.Column("version_num", sa.String(32), nullable=False),
                      sa.PrimaryKeyConstraint("version_num", name=f"{TABLE}_pkc"))  # fmt: skip
    metadata.create_all(connection, checkfirst=False)
    stands.create(connection)
    connection.execute(stands.insert().values(version_num=HEAD))


def known(step: str) -> bool:
    """Whether a step is in this program's history (an older airwork meets a newer logbook)."""
    return any(revision.revision == step for revision in _scripts().walk_revisions())


def upgrade(connection: Connection) -> None:
    """Apply the missing steps, in the connection's transaction."""
    from alembic.runtime.environment import EnvironmentContext

    config, scripts = _config(), _scripts()

    def steps(revision: object, _context: object) -> object:
        return scripts._upgrade_revs("head", revision)  # type: ignore[arg-type]

    with EnvironmentContext(config, scripts, fn=steps) as environment:
        # SQLite's changes to tables are transactional too, once its driver stops committing on its own (see store.py).
        environment.configure(connection=connection, transactional_ddl=True, transaction_per_migration=False)
        environment.run_migrations()


def _config() -> Config:
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    return config


def _scripts() -> ScriptDirectory:
    from alembic.script import ScriptDirectory

    return ScriptDirectory.from_config(_config())
