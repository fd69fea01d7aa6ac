"""Records hour meter readings, for one engine or for boats as owners send them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from fleetlog.domain.batch import Batch
from fleetlog.domain.habit import times_above_habit
from fleetlog.domain.hour_record import hour_record
from fleetlog.domain.hours import hours_text
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.records import Reading
from fleetlog.errors import FleetlogError
from fleetlog.errors.recording import FiguresCrossed, HoursNotRead
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.store.writer import Writer
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.asking import Ask, asked_between
from fleetlog.usecases.occasion import Occasion, new_id
from fleetlog.usecases.recording import (
    JudgedFigure,
    judged_figure,
    meter_figure,
    refuse_above_what_follows,
    refuse_problems,
)
from fleetlog.usecases.whose_hours import Figure, engines_meant


@dataclass(frozen=True, slots=True)
class _Planned:
    ledger: EngineLedger
    meter_tenths: int
    label: str


@dataclass(frozen=True, slots=True)
class HowRead:
    """How figures came: engine hours or as the meter shows, from where, and whether twins are swapped."""

    are_engine_hours: bool = False
    source: str | None = None
    crossed: bool | None = None


@asked_between
@again_if_lost
def record_hours(
    log: Log, occasion: Occasion, figures: Sequence[Figure], how: HowRead, *, ask: Ask
) -> list[JudgedFigure]:
    """Write readings, all of them or none. Where nobody said whether twins are swapped, that is asked.

    A reading that conflicts with an accepted one is written and held; one far above the engine's habit
    is asked about, and accepted where nobody can answer. Raises AboveWhatFollows for one above the hours
    that a later change of meter begins with, and HoursNotRead with all figures of a text that mean no engine.
    """
    with log.writing(occasion.by, occasion.at) as writer:
        if len(figures) > 1:
            _refuse_unknown(writer, occasion, figures)
        return write_hours(writer, occasion, figures, how, ask)


def _refuse_unknown(reader: Reader, occasion: Occasion, figures: Sequence[Figure]) -> None:
    """Refuse, all at once, figures of boats, places and days that the log does not know."""
    problems = []
    for figure in figures:
        try:
            occasion.refuse_future("a reading", figure.on)
            engines_meant(reader, figure)
        except FleetlogError as error:
            problems.append(f"line {figure.line}: {error}")
    if problems:
        raise HoursNotRead(problems)


def write_hours(
    writer: Writer, occasion: Occasion, figures: Sequence[Figure], how: HowRead, ask: Ask
) -> list[JudgedFigure]:
    """Write readings within a writing, as `record_hours` says."""
    recorded = []
    for figure in figures:
        occasion.refuse_future("a reading", figure.on)
        planned = _uncrossed(_planned(writer, figure, how.are_engine_hours), figure, ask, how.crossed)
        recorded += [_write(writer, occasion, plan, figure.on, how.source, ask) for plan in planned]
    return recorded


def _planned(reader: Reader, figure: Figure, are_engine_hours: bool) -> list[_Planned]:
    """The engines a figure speaks of, each with what its meter showed."""
    found = []
    for ledger, label, tenths in engines_meant(reader, figure):
        shown = meter_figure(ledger, figure.on, tenths, are_engine_hours=are_engine_hours)
        assert shown is not None
        found.append(_Planned(ledger, shown, label))
    return found


def _uncrossed(planned: list[_Planned], figure: Figure, ask: Ask, crossed: bool | None) -> list[_Planned]:
    """Twins whose figures fit the readings before them only the other way round are asked about."""
    if len(planned) != 2:
        return planned
    one, other = planned
    swapped = [replace(one, meter_tenths=other.meter_tenths), replace(other, meter_tenths=one.meter_tenths)]
    if crossed is not None:
        return swapped if crossed else planned
    if all(_fits(p, figure.on) for p in planned) or not all(_fits(p, figure.on) for p in swapped):
        return planned
    given, turned = _said(planned), _said(swapped)
    answer = ask(
        f"{figure.about}: {given} does not fit the readings before it, {turned} would. Record it so?"
    )
    if answer is None:
        raise FiguresCrossed(figure.about, given, turned)
    return swapped if answer else planned


def _said(planned: Sequence[_Planned]) -> str:
    return " ".join(f"{p.label}={hours_text(p.meter_tenths)}" for p in planned)


def _fits(plan: _Planned, on: date) -> bool:
    """Whether a figure would be accepted and is not far above the engine's habit."""
    reading = Reading("", plan.ledger.engine.serial, on, plan.meter_tenths, sequence=1 << 60)
    record = hour_record(_with(plan.ledger, reading), date.max)
    return (
        record.held_figure(on, plan.meter_tenths) is None
        and times_above_habit(plan.ledger, on, plan.meter_tenths) is None
    )


def _with(ledger: EngineLedger, reading: Reading) -> EngineLedger:
    return replace(ledger, readings=(*ledger.readings, reading))


def _write(
    writer: Writer, occasion: Occasion, plan: _Planned, on: date, source: str | None, ask: Ask
) -> JudgedFigure:
    reading = Reading(
        new_id("r"), plan.ledger.engine.serial, on, plan.meter_tenths, source, None, occasion.by, 1 << 60
    )
    ledger, grown = plan.ledger, _with(plan.ledger, reading)
    bare = EngineLedger(ledger.engine)  # a reading has to keep the rules whatever else the ledger holds
    refuse_problems(bare, _with(bare, reading), None)
    refuse_above_what_follows(ledger, grown)
    figure = judged_figure(ledger, grown, on, plan.meter_tenths, ask, plan.label)
    writer.add(Batch(readings=[reading]))
    return figure
