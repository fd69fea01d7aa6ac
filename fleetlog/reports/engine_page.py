"""The page of one engine: where it stands, its items and their ages, its hours, and its whole history.

Boats are named, owners are not: the page may be given to whoever owns the engine now. What technicians
wrote in their own words stands as they wrote it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from markupsafe import Markup

from fleetlog.domain.due import DueLine
from fleetlog.domain.explain import explain
from fleetlog.domain.fleet import EngineState
from fleetlog.domain.hour_record import HeldReading
from fleetlog.domain.out_of_service import why_without_lines
from fleetlog.domain.records import Mount, Reading
from fleetlog.domain.stints import TrackedItem
from fleetlog.domain.travel import Homes
from fleetlog.domain.words import LATER, NEXT_ACCESS, name_key, same_name, same_place, with_position
from fleetlog.reports.cautions import Caution, cautions_for
from fleetlog.reports.changed_facts import changed_facts
from fleetlog.reports.charts.bars import Used, age_bar
from fleetlog.reports.charts.meter import MeterCurve, meter_chart
from fleetlog.reports.charts.months import month_chart
from fleetlog.reports.charts.shapes import BADGES
from fleetlog.reports.history import Chapter, chapters
from fleetlog.reports.limits import due_text, interval_used, likely_text, round_hours, work_name
from fleetlog.reports.outlook import Outlook
from fleetlog.reports.owner_words import deferred_text
from fleetlog.reports.paper_views import papers_seen
from fleetlog.reports.standing_by import (
    AdviceView,
    AssemblyView,
    TermView,
    advice_views,
    assembly_views,
    off_views,
    term_views,
)
from fleetlog.reports.stint_words import stints_text
from fleetlog.reports.words import (
    at_least,
    day_text,
    days_told,
    engine_kind,
    family_text,
    hours_read,
    hours_shown,
    in_service_text,
    months_shown,
    part_text,
    reckoned_shown,
)


@dataclass(frozen=True, slots=True)
class LineView:
    """A due line of the engine."""

    badge: Markup
    work: str
    due: str
    likely: str
    used: Sequence[Used]
    why: str


@dataclass(frozen=True, slots=True)
class ItemView:
    """An item fitted now, its age in hours and in months against the interval that renews it.

    `stints` are told where it has several.
    """

    name: str
    fitted: str
    part: str
    stints: str
    hours: str
    hours_bar: Markup
    months: str
    months_bar: Markup


@dataclass(frozen=True, slots=True)
class HeldView:
    """A reading that counts for nothing until a person rules on it, and what it conflicts with."""

    text: str
    conflict: str


@dataclass(frozen=True, slots=True)
class ReadingView:
    """One reading as a row."""

    on: str
    meter: str
    engine: str
    source: str
    status: str


@dataclass(frozen=True, slots=True)
class EnginePage:
    """The page as it is laid out."""

    serial: str
    kind: str
    facts: Sequence[tuple[str, str]]
    held: Sequence[HeldView]
    lines: Sequence[LineView]
    no_lines: str
    off: Sequence[str]
    owed: Sequence[str]
    deferred: Sequence[str]
    items: Sequence[ItemView]
    cautions: Sequence[Caution]
    curve: Markup
    basis: str
    months: Markup
    readings: Sequence[ReadingView]
    places: Sequence[tuple[str, str]]
    chapters: Sequence[Chapter]
    assemblies: Sequence[AssemblyView]
    terms: Sequence[TermView]
    advice: Sequence[AdviceView]
    has_papers: bool
    changed: Sequence[str]


def engine_page(state: EngineState, outlook: Outlook, today: date, homes: Homes) -> EnginePage:
    """Everything that the page of an engine shows; `homes` are the engines that its items came from."""
    engine = state.facts.engine
    wanted = sorted(state.lines, key=lambda line: line.order)
    pressing = [line.rule for line in wanted if line.state != LATER]
    return EnginePage(
        engine.serial,
        engine_kind(engine),
        list(_facts(state, outlook)),
        [_held(held) for held in state.seen.hours.held],
        [_line(line, today) for line in wanted if line.state != NEXT_ACCESS],
        _no_lines(state),
        off_views(state),
        [_owed(line) for line in wanted if line.state == NEXT_ACCESS],
        [deferred_text(line, work_name(line), with_reason=True) for line in wanted if line.deferral],
        [_item(state, item, homes, today) for item in _tracked(state, homes)],
        cautions_for(pressing),
        _curve(state, outlook, wanted, today),
        days_told(state.facts.forecast_basis) if outlook.months or state.lines else "",
        month_chart(outlook.months, "months"),
        _readings(state, today),
        list(_places(state, today)),
        chapters(state, today),
        assembly_views(state, homes),
        term_views(state),
        advice_views(state),
        bool(papers_seen(state)),
        changed_facts(state, today),
    )


def _facts(state: EngineState, outlook: Outlook) -> Iterator[tuple[str, str]]:
    facts, engine, schedule = state.facts, state.facts.engine, state.schedule
    boat = facts.boat
    if boat is not None:
        yield "Boat", boat.name + (f", {facts.position}" if facts.position else "")
        used = ", ".join(word for word in (boat.use, f"{boat.water} water" if boat.water else "") if word)
        if used:
            yield "Use", used
    else:
        yield "Boat", "on no boat"
    yield "State", engine.state
    yield "In service", in_service_text(engine)
    if engine.family:
        yield "Family", family_text(engine)
    if schedule is not None:
        yield "Schedule", f"{schedule.title}, revision {schedule.revision}"
    yield "Engine hours", hours_read(facts)
    if outlook.today is not None:
        yield "Reckoned today", reckoned_shown(*outlook.today)
    if schedule is not None and schedule.note:
        yield "Of the schedule", schedule.note


def _held(held: HeldReading) -> HeldView:
    against = held.against
    shown = f"{hours_shown(held.meter_tenths)} on the meter, {day_text(held.on)}"
    if held.tenths != held.meter_tenths:
        shown += f" ({hours_shown(held.tenths)} of the engine)"
    other = f"{hours_shown(against.tenths)} on {day_text(against.on)}"
    if held.is_below:
        return HeldView(shown, f"It is below the reading before it, {other}.")
    return HeldView(shown, f"It is more than 24 hours a day above the reading before it, {other}.")


def _line(line: DueLine, today: date) -> LineView:
    return LineView(
        BADGES[line.state],
        work_name(line),
        due_text(line),
        likely_text(line),
        interval_used(line, today),
        days_told(explain(line)),
    )


def _no_lines(state: EngineState) -> str:
    if state.lines:
        return ""
    why = why_without_lines(state.facts.engine, state.seen.today)
    if why is not None:
        return days_told(f"The engine {why}.")
    if state.is_unscheduled:
        return "No service schedule is known for this engine, so nothing can be said to be due."
    return "Nothing falls due."


def _owed(line: DueLine) -> str:
    owed = line.standing.owed_since
    if owed is None:
        return work_name(line)
    how = f" ({owed.note})" if owed.note else ""
    did = "put back used" if owed.action == "reused" else "off for access, nothing says what went back,"
    return f"{work_name(line)}: {did} on {day_text(owed.on)}{how}"


def _tracked(state: EngineState, homes: Homes) -> list[TrackedItem]:
    """What is fitted now, but for items that are only ever looked at or treated."""
    items = [item for item in homes.known(state.serial).items if item.is_on]
    renewed = set()
    if state.schedule is not None:
        renewed = {name_key(rule.item) for rule in state.schedule.rules if rule.action == "replace"}
    return [item for item in items if item.fitted is not None or name_key(item.item) in renewed]


def _item(state: EngineState, item: TrackedItem, homes: Homes, today: date) -> ItemView:
    last = state.facts.last_reading
    tenths = item.age_tenths(last.tenths if last else None)
    months = item.age_months(today)
    line = _renewal_of(state.lines, item)
    limit_tenths = line.standing.interval.tenths if line else None
    limit_months = line.standing.interval.months if line else None
    fitted = item.fitted
    hours = "not known" if tenths is None else at_least(hours_shown(tenths), is_least=item.is_least)
    age = "not known" if months is None else months_shown(months)
    hours_bar, months_bar = Markup(""), Markup("")
    if tenths is not None and limit_tenths is not None:
        hours += f" of {round_hours(limit_tenths)}"
        hours_bar = age_bar(float(tenths), float(limit_tenths))
    if months is not None and limit_months is not None:
        age += f" of {months_shown(limit_months)}"
        months_bar = age_bar(months, limit_months)
    if fitted is None:
        since = "the original, as far as the log knows"
    else:
        since = day_text(fitted.on) + (", used" if fitted.condition == "used" else "")
    part = part_text(fitted.part_number, fitted.lot) if fitted is not None else ""
    name = with_position(item.item, item.position)
    stints = stints_text(homes, state.serial, item, today)
    return ItemView(name, since, part, stints, hours, hours_bar, age, months_bar)


def _renewal_of(lines: Sequence[DueLine], item: TrackedItem) -> DueLine | None:
    """The line that renews an item at its interval."""
    for line in lines:
        rule = line.rule
        is_of_item = same_name(rule.item, item.item) and same_place(line.position, item.position)
        if rule.action == "replace" and rule.is_by_interval and is_of_item:
            return line
    return None


def _curve(state: EngineState, outlook: Outlook, lines: Sequence[DueLine], today: date) -> Markup:
    record = state.seen.hours
    if not record.metered or not (record.days or record.held):
        return Markup("")
    last = record.tenths[-1] if record.tenths else 0
    limits = [
        (line.due_tenths, line.rule.item)
        for line in lines
        if line.due_tenths is not None and line.due_tenths >= last
    ]
    limit, name = min(limits, default=(None, None), key=lambda pair: pair[0])
    return meter_chart(
        MeterCurve(
            today,
            outlook,
            [(day, tenths / 10) for day, tenths in zip(record.days, record.tenths, strict=True)],
            [(held.on, held.tenths / 10) for held in record.held],
            None if limit is None else float(limit) / 10,
            None if name is None else f"limit: {name}",
        ),
        "meter",
    )


def _readings(state: EngineState, today: date) -> list[ReadingView]:
    """Every reading row seen, the newest first; who sent it in is not told."""
    record = state.seen.hours
    rows = [r for r in state.ledger.readings if r.on <= today]
    rows.sort(key=lambda r: (r.on, r.meter_tenths), reverse=True)
    return [_reading(r, record.by_figure.get((r.on, r.meter_tenths))) for r in rows]


def _reading(reading: Reading, engine_tenths: int | None) -> ReadingView:
    status = reading.status or ("held" if engine_tenths is None else "")
    return ReadingView(
        day_text(reading.on),
        hours_shown(reading.meter_tenths),
        "" if engine_tenths is None or reading.status == "withdrawn" else hours_shown(engine_tenths),
        reading.source or "",
        status,
    )


def _places(state: EngineState, today: date) -> Iterator[tuple[str, str]]:
    """The boats it stood on and when; owners are not named."""
    stays: list[Mount] = []
    for mount in sorted(state.ledger.mounts, key=lambda m: m.from_on):
        before = stays[-1] if stays else None
        here = (mount.from_on, mount.boat_id, mount.position)
        if before is not None and (before.to_on, before.boat_id, before.position) == here:
            stays[-1] = replace(before, to_on=mount.to_on)  # a move that was taken back
        else:
            stays.append(mount)
    for mount in reversed([m for m in stays if m.from_on <= today and m.boat_id is not None]):
        boat = state.ledger.boats.get(mount.boat_id or "")
        name = boat.boat_on(min(today, mount.to_on or today)).name if boat else mount.boat_id
        where = f", {mount.position}" if mount.position else ""
        ended = mount.to_on is not None and mount.to_on <= today
        until = f" to {day_text(mount.to_on)}" if ended and mount.to_on else " until now"
        yield f"{name}{where}", f"{day_text(mount.from_on)}{until}"
