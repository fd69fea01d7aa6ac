"""The reminder to one owner: which engine, what, why now, by when, and how to answer with today's hours.

It speaks of this owner's engines only and links to no page of the marina, so that it can be sent as it is.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from urllib.parse import quote

from fleetlog.domain.due import DueLine
from fleetlog.domain.fleet import EngineState
from fleetlog.domain.records import Owner
from fleetlog.domain.words import NEXT_ACCESS
from fleetlog.reports.context import ReportContext
from fleetlog.reports.limits import work_name
from fleetlog.reports.outlook import Outlook
from fleetlog.reports.owner_lines import OwnerLine, owner_lines
from fleetlog.reports.owner_words import deferred_text
from fleetlog.reports.page_fit import rows_that_fit, text_lines
from fleetlog.reports.words import (
    boat_name,
    clauses,
    counted,
    day_text,
    engine_kind,
    hours_about,
    hours_shown,
    listed,
    shortened,
)


@dataclass(frozen=True, slots=True)
class EngineSection:
    """What is said of one engine."""

    name: str
    about: str
    lines: Sequence[OwnerLine]
    more: str
    notes: Sequence[str]
    based_on: str


@dataclass(frozen=True, slots=True)
class AnswerRow:
    """One engine whose hours are asked for."""

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
    nothing_on: str
    rows: Sequence[AnswerRow]
    one_line: Sequence[str]
    mail_to: str
    reply: str


def owner_page(
    owner: Owner,
    engines: Sequence[EngineState],
    outlooks: Mapping[str, Outlook],
    context: ReportContext,
    today: date,
) -> OwnerPage:
    """The reminder to an owner over all the engines that are theirs today."""
    drawn = [(state, owner_lines(state, today), list(_notes(state))) for state in engines]
    wanting = [d for d in drawn if d[1] or d[2]]
    metered = [state for state in engines if state.facts.engine.hour_meter]
    one_line = _one_line(metered, today)
    address, opening = _address(owner), _opening(engines, [rows for _, rows, _ in drawn])
    nothing_on = _nothing_on([state for state, rows, notes in drawn if not (rows or notes)], bool(wanting))
    based_on = [_based_on(state, outlooks[state.serial].today) for state, _, _ in wanting]
    reply = _reply(context, bool(metered))
    around = 14.5 + max(len(address), 1) + text_lines(opening) + text_lines(reply) + text_lines(nothing_on)
    around += 1.6 * len(metered) + len(one_line)
    for (_, _, notes), based in zip(wanting, based_on, strict=True):
        around += 4.8 + text_lines(based) + sum(text_lines(note) + 0.3 for note in notes)
    shown = rows_that_fit([rows for _, rows, _ in wanting], around)
    return OwnerPage(
        shortened(owner.name, 70),
        address,
        _reach(owner),
        opening,
        [
            _section(state, rows, count, notes, based)
            for (state, rows, notes), count, based in zip(wanting, shown, based_on, strict=True)
        ],
        nothing_on,
        [_answer_row(state) for state in metered],
        one_line,
        _mail_to(context, one_line),
        reply,
    )


def _address(owner: Owner) -> list[str]:
    parts = (owner.address or "").replace(";", "\n").splitlines()
    return [shortened(part, 60) for part in parts if part.strip()][:5]


def _reach(owner: Owner) -> str:
    if owner.remind_by == "email" and owner.email:
        return f"By e-mail to {shortened(owner.email, 60)}"
    return "By post" if owner.remind_by == "post" else ""


def _opening(engines: Sequence[EngineState], rows: Sequence[Sequence[OwnerLine]]) -> str:
    count = sum(row.stands_for for drawn in rows for row in drawn)
    boats = list(dict.fromkeys(boat_name(s.facts.boat) for s in engines if s.facts.boat))
    names = [shortened(name, 40) for name in boats[:3]] + (["others"] if len(boats) > 3 else [])
    aboard = f" of {listed(names)}" if names else ""
    which = ("engine" if len(engines) == 1 else "engines") + aboard
    if not count:
        return f"By our service log nothing is due just now on your {which}."
    return (
        f"By our service log {counted(count, 'piece')} of work on your {which} "
        f"{'is' if count == 1 else 'are'} due or will be soon. The most pressing comes first."
    )


def _nothing_on(engines: Sequence[EngineState], is_rest: bool) -> str:
    if not engines or not is_rest:
        return ""
    names = [_name(state) for state in engines]
    told = listed(names) if len(names) <= 6 else f"{', '.join(names[:5])} and {len(names) - 5} more"
    return f"Nothing is due just now on: {told}."


def _section(
    state: EngineState, rows: Sequence[OwnerLine], count: int, notes: Sequence[str], based_on: str
) -> EngineSection:
    left_out = rows[count:]
    left = sum(row.stands_for for row in left_out)
    named = shortened(", ".join(row.work for row in left_out), 70)
    return EngineSection(
        _name(state),
        _about(state),
        rows[:count],
        f"and {left} more: {named}" if left else "",
        notes,
        based_on,
    )


def _name(state: EngineState) -> str:
    facts = state.facts
    if facts.boat is None:
        return f"Engine {shortened(facts.engine.serial, 30)}"
    place = f", {shortened(facts.position, 20)}" if facts.position else ""
    return shortened(facts.boat.name, 40) + place


def _about(state: EngineState) -> str:
    engine = state.facts.engine
    kind = shortened(engine_kind(engine), 30)
    return f"{kind}, serial number {engine.serial}" if kind else f"serial number {engine.serial}"


def _notes(state: EngineState) -> Iterator[str]:
    """What is owed at the next access, and what was put off: a sentence each."""
    owed = [line for line in state.lines if line.state == NEXT_ACCESS]
    if owed:
        yield f"To be renewed when this part of the engine is next open: {_some(owed)}."
    put_off = [line for line in state.lines if line.deferral is not None]
    if put_off:
        first = put_off[0]
        told = first.deferral is not None and was_theirs_on(state, first.deferral.at.date())
        more = f" And {len(put_off) - 1} more put off." if len(put_off) > 1 else ""
        yield deferred_text(first, work_name(first, 50), with_reason=told) + more


def _some(lines: Sequence[DueLine]) -> str:
    names = [work_name(line, 50) for line in lines]
    return f"{', '.join(names[:2])} and {len(names) - 2} more" if len(names) > 3 else listed(names)


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


def _based_on(state: EngineState, reckoned: tuple[float, float, float] | None) -> str:
    facts = state.facts
    said = []
    if not facts.engine.hour_meter:
        said.append("It has no hour meter, so the calendar counts, and what alike engines run.")
    elif facts.last_reading is None:
        said.append("We have no reading of its hour meter yet.")
    else:
        last = facts.last_reading
        shows = state.seen.hours.meter_tenths(last.on, last.tenths)
        other = ""
        if shows != last.tenths:
            other = f" ({hours_shown(last.tenths)} in all, with the earlier meter)"
        said.append(f"The meter showed {hours_shown(shows)}{other} on {day_text(last.on)}.")
        if reckoned is not None:
            said.append(f"We reckon it has run {hours_about(*reckoned)} by today.")
    if facts.forecast_basis:
        said.append(f"Dates rest on {clauses(facts.forecast_basis, 190)}.")
    return " ".join(said)


def _answer_row(state: EngineState) -> AnswerRow:
    facts = state.facts
    last = facts.last_reading
    shown = "none yet"
    if last is not None:
        figure = state.seen.hours.meter_tenths(last.on, last.tenths)
        shown = f"{hours_shown(figure)} on {day_text(last.on)}"
    return AnswerRow(_name(state), shown)


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


def _reply(context: ReportContext, has_meters: bool) -> str:
    ways = []
    if context.reply_email:
        ways.append(f"by e-mail to {context.reply_email}")
    if context.reply_by:
        ways.append(context.reply_by)
    asked = "Tell us about how many hours it ran this past year, and answer"
    if has_meters:
        asked = "Write down what each hour meter shows today, and answer"
    return f"{asked} {listed(ways, 'or')}." if ways else f"{asked} by post or at our counter."
