"""The tables of the shop's diary: its set-up, wishes, bookings, plans, parts that move, mails sent."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal

from sqlalchemy import ForeignKey, PrimaryKeyConstraint, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from fleetlog.domain.diary_records import ATTEMPT_OUTCOMES, BOOKING_CHANGES, MAIL_WAYS, PART_MOVES
from fleetlog.store.models.base import Base, EndedForReason, Recorded, not_negative, one_of


class Shop(Recorded, Base):
    """A revision of the shop's set-up, as its TOML text."""

    __tablename__ = "shop"
    __table_args__ = (PrimaryKeyConstraint("name", "revision"),)
    name: Mapped[str]
    revision: Mapped[int] = mapped_column(autoincrement=False)
    toml: Mapped[str]


class Wish(EndedForReason, Base):
    """What an owner asks for. Its withdrawal is filled in later, once."""

    __tablename__ = "wishes"
    wish_no: Mapped[int] = mapped_column(primary_key=True)
    wish_id: Mapped[str] = mapped_column(unique=True)
    owner_id: Mapped[str | None] = mapped_column(ForeignKey("owners.owner_id"))
    boat_id: Mapped[str | None] = mapped_column(ForeignKey("boats.boat_id"))
    not_before_on: Mapped[date | None]
    not_after_on: Mapped[date | None]
    not_in_from_on: Mapped[date | None]
    not_in_to_on: Mapped[date | None]
    weekdays: Mapped[str | None]
    told_on: Mapped[date | None]
    withdrawn_on: Mapped[date | None]
    note: Mapped[str | None]
    told_by: Mapped[str | None]


class Booking(Recorded, Base):
    """One change of a booking."""

    __tablename__ = "bookings"
    __table_args__ = (
        one_of("change", BOOKING_CHANGES),
        not_negative("from_tenths"),
        not_negative("tenths"),
        not_negative("lifts"),
    )
    change_no: Mapped[int] = mapped_column(primary_key=True)
    change_id: Mapped[str] = mapped_column(unique=True)
    booking_id: Mapped[str] = mapped_column(index=True)
    change: Mapped[str]
    changed_at: Mapped[datetime]
    changed_by: Mapped[str]
    boat_id: Mapped[str | None] = mapped_column(ForeignKey("boats.boat_id"))
    visit_on: Mapped[date | None]
    from_tenths: Mapped[int | None]
    tenths: Mapped[int | None]
    technician: Mapped[str | None]
    place: Mapped[str | None]
    lifts: Mapped[int | None]
    jobs: Mapped[str | None]
    visit_id: Mapped[str | None] = mapped_column(ForeignKey("visits.visit_id"))
    reason: Mapped[str | None]


class DiaryPlan(Recorded, Base):
    """A plan that was made and kept."""

    __tablename__ = "plans"
    plan_no: Mapped[int] = mapped_column(primary_key=True)
    plan_id: Mapped[str] = mapped_column(unique=True)
    planned_at: Mapped[datetime]
    planned_by: Mapped[str]
    from_on: Mapped[date]
    to_on: Mapped[date]
    shop_revision: Mapped[int]
    seed: Mapped[int]
    points: Mapped[int]
    bound_points: Mapped[int]
    cut_short: Mapped[bool]


class DiaryVisit(Recorded, Base):
    """A visit of a plan."""

    __tablename__ = "plan_visits"
    __table_args__ = (PrimaryKeyConstraint("plan_id", "visit"), not_negative("tenths"))
    plan_id: Mapped[str] = mapped_column(ForeignKey("plans.plan_id"))
    visit: Mapped[str]
    boat_id: Mapped[str] = mapped_column(ForeignKey("boats.boat_id"))
    tenths: Mapped[int]
    visit_on: Mapped[date | None]
    from_tenths: Mapped[int | None]
    technician: Mapped[str | None]
    place: Mapped[str | None]
    first_on: Mapped[date | None]
    last_on: Mapped[date | None]
    lifts: Mapped[int | None]
    why_not: Mapped[str | None]
    remedy: Mapped[str | None]
    jobs: Mapped[str | None]


class PartMove(Recorded, Base):
    """Parts ordered, arrived or counted."""

    __tablename__ = "part_moves"
    __table_args__ = (one_of("move", PART_MOVES),)
    move_no: Mapped[int] = mapped_column(primary_key=True)
    move_id: Mapped[str] = mapped_column(unique=True)
    part_number: Mapped[str] = mapped_column(index=True)
    move: Mapped[str]
    amount: Mapped[Decimal]
    moved_on: Mapped[date]
    expected_on: Mapped[date | None]
    order_id: Mapped[str | None]
    boat_id: Mapped[str | None] = mapped_column(ForeignKey("boats.boat_id"))
    note: Mapped[str | None]
    moved_by: Mapped[str | None]


class Mail(Recorded, Base):
    """A reminder that went out."""

    __tablename__ = "mails"
    __table_args__ = (one_of("how", MAIL_WAYS),)
    mail_no: Mapped[int] = mapped_column(primary_key=True)
    mail_id: Mapped[str] = mapped_column(unique=True)
    owner_id: Mapped[str] = mapped_column(ForeignKey("owners.owner_id"), index=True)
    sent_at: Mapped[datetime]
    subject: Mapped[str]
    things: Mapped[str]
    how: Mapped[str]
    sent_by: Mapped[str]


class MailAttempt(Recorded, Base):
    """A reminder about to be sent, or one that the server did not take."""

    __tablename__ = "mail_attempts"
    __table_args__ = (one_of("outcome", ATTEMPT_OUTCOMES), UniqueConstraint("mail_id", "outcome"))
    attempt_no: Mapped[int] = mapped_column(primary_key=True)
    mail_id: Mapped[str]
    outcome: Mapped[str]
    owner_id: Mapped[str] = mapped_column(ForeignKey("owners.owner_id"), index=True)
    attempted_at: Mapped[datetime]
    things: Mapped[str | None]
    attempted_by: Mapped[str]
