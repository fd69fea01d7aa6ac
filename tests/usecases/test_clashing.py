"""Of rows read of a damaged log those are taken out that clash, and no more; the rest goes in."""

from __future__ import annotations

from datetime import UTC, date, datetime
from decimal import Decimal

from fleetlog.domain.batch import Batch
from fleetlog.domain.evidence import Answer, CardText, Torque
from fleetlog.domain.records import Deferral, Engine, Entry, Reading, Void
from fleetlog.domain.schedule import ScheduleText
from fleetlog.usecases.clashing import take_out_clashing

ON = date(2026, 4, 1)
AT = datetime(2026, 4, 1, 12, 0, tzinfo=UTC)
SCHEDULE = """\
name = "V6"
revision = 2
[[rule]]
key = "anode-replace"
title = "Replace anode"
item = "anode"
action = "replace"
positions = ["gearcase", "trim tab"]
every = { months = 12 }
access = "none"
labour_hours = 0.5
consequence = "corrosion"
"""


def _fitted(entry_id: str, position: str | None = "gearcase") -> Entry:
    return Entry(entry_id, "VK6-1", ON, "fitted", item="anode", position=position)


def test_of_two_fittings_whose_void_is_lost_the_second_is_taken_out() -> None:
    batch = Batch(
        engines=[Engine("VK6-1")], entries=[_fitted("E-1"), _fitted("E-2"), _fitted("E-3", "trim tab")]
    )
    apart, said, remarks = take_out_clashing(batch)
    assert [e.entry_id for e in batch.entries] == ["E-1", "E-3"]
    assert [e.entry_id for e in apart.entries] == ["E-2"]
    assert said == [
        "entries E-2: item: expected one anode fitted at gearcase on 2026-04-01; entry E-1 says so already"
        " (void it if it is wrong)"
    ]
    assert remarks == []


def test_what_a_void_takes_back_clashes_with_nothing() -> None:
    batch = Batch(
        engines=[Engine("VK6-1")],
        entries=[_fitted("E-1"), _fitted("E-2")],
        voids=[Void("E-1", AT, "Kim", "twice")],
    )
    assert take_out_clashing(batch) == (Batch(), [], [])
    assert len(batch.entries) == 2


def test_rows_that_no_schedule_knows_and_evidence_of_other_engines_are_taken_out() -> None:
    torque = Torque("T-1", "VK6-2", ON, "nut", Decimal(8), "N·m")
    batch = Batch(
        schedules=[ScheduleText("V6", 2, SCHEDULE)],
        engines=[Engine("VK6-1", schedule="V6"), Engine("VK6-2")],
        entries=[_fitted("E-1", "bow"), _fitted("E-2")],
        deferrals=[Deferral("D-1", "VK6-1", "belt-replace", "Kim", AT, "later", until_on=ON)],
        torques=[torque],
        answers=[Answer("A-1", "VK6-1", ON, "put right", "again", "Kim", torque_id="T-1")],
    )
    apart, said, _ = take_out_clashing(batch)
    assert apart.counts() == {"entries": 1, "deferrals": 1, "answers": 1}
    assert [line.split(":")[0] for line in said] == ["entries E-1", "deferrals D-1", "answers A-1"]
    assert batch.torques == [torque]


def test_texts_that_cannot_be_read_are_taken_out_and_engines_do_without_a_lost_schedule() -> None:
    texts = [ScheduleText("V6", 2, SCHEDULE), ScheduleText("I4", 1, SCHEDULE), ScheduleText("twin", 1, "\0")]
    batch = Batch(
        schedules=texts,
        cards=[CardText("belt", 1, "no = ")],
        engines=[Engine("A", schedule="V6"), Engine("B", schedule="I4"), Engine("C", family="I4")],
    )
    apart, said, remarks = take_out_clashing(batch)
    assert (batch.schedules, apart.schedules, len(apart.cards)) == (texts[:1], texts[1:], 1)
    assert said[0] == "schedules I4, revision 1: the text says revision 2"
    assert len(said) == 3
    assert [e.schedule for e in batch.engines] == ["V6", None, None]
    assert remarks == ["engines: B was written without its schedule, as the text of I4 is lost"]


def test_one_day_long_before_an_engine_came_into_service_is_wrong_and_of_most_the_engines() -> None:
    early, late = date(1990, 1, 1), date(2026, 4, 1)
    batch = Batch(
        engines=[Engine("A", in_service_on=late), Engine("B", in_service_on=late)],
        readings=[
            *(Reading(f"a{n}", "A", early if n == 1 else late, n * 10) for n in range(1, 4)),
            *(Reading(f"b{n}", "B", late if n == 1 else early, n * 10) for n in range(1, 4)),
        ],
    )
    apart, said, remarks = take_out_clashing(batch)
    assert [r.reading_id for r in apart.readings] == ["a1"]
    assert said[0].startswith("readings a1: on: expected a day from 2025-03-31")
    assert [e.in_service_on for e in batch.engines] == [late, None]
    assert remarks == [
        "engines: B was written without its day of service 2026-04-01, as most of its rows are long before it"
    ]


def test_an_older_schedule_does_not_count_in_the_place_of_one_that_cannot_be_read() -> None:
    older = ScheduleText("V6", 1, SCHEDULE.replace("revision = 2", "revision = 1"))
    newest = ScheduleText("V6", 2, SCHEDULE.replace("every", "evezy"))
    batch = Batch(schedules=[older, newest], engines=[Engine("VK6-1", family="V6")])
    apart, said, _ = take_out_clashing(batch)
    assert batch.schedules == []
    assert apart.schedules == [newest, older]
    assert said[1] == "schedules V6, revision 1: a newer revision is set apart"


def test_an_older_schedule_that_cannot_be_read_takes_no_newer_one_along() -> None:
    newest = ScheduleText("V6", 2, SCHEDULE)
    batch = Batch(schedules=[ScheduleText("V6", 1, "no = "), newest])
    apart, _, _ = take_out_clashing(batch)
    assert batch.schedules == [newest]
    assert [text.revision for text in apart.schedules] == [1]
