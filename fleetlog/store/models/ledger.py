"""The tables of the log, as typed SQLAlchemy models.

The models say what a log looks like; the migrations in `migrations/` must come to the same. Rows are read and
written by set-based statements (`shapes`), without these classes: a look-up has no time to import them.

Rows of an engine's ledger are keyed by `engine_no` and `sequence`, their place in that engine's ledger, and
on SQLite the two large tables are clustered by that key: one engine is one stretch of the file. Ids of the
exchange format are unique beside it.
"""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import (
    Connection,
    ForeignKey,
    Index,
    MetaData,
    PrimaryKeyConstraint,
    Table,
    UniqueConstraint,
    event,
    text,
)
from sqlalchemy.orm import Mapped, mapped_column

from fleetlog.domain import words
from fleetlog.domain.batch import FILLED_LATER
from fleetlog.store.append_only import POSTGRESQL_FUNCTION, guard_ddl
from fleetlog.store.models import (  # noqa: F401  # tables of the same metadata
    chain,
    diary,
    evidence,
    kept,
    papers,
    parts,
    terms,
)
from fleetlog.store.models.base import Base as Base
from fleetlog.store.models.base import Ended, OfEngine, Recorded, not_negative, one_of
from fleetlog.store.models.kept import KEPT as KEPT


class Schedule(Recorded, Base):
    """A revision of a service schedule, as its TOML text."""

    __tablename__ = "schedules"
    __table_args__ = (PrimaryKeyConstraint("name", "revision"),)
    name: Mapped[str]
    revision: Mapped[int] = mapped_column(autoincrement=False)
    toml: Mapped[str]


class Owner(Recorded, Base):
    """A customer; `version` counts the changes, so that two people don't undo each other's."""

    __tablename__ = "owners"
    __table_args__ = (one_of("remind_by", words.REMIND_BY),)
    owner_no: Mapped[int] = mapped_column(primary_key=True)
    owner_id: Mapped[str] = mapped_column(unique=True)
    name: Mapped[str]
    email: Mapped[str | None]
    phone: Mapped[str | None]
    address: Mapped[str | None]
    remind_by: Mapped[str | None]
    version: Mapped[int] = mapped_column(server_default=text("1"))


class Boat(Recorded, Base):
    """A vessel, as it is today."""

    __tablename__ = "boats"
    __table_args__ = (one_of("water", words.WATERS), one_of("use", words.USES))
    boat_no: Mapped[int] = mapped_column(primary_key=True)
    boat_id: Mapped[str] = mapped_column(unique=True)
    owner_id: Mapped[str | None] = mapped_column(ForeignKey("owners.owner_id"), index=True)
    name: Mapped[str]
    registration: Mapped[str | None]
    water: Mapped[str | None]
    use: Mapped[str | None]
    berth: Mapped[str | None]
    version: Mapped[int] = mapped_column(server_default=text("1"))


class Engine(Recorded, Base):
    """One outboard, as it is today; `serial_key` is the serial without case, for parts of it.

    `entered_as` is its first serial, which stays: chains, and rows that name an engine in a text, go by it.
    """

    __tablename__ = "engines"
    __table_args__ = (
        one_of("state", words.ENGINE_STATES),
        Index(None, "serial_key", "serial"),
        Index(
            None,
            "entered_as",
            sqlite_where=text("entered_as <> serial"),
            postgresql_where=text("entered_as <> serial"),
        ),
    )
    engine_no: Mapped[int] = mapped_column(primary_key=True)
    serial: Mapped[str] = mapped_column(unique=True)
    serial_key: Mapped[str]
    maker: Mapped[str | None]
    model: Mapped[str | None]
    family: Mapped[str | None]
    model_year: Mapped[int | None]
    in_service_on: Mapped[date | None]
    logged_from_new: Mapped[bool]
    hour_meter: Mapped[bool]
    schedule: Mapped[str | None]
    boat_id: Mapped[str | None] = mapped_column(ForeignKey("boats.boat_id"), index=True)
    position: Mapped[str | None]
    state: Mapped[str]
    version: Mapped[int] = mapped_column(server_default=text("1"))
    entered_as: Mapped[str] = mapped_column(unique=True)


class Change(Recorded, Base):
    """What a fact of an owner, a boat or an engine was, until a day."""

    __tablename__ = "changes"
    __table_args__ = (
        PrimaryKeyConstraint("kind", "key", "sequence"),
        one_of("kind", ("owners", "boats", "engines")),
    )
    kind: Mapped[str]
    key: Mapped[str]
    sequence: Mapped[int] = mapped_column(autoincrement=False)
    field: Mapped[str]
    was: Mapped[str | None]
    until_on: Mapped[date]
    changed_at: Mapped[datetime]
    changed_by: Mapped[str]
    reason: Mapped[str | None]


class Ownership(Recorded, Base):
    """From a day on a boat belongs to an owner."""

    __tablename__ = "ownership"
    __table_args__ = (PrimaryKeyConstraint("boat_id", "from_on"),)
    boat_id: Mapped[str] = mapped_column(ForeignKey("boats.boat_id"))
    from_on: Mapped[date] = mapped_column(autoincrement=False)
    owner_id: Mapped[str] = mapped_column(ForeignKey("owners.owner_id"), index=True)


class Layup(Ended, Base):
    """A time in which a boat is stored and not run."""

    __tablename__ = "layups"
    __table_args__ = (PrimaryKeyConstraint("boat_id", "from_on"),)
    boat_id: Mapped[str] = mapped_column(ForeignKey("boats.boat_id"))
    from_on: Mapped[date] = mapped_column(autoincrement=False)
    to_on: Mapped[date | None]


class LayupChange(Recorded, Base):
    """A later word on a lay-up; of several of one lay-up the last counts."""

    __tablename__ = "layup_changes"
    __table_args__ = (one_of("change", words.LAYUP_CHANGES),)
    change_no: Mapped[int] = mapped_column(primary_key=True)
    change_id: Mapped[str] = mapped_column(unique=True)
    boat_id: Mapped[str] = mapped_column(ForeignKey("boats.boat_id"), index=True)
    from_on: Mapped[date]
    change: Mapped[str]
    to_on: Mapped[date | None]
    changed_at: Mapped[datetime]
    changed_by: Mapped[str]
    reason: Mapped[str | None]


class Mount(Ended, Base):
    """An engine's stay on a boat."""

    __tablename__ = "mounts"
    __table_args__ = (PrimaryKeyConstraint("engine_no", "from_on"),)
    engine_no: Mapped[int] = mapped_column(ForeignKey("engines.engine_no"), autoincrement=False)
    from_on: Mapped[date] = mapped_column(autoincrement=False)
    boat_id: Mapped[str] = mapped_column(ForeignKey("boats.boat_id"), index=True)
    position: Mapped[str | None]
    to_on: Mapped[date | None]


class Correction(Recorded, Base):
    """What was so in place of a sale or a move that was recorded; of several of one row the last counts."""

    __tablename__ = "corrections"
    __table_args__ = (one_of("kind", words.CORRECTED),)
    correction_no: Mapped[int] = mapped_column(primary_key=True)
    correction_id: Mapped[str] = mapped_column(unique=True)
    kind: Mapped[str]
    key: Mapped[str] = mapped_column(index=True)
    from_on: Mapped[date]
    owner_id: Mapped[str | None] = mapped_column(ForeignKey("owners.owner_id"))
    boat_id: Mapped[str | None] = mapped_column(ForeignKey("boats.boat_id"), index=True)
    position: Mapped[str | None]
    corrected_at: Mapped[datetime]
    corrected_by: Mapped[str]
    reason: Mapped[str | None]


class Meter(OfEngine, Base):
    """A change of hour meter."""

    __tablename__ = "meters"
    __table_args__ = (
        PrimaryKeyConstraint("engine_no", "sequence"),
        UniqueConstraint("engine_no", "fitted_on"),
        not_negative("engine_tenths"),
        not_negative("meter_reads_tenths"),
    )
    fitted_on: Mapped[date]
    engine_tenths: Mapped[int]
    meter_reads_tenths: Mapped[int]
    reason: Mapped[str | None]


class Reading(OfEngine, Base):
    """What an hour meter showed on a date."""

    __tablename__ = "readings"
    __table_args__ = (
        PrimaryKeyConstraint("engine_no", "sequence"),
        not_negative("meter_tenths"),
        {"sqlite_with_rowid": False},
    )
    reading_id: Mapped[str] = mapped_column(unique=True)
    read_on: Mapped[date]
    meter_tenths: Mapped[int]
    source: Mapped[str | None]
    read_by: Mapped[str | None]


class Ruling(OfEngine, Base):
    """A person's word on a reading; the latest one counts."""

    __tablename__ = "rulings"
    __table_args__ = (
        PrimaryKeyConstraint("engine_no", "sequence"),
        one_of("status", words.READING_STATUSES),
    )
    reading_id: Mapped[str] = mapped_column(ForeignKey("readings.reading_id"), index=True)
    status: Mapped[str]
    reason: Mapped[str | None]


class Item(Recorded, Base):
    """A kind of item, in each spelling it was written in; spellings with one `name_key` mean the same."""

    __tablename__ = "items"
    item_no: Mapped[int] = mapped_column(primary_key=True)
    name_key: Mapped[str] = mapped_column(index=True)
    spelling: Mapped[str] = mapped_column(unique=True)


class Visit(Ended, Base):
    """Entries made together: why the boat came, and what came of it."""

    __tablename__ = "visits"
    visit_no: Mapped[int] = mapped_column(primary_key=True)
    visit_id: Mapped[str] = mapped_column(unique=True)
    boat_id: Mapped[str | None] = mapped_column(ForeignKey("boats.boat_id"), index=True)
    opened_on: Mapped[date | None]
    closed_on: Mapped[date | None]
    why: Mapped[str | None]
    complaint: Mapped[str | None]
    cause: Mapped[str | None]
    correction: Mapped[str | None]
    advised: Mapped[str | None]
    note: Mapped[str | None]


class Entry(OfEngine, Base):
    """One thing done or found on a date."""

    __tablename__ = "entries"
    __table_args__ = (
        PrimaryKeyConstraint("engine_no", "sequence"),
        one_of("action", words.ACTIONS),
        one_of("scope", words.REBUILD_SCOPES),
        one_of("condition", words.CONDITIONS),
        one_of("reason", words.REMOVAL_REASONS),
        not_negative("meter_tenths"),
        not_negative("prior_tenths"),
        not_negative("prior_months"),
        Index(
            None,
            "from_serial",
            sqlite_where=text("from_serial IS NOT NULL"),
            postgresql_where=text("from_serial IS NOT NULL"),
        ),
        {"sqlite_with_rowid": False},
    )
    entry_id: Mapped[str] = mapped_column(unique=True)
    done_on: Mapped[date]
    action: Mapped[str]
    visit_id: Mapped[str | None] = mapped_column(ForeignKey("visits.visit_id"))
    meter_tenths: Mapped[int | None]
    scope: Mapped[str | None]
    item_no: Mapped[int | None] = mapped_column(ForeignKey("items.item_no"))
    position: Mapped[str | None]
    part_number: Mapped[str | None]
    lot: Mapped[str | None]
    condition: Mapped[str | None]
    prior_tenths: Mapped[int | None]
    prior_months: Mapped[int | None]
    from_serial: Mapped[str | None]
    reason: Mapped[str | None]
    again_tenths: Mapped[int | None]
    again_months: Mapped[int | None]
    measured: Mapped[str | None]
    unit: Mapped[str | None]
    note: Mapped[str | None]
    done_by: Mapped[str | None]
    checked_by: Mapped[str | None]


class Void(OfEngine, Base):
    """An entry taken back."""

    __tablename__ = "voids"
    __table_args__ = (PrimaryKeyConstraint("engine_no", "sequence"),)
    entry_id: Mapped[str] = mapped_column(ForeignKey("entries.entry_id"), unique=True)
    voided_at: Mapped[datetime]
    voided_by: Mapped[str]
    reason: Mapped[str]
    replaced_by: Mapped[str | None] = mapped_column(ForeignKey("entries.entry_id"))


class Deferral(OfEngine, Base):
    """A line's limits moved out by a person."""

    __tablename__ = "deferrals"
    __table_args__ = (PrimaryKeyConstraint("engine_no", "sequence"),)
    deferral_id: Mapped[str] = mapped_column(unique=True)
    rule: Mapped[str]
    deferred_by: Mapped[str]
    deferred_at: Mapped[datetime]
    reason: Mapped[str]
    position: Mapped[str | None]
    until_on: Mapped[date | None]
    until_tenths: Mapped[int | None]


_ENDS = ("end_writing_no", "end_reason")
MAY_FILL: dict[str, tuple[str, ...]] = {
    kind: (end, *(c for c in _ENDS if c in Base.metadata.tables[kind].columns))
    for kind, end in FILLED_LATER.items()
}
"""Columns of the ledger that may be filled in while they are empty."""

CURRENT = frozenset({"owners", "boats", "engines"})
"""Tables that hold what is so today; what was is in `changes`. All others but `KEPT` are append-only."""


@event.listens_for(Base.metadata, "after_create")
def _guard(target: MetaData, connection: Connection, tables: list[Table] | None = None, **_: Any) -> None:
    dialect = connection.dialect.name
    if dialect == "postgresql":
        connection.exec_driver_sql(POSTGRESQL_FUNCTION.replace("%", "%%"))
    for table in target.sorted_tables if tables is None else tables:
        if table.name not in CURRENT | KEPT:
            names = [c.name for c in table.columns]
            for statement in guard_ddl(dialect, table.name, names, MAY_FILL.get(table.name, ())):
                connection.exec_driver_sql(statement)
