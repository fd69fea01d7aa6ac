"""What every table is made on: names of constraints, types of columns, and what all rows of a kind carry."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime
from decimal import Decimal
from typing import Any, ClassVar

from sqlalchemy import CheckConstraint, ForeignKey, MetaData, Text
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

from fleetlog.store.column_types import Day, Figure, Moment


class Base(DeclarativeBase):
    """Base of all tables; constraints have names, so that migrations can speak of them."""

    metadata = MetaData(
        naming_convention={
            "pk": "pk_%(table_name)s",
            "fk": "fk_%(table_name)s_%(column_0_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "ck": "ck_%(table_name)s_%(constraint_name)s",
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        }
    )
    type_annotation_map: ClassVar[dict[Any, Any]] = {
        str: Text,
        date: Day,
        datetime: Moment,
        Decimal: Figure,
    }


def one_of(column: str, choices: Iterable[str]) -> CheckConstraint:
    """A column that holds one of the words of the trade, or nothing."""
    listed = ", ".join(f"'{word}'" for word in choices)
    return CheckConstraint(f"{column} IN ({listed})", name=f"{column}_known")


def not_negative(column: str) -> CheckConstraint:
    """A column of hours or months that is 0 or more."""
    return CheckConstraint(f"{column} >= 0", name=f"{column}_not_negative")


class Writing(Base):
    """One transaction: who wrote, and when. Every row names the writing it came with."""

    __tablename__ = "writings"
    writing_no: Mapped[int] = mapped_column(primary_key=True)
    recorded_at: Mapped[datetime]
    recorded_by: Mapped[str]


class OnceKey(Base):
    """A key under which something was recorded, so that it is not recorded twice."""

    __tablename__ = "once_keys"
    once_key: Mapped[str] = mapped_column(primary_key=True)
    writing_no: Mapped[int] = mapped_column(ForeignKey("writings.writing_no"), unique=True)
    mark: Mapped[str | None]


class Recorded:
    """Rows that say which writing they came with."""

    writing_no: Mapped[int] = mapped_column(ForeignKey("writings.writing_no"), sort_order=90)


class Ended(Recorded):
    """Rows whose end is filled in later, once; `end_writing_no` is the writing that did."""

    end_writing_no: Mapped[int | None] = mapped_column(ForeignKey("writings.writing_no"), sort_order=91)


class EndedForReason(Ended):
    """Rows whose end says why it came: `end_reason` is filled in with it."""

    end_reason: Mapped[str | None] = mapped_column(sort_order=92)


class OfEngine(Recorded):
    """Rows of one engine's ledger, in the order in which they were written."""

    engine_no: Mapped[int] = mapped_column(ForeignKey("engines.engine_no"), sort_order=-2)
    sequence: Mapped[int] = mapped_column(sort_order=-1)
