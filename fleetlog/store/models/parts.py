"""The table of the register of parts."""

from __future__ import annotations

from sqlalchemy.orm import Mapped, mapped_column

from fleetlog.store.models.base import Base, Recorded


class Part(Recorded, Base):
    """A part number, who makes it, and what it is called."""

    __tablename__ = "parts"
    part_number: Mapped[str] = mapped_column(primary_key=True)
    maker: Mapped[str | None]
    name: Mapped[str | None]
    note: Mapped[str | None]
    told_by: Mapped[str | None]
