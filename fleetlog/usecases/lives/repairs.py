"""Repairs of engines by age, of all or one or by conditions, and whether they become more frequent."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from fleetlog.domain.repairs import EngineRepairs, repairs_of
from fleetlog.domain.travel import Home
from fleetlog.domain.words import same_name
from fleetlog.errors.life import NoRepairs, RepairsTellNoTrend, SplitNeedsGroups
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.usecases.finding import find_serial, schedule_of
from fleetlog.usecases.lives.gathering import Where, check_condition, check_value, find_kind
from fleetlog.usecases.occasion import Occasion

if TYPE_CHECKING:
    from fleetlog.life.lives import Unit
    from fleetlog.life.mean_cumulative import MeanCumulativeFunction
    from fleetlog.life.recurrence import PowerLaw, TimeBetweenRepairs, Trend

ENGINE_CONDITIONS = ("family", "water", "use")
"""By what engines can be chosen and split."""


@dataclass(frozen=True, slots=True)
class RepairsQuestion:
    """What is asked of repairs: of one kind of item or all, of one engine or under which conditions, split
    by which."""

    item: str | None = None
    engine: str | None = None
    where: Where = ()
    split: str | None = None
    unit: Unit = "hours"
    confidence: float = 0.95


@dataclass(frozen=True, eq=False)
class RepairsOfGroup:
    """The repairs of a group of engines; without `mean` there are none, without `trend` too few.

    `watched` is the sum of all engines' time under watch, in the unit asked for; `left_out` engines have no
    age in it. `between` is of a lone engine watched from new.
    """

    name: str
    engines: int
    repairs: int
    watched: float
    left_out: int
    mean: MeanCumulativeFunction | None
    trend: Trend | None
    law: PowerLaw | None
    between: TimeBetweenRepairs | None = None


@dataclass(frozen=True, eq=False)
class RepairsAnswer:
    """The repairs of all engines asked for, and of each group."""

    unit: Unit
    work: str
    whole: RepairsOfGroup
    split_by: str = ""
    groups: Sequence[RepairsOfGroup] = ()


def look_up_repairs(log: Log, occasion: Occasion, question: RepairsQuestion) -> RepairsAnswer:
    """Repairs by age; raises BadChoice, NotKnown, SplitNeedsGroups, and NoRepairs where there is none."""
    with log.reading() as reader:
        engines, item = _engines(reader, occasion.today, question)
    for condition, value in question.where:
        check_condition(condition, ENGINE_CONDITIONS)
        held = {v for e in engines if (v := getattr(e.conditions, condition)) is not None}
        check_value(condition, value, held)
        engines = [e for e in engines if same_name(getattr(e.conditions, condition), value)]
    named = engines[0].serial if question.engine is not None and engines else "all"
    whole = _group(named, engines, question)
    if whole.mean is None:
        raise NoRepairs
    groups: dict[str, list[EngineRepairs]] = {}
    if question.split is not None:
        check_condition(question.split, ENGINE_CONDITIONS)
        for engine in engines:
            held_by = getattr(engine.conditions, question.split)
            if held_by is not None:
                groups.setdefault(held_by, []).append(engine)
        if len(groups) < 2:
            raise SplitNeedsGroups(question.split, list(groups))
    work = f"the {item}" if item else "any item"
    return RepairsAnswer(
        question.unit,
        work,
        whole,
        question.split or "",
        [_group(name, groups[name], question) for name in sorted(groups)],
    )


def _engines(
    reader: Reader, today: date, question: RepairsQuestion
) -> tuple[list[EngineRepairs], str | None]:
    schedules, typed = reader.schedules(), question.item
    serials = None if question.engine is None else [find_serial(reader, question.engine)]
    homes = [Home(ledger, schedule_of(ledger, schedules), today) for ledger in reader.ledgers(serials)]
    item = None
    if typed is not None:
        kinds = {key: entries[0].item or "" for home in homes for key, entries in home.seen.by_item.items()}
        item = find_kind(kinds, typed)
    in_service = [h for h in homes if (h.seen.engine.in_service_on or today) <= today]
    return [repairs_of(home, item) for home in in_service], item


def _group(name: str, engines: Sequence[EngineRepairs], question: RepairsQuestion) -> RepairsOfGroup:
    from fleetlog.life.mean_cumulative import mean_cumulative_function
    from fleetlog.life.recurrence import (
        FEWEST_REPAIRS,
        Repairs,
        fit_power_law,
        repair_trend,
        time_between_repairs,
    )

    ages, starts, ends = [], [], []
    for engine in engines:
        start, end = getattr(engine.start, question.unit), getattr(engine.end, question.unit)
        if start is None or end is None or not 0 <= start < end:
            continue
        known = [age for repair in engine.repairs if (age := getattr(repair, question.unit)) is not None]
        ages.append([age for age in known if start < age <= end])
        starts.append(start)
        ends.append(end)
    count = sum(len(a) for a in ages)
    watched = round(sum(ends) - sum(starts), 3)
    left_out = len(engines) - len(ends)
    if count == 0:
        return RepairsOfGroup(name, len(ends), 0, watched, left_out, None, None, None)
    repairs = Repairs.of_engines(ages, ends, starts)
    trend, law, between = None, None, None
    if count >= FEWEST_REPAIRS:
        trend = repair_trend(repairs)
        with suppress(RepairsTellNoTrend):
            law = fit_power_law(repairs)
            if len(ends) == 1 and starts == [0.0]:
                between = time_between_repairs(ages[0], ends[0])
    mean = mean_cumulative_function(repairs, question.confidence)
    return RepairsOfGroup(name, len(ends), count, watched, left_out, mean, trend, law, between)
