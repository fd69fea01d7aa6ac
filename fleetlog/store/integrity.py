"""Asks the database itself whether the file is sound and every reference leads somewhere."""

from __future__ import annotations

from sqlalchemy import Connection, text


def damage_found(connection: Connection) -> list[str]:
    """What the database finds wrong with its pages, indices and references; nothing where all is well.

    PostgreSQL keeps references and pages under its own eye, so only SQLite is asked.
    """
    if connection.dialect.name != "sqlite":
        return []
    found = [str(row[0]) for row in connection.execute(text("PRAGMA integrity_check")) if row[0] != "ok"]
    for table, row, parent, _ in connection.execute(text("PRAGMA foreign_key_check")):
        found.append(f"table {table}, row {row}: it refers to a row of {parent} that is not there")
    return found
