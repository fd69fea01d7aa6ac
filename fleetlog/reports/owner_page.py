"""The reminder to one owner: which engine, what, why now, by when, and how to answer with today's hours.

It speaks of this owner's engines only and links to no page of the marina, so that it can be sent as it is.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from math import ceil
from urllib.parse import quote

from markupsafe import Markup

from fleetlog.domain.due import DueLine
from fleetlog.domain.fleet import EngineState
from fleetlog.domain.records import Owner
from fleetlog.domain.words import LATER, NEXT_ACCESS, NO_RECORD
from fleetlog.reports.context import ReportContext
from fleetlog.reports.limits import used_bars, work_name
from fleetlog.reports.outlook import hours_today
from fleetlog.reports.owner_words import by_when, deferred_text, if_it_waits, why_now
from fleetlog.reports.shapes import BADGES
from fleetlog.reports.words import (
    boat_name,
    capital,
    counted,
    day_text,
    engine_kind,
    engine_place,
    hours_shown,
    listed,
    shortened,
)

PAGE_LINES = 30
"""Lines of print that a page leaves for the work, beside the letter around it, at two engines."""
LEAST_LINES = 7
"""Lines of print for the work of each engine of an owner with more engines than fit one page."""


@dataclass(frozen=True, slots=True)
class OwnerLine:
    """One piece of work as the owner reads it."""

    badge: Markup
    work: str
    why: str
    waits: str
    by_when: str
    bars: Sequence[Markup]

    @property
    def print_lines(self) -> int:
        """About how many lines of print its row takes."""
        why = ceil((len(self.why) + len(self.waits)) / 46) + len(self.bars)
        return 1 + max(1 + ceil(len(self.work) / 26), why, ceil(len(self.by_when) / 27))


@dataclass(frozen=True, slots=True)
class EngineSection:
    """What is said of one engine."""

    name: str
    about: str
    lines: Sequence[OwnerLine]
    more: str
    next_access: str
    deferred: Sequence[str]
    based_on: str


@dataclass(frozen=True, slots=True)
class AnswerRow:
    """One engine whose hours are asked for."""

    boat: str
    engine: str
    last: str


@dataclass(frozen=True, slots=True)
class OwnerPage:
    """The reminder as it is laid out."""

    owner: str
    address: Sequence[str]
    reach: str
    opening: str
    sections: Sequence[EngineSection]
    rows: Sequence[AnswerRow]
    one_line: Sequence[str]
    mail_to: str
    reply: str


def owner_page(
    owner: Owner, engines: Sequence[EngineState], context: ReportContext, today: date
) -> OwnerPage:
    """The reminder to an owner over all the engines that are theirs today."""
    rows = [(state, _rows(state, today)) for state in engines]
    shown = _fitting(rows)
    sections = [
        _section(state, drawn, count, today) for (state, drawn), count in zip(rows, shown, strict=True)
    ]
    metered = [s for s in engines if s.facts.engine.hour_meter]
    one_line = _one_line(metered, today)
    return OwnerPage(
        shortened(owner.name, 70),
        _address(owner),
        _reach(owner),
        _opening(rows),
        sections,
        [_answer_row(state) for state in metered],
        one_line,
        _mail_to(context, one_line),
        _reply(context),
    )


def _address(owner: Owner) -> list[str]:
    parts = (owner.address or "").replace(";", "\n").splitlines()
    return [shortened(part, 70) for part in parts if part.strip()][:5]


def _reach(owner: Owner) -> str:
    if owner.remind_by == "email" and owner.email:
        return f"By e-mail to {shortened(owner.email, 80)}"
    return "By post" if owner.remind_by == "post" else ""


def _opening(rows: Sequence[tuple[EngineState, list[tuple[OwnerLine, int]]]]) -> str:
    count = sum(lines for _, drawn in rows for _, lines in drawn)
    boats = list(dict.fromkeys(boat_name(s.facts.boat) for s, _ in rows if s.facts.boat))
    aboard = f" of {listed([shortened(b, 40) for b in boats])}" if boats else ""
    engines_word = "engine" if len(rows) == 1 else "engines"
    if not count:
        want = "wants" if len(rows) == 1 else "want"
        return f"By our service log the {engines_word}{aboard} {want} no work just now."
    return (
        f"By our service log {counted(count, 'piece')} of work on the {engines_word}{aboard} "
        f"{'is' if count == 1 else 'are'} due or will be soon. The most pressing comes first."
    )


def _rows(state: EngineState, today: date) -> list[tuple[OwnerLine, int]]:
    """Rows in order of urgency, each with the number of due lines that it stands for."""
    wanted = sorted(
        (line for line in state.lines if line.state not in (LATER, NEXT_ACCESS)), key=lambda line: line.order
    )
    unknown = [line for line in wanted if line.state == NO_RECORD]
    rows = []
    for line in wanted:
        if line.state == NO_RECORD and len(unknown) > 2:
            if line is unknown[0]:
                rows.append((_unknown_row(unknown), len(unknown)))
            continue
        rows.append((_row(state, line, today), 1))
    return rows


def _row(state: EngineState, line: DueLine, today: date) -> OwnerLine:
    return OwnerLine(
        BADGES[line.state],
        work_name(line, 80),
        why_now(line),
        if_it_waits(line),
        by_when(state, line, today),
        used_bars(line, today),
    )


def _unknown_row(lines: Sequence[DueLine]) -> OwnerLine:
    names = [work_name(line, 50) for line in lines]
    told, left = names[:4], len(names) - 4
    named = f"{', '.join(told)} and {left} more" if left > 0 else listed(told)
    return OwnerLine(
        BADGES[NO_RECORD],
        f"{len(lines)} kinds of work without a record",
        f"Our log does not say when these were last done: {named}.",
        "",
        "Please tell us what you know of them; what nobody knows is best looked at now.",
        [],
    )


def _fitting(rows: Sequence[tuple[EngineState, list[tuple[OwnerLine, int]]]]) -> list[int]:
    """How many rows of each engine fit the page: the most pressing of all, at least one of each."""
    shown = [min(1, len(drawn)) for _, drawn in rows]
    room = max(PAGE_LINES, LEAST_LINES * len(rows)) - 4 * max(len(rows) - 1, 0)
    room -= sum(drawn[0][0].print_lines for _, drawn in rows if drawn)
    open_engines = {place for place, (_, drawn) in enumerate(rows) if len(drawn) > 1}
    while open_engines:
        place = min(open_engines, key=lambda p: (shown[p], p))
        drawn = rows[place][1]
        cost = drawn[shown[place]][0].print_lines
        if cost > room:
            open_engines.discard(place)
            continue
        room -= cost
        shown[place] += 1
        if shown[place] == len(drawn):
            open_engines.discard(place)
    return shown


def _section(
    state: EngineState, drawn: list[tuple[OwnerLine, int]], count: int, today: date
) -> EngineSection:
    left_out = drawn[count:]
    left = sum(lines for _, lines in left_out)
    named = shortened(", ".join(row.work for row, _ in left_out), 110)
    owed = [line for line in state.lines if line.state == NEXT_ACCESS]
    return EngineSection(
        _name(state),
        _about(state, today),
        [row for row, _ in drawn[:count]],
        f"and {left} more: {named}" if left else "",
        _next_access(owed),
        list(_deferred(state)),
        _based_on(state, today),
    )


def _name(state: EngineState) -> str:
    facts = state.facts
    if facts.boat is None:
        return f"Engine {shortened(facts.engine.serial, 30)}"
    return f"{shortened(facts.boat.name, 40)}: {engine_place(facts.engine, facts.position)}"


def _about(state: EngineState, today: date) -> str:
    engine = state.facts.engine
    kind = engine_kind(engine)
    return (
        f"{shortened(kind, 40)}, serial number {engine.serial}" if kind else f"Serial number {engine.serial}"
    )


def _next_access(owed: Sequence[DueLine]) -> str:
    if not owed:
        return ""
    names = [work_name(line, 50) for line in owed]
    named = f"{', '.join(names[:2])} and {len(names) - 2} more" if len(names) > 3 else listed(names)
    return f"To be renewed when this part of the engine is next open: {named}."


def _deferred(state: EngineState) -> Iterator[str]:
    put_off = [line for line in state.lines if line.deferral is not None]
    for line in put_off[:2]:
        told = line.deferral is not None and was_theirs_on(state, line.deferral.at.date())
        yield deferred_text(line, work_name(line, 60), with_reason=told)
    if len(put_off) > 2:
        yield f"and {len(put_off) - 2} more put off"


def was_theirs_on(state: EngineState, day: date) -> bool:
    """Whether the engine stood on the same boat of the same owner on an earlier day."""
    boat, _ = state.ledger.place_on(day)
    here = state.facts.boat
    return (
        boat is not None
        and here is not None
        and boat.boat.boat_id == here.boat_id
        and boat.owner_id_on(day) == state.facts.owner_id
    )


def _based_on(state: EngineState, today: date) -> str:
    facts = state.facts
    said = []
    if not facts.engine.hour_meter:
        said.append("It has no hour meter, so the calendar counts, and what alike engines run.")
    elif facts.last_reading is None:
        said.append("We have no reading of its hour meter yet.")
    else:
        last = facts.last_reading
        shows = state.seen.hours.meter_tenths(last.on, last.tenths)
        other = (
            "" if shows == last.tenths else f" ({hours_shown(last.tenths)} in all, with the earlier meter)"
        )
        said.append(f"The meter showed {hours_shown(shows)}{other} on {day_text(last.on)}.")
    estimate = hours_today(state.forecast, today)
    if estimate is not None and facts.last_reading is not None and facts.last_reading.on < today:
        said.append(
            f"We reckon about {estimate.middle_hours:.0f}\N{NO-BREAK SPACE}h today "
            f"({estimate.low_hours:.0f} to {estimate.high_hours:.0f}), an estimate."
        )
    if facts.forecast_basis:
        said.append(f"Dates rest on {shortened(facts.forecast_basis, 160)}.")
    return " ".join(said)


def _answer_row(state: EngineState) -> AnswerRow:
    facts = state.facts
    last = facts.last_reading
    shown = "none yet"
    if last is not None:
        figure = state.seen.hours.meter_tenths(last.on, last.tenths)
        shown = f"{hours_shown(figure)} on {day_text(last.on)}"
    place = capital(facts.position) if facts.position else shortened(facts.engine.serial, 30)
    return AnswerRow(shortened(boat_name(facts.boat), 40), place, shown)


def _one_line(metered: Sequence[EngineState], today: date) -> list[str]:
    """One line for each boat that can be sent back with the figures filled in."""
    boats: dict[str, list[str]] = {}
    for state in metered:
        facts = state.facts
        name = facts.boat.name if facts.boat else facts.engine.serial
        place = facts.position.replace(" ", "-") if facts.position else "hours"
        boats.setdefault(shortened(name, 40), []).append(f"{place}=____")
    return [f"{boat}: {' '.join(places)} on {today.isoformat()}" for boat, places in boats.items()]


def _mail_to(context: ReportContext, one_line: Sequence[str]) -> str:
    if not context.reply_email or not one_line:
        return ""
    body = "\r\n".join(line.replace("____", "") for line in one_line)
    return f"mailto:{quote(context.reply_email, safe='@.+-_')}?subject=Engine%20hours&body={quote(body)}"


def _reply(context: ReportContext) -> str:
    ways = []
    if context.reply_email:
        ways.append(f"by e-mail to {context.reply_email}")
    if context.reply_by:
        ways.append(context.reply_by)
    return f"Please answer {listed(ways)}." if ways else "Please hand it in or send it back to us."
