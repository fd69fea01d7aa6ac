"""The tables of the hash chains, of the salts of their commitments, and of the extracts handed out."""

from __future__ import annotations

from datetime import date

from sqlalchemy import ForeignKey, PrimaryKeyConstraint
from sqlalchemy.orm import Mapped, mapped_column

from fleetlog.store.models.base import Base, Recorded


class LogLink(Base):
    """One writing in the chain of the log: its rows that are no engine's, and the heads of its engines."""

    __tablename__ = "log_links"
    link_no: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    writing_no: Mapped[int] = mapped_column(ForeignKey("writings.writing_no"), unique=True)
    content: Mapped[str]
    marks: Mapped[bytes]
    head: Mapped[str]


class EngineLink(Base):
    """What one writing added to one engine's ledger, in that engine's chain."""

    __tablename__ = "engine_links"
    __table_args__ = (PrimaryKeyConstraint("engine_no", "link_no"),)
    engine_no: Mapped[int] = mapped_column(ForeignKey("engines.engine_no"), autoincrement=False)
    link_no: Mapped[int] = mapped_column(ForeignKey("log_links.link_no"), autoincrement=False, index=True)
    content: Mapped[str]
    marks: Mapped[bytes]
    head: Mapped[str]


class FactSeal(Base):
    """The digest of an owner, a boat or an engine as a writing left it."""

    __tablename__ = "fact_seals"
    __table_args__ = (PrimaryKeyConstraint("kind", "key", "link_no"),)
    kind: Mapped[str]
    key: Mapped[str]
    link_no: Mapped[int] = mapped_column(ForeignKey("log_links.link_no"), autoincrement=False)
    digest: Mapped[str]


class Salt(Base):
    """The random salt of one text's commitment, found by a digest of the text; erased with the text."""

    __tablename__ = "salts"
    digest: Mapped[str] = mapped_column(primary_key=True)
    salt: Mapped[bytes]


class Extract(Recorded, Base):
    """An extract that was handed out: what the file is, and the heads that it carries."""

    __tablename__ = "extracts"
    extract_no: Mapped[int] = mapped_column(primary_key=True)
    serial: Mapped[str] = mapped_column(ForeignKey("engines.entered_as"))
    made_on: Mapped[date]
    document_sha256: Mapped[str] = mapped_column(index=True)
    engine_head: Mapped[str]
    log_head: Mapped[str]
