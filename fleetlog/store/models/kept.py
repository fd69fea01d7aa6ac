"""The tables of what is kept for speed: nothing in them but what can be worked out from the ledger again."""

from __future__ import annotations

from datetime import date

from sqlalchemy import ForeignKey, PrimaryKeyConstraint
from sqlalchemy.orm import Mapped, mapped_column

from fleetlog.store.models.base import Base


class ForecastParameters(Base):
    """What a fit of the fleet found out, as JSON text, and how many figures of meters it could see."""

    __tablename__ = "forecast_parameters"
    fit_no: Mapped[int] = mapped_column(primary_key=True)
    content_id: Mapped[str] = mapped_column(unique=True)
    fitted_on: Mapped[date] = mapped_column(index=True)
    figures: Mapped[int]
    parameters: Mapped[str]


class KeptEngine(Base):
    """What the kept lines of an engine have in common, and the days for which they hold.

    `touched_no` is the last writing that bears on the engine. It empties `fit`, `first_on` and `last_on`:
    the lines are then out of date, and stay so until they are worked out again.
    """

    __tablename__ = "kept_engines"
    engine_no: Mapped[int] = mapped_column(
        ForeignKey("engines.engine_no"), primary_key=True, autoincrement=False
    )
    touched_no: Mapped[int]
    fit: Mapped[str | None] = mapped_column(index=True)
    first_on: Mapped[date | None] = mapped_column(index=True)
    last_on: Mapped[date | None] = mapped_column(index=True)
    boat_id: Mapped[str | None] = mapped_column(index=True)
    owner_id: Mapped[str | None] = mapped_column(index=True)
    read_on: Mapped[date | None]
    read_tenths: Mapped[int | None]
    basis: Mapped[str | None]
    held: Mapped[int | None]


class KeptLine(Base):
    """One due line of an engine, as the interval engine gave it. Without references, for speed."""

    __tablename__ = "kept_lines"
    __table_args__ = (PrimaryKeyConstraint("engine_no", "line_no"), {"sqlite_with_rowid": False})
    engine_no: Mapped[int] = mapped_column(autoincrement=False)
    line_no: Mapped[int] = mapped_column(autoincrement=False)
    rule: Mapped[str]
    position: Mapped[str | None]
    last_done_on: Mapped[date | None]
    last_done_tenths: Mapped[int | None]
    due_on: Mapped[date | None]
    due_tenths: Mapped[int | None]
    governs: Mapped[str | None]
    early_on: Mapped[date | None]
    likely_on: Mapped[date | None]
    late_on: Mapped[date | None]
    deferred_on: Mapped[date | None]
    deferred_tenths: Mapped[int | None]
    always: Mapped[str | None]
    shows_on: Mapped[date | None] = mapped_column(index=True)
    off_on: Mapped[date | None]


KEPT = frozenset({"forecast_parameters", "kept_engines", "kept_lines", "salts"})
"""Tables that hold no part of the ledger: their rows may be replaced or erased."""
