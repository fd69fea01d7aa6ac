"""A due line in plain words to the owner: why now, by when, and what happens if it waits.

Owners are never told to do the work, and never given a later limit than the maker's without its being
named beside it.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from fleetlog.domain.due import DueLine
from fleetlog.domain.fleet import EngineState
from fleetlog.domain.hours import hours_text
from fleetlog.domain.interval import JOINED, NEW, UNKNOWN_AGE
from fleetlog.domain.satisfaction import BY_REBUILD
from fleetlog.domain.usage import NOT_IN_SIGHT
from fleetlog.domain.words import NEEDS_A_READING, NO_RECORD, OVERDUE, WATERS
from fleetlog.reports.limits import interval_text, is_too_wide, round_hours
from fleetlog.reports.meter_words import limit_on_meter
from fleetlog.reports.words import NBSP, day_text, hours_shown, sentence, shortened, span_text

_NO_METER = "please tell us how much it ran, so that we can say when to look at it."


def why_now(line: DueLine) -> str:
    """What the line counts from and how long it may run, in one or two sentences."""
    return " ".join(_reasons(line))


def _reasons(line: DueLine) -> Iterator[str]:
    standing = line.standing
    last = standing.last
    if line.state == NO_RECORD:
        if standing.counts_from == UNKNOWN_AGE and last is not None:
            yield f"A used one was fitted on {day_text(last.entry.on)}; nobody knows how old it is."
        else:
            yield "Our log has no record of it being done."
    elif last is not None:
        how = f"with the {last.entry.scope} rebuild of" if last.how == BY_REBUILD else "on"
        at = "" if standing.last_known_tenths is None else f" at {hours_shown(standing.last_known_tenths)}"
        yield f"Last done {how} {day_text(last.entry.on)}{at}."
        if standing.is_counted_from_first_reading and standing.due_tenths is not None:
            yield "We do not know its hours then, so they may run out sooner than we say."
        elif standing.is_used_at_least and standing.due_tenths is not None:
            yield "We do not know all the hours it had run before, so they may run out sooner than we say."
    elif standing.counts_from == JOINED and standing.base_on is not None:
        yield f"No record of it; the engine has been in service since {day_text(standing.base_on)}."
    elif standing.counts_from == NEW:
        engine = line.facts.engine
        if engine.logged_from_new and engine.in_service_on is not None:
            yield f"Not done yet since the engine was new on {day_text(engine.in_service_on)}."
        else:
            yield "Our log has no record of it being done."
    if standing.off is not None:
        yield f"It came off on {day_text(standing.off.on)}, and our log does not say what went on."
    if standing.rule.once:
        yield (
            "Asked for once, on engines of this serial number."
            if standing.rule.serials
            else "Asked for once."
        )
    elif standing.rule.season is not None:
        yield f"Wanted once a year, {standing.rule.season}."
    elif interval_text(standing.interval):
        wanted = "after the first" if standing.is_running_in else "every"
        severe = ""
        if standing.severe is not None and not standing.is_running_in:
            word = standing.severe[0]
            severe = f" (sooner, in {word} water)" if word in WATERS else f" (sooner, for {word} use)"
        yield f"Wanted {wanted} {interval_text(standing.interval)}{severe}."
    if standing.finding is not None:
        entry = standing.finding.entry
        since = "It was fitted used" if entry.condition == "used" else f"It was {entry.action}"
        yield f"{since} on {day_text(entry.on)}, and we want to look at it sooner than usual."


def if_it_waits(line: DueLine) -> str:
    """What a failure costs, as the schedule says; nothing where it doesn't."""
    consequence = line.rule.consequence
    return "" if not consequence else f"If it waits: {sentence(shortened(consequence, 60))}"


def by_when(state: EngineState, line: DueLine, today: date) -> str:
    """Until when the work is to be done, or that hours are needed to say."""
    figure = limit_on_meter(state, line)
    if line.state == NO_RECORD:
        return "Now, unless you can tell us when it was last done."
    if line.state == OVERDUE:
        if line.due_on is not None and today > line.due_on:
            return f"Now: it was due by {day_text(line.due_on)}."
        return f"Now: it was due at {figure} on the meter." if figure else "Now: its hours have run out."
    last_day = f" By the calendar {day_text(line.due_on)} at the latest." if line.due_on else ""
    if line.state == NEEDS_A_READING:
        if not line.facts.engine.hour_meter:
            return f"Engines like it have probably run that long by now: {_NO_METER}{last_day}"
        at = f" The limit is {figure} on the meter." if figure else ""
        return f"The hours have probably run out: please send us today’s hours.{at}{last_day}"
    if is_too_wide(line):
        if not line.facts.engine.hour_meter:
            return f"We cannot say when that will be: {_NO_METER}{last_day}"
        at = f"At {figure} on the meter. " if figure else ""
        return f"{at}We cannot say when that will be: please send us today’s hours.{last_day}"
    window = line.window
    if line.governs == "hours" and window is not None and window.early_on < NOT_IN_SIGHT:
        at = f"At {figure} on the meter: likely" if figure else "Likely"
        if window.early_on == window.late_on:
            return f"{at} {day_text(window.likely_on)}."
        between = span_text(window.early_on, window.late_on, "and")
        return f"{at} {day_text(window.likely_on)}, between {between}."
    if line.due_on is not None:
        return f"By {day_text(line.due_on)}" + (f", or at {figure} on the meter." if figure else ".")
    return ""


def deferred_text(line: DueLine, work: str, *, with_reason: bool) -> str:
    """What was put off, until when, why where that may be told, and the maker's own limit."""
    standing = line.standing
    deferral = standing.deferral
    if deferral is None:
        return ""
    until = []
    if deferral.until_on is not None:
        until.append(day_text(deferral.until_on))
    if deferral.until_tenths is not None:
        until.append(f"{hours_text(deferral.until_tenths)}{NBSP}engine hours")
    limits = []
    if standing.interval_on is not None:
        limits.append(day_text(standing.interval_on))
    if standing.interval_tenths is not None:
        limits.append(round_hours(standing.interval_tenths))
    reason = f" ({shortened(deferral.reason, 50)})" if with_reason and deferral.reason else ""
    maker = f" The schedule’s own limit is {' or '.join(limits)}." if limits else ""
    return f"{work}: put off until {' or '.join(until) or 'further notice'}{reason}.{maker}"
