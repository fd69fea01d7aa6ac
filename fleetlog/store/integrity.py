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


_STORED_AS = {"TEXT": "text", "VARCHAR": "text", "INTEGER": "integer", "BIGINT": "integer", "BLOB": "blob"}
_CALLED = {"text": "text", "integer": "a whole number", "real": "a broken number", "blob": "bytes"}


def kinds_found(connection: Connection) -> list[str]:
    """Values of another kind than their column's: SQLite keeps them, and nobody writes them.

    PostgreSQL takes none.
    """
    if connection.dialect.name != "sqlite":
        return []
    quote = connection.dialect.identifier_preparer.quote
    tables = "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%' ORDER BY name"
    found = []
    for (table,) in connection.exec_driver_sql(tables).all():
        columns = connection.exec_driver_sql(f"PRAGMA table_info({quote(table)})").all()
        keys = [quote(name) for _, name, *_, place in columns if place]
        for _, name, declared, *_ in columns:
            wanted = _STORED_AS.get(declared.partition("(")[0])
            if wanted is None:
                continue
            kind = f"typeof({quote(name)})"
            rows = connection.exec_driver_sql(
                f"SELECT {kind}, {', '.join(keys) or 'rowid'} FROM {quote(table)}"
                f" WHERE {kind} NOT IN ('null', '{wanted}')"
            )
            for stored, *key in rows:
                row = " ".join(map(str, key))
                belongs = f"{_CALLED[stored]} where {_CALLED[wanted]} belongs"
                found.append(f"table {table}, row {row}, column {name}: {belongs}")
    return found
