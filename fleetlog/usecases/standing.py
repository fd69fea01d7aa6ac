"""Keeps engines' due lines, so that a list of many need not work them out, and brings them up to date.

What is kept is what the interval engine gives, and serves the days on which a fresh computation comes to the
same. A writing puts the engines that it bears on out of date; whatever is out of date is worked out anew.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from fleetlog.domain.due import DEFAULT_WINDOW_DAYS, DueLine, engine_limits
from fleetlog.domain.kept import KeptEngine, days_alike, days_of_wear, due_line_of, kept_line
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.schedule import Schedule
from fleetlog.errors.log import ScheduleInLogUnreadable
from fleetlog.store.kept.lines import rows_to_keep
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.store.writer import Writer
from fleetlog.usecases.finding import schedule_of
from fleetlog.usecases.fleet import Worked, draw_lines, fleet_state, limits_of
from fleetlog.usecases.learning import fit_name, parameters_of, serving_fit
from fleetlog.usecases.occasion import Occasion

if TYPE_CHECKING:
    from fleetlog.forecast.evidence import EngineUsage
    from fleetlog.forecast.parameters import FleetParameters

MOST_IN_A_WRITING = 200
"""A writing that bears on more engines leaves them out of date, for the next list or `refresh`."""


def keep_what_is_written_to(
    writer: Writer, occasion: Occasion, serials: list[str], tell_of_a_bug: Callable[[], object]
) -> None:
    """Brings the lines of the engines that a writing bears on up to date within it, as seen on a day.

    For `Log.when_written`. Nothing is fitted here: without a fit that serves they stay out of date. So they
    do where a bug keeps them from being worked out, which is told while it is handled: what is written is
    not to suffer from it.
    """
    if len(serials) > MOST_IN_A_WRITING:
        return
    with writer.kept.apart(tell_of_a_bug), suppress(ScheduleInLogUnreadable):  # the next list names it
        fit = serving_fit(writer, occasion.today)
        if fit is not None and may_keep(writer, occasion):
            engines = worked_out(writer, lambda _: parameters_of(fit), occasion.today, serials)
            writer.keep_lines([rows_to_keep(engine) for engine in engines])


def get_ready(log: Log, occasion: Occasion) -> None:
    """Loads what works lines out, where the log has a fit: within a writing it would hold up all others.

    What cannot be loaded is told by the writing, which is recorded all the same.
    """
    with log.reading() as reader:
        has_fit = serving_fit(reader, occasion.today) is not None
    if has_fit:
        with suppress(ImportError):
            import pendulum  # noqa: F401

            import fleetlog.forecast.many  # noqa: F401


def may_keep(reader: Reader, occasion: Occasion) -> bool:
    """Whether lines of the day asked about are of use to others: it is the present day, or the latest yet.

    A look at a past day, or back from one that was ahead, is not to push out what everybody else reads.
    """
    if abs((occasion.today - occasion.at.date()).days) <= 1:  # it may be a day on or back in UTC
        return True
    newest = reader.kept.newest_first_day()
    return newest is None or newest <= occasion.today


def worked_out(
    reader: Reader,
    learnt: Callable[[Sequence[EngineUsage]], FleetParameters],
    today: date,
    serials: Sequence[str],
) -> list[KeptEngine]:
    """What is to be kept of engines as seen on a day, worked out from their ledgers.

    `learnt` says how the fleet is used, once these engines' own use is known. Nothing is kept of one with a
    row beyond the bounds: it stays out of date, so that every list names it.
    """
    schedules = reader.schedules()
    worked = [limits_of(ledger, schedules, today) for ledger in reader.ledgers(serials)]
    parameters = learnt([one.usage for one in worked])
    draw_lines(worked, parameters, today, DEFAULT_WINDOW_DAYS)
    fit = fit_name(parameters)
    return [_to_keep(one, fit, parameters.fitted_on, today) for one in worked if not one.beyond]


def _to_keep(one: Worked, fit: str, fitted_on: date, today: date) -> KeptEngine:
    first, last = days_alike(one.days, one.limits.standings, today)
    first_of_wear, last_of_wear = days_of_wear(one.lines, today)
    facts = one.limits.facts
    boat, read = facts.boat, facts.last_reading
    held = len(one.limits.seen.hours.held)
    lines = [kept_line(line) for line in one.lines]
    if held and lines:
        lines[0] = replace(lines[0], shows_on=date.min)
    return KeptEngine(
        one.ledger.engine.serial,
        max(first, first_of_wear, fitted_on),
        min(last, last_of_wear),
        fit,
        boat.boat_id if boat else None,
        facts.owner_id,
        read.on if read else None,
        read.tenths if read else None,
        facts.forecast_basis,
        held,
        tuple(lines),
    )


def lines_of_one(reader: Reader, today: date, serial: str, within_days: int) -> list[DueLine]:
    """Every line of one engine on a day, in the order of its schedule; with kept dates where they serve."""
    fit = serving_fit(reader, today)
    if fit is not None and not reader.kept.out_of_date(fit.content_id, today, serial):
        kept = reader.kept.engines([serial])[serial]
        return lines_as_kept(reader.ledger(serial), reader.schedules(), kept, today, within_days)
    state = fleet_state(reader, today, within_days, [serial])
    return [line for engine in state.engines for line in engine.lines]


def lines_as_kept(
    ledger: EngineLedger,
    schedules: dict[str, Schedule],
    kept: KeptEngine,
    today: date,
    within_days: int,
) -> list[DueLine]:
    """The lines of an engine on a day from its ledger, with the dates that are kept of their forecast."""
    limits = engine_limits(ledger, schedule_of(ledger, schedules), today).resting_on(kept.basis)
    return [
        due_line_of(limits, standing, line, within_days)
        for standing, line in zip(limits.standings, kept.lines, strict=True)
    ]
