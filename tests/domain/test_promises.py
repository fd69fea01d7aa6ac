"""Terms, advice to owners, superseded part numbers, ranges of serial numbers: what follows on a day."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import pytest

from fleetlog.domain.advice import AdviceStanding, advice_standings
from fleetlog.domain.hour_record import hour_record
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.promises import Advice, Term
from fleetlog.domain.records import Engine, Entry, Reading
from fleetlog.domain.satisfaction import seen_on
from fleetlog.domain.schedule import Limits, Rule, Schedule
from fleetlog.domain.serials import serial_range_from_text
from fleetlog.domain.superseded import Supersession, newest_number, one_part, standing_on, would_go_round
from fleetlog.domain.terms import TermStanding, term_standings
from fleetlog.domain.usage import DateWindow, HoursTarget

START = date(2022, 6, 1)
TODAY = date(2024, 6, 1)


@dataclass(frozen=True)
class InAYear:
    """Whatever is asked is reached a year from today."""

    def windows(self, targets: Sequence[HoursTarget]) -> Sequence[DateWindow]:
        days = [TODAY + timedelta(days=d) for d in (300, 365, 430)]
        return [DateWindow(*days) for _ in targets]

    def basis(self) -> str:
        return "a year"


def standing(term: Term, *readings: tuple[str, int], hour_meter: bool = True) -> TermStanding | None:
    rows = tuple(Reading(f"r{n}", "E1", date.fromisoformat(d), t) for n, (d, t) in enumerate(readings))
    engine = Engine("E1", in_service_on=START, logged_from_new=True, hour_meter=hour_meter)
    record = hour_record(EngineLedger(engine, readings=rows), TODAY)
    found = term_standings([term], record, TODAY, InAYear())
    return found[0] if found else None


def test_a_term_ends_by_months_or_hours_whichever_comes_first() -> None:
    by_age = standing(Term("w", "E1", "warranty", START, 30, 2500), ("2024-05-01", 600))
    assert by_age is not None
    assert (by_age.ends_on, by_age.ends_tenths) == (date(2024, 12, 1), 2500)
    assert (by_age.governs, by_age.likely_on, by_age.is_over) == ("date", date(2024, 12, 1), False)
    by_hours = standing(Term("w", "E1", "warranty", START, 48, 2500), ("2024-05-01", 2000))
    assert by_hours is not None
    assert (by_hours.governs, by_hours.likely_on) == ("hours", TODAY + timedelta(days=365))


def test_a_repairs_term_counts_hours_from_its_own_start() -> None:
    term = Term("w", "E1", "warranty", date(2023, 12, 1), 12, 1000)
    told = standing(term, ("2023-12-01", 700), ("2024-05-01", 900))
    assert told is not None
    assert told.ends_tenths == 1700
    stated = standing(Term("w", "E1", "warranty", START, tenths=1000, starts_tenths=50), ("2024-05-01", 900))
    assert stated is not None
    assert stated.ends_tenths == 1050


@pytest.mark.parametrize(
    ("months", "tenths", "over"), [(23, None, True), (24, None, False), (None, 899, True), (None, 900, False)]
)
def test_a_term_holds_on_its_last_day_and_at_its_last_tenth(
    months: int | None, tenths: int | None, over: bool
) -> None:
    told = standing(Term("w", "E1", "warranty", START, months, tenths), ("2024-05-01", 900))
    assert told is not None
    assert told.is_over is over


def test_without_a_meter_age_alone_counts() -> None:
    told = standing(Term("w", "E1", "warranty", START, 48, 2500), hour_meter=False)
    assert told is not None
    assert (told.ends_on, told.ends_tenths, told.governs) == (date(2026, 6, 1), None, "date")


def test_a_term_that_has_not_begun_or_is_withdrawn_is_none() -> None:
    assert standing(Term("w", "E1", "warranty", TODAY + timedelta(days=1), 12)) is None
    assert standing(Term("w", "E1", "warranty", START, 60, withdrawn_on=TODAY)) is None
    assert standing(Term("w", "E1", "warranty", START, 60, withdrawn_on=TODAY + timedelta(days=1)))


HOSE = Schedule("s", "S", 1, (Rule("hose-replace", "Hoses", "hose", "replace", every=Limits(None, 60)),))


def advised(*rows: Advice, entries: tuple[Entry, ...] = ()) -> list[AdviceStanding]:
    ledger = EngineLedger(Engine("E1", in_service_on=START), entries=entries)
    return advice_standings(rows, seen_on(ledger, TODAY), HOSE)


TOLD = Advice("n1", "E1", date(2024, 3, 1), "new hoses", item="hose", answer="declined", sequence=1)


def test_declined_advice_stays_open_until_the_work_is_done() -> None:
    [told] = advised(TOLD)
    assert (told.is_open, told.answer) == (True, "declined")
    before = Entry("e1", "E1", date(2024, 2, 1), "fitted", item="Hose")
    looked = Entry("e2", "E1", date(2024, 4, 1), "inspected", item="hose")
    assert advised(TOLD, entries=(before, looked))[0].is_open
    [done] = advised(TOLD, entries=(Entry("e3", "E1", date(2024, 4, 1), "fitted", item="Hose"),))
    assert not done.is_open
    assert done.done_by is not None


def test_a_later_answer_counts_and_closes_what_is_withdrawn() -> None:
    yes = Advice("n2", "E1", date(2024, 4, 1), "new hoses", answer="accepted", follows="n1", sequence=2)
    [told] = advised(TOLD, yes)
    assert (told.answer, told.is_open, told.latest.advice_id) == ("accepted", True, "n2")
    gone = Advice("n3", "E1", date(2024, 5, 1), "new hoses", answer="withdrawn", follows="n1", sequence=3)
    assert not advised(TOLD, yes, gone)[0].is_open
    ahead = Advice("n4", "E1", date(2024, 7, 1), "new hoses", answer="withdrawn", follows="n1", sequence=4)
    assert advised(TOLD, ahead)[0].is_open


def test_advice_about_a_rule_is_closed_by_what_satisfies_it_there() -> None:
    told = Advice("n1", "E1", date(2024, 3, 1), "hoses", rule="hose-replace", position="upper")
    lower = Entry("e1", "E1", date(2024, 4, 1), "fitted", item="hose", position="lower")
    upper = Entry("e2", "E1", date(2024, 4, 1), "fitted", item="hose", position="Upper")
    assert advised(told, entries=(lower,))[0].is_open
    assert not advised(told, entries=(lower, upper))[0].is_open


CHAIN = (
    Supersession("N-2", "N-3"),
    Supersession("N-1", "n-2"),
    Supersession("X-1", "N-3"),
    Supersession("A", "B"),
)


def test_a_part_is_known_by_every_number_it_has_or_had() -> None:
    for number in ("N-1", "n-1", "N-2", "N-3", "X-1"):
        assert {n.upper() for n in one_part(CHAIN, number)} == {"N-1", "N-2", "N-3", "X-1"}
        assert newest_number(CHAIN, number) == "N-3"
    numbers = [n.upper() for n in one_part(CHAIN, "N-3")]
    assert numbers.index("N-1") < numbers.index("N-2") < numbers.index("N-3")
    assert one_part(CHAIN, "Z-9") == ["Z-9"]
    assert newest_number(CHAIN, "Z-9") == "Z-9"


def test_numbers_that_would_replace_themselves_are_seen() -> None:
    assert would_go_round(CHAIN, "N-3", "N-1")
    assert would_go_round(CHAIN, "n-3", "N-2")
    assert not would_go_round(CHAIN, "N-3", "N-4")
    circle = (Supersession("P", "Q"), Supersession("Q", "P"))
    assert newest_number(circle, "P") in ("P", "Q")
    assert set(one_part(circle, "P")) == {"P", "Q"}


def test_a_withdrawn_supersession_holds_no_longer() -> None:
    row = Supersession("P", "Q", withdrawn_on=TODAY)
    assert standing_on([row], TODAY - timedelta(days=1)) == [row]
    assert standing_on([row], TODAY) == []


@pytest.mark.parametrize("text", ["", " .. ", "A..B", "A1..", "A1..B2", "A9..A10", "A2..A1", "..A1"])
def test_what_is_no_range_of_serial_numbers_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"^$|\.\."):
        serial_range_from_text(text)
