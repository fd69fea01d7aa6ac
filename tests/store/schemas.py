"""What a database says of its own tables, as text that two databases can be compared by."""

from __future__ import annotations

import re

from sqlalchemy import Connection

_POSTGRESQL = """
SELECT 'column ' || table_name || '.' || column_name || ' ' || data_type || ' null ' || is_nullable
       || ' default ' || coalesce(column_default, '-')
  FROM information_schema.columns WHERE table_schema = current_schema()
UNION ALL
SELECT 'constraint ' || conrelid::regclass || ' ' || conname || ' ' || pg_get_constraintdef(oid)
  FROM pg_constraint WHERE connamespace = current_schema()::regnamespace
UNION ALL
SELECT 'index ' || indexdef FROM pg_indexes WHERE schemaname = current_schema()
UNION ALL
SELECT 'trigger ' || pg_get_triggerdef(t.oid) FROM pg_trigger t JOIN pg_class c ON c.oid = t.tgrelid
 WHERE NOT tgisinternal AND c.relnamespace = current_schema()::regnamespace
UNION ALL
SELECT 'function ' || pg_get_functiondef(oid) FROM pg_proc WHERE pronamespace = current_schema()::regnamespace
"""


def schema_text(connection: Connection) -> list[str]:
    """Tables, columns, checks, references, indices, triggers and functions, but for Alembic's own table."""
    if connection.dialect.name == "sqlite":
        rows = connection.exec_driver_sql("SELECT type, name, sql FROM sqlite_master WHERE sql IS NOT NULL")
        lines = [f"{kind} {name} {_plain(sql)}" for kind, name, sql in rows]
    else:
        schema = connection.exec_driver_sql("SELECT current_schema()").scalar_one()
        lines = [
            _plain(line).replace(f"{schema}.", "") for (line,) in connection.exec_driver_sql(_POSTGRESQL)
        ]
    return sorted(line for line in lines if "alembic_version" not in line)


def _plain(sql: str) -> str:
    """Without the differences that mean nothing: spaces, quotes of a name, the order of a table's clauses."""
    text = re.sub(r"\s+", " ", sql).strip()
    if not text.startswith("CREATE TABLE"):
        return text
    head, _, rest = text.partition("(")
    body, _, options = rest.rpartition(")")
    clauses = re.split(r", (?=CONSTRAINT |\"?\w+\"? [A-Z])", body)
    named = head.replace('"', "")
    return f"{named}({', '.join(sorted(clause.strip() for clause in clauses))}){options}"
