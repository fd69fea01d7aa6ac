"""Runs the migrations on a connection, and compares what a log is with what the models say.

The migrations are Alembic's, in the folder `migrations`: inside the package where it was installed, beside
it in a checkout. Alembic is imported only when a log is created, upgraded or compared.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection

import fleetlog
from fleetlog.errors.log import MigrationBrokeReferences

if TYPE_CHECKING:
    from alembic.config import Config
    from alembic.script import ScriptDirectory

HEAD = "0019"
"""The newest revision: what a log must be at to be read and written."""


def migrations_folder() -> Path:
    """Where the migrations are."""
    package = Path(fleetlog.__file__).parent
    inside = package / "migrations"
    return inside if inside.is_dir() else package.parent / "migrations"


def _config(connection: Connection | None = None) -> Config:
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(migrations_folder()).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    return config


def script_directory() -> ScriptDirectory:
    """The migrations as Alembic reads them."""
    from alembic.script import ScriptDirectory

    return ScriptDirectory.from_config(_config())


def known_revisions() -> list[str]:
    """Every revision from the first to the newest."""
    return [script.revision for script in script_directory().walk_revisions()][::-1]


def migrate(connection: Connection, revision: str) -> None:
    """Takes a log up or down to a revision (`base`: nothing) within the connection's transaction.

    On SQLite foreign keys must be off on the connection, since a table that is rebuilt would else take
    others' rows with it; the references are checked at the end. Raises MigrationBrokeReferences.
    """
    from alembic import command

    config = _config(connection)
    here = (
        connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar()
        if _dated(connection)
        else None
    )
    order = ["base", *known_revisions()] if here is not None else []
    if here is None or order.index(revision) >= order.index(here):
        command.upgrade(config, revision)
    else:
        command.downgrade(config, revision)
    if connection.dialect.name == "sqlite":
        broken = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
        if broken:
            raise MigrationBrokeReferences(revision, broken[0][0], len(broken))


def _dated(connection: Connection) -> bool:
    return connection.dialect.has_table(connection, "alembic_version")


def differences(connection: Connection) -> list[Any]:
    """What Alembic finds different between a log's tables and the models; nothing in a sound log."""
    from alembic.autogenerate import compare_metadata
    from alembic.migration import MigrationContext

    from fleetlog.store.models.ledger import Base

    options = {"compare_type": True, "compare_server_default": True}
    return list(compare_metadata(MigrationContext.configure(connection, opts=options), Base.metadata))
