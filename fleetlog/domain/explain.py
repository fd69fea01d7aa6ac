"""Says in plain sentences why a due line stands where it stands."""

from __future__ import annotations

from collections.abc import Iterator

from fleetlog.domain.due import DueLine
from fleetlog.domain.hours import Tenths, age_words, hours_text
from fleetlog.domain.interval import JOINED, NEW, UNKNOWN, UNKNOWN_AGE, Standing
from fleetlog.domain.records import Entry
from fleetlog.domain.satisfaction import BY_ITSELF, BY_REBUILD, BY_RENEWAL
from fleetlog.domain.schedule import Limits
from fleetlog.domain.usage import NOT_IN_SIGHT, SIGHT_YEARS, DateWindow, in_sight
from fleetlog.domain.words import (
    BEFORE_LAY_UP,
    DUE,
    NEEDS_A_READING,
    NEXT_ACCESS,
    NO_RECORD,
    OVERDUE,
    USES,
    WATERS,
    with_position,
)
from fleetlog.errors import counted


def explain(line: DueLine) -> str:
    """The whole reason of a line, as one text of plain sentences."""
    return " ".join(sentences(line))


def sentences(line: DueLine) -> list[str]:
    """The reason of a line: last done, the interval and why that one, which limit governs, the forecast."""
    standing = line.standing
    said = [
        *_last_done(line),
        *_hours_not_known(standing),
        *_taken_off(standing),
        *_interval(line),
        *_adjusted(standing),
        *_limits(line),
    ]
    if standing.wear is not None:
        said.append(standing.wear.said)
    return [*said, *_outlook(line), *_chance(line)]


def limits_text(limits: Limits) -> str:
    """`1000.0 h or 60 months, whichever comes first`."""
    parts = []
    if limits.tenths is not None:
        parts.append(f"{hours_text(limits.tenths)} h")
    if limits.months is not None:
        parts.append(counted(limits.months, "month"))
    return " or ".join(parts) + (", whichever comes first" if len(parts) == 2 else "")


def _at(tenths: Tenths | None) -> str:
    return "" if tenths is None else f" at {hours_text(tenths)} h"


def _last_done(line: DueLine) -> Iterator[str]:
    standing = line.standing
    rule, last = standing.rule, standing.last
    if standing.owed_since is not None:
        yield from _owed(standing, standing.owed_since)
        return
    if last is None:
        yield from _never_done(line)
        return
    entry, when = last.entry, f"{last.entry.on.isoformat()}{_at(standing.last_known_tenths)}"
    if last.how == BY_REBUILD:
        if standing.rebuild_says_so:
            yield f"Last done with the {entry.scope} rebuild of {when}."
        else:
            yield f"Counted as renewed with the rebuild of {when}; no entry says so."
    elif last.how == BY_RENEWAL:
        yield f"Last done on {when}: {entry.item} {entry.action}, which does this work too."
    else:
        condition = " used" if entry.condition == "used" else ""
        yield f"Last done on {when}: {entry.item} {entry.action}{condition}."
        if rule.action == "replace":
            yield from _prior_age(entry)


def _hours_not_known(standing: Standing) -> Iterator[str]:
    read, last, in_hours = standing.last_taken_as, standing.last, standing.due_tenths is not None
    if read is None or last is None:
        return
    taken = "The hours of that day are not known: they are taken as those of the"
    shown = f"{hours_text(read.tenths)} h on {read.on.isoformat()}"
    if standing.is_counted_from_first_reading:
        sooner = ", so hours may run out sooner than told" if in_hours else ""
        yield f"{taken} first reading, {shown}, though they were no more{sooner}."
    elif in_hours:
        yield (
            f"{taken} last reading before, {shown}, though they may have been more, so hours may run out"
            " later than told: a new reading puts that right."
        )


def _taken_off(standing: Standing) -> Iterator[str]:
    off = standing.off
    if off is not None:
        reason = f" ({off.reason})" if off.reason else ""
        yield (
            f"The {with_position(off.item or '', off.position)} came off on {off.on.isoformat()}{reason}, and"
            " nothing put on since is on record: the line counts on from before, and says nothing of what is"
            " on the engine now."
        )


def _owed(standing: Standing, entry: Entry) -> Iterator[str]:
    where = f" at {entry.position}" if entry.position else ""
    if entry.action == "reused":
        how = f" ({entry.note})" if entry.note else ""
        yield f"The {entry.item}{where} was put back used on {entry.on.isoformat()}{how}."
    else:
        yield (
            f"The {entry.item}{where} came off for access on {entry.on.isoformat()}, and nothing says what "
            "went back; it counts as put back used."
        )
    yield "The schedule wants a new one whenever it is disturbed: work for the next time this is open."
    if standing.last is not None:
        when = f"{standing.last.entry.on.isoformat()}{_at(standing.last_known_tenths)}"
        if not standing.rebuild_says_so:
            yield f"Before that it counted as renewed with the rebuild of {when}; no entry says so."
        elif standing.last.how == BY_ITSELF:
            condition = "used" if standing.last.entry.condition == "used" else "new"
            yield f"One was last fitted {condition} on {when}."
        else:
            yield f"It was last done with other work on {when}."


def _prior_age(entry: Entry) -> Iterator[str]:
    known = age_words(entry.prior_tenths, entry.prior_months, is_least=entry.prior_is_least)
    if known:
        yield f"It had {known} already, which count."
    if entry.prior_is_least:
        yield "It may have run more before, so hours may run out sooner than told."
    missing = age_not_known(entry)
    if missing is not None:
        yield f"Its age in {missing} was not known, so they count from the fitting."


def age_not_known(entry: Entry) -> str | None:
    """What is not known of the age of a used item of which half is known: `hours` or `months`."""
    if entry.condition != "used" or (entry.prior_tenths is None) == (entry.prior_months is None):
        return None
    return "hours" if entry.prior_tenths is None else "months"


def _never_done(line: DueLine) -> Iterator[str]:
    standing, engine = line.standing, line.facts.engine
    since = engine.in_service_on.isoformat() if engine.in_service_on else ""
    if standing.rule.once:
        issued = standing.rule.issued_on
        since = f" since it was issued on {issued.isoformat()}" if issued else ""
        yield f"It is to be done once, and this log has no record of it{since}."
    elif standing.rule.season is not None:
        yield "This log has no record of it being done."
    elif standing.counts_from == NEW:
        yield f"Never done in this log; the engine has been logged since it was new on {since}."
    elif standing.counts_from == JOINED:
        yield (
            f"Never done in this log; the engine joined it used and has been in service since {since}. "
            "It counts from there: the part is the original, or was renewed without a record."
        )
    elif since and not engine.logged_from_new:
        yield (
            f"No record of it being done: the engine joined the log used, and since {since}, when it came "
            "into service, the interval has passed."
        )
    else:
        yield "No record of it being done, and no date from which to count."


def _interval(line: DueLine) -> Iterator[str]:
    standing = line.standing
    rule, interval = standing.rule, standing.interval
    if standing.owed_since is not None or rule.once:
        return
    if rule.season is not None:
        bound = "start of a lay-up" if rule.season == BEFORE_LAY_UP else "launch after a lay-up"
        yield f"It is done once each year, for the {bound}; the boat's own dates count."
        return
    if standing.is_running_in:
        yield f"The first-service interval holds while the engine is running in: {limits_text(interval)}."
    else:
        yield f"The interval is {limits_text(interval)}."
    if standing.is_running_in and rule.first and None not in (rule.first.tenths, rule.first.months):
        return
    if standing.severe is not None:
        word, factor = standing.severe
        yield f"It is shortened from {limits_text(rule.every)} by the factor {factor} for {word} use."
    yield from _not_known_to_be_severe(line)


def _not_known_to_be_severe(line: DueLine) -> Iterator[str]:
    """That an interval may have to be shorter, as nobody has said how the boat is used."""
    rule, severe, boat = line.rule, line.standing.severe, line.facts.boat
    if boat is None:
        return
    for fact, said, choices in (("water", boat.water, WATERS), ("use", boat.use, USES)):
        factors = [(factor, word) for word, factor in rule.severe if word in choices]
        if said is None and factors:
            factor, word = min(factors)
            if severe is None or factor < severe[1]:
                yield f"The boat's {fact} is not known; if it is {word}, the factor {factor} shortens it."


def _adjusted(standing: Standing) -> Iterator[str]:
    finding, deferral = standing.finding, standing.deferral
    if finding is not None:
        entry = finding.entry
        wanted = Limits(entry.again_tenths, entry.again_months)
        note = f" ({entry.note})" if entry.note else ""
        within = f"within {limits_text(wanted)}{note}."
        if entry.action == "fitted":
            yield f"When it was fitted on {entry.on.isoformat()}, a look was asked for {within}"
        else:
            yield f"The look on {entry.on.isoformat()} asked for another {within}"
    if deferral is not None:
        until = []
        if deferral.until_on is not None:
            until.append(deferral.until_on.isoformat())
        if deferral.until_tenths is not None:
            until.append(f"{hours_text(deferral.until_tenths)} h")
        yield (
            f"Deferred by {deferral.by} on {deferral.at.date().isoformat()} until {' or '.join(until)}: "
            f"{deferral.reason}."
        )


def _limits(line: DueLine) -> Iterator[str]:
    standing = line.standing
    if standing.owed_since is not None or standing.counts_from in (UNKNOWN, UNKNOWN_AGE):
        if standing.counts_from == UNKNOWN_AGE:
            yield "It was fitted used and its age is not known, so nothing says how long it will last."
        return
    limits = []
    if line.due_tenths is not None:
        limits.append(f"at {hours_text(line.due_tenths)} h")
    if line.due_on is not None:
        limits.append(f"on {line.due_on.isoformat()}")
    if limits:
        governing = ""
        if len(limits) == 2:
            governing = f"; the {'hours govern' if line.governs == 'hours' else 'date governs'}"
        yield f"Due {' or '.join(limits)}{governing}."


def own_limits(line: DueLine) -> str | None:
    """What the schedule itself says of a line that was put off, as a sentence; None of one that was not."""
    standing = line.standing
    if standing.deferral is None:
        return None
    limits = []
    if standing.interval_tenths is not None:
        limits.append(f"at {hours_text(standing.interval_tenths)} h")
    if standing.interval_on is not None:
        limits.append(f"on {standing.interval_on.isoformat()}")
    return f"By the schedule alone it is due {' or '.join(limits)}." if limits else None


def _outlook(line: DueLine) -> Iterator[str]:
    facts, window = line.facts, line.window
    last, engine = facts.last_reading, facts.engine
    if line.state == NEXT_ACCESS:
        return
    if line.state == NO_RECORD:
        yield "It is due now: look at it or renew it, and enter what was found."
        return
    if last is not None and facts.is_unread_since_new:
        yield f"No reading since it was new on {last.on.isoformat()} has been accepted."
    elif last is not None:
        yield f"The last reading is {hours_text(last.tenths)} h on {last.on.isoformat()}."
    elif not engine.hour_meter:
        yield "The engine has no hour meter; the calendar and what alike engines run stand in for it."
    elif line.standing.rule.every.tenths is not None:
        yield "No reading of the hour meter has been accepted yet."
    is_forecast = window is not None and (window.early_on < window.late_on or window.early_on == NOT_IN_SIGHT)
    if line.governs == "hours" and window is not None and is_forecast:
        wear = line.standing.wear
        what = "first of these limits is" if wear is not None and wear.is_dated else "hours are"
        yield f"The {what} {_reached(window)}."
        if facts.forecast_basis:
            yield f"The forecast rests on {facts.forecast_basis}."
    elif (
        facts.forecast_basis
        and line.governs == "date"
        and line.due_tenths is not None
        and line.state != OVERDUE
    ):
        yield f"{_hours_later(line)} a forecast, which rests on {facts.forecast_basis}."
    if line.state == OVERDUE:
        yield "It is overdue."
    elif line.state == NEEDS_A_READING:
        yield (
            "The hours have probably run out and no reading shows it: a new reading will tell."
            if engine.hour_meter
            else "Alike engines have probably run the hours by now, and no meter shows it: look at it."
        )
    elif line.state == DUE:
        yield "It is due within the time asked for."


def _reached(window: DateWindow) -> str:
    """When limits are reached by a forecast, which looks so many years ahead."""
    early, likely, late = map(in_sight, (window.early_on, window.likely_on, window.late_on))
    if early is None:
        return f"hardly reached within {SIGHT_YEARS} years"
    if likely is None:
        return f"hardly reached before {early.isoformat()}, and likely not within {SIGHT_YEARS} years"
    if late is None:
        may = f"hardly before {early.isoformat()}, maybe not within {SIGHT_YEARS} years"
        return f"likely reached on {likely.isoformat()}, {may}"
    between = f"between {early.isoformat()} and {late.isoformat()}"
    return f"likely reached on {likely.isoformat()}, {between}"


def _hours_later(line: DueLine) -> str:
    """That the hours come after the date, and from when on they may still come before it."""
    window, due_on, wear = line.window, line.due_on, line.standing.wear
    if window is None or due_on is None or window.early_on >= due_on or (wear is not None and wear.is_dated):
        return "That the hours come later is"
    return (
        f"That the hours likely come later, though they may be reached from {window.early_on.isoformat()} on,"
        " is"
    )


def _chance(line: DueLine) -> Iterator[str]:
    chance = line.chance
    if chance is not None:
        in_100 = round(100 * chance.share)
        share = f"about {in_100} in 100" if in_100 else "below 1 in 100"
        limit = "is past all the same" if line.state == OVERDUE else "governs"
        yield (
            f"By the {counted(chance.lives, 'life', 'lives')} of this kind on record, the chance that it"
            f" fails or is found worn before the next likely visit, on {chance.before_on.isoformat()}, is"
            f" {share}; the maker's interval {limit}."
        )
