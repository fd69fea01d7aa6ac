"""The tables of the evidence: torque tools and calibrations, torques, measurements, checks, work cards.

Figures are kept as decimal text, exactly as they were read.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from sqlalchemy import CheckConstraint, ForeignKey, PrimaryKeyConstraint
from sqlalchemy.orm import Mapped, mapped_column

from fleetlog.domain.evidence import CHECK_RESULTS, STAGES
from fleetlog.domain.words import ANSWER_OUTCOMES
from fleetlog.store.models.base import Base, EndedForReason, OfEngine, Recorded, one_of


def _at_least(column: str, least: int) -> CheckConstraint:
    return CheckConstraint(f"{column} >= {least}", name=f"{column}_least")


class Card(Recorded, Base):
    """A revision of a work card, as its TOML text."""

    __tablename__ = "cards"
    __table_args__ = (PrimaryKeyConstraint("name", "revision"),)
    name: Mapped[str]
    revision: Mapped[int] = mapped_column(autoincrement=False)
    toml: Mapped[str]


class Tool(EndedForReason, Base):
    """A torque wrench. Its retirement is filled in later, once."""

    __tablename__ = "tools"
    __table_args__ = (_at_least("calibrate_months", 1), _at_least("calibrate_cycles", 1))
    tool_no: Mapped[int] = mapped_column(primary_key=True)
    tool_id: Mapped[str] = mapped_column(unique=True)
    name: Mapped[str]
    unit: Mapped[str]
    low: Mapped[Decimal]
    high: Mapped[Decimal]
    in_use_from_on: Mapped[date | None]
    retired_on: Mapped[date | None]
    calibrate_months: Mapped[int | None]
    calibrate_cycles: Mapped[int | None]


class Calibration(Recorded, Base):
    """A tool was calibrated."""

    __tablename__ = "calibrations"
    calibration_no: Mapped[int] = mapped_column(primary_key=True)
    calibration_id: Mapped[str] = mapped_column(unique=True)
    tool_id: Mapped[str] = mapped_column(ForeignKey("tools.tool_id"), index=True)
    calibrated_on: Mapped[date]
    certificate: Mapped[str | None]
    calibrated_by: Mapped[str | None]


class Torque(OfEngine, Base):
    """A joint drawn up: as read, and in N·m."""

    __tablename__ = "torques"
    __table_args__ = (
        PrimaryKeyConstraint("engine_no", "sequence"),
        _at_least("fasteners", 1),
        _at_least("sequence_no", 1),
        _at_least("pass_no", 1),
    )
    torque_id: Mapped[str] = mapped_column(unique=True)
    done_on: Mapped[date]
    joint: Mapped[str]
    applied: Mapped[Decimal]
    unit: Mapped[str]
    visit_id: Mapped[str | None] = mapped_column(ForeignKey("visits.visit_id"))
    entry_id: Mapped[str | None] = mapped_column(ForeignKey("entries.entry_id"))
    sequence_no: Mapped[int | None]
    pass_no: Mapped[int | None]
    fasteners: Mapped[int | None]
    target: Mapped[Decimal | None]
    low: Mapped[Decimal | None]
    high: Mapped[Decimal | None]
    target_nm: Mapped[Decimal | None]
    applied_nm: Mapped[Decimal | None]
    threads: Mapped[str | None]
    tool_id: Mapped[str | None] = mapped_column(ForeignKey("tools.tool_id"), index=True)
    card: Mapped[str | None]
    step: Mapped[str | None]
    note: Mapped[str | None]
    done_by: Mapped[str | None]
    checked_by: Mapped[str | None]


class Measurement(OfEngine, Base):
    """A figure measured on an engine, as found or as left."""

    __tablename__ = "measurements"
    __table_args__ = (PrimaryKeyConstraint("engine_no", "sequence"), one_of("stage", STAGES))
    measurement_id: Mapped[str] = mapped_column(unique=True)
    done_on: Mapped[date]
    item: Mapped[str]
    quantity: Mapped[str]
    value: Mapped[Decimal]
    unit: Mapped[str | None]
    stage: Mapped[str | None]
    visit_id: Mapped[str | None] = mapped_column(ForeignKey("visits.visit_id"))
    entry_id: Mapped[str | None] = mapped_column(ForeignKey("entries.entry_id"))
    position: Mapped[str | None]
    low: Mapped[Decimal | None]
    high: Mapped[Decimal | None]
    card: Mapped[str | None]
    step: Mapped[str | None]
    note: Mapped[str | None]
    done_by: Mapped[str | None]


class Check(OfEngine, Base):
    """A step seen, and how it came out."""

    __tablename__ = "checks"
    __table_args__ = (
        PrimaryKeyConstraint("engine_no", "sequence"),
        one_of("result", CHECK_RESULTS),
        _at_least("counted", 0),
        _at_least("out_of", 0),
    )
    check_id: Mapped[str] = mapped_column(unique=True)
    done_on: Mapped[date]
    title: Mapped[str]
    result: Mapped[str]
    visit_id: Mapped[str | None] = mapped_column(ForeignKey("visits.visit_id"))
    card: Mapped[str | None]
    card_revision: Mapped[int | None]
    step: Mapped[str | None]
    counted: Mapped[int | None]
    out_of: Mapped[int | None]
    reason: Mapped[str | None]
    done_by: Mapped[str | None]
    checked_by: Mapped[str | None]


class Answer(OfEngine, Base):
    """What was done about one torque, measurement or check."""

    __tablename__ = "answers"
    __table_args__ = (
        PrimaryKeyConstraint("engine_no", "sequence"),
        one_of("outcome", ANSWER_OUTCOMES),
    )
    answer_id: Mapped[str] = mapped_column(unique=True)
    answered_on: Mapped[date]
    outcome: Mapped[str]
    what: Mapped[str]
    answered_by: Mapped[str]
    torque_id: Mapped[str | None] = mapped_column(ForeignKey("torques.torque_id"), index=True)
    measurement_id: Mapped[str | None] = mapped_column(ForeignKey("measurements.measurement_id"), index=True)
    check_id: Mapped[str | None] = mapped_column(ForeignKey("checks.check_id"), index=True)
