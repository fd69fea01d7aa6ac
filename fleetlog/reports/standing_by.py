"""What stands beside the due lines of an engine: what is off, ages of assemblies, terms, what was advised."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from fleetlog.domain.advice import AdviceStanding
from fleetlog.domain.assemblies import AssemblyAge, assembly_ages
from fleetlog.domain.fleet import EngineState
from fleetlog.domain.hours import Tenths
from fleetlog.domain.terms import TermStanding
from fleetlog.domain.travel import Home, Homes, homes_among
from fleetlog.domain.usage import in_sight
from fleetlog.domain.words import with_position
from fleetlog.reports.words import (
    at_least,
    capital,
    day_text,
    hours_shown,
    months_shown,
    shortened,
    shortlist,
)

TERM_SOON_DAYS = 180
"""A term that likely ends within so many days is told to the owner, while there is time to use it."""


@dataclass(frozen=True, slots=True)
class AssemblyView:
    """One assembly as a row: since when it is on, and its age since new and since it was rebuilt."""

    name: str
    since: str
    since_new: str
    since_rebuild: str


@dataclass(frozen=True, slots=True)
class TermView:
    """One term as a row."""

    what: str
    runs: str
    ends: str
    state: str


@dataclass(frozen=True, slots=True)
class AdviceView:
    """One piece of advice as a row: what, when and how it was told and by whom, and the answer."""

    what: str
    told: str
    answer: str
    by: str


def homes_in(states: Iterable[EngineState], today: date) -> Homes:
    """The engines of a set of pages, for following items from one to another; others are not known."""
    return homes_among(Home(state.ledger, state.schedule, today, state.seen) for state in states)


def off_views(state: EngineState) -> list[str]:
    """What came off with nothing put on since, in the order of the schedule's items."""
    views = []
    for item in state.off:
        stint = item.stints[-1]
        reason = f" ({stint.why_off})" if stint.why_off else ""
        on = day_text(stint.to_on) if stint.to_on else ""
        views.append(f"{capital(with_position(item.item, item.position))}, since {on}{reason}")
    return views


def off_notes(state: EngineState) -> list[str]:
    """To the owner: what came off, where our log does not say what went on."""
    items = [with_position(item.item, item.position) for item in state.off]
    if not items:
        return []
    return [
        f"By our log this came off and nothing was put on since: {shortlist(items, most=3)}."
        " Please ask us before the engine is run."
    ]


def assembly_views(state: EngineState, homes: Homes) -> list[AssemblyView]:
    """The assemblies of an engine, each with its ages."""
    return [_assembly(age) for age in assembly_ages(homes, homes.known(state.serial))]


def _assembly(age: AssemblyAge) -> AssemblyView:
    fitted, stint = age.fitted, age.item.stints[-1]
    if stint.to_on is not None:
        since = f"off since {day_text(stint.to_on)}"
    elif fitted is None:
        since = "the original, as far as the log knows"
    else:
        source = f", from engine {fitted.from_serial}" if fitted.from_serial else ""
        since = f"{day_text(fitted.on)}{', used' if fitted.condition == 'used' else ''}{source}"
    rebuilt = "no rebuild recorded"
    if age.rebuilt is not None:
        here = age.journey.legs[-1].serial
        where = f" on engine {age.rebuilt_on_serial}" if age.rebuilt_on_serial != here else ""
        ran = _age(age.rebuild_tenths, age.rebuild_months, is_least=age.rebuild_is_least)
        rebuilt = f"{ran}, rebuilt {day_text(age.rebuilt.on)}{where}"
    new = _age(age.new_tenths, age.new_months, is_least=age.item.is_least)
    return AssemblyView(capital(age.assembly), since, new, rebuilt)


def _age(tenths: Tenths | None, months: int | None, *, is_least: bool) -> str:
    known = []
    if tenths is not None:
        known.append(at_least(hours_shown(tenths), is_least=is_least))
    if months is not None:
        known.append(months_shown(months))
    return ", ".join(known) or "not known"


def term_views(state: EngineState) -> list[TermView]:
    """The terms of an engine, the next to end first."""
    return [
        TermView(_term_name(s), _term_runs(s), _term_end(s), "over" if s.is_over else "runs")
        for s in state.terms
    ]


def _term_name(standing: TermStanding) -> str:
    term = standing.term
    of = with_position(term.item or "engine", term.position)
    title = f" ({shortened(term.title, 60)})" if term.title else ""
    return f"{capital(term.kind)} of the {of}{title}"


def _term_runs(standing: TermStanding) -> str:
    term = standing.term
    lengths = []
    if term.months is not None:
        lengths.append(months_shown(term.months))
    if term.tenths is not None:
        lengths.append(hours_shown(term.tenths))
    return f"{' or '.join(lengths)} from {day_text(term.starts_on)}"


def _term_end(standing: TermStanding) -> str:
    ends = []
    if standing.ends_on is not None:
        ends.append(day_text(standing.ends_on))
    if standing.ends_tenths is not None:
        ends.append(hours_shown(standing.ends_tenths))
    likely = in_sight(standing.likely_on)
    hint = ""
    if standing.governs == "hours" and likely is not None and not standing.is_over:
        hint = f", likely {day_text(likely)}"
    return (" or at ".join(ends) or "not known") + hint


def term_notes(state: EngineState) -> list[str]:
    """To the owner: which terms end soon, so that what they cover is looked at before."""
    soon = state.seen.today + timedelta(days=TERM_SOON_DAYS)
    return [
        f"Before the {s.term.kind} of the {s.term.item or 'engine'} ends on {_term_end(s)}: "
        "have what it covers looked at."
        for s in state.terms
        if not s.is_over and s.likely_on is not None and s.likely_on <= soon
    ]


def advice_views(state: EngineState) -> list[AdviceView]:
    """All that was advised of an engine, the newest first. Who was told is not named, as owners are not."""
    return [_advice(s) for s in state.advice]


def _advice(standing: AdviceStanding) -> AdviceView:
    first = standing.first
    told = day_text(first.on) + (f", {first.how}" if first.how else "")
    if standing.done_by is not None:
        answer = f"done on {day_text(standing.done_by.on)}"
    elif standing.answer is None:
        answer = "no answer yet"
    else:
        heard = [a for a in (first, *standing.later) if a.answer is not None][-1]
        answer = f"{standing.answer} on {day_text(heard.on)}"
        if heard.note:
            answer += f": {shortened(heard.note, 80)}"
    return AdviceView(with_position(capital(first.what), first.position), told, answer, first.by or "")


_MOST_ADVICE = 2


def advice_notes(standings: Sequence[AdviceStanding]) -> list[str]:
    """To the owner: what we advised before, and what the answer was; it still stands."""
    notes = []
    for standing in standings[:_MOST_ADVICE]:
        first = standing.first
        how = f" {first.how}" if first.how else ""
        answer = {
            "declined": "you said no then; it still stands",
            "accepted": "you said yes; it is not done yet",
        }.get(standing.answer or "", "we have no answer yet")
        notes.append(f"We advised on {day_text(first.on)}{how}: {shortened(first.what, 70)}; {answer}.")
    if len(standings) > _MOST_ADVICE:
        notes.append(f"And {len(standings) - _MOST_ADVICE} more that we advised before.")
    return notes
