"""Triggers that keep the ledger append-only, whoever writes to it.

The migrations use these functions too: what they give for the same arguments never changes. On SQLite a
rebuilt table has lost its triggers, so a migration that rebuilds one puts them back.
"""

from __future__ import annotations

from collections.abc import Sequence

POSTGRESQL_FUNCTION = """\
CREATE FUNCTION fleetlog_refuse() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  RAISE EXCEPTION '%: rows of the ledger are never changed or deleted', TG_TABLE_NAME;
END $$"""


def guard_ddl(
    dialect: str, table: str, columns: Sequence[str] = (), may_fill: Sequence[str] = ()
) -> list[str]:
    """The statements that protect a table of the ledger.

    `may_fill` names columns that may be given a value as long as they are empty; `columns` are then all
    of the table's columns. PostgreSQL needs `POSTGRESQL_FUNCTION` to be there.
    """
    same = "IS" if dialect == "sqlite" else "IS NOT DISTINCT FROM"
    kept = [f"OLD.{c} {same} NEW.{c}" for c in columns if c not in may_fill]
    filled = [f"(OLD.{c} IS NULL OR OLD.{c} {same} NEW.{c})" for c in may_fill]
    when = f" WHEN (NOT ({' AND '.join(kept + filled)}))" if may_fill else ""
    if dialect == "sqlite":
        body = f"BEGIN SELECT RAISE(ABORT, '{table}: rows of the ledger are never changed or deleted'); END"
        return [
            f"CREATE TRIGGER {table}_never_changed BEFORE UPDATE ON {table}{when} {body}",
            f"CREATE TRIGGER {table}_never_deleted BEFORE DELETE ON {table} {body}",
        ]
    body = "EXECUTE FUNCTION fleetlog_refuse()"
    return [
        f"CREATE TRIGGER {table}_never_changed BEFORE UPDATE ON {table} FOR EACH ROW{when} {body}",
        f"CREATE TRIGGER {table}_never_deleted BEFORE DELETE ON {table} FOR EACH ROW {body}",
        f"CREATE TRIGGER {table}_never_emptied BEFORE TRUNCATE ON {table} FOR EACH STATEMENT {body}",
    ]
