"""The tables of terms (warranty, useful life), of advice to owners, and of superseded part numbers."""

from __future__ import annotations

from datetime import date

from sqlalchemy import ForeignKey, PrimaryKeyConstraint
from sqlalchemy.orm import Mapped, mapped_column

from fleetlog.domain.promises import ADVICE_WAYS, ANSWERS, TERM_KINDS
from fleetlog.store.models.base import Base, EndedForReason, OfEngine, not_negative, one_of


class Term(OfEngine, EndedForReason, Base):
    """A warranty or a useful life. Its withdrawal is filled in later, once."""

    __tablename__ = "terms"
    __table_args__ = (
        PrimaryKeyConstraint("engine_no", "sequence"),
        one_of("kind", TERM_KINDS),
        not_negative("months"),
        not_negative("tenths"),
        not_negative("starts_tenths"),
    )
    term_id: Mapped[str] = mapped_column(unique=True)
    kind: Mapped[str]
    starts_on: Mapped[date]
    months: Mapped[int | None]
    tenths: Mapped[int | None]
    starts_tenths: Mapped[int | None]
    title: Mapped[str | None]
    item: Mapped[str | None]
    position: Mapped[str | None]
    entry_id: Mapped[str | None] = mapped_column(ForeignKey("entries.entry_id"))
    withdrawn_on: Mapped[date | None]
    note: Mapped[str | None]
    told_by: Mapped[str | None]


class Advice(OfEngine, Base):
    """What an owner was advised, or what he answered later."""

    __tablename__ = "advice"
    __table_args__ = (
        PrimaryKeyConstraint("engine_no", "sequence"),
        one_of("how", ADVICE_WAYS),
        one_of("answer", ANSWERS),
    )
    advice_id: Mapped[str] = mapped_column(unique=True)
    advised_on: Mapped[date]
    what: Mapped[str]
    rule: Mapped[str | None]
    item: Mapped[str | None]
    position: Mapped[str | None]
    how: Mapped[str | None]
    told_to: Mapped[str | None]
    answer: Mapped[str | None]
    follows: Mapped[str | None]
    visit_id: Mapped[str | None] = mapped_column(ForeignKey("visits.visit_id"))
    note: Mapped[str | None]
    advised_by: Mapped[str | None]


class Supersession(EndedForReason, Base):
    """A part number that another one replaced."""

    __tablename__ = "supersessions"
    __table_args__ = (PrimaryKeyConstraint("part_number", "superseded_by"),)
    part_number: Mapped[str]
    superseded_by: Mapped[str]
    from_on: Mapped[date | None]
    withdrawn_on: Mapped[date | None]
    note: Mapped[str | None]
    told_by: Mapped[str | None]
