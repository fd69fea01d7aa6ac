"""The tables of the photos and papers on visits; their files lie in a folder beside the log."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import CheckConstraint, ForeignKey, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from fleetlog.domain.papers import ENDINGS, WITHDRAWAL_OUTCOMES
from fleetlog.store.models.base import Base, Recorded, one_of


class Paper(Recorded, Base):
    """A photo or a paper on a visit: the hash of its content, and what it is called."""

    __tablename__ = "papers"
    __table_args__ = (
        one_of("media_type", ENDINGS),
        CheckConstraint("size_bytes >= 1", name="size_bytes_least"),
    )
    paper_no: Mapped[int] = mapped_column(primary_key=True)
    paper_id: Mapped[str] = mapped_column(unique=True)
    visit_id: Mapped[str] = mapped_column(ForeignKey("visits.visit_id"), index=True)
    sha256: Mapped[str] = mapped_column(index=True)
    media_type: Mapped[str]
    size_bytes: Mapped[int]
    name: Mapped[str]
    taken_on: Mapped[date]
    serial: Mapped[str | None] = mapped_column(ForeignKey("engines.entered_as"), index=True)
    note: Mapped[str | None]
    taken_by: Mapped[str | None]


class PaperWithdrawal(Recorded, Base):
    """A paper taken back, or its file erased, with the reason."""

    __tablename__ = "paper_withdrawals"
    __table_args__ = (one_of("outcome", WITHDRAWAL_OUTCOMES), UniqueConstraint("paper_id", "outcome"))
    withdrawal_no: Mapped[int] = mapped_column(primary_key=True)
    paper_id: Mapped[str] = mapped_column(ForeignKey("papers.paper_id"))
    outcome: Mapped[str]
    withdrawn_at: Mapped[datetime]
    withdrawn_by: Mapped[str]
    reason: Mapped[str]
