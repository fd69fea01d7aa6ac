"""A small marina in which every kind of row occurs, and every column is filled at least once."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

from fleetlog.domain.batch import Batch
from fleetlog.domain.diary_records import (
    Booking,
    DiaryPlan,
    DiaryVisit,
    Mail,
    MailAttempt,
    PartMove,
    ShopText,
    Wish,
)
from fleetlog.domain.evidence import Answer, Calibration, CardText, Check, Measurement, Tool, Torque
from fleetlog.domain.papers import Paper, PaperWithdrawal
from fleetlog.domain.parts import Part
from fleetlog.domain.promises import Advice, Term
from fleetlog.domain.records import (
    Boat,
    Change,
    Correction,
    Deferral,
    Engine,
    Entry,
    Layup,
    LayupChange,
    Meter,
    Mount,
    Owner,
    Ownership,
    Reading,
    Visit,
    Void,
)
from fleetlog.domain.schedule import ScheduleText
from fleetlog.domain.superseded import Supersession

AT = datetime(2026, 4, 1, 12, 30, 15, 123456, tzinfo=UTC)

SCHEDULE = """\
name = "Small two-stroke"
revision = {revision}

[[rule]]
key = "impeller"
item = "impeller"
action = "replace"
every = {{ hours = 100, months = 12 }}
"""


def a_marina() -> Batch:
    """Rows of every kind, numbered as a log numbers them."""
    return Batch(
        schedules=[ScheduleText("small", n, SCHEDULE.format(revision=n)) for n in (1, 2)],
        owners=[
            Owner("ann", "Ann Reed", "ann@example.org", "0123", "1 Quay\nHarbour", "email"),
            Owner("bo", "Bo Ålund"),
        ],
        boats=[
            Boat("gull", "ann", "Gull", "R-1", "salt", "hire", "A 12"),
            Boat("tern", "bo", "Tern"),
            Boat("wreck", None, "No owner"),
        ],
        engines=[
            Engine(
                "AB-1001",
                "maker",
                "model",
                "V6",
                2020,
                date(2020, 1, 31),
                True,
                True,
                "small",
                "gull",
                "port",
            ),
            Engine("ab-1002", boat_id="tern", state="laid by"),
            Engine("X_9%", hour_meter=False),
        ],
        changes=[
            Change("boats", "gull", "owner_id", "bo", date(2021, 5, 1), AT, "Kim", 1),
            Change("engines", "AB-1001", "boat_id", "tern", date(2021, 5, 1), AT, "Kim", 1),
            Change("boats", "gull", "water", None, date(2022, 5, 1), AT, "Kim", 2, "asked the owner"),
        ],
        ownership=[Ownership("gull", "bo", date(2020, 1, 1)), Ownership("gull", "ann", date(2021, 5, 1))],
        layups=[Layup("gull", date(2024, 11, 1), date(2025, 3, 1)), Layup("gull", date(2025, 11, 1))],
        layup_changes=[
            LayupChange("l1", "gull", date(2025, 11, 1), "ends", AT, "Kim", date(2026, 4, 1)),
            LayupChange("l2", "gull", date(2025, 11, 1), "withdrawn", AT, "Kim", reason="stays afloat"),
        ],
        mounts=[
            Mount("AB-1001", "tern", date(2020, 2, 1), "port", date(2021, 5, 1)),
            Mount("AB-1001", "gull", date(2021, 5, 1)),
        ],
        corrections=[
            Correction("x1", "ownership", "tern", date(2024, 1, 1), AT, "Kim", "ann", reason="mistyped"),
            Correction("x2", "mounts", "X_9%", date(2024, 1, 1), AT, "Kim", boat_id="tern", position="port"),
        ],
        meters=[
            Meter("AB-1001", date(2022, 6, 1), 4120, 5, "water inside", 1),
            Meter("AB-1001", date(2023, 6, 1), 5000, sequence=2),
        ],
        readings=[
            Reading("r1", "AB-1001", date(2021, 1, 1), 1234, "by mail", None, "ann", 1),
            Reading("r2", "AB-1001", date(2021, 2, 1), 999, status="withdrawn", sequence=2),
            Reading("r3", "ab-1002", date(2021, 2, 1), 0, status="confirmed", sequence=1),
        ],
        visits=[
            Visit(
                "v1",
                "gull",
                date(2023, 4, 1),
                date(2023, 4, 3),
                "booked service",
                "hard to start",
                "worn plug",
                "new plugs",
                "new hoses",
                "paid",
            ),
            Visit("v2"),
        ],
        entries=[
            Entry(
                "e1",
                "AB-1001",
                date(2023, 4, 1),
                "fitted",
                "v1",
                4321,
                None,
                "Timing Belt",
                "bank 1",
                "P-1",
                "lot 7",
                "used",
                150,
                14,
                "ab-1002",
                "worn",
                500,
                6,
                "3.5",
                "mm",
                "a note",
                "Kim",
                "Lou",
                1,
            ),
            Entry("e2", "AB-1001", date(2023, 4, 2), "fitted", item="timing belt", sequence=2),
            Entry("e3", "ab-1002", date(2023, 4, 2), "rebuilt", "v2", scope="powerhead", sequence=1),
        ],
        voids=[
            Void("e1", AT - timedelta(days=3), "Kim", "wrong engine", "e2"),
            Void("e3", AT, "Lou", "never done"),
        ],
        deferrals=[
            Deferral("d1", "AB-1001", "impeller", "Kim", AT, "part late", "upper", date(2026, 5, 1), 6000, 1),
            Deferral("d2", "AB-1001", "impeller", "Kim", AT, "again", until_tenths=6500, sequence=2),
        ],
        **_evidence(),
        **_papers(),
        **_promises(),
        **_diary(),
    )


def _evidence() -> dict[str, list[Any]]:
    day, low, high = date(2023, 4, 2), Decimal("47.5"), Decimal(51)
    return {
        "cards": [CardText("belt refit", n, f'name = "Belt refit"\nrevision = {n}\n') for n in (1, 2)],
        "tools": [
            Tool("w1", "Wrench", "lbf·ft", low, high, day, date(2026, 1, 1), 6, 2500, "worn"),
            Tool("w2", "Big wrench", "N·m", Decimal(60), Decimal(340)),
        ],
        "calibrations": [
            Calibration("k1", "w1", date(2023, 1, 1), "C-77", "test house"),
            Calibration("k2", "w1", date(2024, 1, 1)),
        ],
        "torques": [
            Torque(
                "t1", "AB-1001", day, "cam sprocket bolt", Decimal(49), "lbf·ft", "v1", "e1", 1, 2, 4,
                Decimal("49.0"), low, high, threads="oiled", tool_id="w1", card="belt refit", step="bolt",
                note="even", by="Kim", checked_by="Lou", sequence=1,
            ),
            Torque("t2", "AB-1001", day, "drain plug", Decimal("0.0725"), "N·m", sequence=2),
        ],
        "measurements": [
            Measurement(
                "m1", "AB-1001", day, "anode", "mass left", Decimal("61.5"), "%", "found", "v1", "e2",
                "upper", Decimal(50), Decimal(100), "belt refit", "anode", "pitted", "Kim", 1,
            ),
            Measurement("m2", "ab-1002", day, "belt", "grade", Decimal(-2), sequence=1),
        ],
        "checks": [
            Check(
                "c1", "AB-1001", day, "grounds counted", "failed", "v1", "belt refit", 2, "grounds", 5, 6,
                "one loose", "Kim", "Lou", 1,
            ),
            Check("c2", "AB-1001", day, "key in its slot", "done", sequence=2),
        ],
        "answers": [
            Answer("a1", "AB-1001", day, "put right", "drawn up", "Kim", check_id="c1", sequence=1),
            Answer("a2", "AB-1001", day, "entered wrong", "typed wrong", "Kim", torque_id="t2", sequence=2),
            Answer("a3", "ab-1002", day, "left as it is", "fine", "Lou", measurement_id="m2", sequence=1),
        ],
    }  # fmt: skip


def _papers() -> dict[str, list[Any]]:
    day = date(2023, 4, 2)
    return {
        "papers": [
            Paper("p1", "v1", "ab" * 32, "image/jpeg", 123_456, "gears.jpg", day, "AB-1001", "worn", "Kim"),
            Paper("p2", "v1", "cd" * 32, "application/pdf", 99, "bill.pdf", day),
        ],
        "paper_withdrawals": [
            PaperWithdrawal("p2", "withdrawn", AT, "Kim", "of another boat"),
            PaperWithdrawal("p2", "erased", AT, "Lou", "shows a person"),
        ],
    }


def _promises() -> dict[str, list[Any]]:
    day = date(2023, 4, 2)
    return {
        "terms": [
            Term(
                "w1", "AB-1001", "warranty", day, 48, 2500, 4321, "emission parts", "Timing Belt", "bank 1",
                "e2", date(2024, 1, 1), "by the dealer", "Kim", "sold without it", 1,
            ),
            Term("w2", "AB-1001", "useful life", day, months=60, sequence=2),
        ],
        "advice": [
            Advice(
                "n1", "AB-1001", day, "renew the hoses", "impeller", "hose", "upper", "by telephone", "Ann",
                "declined", None, "v1", "too dear", "Kim", 1,
            ),
            Advice("n2", "AB-1001", day, "renew the hoses", answer="done", follows="n1", sequence=2),
        ],
        "supersessions": [
            Supersession("P-1", "P-2", day, date(2024, 1, 1), "new seal", "Kim", "another family"),
            Supersession("P-2", "P-3"),
        ],
    }  # fmt: skip


def _diary() -> dict[str, list[Any]]:
    day, jobs = date(2026, 4, 20), '[["AB-1001", "impeller", null, "due", true]]'
    return {
        "parts": [Part("P-1", "Plain Parts", "seal", "old stock", "Kim"), Part("P-3")],
        "shop": [ShopText("shop", n, f'name = "Workshop"\nrevision = {n}\n') for n in (1, 2)],
        "wishes": [
            Wish(
                "w1",
                "ann",
                "gull",
                day,
                day,
                day,
                day,
                "mon thu",
                day,
                day,
                "by telephone",
                "Kim",
                "back early",
            ),
            Wish("w2", "bo", not_before_on=day),
        ],
        "bookings": [
            Booking(
                "c1", "b1", "booked", AT, "Kim", "gull", day, 80, 25, "Kim", "bay 1", 1, jobs, reason="agreed"
            ),
            Booking("c2", "b1", "done", AT, "Lou", visit_id="v1"),
        ],
        "plans": [
            DiaryPlan("p1", AT, "Kim", day, date(2026, 6, 1), 2, 7, 130, 128, True),
            DiaryPlan("p2", AT, "Kim", day, day, 2, 1, 0, 0),
        ],
        "plan_visits": [
            DiaryVisit("p1", "gull", "gull", 25, day, 80, "Kim", "bay 1", day, day, 1, jobs=jobs),
            DiaryVisit("p1", "tern", "tern", 90, why_not="too long", remedy="a longer day"),
        ],
        "part_moves": [
            PartMove("o1", "P-2", "ordered", Decimal("6.5"), day, day, None, "gull", "by post", "Kim"),
            PartMove("o2", "P-2", "arrived", Decimal(4), day, order_id="o1"),
        ],
        "mails": [Mail("m1", "ann", AT, "Service", '["a thing"]', "smtp", "Kim")],
        "mail_attempts": [
            MailAttempt("m1", "begun", "ann", AT, '["a thing"]', "Kim"),
            MailAttempt("m2", "refused", "bo", AT, None, "Kim"),
        ],
    }


def in_ledger_order(batch: Batch) -> Batch:
    """The same rows as a log gives them back: changes by what they are about, the rest as written."""
    changes = sorted(batch.changes, key=lambda c: (c.kind, c.key, c.sequence))
    return Batch(**{**{f: getattr(batch, f) for f in Batch.__slots__}, "changes": changes})
