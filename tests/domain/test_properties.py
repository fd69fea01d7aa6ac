"""What holds of the interval engine on every ledger, whatever is in it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from fractions import Fraction
from random import Random
from typing import Any, TypeVar

from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from fleetlog.domain.due import DueLine
from fleetlog.domain.hour_record import hour_record
from fleetlog.domain.ledger import BoatLedger, EngineLedger
from fleetlog.domain.records import Boat, Engine, Entry, Meter, Reading, Void
from fleetlog.domain.schedule import Limits, Rule, Schedule
from tests.domain.lines import due_lines
from tests.domain.nasty_ledgers import ACTIONS, Case, nasty_case
from tests.domain.two_readings import SteadyForecast, facts_of

Row = TypeVar("Row")
SEEDS = st.integers(0, 10**9)
quick = settings(max_examples=150, deadline=None, derandomize=True)


def lines_of(case: Case) -> list[DueLine]:
    last = hour_record(case.ledger, case.today).last
    forecast = SteadyForecast(case.today if last is None else last.on)
    return due_lines(case.ledger, case.schedule, case.today, forecast)


def state_of(case: Case) -> dict[tuple[str, str | None], Any]:
    """All that is certain of the lines, and the last accepted reading."""
    return {
        (line.rule.key, line.position): (facts_of(line), line.facts.last_reading) for line in lines_of(case)
    }


def changed(case: Case, **rows: Iterable[Any]) -> Case:
    return replace(case, ledger=replace(case.ledger, **{kind: tuple(r) for kind, r in rows.items()}))


def in_order(entries: Iterable[Entry]) -> list[Entry]:
    return [replace(entry, sequence=n) for n, entry in enumerate(entries)]


@quick
@example(9182, "fitted", 1, False)
@example(3497, "fitted", 1, False)
@given(SEEDS, st.sampled_from([a for a in ACTIONS if a != "rebuilt"]), st.integers(1, 400), st.booleans())
def test_an_earlier_entry_without_a_figure_changes_no_line_that_was_satisfied_later(
    seed: int, action: str, days_before: int, found_something: bool
) -> None:
    case = nasty_case(seed)
    case = changed(case, entries=(e for e in case.ledger.entries if e.action != "rebuilt"))
    before = {key: state for key, state in state_of(case).items() if state[0].last_done_on is not None}
    assume(before)
    findings = (e.on for e in case.ledger.entries if e.again_months is not None or e.again_tenths is not None)
    earliest = min([*(facts.last_done_on for facts, _ in before.values()), *findings])
    added = Entry(
        "added",
        "E1",
        earliest - timedelta(days=days_before),
        action,
        visit_id="a visit of its own",
        item="timing belt",
        reason="scheduled" if action == "removed" else None,
        again_months=1 if found_something else None,
    )
    after = state_of(changed(case, entries=in_order((*case.ledger.entries, added))))
    waits = {rule.key for rule in case.schedule.rules if rule.renew_when_disturbed}
    assert {key: after[key] for key in before if key[0] not in waits} == {
        key: state for key, state in before.items() if key[0] not in waits
    }


@quick
@given(SEEDS, st.integers(0, 11))
def test_voiding_an_entry_and_entering_it_again_gives_the_same_state(seed: int, which: int) -> None:
    case = nasty_case(seed)
    voided = {void.entry_id for void in case.ledger.voids}
    standing = [e for e in case.ledger.entries if e.entry_id not in voided]
    assume(standing)
    wrong = standing[which % len(standing)]
    entries: list[Entry] = []
    for entry in case.ledger.entries:
        entries.append(entry)
        if entry is wrong:
            entries.append(replace(entry, entry_id="again"))
    moment = datetime(2023, 1, 1, tzinfo=UTC)
    voids = (*case.ledger.voids, Void(wrong.entry_id, moment, "ann", "typed twice", "again"))
    assert state_of(changed(case, entries=in_order(entries), voids=voids)) == state_of(case)


@quick
@given(SEEDS, st.randoms(use_true_random=False))
def test_the_order_of_rows_with_different_dates_does_not_matter(seed: int, chance: Random) -> None:
    case = nasty_case(seed)

    def shuffled(rows: Iterable[Row], when: Callable[[Row], Any]) -> list[Row]:
        days: dict[Any, list[Row]] = {}
        for row in rows:
            days.setdefault(when(row), []).append(row)
        keys = list(days)
        chance.shuffle(keys)
        return [row for key in keys for row in days[key]]

    ledger = case.ledger
    other = changed(
        case,
        entries=in_order(shuffled(ledger.entries, lambda e: e.on)),
        readings=shuffled(ledger.readings, lambda r: r.on),
        meters=shuffled(ledger.meters, lambda m: m.fitted_on),
        mounts=shuffled(ledger.mounts, lambda m: m.from_on),
        deferrals=shuffled(ledger.deferrals, lambda d: d.at),
        voids=shuffled(ledger.voids, lambda v: v.entry_id),
    )
    assert state_of(other) == state_of(case)


@quick
@given(SEEDS, st.integers(0, 20))
def test_a_meter_change_that_agrees_with_the_readings_shifts_nothing(seed: int, which: int) -> None:
    case = nasty_case(seed)
    assume(case.ledger.engine_on(case.today).hour_meter)
    record = hour_record(case.ledger, case.today)
    assume(record.days)
    place = which % len(record.days)
    day, engine_tenths = record.days[place], record.tenths[place]
    shown_at_zero = record.engine_tenths(day, 0)
    change = Meter("E1", day, engine_tenths, engine_tenths - shown_at_zero, "failed", sequence=99)
    assert state_of(changed(case, meters=(*case.ledger.meters, change))) == state_of(case)


@quick
@given(SEEDS)
def test_what_is_dated_after_the_day_changes_nothing(seed: int) -> None:
    case, today = nasty_case(seed), nasty_case(seed).today
    ledger = case.ledger
    past = changed(
        case,
        entries=(e for e in ledger.entries if e.on <= today),
        readings=(r for r in ledger.readings if r.on <= today),
        meters=(m for m in ledger.meters if m.fitted_on <= today),
        voids=(v for v in ledger.voids if v.voided_at.date() <= today),
        deferrals=(d for d in ledger.deferrals if d.at.date() <= today),
    )
    assert state_of(past) == state_of(case)


@quick
@given(SEEDS)
def test_names_compare_without_case(seed: int) -> None:
    case = nasty_case(seed)
    shouted = changed(
        case,
        entries=(
            replace(e, item=e.item and e.item.upper(), position=e.position and e.position.swapcase())
            for e in case.ledger.entries
        ),
        deferrals=(replace(d, position=d.position and d.position.upper()) for d in case.ledger.deferrals),
    )
    assert state_of(shouted) == state_of(case)


@quick
@given(SEEDS)
def test_no_date_of_the_window_is_after_the_calendar_limit_and_they_stand_in_order(seed: int) -> None:
    for line in lines_of(nasty_case(seed)):
        if line.window is not None:
            dates = [line.window.early_on, line.window.likely_on, line.window.late_on]
            assert dates == sorted(dates)
            assert line.due_on is None or dates[-1] <= line.due_on


@quick
@given(st.integers(1, 20_000), st.integers(1, 100))
def test_a_limit_is_compared_as_it_is_and_not_as_it_is_shown(tenths: int, hundredths: int) -> None:
    """The last whole tenth not above the limit is not overdue, the next one is, however both are shown."""
    exact = Fraction(tenths * hundredths, 100)
    rule = Rule(
        "anode", "Renew anode", "anode", "replace", every=Limits(tenths),
        severe=(("salt", Decimal(hundredths) / 100),),
    )  # fmt: skip
    boats = {"B": BoatLedger(Boat("B", None, "B", water="salt"))}
    engine = Engine("E1", in_service_on=date(2010, 1, 1), logged_from_new=True, boat_id="B")
    states = []
    for shown in (int(exact), int(exact) + 1):
        ledger = EngineLedger(engine, readings=(Reading("r", "E1", date(2024, 1, 1), shown),), boats=boats)
        [line] = lines_of(Case(ledger, Schedule("s", "S", 1, (rule,)), date(2024, 2, 1)))
        assert line.due_tenths == exact
        states.append(line.state == "overdue")
    assert states == [False, True]
