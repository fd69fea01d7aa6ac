"""Finds texts about a person in every table, and erases them so that the chains still hold.

An erased text leaves its commitment in its place; its salt goes with it, so that nobody can guess it back.
Rows of the ledger are guarded: their triggers are lifted and put back within the same transaction.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from time import monotonic, sleep
from typing import Any

from sqlalchemy import Column, Connection, Select, String, Table, delete, literal_column, select, text, update
from sqlalchemy.engine import Engine

from fleetlog.domain.chain import commitment_in, forgotten, is_committed, salt_digest
from fleetlog.store import connecting
from fleetlog.store.chain.salts import SALTS, Commitments
from fleetlog.store.models.ledger import KEPT, Base

_AROUND = 60
"""So many characters before a name and from it on are shown of a text."""

_ASK_AGAIN_SECONDS = 0.05

_NOT_SEARCHED = KEPT | {"log_links", "engine_links", "fact_seals"}


@dataclass(frozen=True, slots=True)
class Cell:
    """One text in the log: its table, its row's primary key, and its column."""

    table: str
    key: tuple[Any, ...]
    column: str
    text: str
    named_at: int = field(default=0, compare=False)
    """About where in the text the name stands that was looked for."""

    @property
    def excerpt(self) -> str:
        """The text on one line; of a long one what stands around the name."""
        start = max(self.named_at - _AROUND, 0)
        end = self.named_at + _AROUND
        before, after = "…" if start else "", "…" if end < len(self.text) else ""
        return before + " ".join(self.text[start:end].split()) + after

    @property
    def name(self) -> str:
        """How a person names it, such as `visits:12:note`."""
        return f"{self.table}:{'/'.join(map(str, self.key))}:{self.column}"


def _texts_of(table: Table) -> list[str]:
    return [c.name for c in table.columns if is_committed(c.name)]


def _pattern(words: Iterable[str]) -> re.Pattern[str] | None:
    """What finds one of the words as a whole in a text without case; None without words."""
    wanted = "|".join(re.escape(word.casefold()) for word in sorted(set(words)) if word)
    return re.compile(rf"(?<!\w)(?:{wanted})(?!\w)") if wanted else None


def ids_naming(connection: Connection, words: Iterable[str]) -> list[str]:
    """The ids and serials that hold one of the words, such as `visits: J-Marsh`; they cannot be erased."""
    pattern = _pattern(words)
    if pattern is None:
        return []
    found: dict[str, str] = {}
    searched = (table for table in Base.metadata.sorted_tables if table.name not in _NOT_SEARCHED)
    for column in (column for table in searched for column in table.columns if _is_id(column)):
        for known in connection.scalars(select(column).distinct()):
            if known is not None and pattern.search(known.casefold()):
                found.setdefault(known, f"{column.table.name}: {known}")
    return list(found.values())


def _is_id(column: Column[Any]) -> bool:
    is_named = column.name in ("serial", "entered_as") or column.name.endswith("_id")
    return isinstance(column.type, String) and is_named


def cells_naming(connection: Connection, words: Iterable[str]) -> Iterator[Cell]:
    """Every text, of any table, that holds one of the words, whatever its case."""
    pattern = _pattern(words)
    if pattern is None:
        return
    for table in Base.metadata.sorted_tables:
        names = _texts_of(table)
        if table.name in _NOT_SEARCHED or not names:
            continue
        keys = list(table.primary_key.columns)
        wanted_columns: list[Any] = [literal_column(name) for name in (*(c.name for c in keys), *names)]
        query: Select[Any] = select(*wanted_columns)
        for row in connection.execute(query.select_from(table)):
            for name, value in zip(names, row[len(keys) :], strict=True):
                found = None if value is None else pattern.search(value.casefold())
                if found is not None and commitment_in(value) is None:
                    yield Cell(table.name, tuple(row[: len(keys)]), name, value, found.start())


def former_facts_of_owner(connection: Connection, owner_id: str) -> list[Cell]:
    """What the facts of one owner were before."""
    changes = Base.metadata.tables["changes"]
    query = select(changes.c.sequence, changes.c.was).where(
        changes.c.kind == "owners", changes.c.key == owner_id, changes.c.field != "remind_by"
    )
    return [
        Cell("changes", ("owners", owner_id, row[0]), "was", row[1])
        for row in connection.execute(query)
        if row[1] is not None and commitment_in(row[1]) is None
    ]


def cells_of_papers(connection: Connection, paper_ids: Iterable[str]) -> list[Cell]:
    """The names and notes of some papers."""
    papers = Base.metadata.tables["papers"]
    query = select(papers.c.paper_no, papers.c.name, papers.c.note).where(
        papers.c.paper_id.in_(list(paper_ids))
    )
    return [
        Cell("papers", (row[0],), column, value)
        for row in connection.execute(query)
        for column, value in (("name", row[1]), ("note", row[2]))
        if value is not None and commitment_in(value) is None
    ]


def erase_cells(connection: Connection, cells: Sequence[Cell]) -> None:
    """Puts each text's commitment in its place, and erases the salts of texts that stand nowhere else."""
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql("PRAGMA secure_delete = ON")
    commitments = Commitments(connection)
    commitments.prepare(cell.text for cell in cells)
    commitments.keep_new()
    lifted = [_lift(connection, table) for table in sorted({cell.table for cell in cells})]
    for cell in cells:
        table = Base.metadata.tables[cell.table]
        here = [literal_column(c.name) == v for c, v in zip(table.primary_key.columns, cell.key, strict=True)]
        values = {cell.column: forgotten(commitments[cell.text])}
        connection.execute(update(table).where(*here).values(values))
    for statements in lifted:
        for statement in statements:
            connection.exec_driver_sql(statement)
    for gone in {cell.text for cell in cells}:
        if not _stands_somewhere(connection, gone):
            connection.execute(delete(SALTS).where(SALTS.c.digest == salt_digest(gone)))


def _lift(connection: Connection, table: str) -> list[str]:
    """Lifts the guard of a table; gives the statements that put it back."""
    if connection.dialect.name == "postgresql":
        connection.exec_driver_sql(f'ALTER TABLE "{table}" DISABLE TRIGGER USER')
        return [f'ALTER TABLE "{table}" ENABLE TRIGGER USER']
    query = text("SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND tbl_name = :table")
    triggers = connection.execute(query, {"table": table}).all()
    for name, _ in triggers:
        connection.exec_driver_sql(f'DROP TRIGGER "{name}"')
    return [sql for _, sql in triggers]


def _stands_somewhere(connection: Connection, gone: str) -> bool:
    for table in Base.metadata.sorted_tables:
        if table.name not in _NOT_SEARCHED:
            for name in _texts_of(table):
                query: Select[Any] = select(literal_column("1")).select_from(table)
                if connection.execute(query.where(table.c[name] == gone).limit(1)).first() is not None:
                    return True
    return False


def sweep_pages(engine: Engine) -> bool:
    """Rewrites what held texts that were erased, so that none is in unused parts of its pages either.

    On PostgreSQL the tables of texts and their salts, one at a time, then the samples of columns that the
    server keeps to plan by, where the database is the user's own. False where others may still see what was
    there: readers that began before. Raises what the database does where others are at it too long.
    """
    if engine.dialect.name == "postgresql":
        with engine.execution_options(isolation_level="AUTOCOMMIT").connect() as connection:
            for rewriting in _rewritings():
                if not _earlier_readers_left(connection):
                    return False
                connection.exec_driver_sql(rewriting)
            return True
    with engine.connect() as connection:
        raw: Any = connection.connection.driver_connection
        raw.execute("VACUUM")
        ((held, *_),) = raw.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        return not held


def _earlier_readers_left(connection: Connection) -> bool:
    """Waits until nobody on PostgreSQL sees what was there before now; False where that takes too long.

    A snapshot, and with it a rewriting of tables, reaches back to the oldest transaction that runs and writes
    in any database of the server; of those that only read, the ones of this database and the standbys count.
    """
    now = connection.exec_driver_sql("SELECT pg_current_xact_id()::xid::text").scalar_one()
    oldest = text(
        "SELECT max(age(held)) > age(CAST(CAST(:now AS text) AS xid)) FROM ("
        "  SELECT backend_xid FROM pg_stat_activity WHERE pid <> pg_backend_pid()"
        "  UNION ALL SELECT backend_xmin FROM pg_stat_activity"
        "    WHERE pid <> pg_backend_pid() AND coalesce(datname = current_database(), true)"
        "  UNION ALL SELECT transaction FROM pg_prepared_xacts"
        "  UNION ALL SELECT xmin FROM pg_replication_slots"
        ") AS holding (held)"
    )
    until = monotonic() + connecting.BUSY_SECONDS
    while connection.scalar(oldest, {"now": now}):
        if monotonic() > until:
            return False
        sleep(_ASK_AGAIN_SECONDS)
    return True


def _rewritings() -> tuple[str, str]:
    """The statements that write tables of PostgreSQL anew, and the samples of them, taken again first."""
    tables = (table for table in Base.metadata.sorted_tables if table.name not in _NOT_SEARCHED)
    names = [*(table.name for table in tables if _texts_of(table)), SALTS.name]
    return (
        "VACUUM (FULL, ANALYZE) " + ", ".join(f'"{name}"' for name in names),
        "VACUUM FULL pg_catalog.pg_statistic",
    )
