"""The reminder to one owner: which engine, what, why now, by when, and how to answer with today's hours.

It speaks of this owner's engines only and links to no page of the marina, so that it can be sent as it is.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from urllib.parse import quote

from fleetlog.domain.due import DueLine
from fleetlog.domain.fleet import EngineState
from fleetlog.domain.gravity import is_grave
from fleetlog.domain.records import Owner
from fleetlog.domain.words import NEXT_ACCESS, OVERDUE
from fleetlog.reports.context import ReportContext
from fleetlog.reports.letters import address_lines, how_to_answer, reach
from fleetlog.reports.limits import work_name
from fleetlog.reports.meter_words import last_figure
from fleetlog.reports.outlook import Outlook
from fleetlog.reports.owner_lines import OwnerLine, most_pressing_first, owner_lines
from fleetlog.reports.owner_words import deferred_text
from fleetlog.reports.page_fit import room_beside, rows_that_fit, text_lines
from fleetlog.reports.standing_by import advice_notes, off_notes, term_notes
from fleetlog.reports.words import (
    boat_name,
    clauses,
    counted,
    day_text,
    days_told,
    engine_kind,
    hours_about,
    hours_shown,
    listed,
    shortened,
    shortlist,
)

MOST_OF_A_BASIS = 260
"""Characters of what dates rest on: readings, alike engines and lay-up as they are usually told."""


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
    engines = most_pressing_first(engines)
    rows_of = {state.serial: owner_lines(state, today) for state in engines}
    wanting = [s for s in engines if rows_of[s.serial] or _notes(s)]
    rows = [rows_of[state.serial] for state in wanting]
    metered = [state for state in engines if state.facts.engine.hour_meter]
    address, one_line = address_lines(owner), _one_line(metered)
    opening = _opening(engines, list(rows_of.values()))
    nothing_on = _nothing_on(engines, wanting)
    based_on = [_based_on(state, outlooks[state.serial].today) for state in wanting]
    reply = _reply(context, bool(metered))
    around = 14.5 + max(len(address), 1) + text_lines(opening) + text_lines(reply) + text_lines(nothing_on)
    around += 1.6 * len(metered) + len(one_line)
    around += sum(4.8 + text_lines(based) for based in based_on)
    notes = [_notes(state) for state in wanting]
    if room_beside(rows, around + _lines_of(notes)) < 0:
        notes = [_brief_notes(state) for state in wanting]
    shown = rows_that_fit(rows, around + _lines_of(notes))
    return OwnerPage(
        shortened(owner.name, 70),
        address,
        reach(owner),
        opening,
        [_section(*parts) for parts in zip(wanting, rows, shown, notes, based_on, strict=True)],
        nothing_on,
        [_answer_row(state) for state in metered],
        one_line,
        _mail_to(context, one_line),
        reply,
    )


def _opening(engines: Sequence[EngineState], rows: Sequence[Sequence[OwnerLine]]) -> str:
    every = [row for drawn in rows for row in drawn]
    count = sum(row.stands_for for row in every)
    overdue = sum(row.state == OVERDUE for row in every)
    told = [state for state in engines if not state.is_unscheduled]
    which = _which(told or engines)
    if not told:
        return f"Our service log has no service schedule for your {which}, so it cannot say what is due."
    if not count:
        return f"By our service log nothing is due just now on your {which}."
    if overdue == count:
        return f"By our service log {counted(count, 'piece')} of work on your {which} {_are(count)} overdue."
    so_many = f"; {overdue} {_are(overdue)} overdue" if overdue else ""
    return (
        f"By our service log {counted(count, 'piece')} of work on your {which} {_are(count)} due or will be "
        f"soon{so_many}. The most pressing comes first."
    )


def _are(count: int) -> str:
    return "is" if count == 1 else "are"


def _which(engines: Sequence[EngineState]) -> str:
    boats = list(dict.fromkeys(boat_name(s.facts.boat) for s in engines if s.facts.boat))
    names = [shortened(name, 40) for name in boats[:3]] + (["others"] if len(boats) > 3 else [])
    aboard = f" on {listed(names)}" if names else ""
    return ("engine" if len(engines) == 1 else "engines") + aboard


def _lines_of(notes: Sequence[Sequence[str]]) -> float:
    return sum(text_lines(note) + 0.3 for told in notes for note in told)


def _nothing_on(engines: Sequence[EngineState], wanting: Sequence[EngineState]) -> str:
    """On which engines nothing is due, and of which nobody can tell, where the opening does not say it."""
    not_told = [state for state in engines if state.is_unscheduled]
    idle = [s for s in engines if s not in wanting and s not in not_told] if wanting else []
    said = [f"Nothing is due just now on: {_names(idle)}."] if idle else []
    if 0 < len(not_told) < len(engines):
        said.append(f"For want of a service schedule we cannot say what is due on: {_names(not_told)}.")
    return " ".join(said)


def _names(engines: Sequence[EngineState]) -> str:
    return shortlist([_name(state) for state in engines], most=6)


def _section(
    state: EngineState, rows: Sequence[OwnerLine], count: int, notes: Sequence[str], based_on: str
) -> EngineSection:
    return EngineSection(_name(state), _about(state), rows[:count], _more(rows[count:]), notes, based_on)


def _more(left_out: Sequence[OwnerLine]) -> str:
    """How much was left out for want of room and is overdue, and as many by name as fit a line of print."""
    if not left_out:
        return ""
    names = "; ".join(f"{row.work}{' (overdue)' if row.state == OVERDUE else ''}" for row in left_out)
    overdue = sum(row.state == OVERDUE for row in left_out)
    told = clauses(names, 60 if overdue else 75)
    among = ":" if told == names else f"{f', {overdue} overdue' if overdue else ''}, among them"
    return f"and {sum(row.stands_for for row in left_out)} more{among} {told}"


def _name(state: EngineState) -> str:
    facts = state.facts
    if facts.boat is None:
        return f"Engine {shortened(facts.engine.serial, 30)}"
    place = f", {shortened(facts.position, 20)}" if facts.position else ""
    return shortened(facts.boat.name, 40) + place


def _about(state: EngineState) -> str:
    engine = state.facts.engine
    kind = shortened(engine_kind(engine), 30)
    former = state.ledger.former_serials()
    number = f"serial number {engine.serial}" + (f" (not {listed(former)}, as we wrote)" if former else "")
    return f"{kind}, {number}" if kind else number


def _owed_or_put_off(state: EngineState) -> tuple[list[DueLine], list[DueLine]]:
    """Lines that wait for the next access, and lines that were put off, the grave ones first."""
    put_off = [line for line in state.lines if line.deferral is not None]
    return (
        [line for line in state.lines if line.state == NEXT_ACCESS],
        sorted(put_off, key=lambda line: not is_grave(line.rule)),
    )


def _notes(state: EngineState) -> list[str]:
    """What came off, what is owed at the next access, what was put off: a sentence or two each."""
    owed, put_off = _owed_or_put_off(state)
    notes = off_notes(state)
    if owed:
        notes.append(f"To be renewed when this part of the engine is next open: {_some(owed)}.")
    full = _told_in_full(put_off)
    for line in full:
        told = line.deferral is not None and was_theirs_on(state, line.deferral.at.date())
        notes.append(deferred_text(line, work_name(line, 50), with_reason=told))
    if left := put_off[len(full) :]:
        notes.append(f"Also put off: {_some(left)}.")
    return notes + _told_before(state)


def _told_in_full(put_off: Sequence[DueLine]) -> Sequence[DueLine]:
    """Of what was put off, the grave ones first, those that are told with their limits: all grave ones."""
    return put_off[: max(1, sum(is_grave(line.rule) for line in put_off))]


def _told_before(state: EngineState) -> list[str]:
    """Terms that end soon, and what this owner was advised before and has not had done."""
    theirs = [s for s in state.advice if s.is_open and was_theirs_on(state, s.first.on)]
    return term_notes(state) + advice_notes(theirs)


def _brief_notes(state: EngineState) -> list[str]:
    """The same, cut to about a line each."""
    owed, put_off = _owed_or_put_off(state)
    notes = off_notes(state)
    if owed:
        notes.append(f"To be renewed at the next opening: {shortened(_some(owed), 55)}.")
    full = _told_in_full(put_off)
    notes += [deferred_text(line, work_name(line, 24), with_reason=False) for line in full]
    if left := put_off[len(full) :]:
        notes.append(f"Also put off: {shortened(_some(left), 70)}.")
    return notes + _told_before(state)[:2]


def _some(lines: Sequence[DueLine]) -> str:
    return shortlist([work_name(line, 50) for line in lines], most=3)


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
        said.append("It has no hour meter, so the calendar counts.")
    elif facts.last_reading is None:
        said.append("We have no reading of its hour meter yet.")
    else:
        last = facts.last_reading
        shows = state.seen.hours.meter_tenths(last.on, last.tenths)
        other = ""
        if shows != last.tenths:
            other = f" ({hours_shown(last.tenths)} in all, with the earlier meter)"
        if facts.is_unread_since_new:
            said.append(f"We have no reading of its hour meter since it was new on {day_text(last.on)}.")
        else:
            said.append(f"The meter showed {hours_shown(shows)}{other} on {day_text(last.on)}.")
        if reckoned is not None and reckoned[1] >= last.tenths / 10 + 1:
            said.append(f"We reckon it has run {hours_about(*reckoned)} by today.")
    if facts.forecast_basis:
        said.append(f"Dates rest on {clauses(days_told(facts.forecast_basis), MOST_OF_A_BASIS)}.")
    return " ".join(said)


def _answer_row(state: EngineState) -> AnswerRow:
    return AnswerRow(_name(state), last_figure(state) or "none yet")


def _one_line(metered: Sequence[EngineState]) -> list[str]:
    """One line for each boat that can be sent back with the figures and the day filled in.

    The day of the letter is not put there: it would be taken for that of the reading.
    """
    boats: dict[str, list[str]] = {}
    for state in metered:
        facts = state.facts
        name = facts.boat.name if facts.boat else facts.engine.serial
        place = facts.position.replace(" ", "-") if facts.position else "hours"
        boats.setdefault(shortened(name, 40), []).append(f"{place}=____")
    return [f"{boat}: {' '.join(places)} on ____" for boat, places in boats.items()]


def _mail_to(context: ReportContext, one_line: Sequence[str]) -> str:
    if not context.reply_email or not one_line:
        return ""
    body = "\r\n".join(line.replace("____", "") for line in one_line)
    address = quote(context.reply_email, safe="@.+-_")
    return f"mailto:{address}?subject=Engine%20hours&body={quote(body, errors='replace')}"


def _reply(context: ReportContext, has_meters: bool) -> str:
    asked = "Tell us about how many hours it ran this past year, and answer"
    if has_meters:
        asked = "Write down what each hour meter shows today, and answer"
    return how_to_answer(context, asked)
