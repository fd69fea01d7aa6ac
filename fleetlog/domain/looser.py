"""What a schedule lets wait longer than its last revision, or than usual: a slip there hides what is due."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from fleetlog.domain.explain import limits_text
from fleetlog.domain.hours import hours_text
from fleetlog.domain.records import Engine
from fleetlog.domain.schedule import Limits, Rule, Schedule
from fleetlog.domain.words import name_key


def looser(before: Schedule, after: Schedule) -> Iterator[str]:
    """A sentence for each rule that is gone, or lost a place, or leaves more time than before."""
    for was in before.rules:
        now = after.rule(was.key)
        if now is None:
            yield f"{was.title} ({was.key}) is gone: it falls due on no engine any more"
            continue
        places = {name_key(place) for place in now.positions}
        gone = [place for place in was.positions if places and name_key(place) not in places]
        if gone:
            yield f"{was.title} ({was.key}) is gone at {', '.join(gone)}"
        if _leaves_more(was, now):
            yield f"{was.title} ({was.key}) may wait longer: {_told(now)} in place of {_told(was)}"


def looser_for(was: Engine, now: Engine, schedules: Mapping[str, Schedule]) -> Iterator[str]:
    """What `looser_under` tells of an engine that was changed; nothing where a schedule is not known."""
    before, after = (schedules.get(engine.schedule_name or "") for engine in (was, now))
    if before is not None and after is not None:
        yield from looser_under(before, after, now.serial)


def looser_under(before: Schedule, after: Schedule, serial: str) -> Iterator[str]:
    """What falls due on an engine no more, or may wait longer, as it goes to another schedule, in sentences.

    Rules of two schedules are the same where they ask for the same of one item.
    """
    gone = []
    for was in before.rules:
        if not was.is_for(serial):
            continue
        same = [now for now in after.rules if now.is_for(serial) and _work_of(now) == _work_of(was)]
        if not same:
            gone.append(was.title)
        elif all(_leaves_more(was, now) for now in same):
            yield f"{was.title} ({was.key}) may wait longer: {_told(same[0])} in place of {_told(was)}"
    if gone:
        yield f"falls due on {serial} no more: {', '.join(gone)}"


def _work_of(rule: Rule) -> tuple[str, str, bool, str | None]:
    return name_key(rule.item), rule.action, rule.once, rule.season


def late_firsts(schedule: Schedule) -> Iterator[str]:
    """A sentence for each rule whose first interval, meant for running in, is longer than the regular one.

    Makers ask for it now and then (a first filling that lasts longer): it may be right, and is mostly a slip.
    """
    for rule in schedule.rules:
        first, every = rule.first or Limits(), rule.every
        pairs = ((first.tenths, every.tenths), (first.months, every.months))
        if any(one is not None and regular is not None and one > regular for one, regular in pairs):
            yield (
                f"{rule.title} ({rule.key}): the first interval is longer than the regular one, right only"
                f" where the maker says so: {_told(rule)}"
            )


def _leaves_more(was: Rule, now: Rule) -> bool:
    pairs = zip(_bounds(was), _bounds(now), strict=True)
    if any(before is not None and (after is None or after > before) for before, after in pairs):
        return True
    factors = dict(now.severe)
    return any(factors.get(word, 1) > factor for word, factor in was.severe)


def _bounds(rule: Rule) -> tuple[Any, ...]:
    """What limits a rule in regular use, while running in, and where it is done once."""
    every, first, by = rule.every, rule.first or Limits(), rule.by
    running_in = (first.tenths or every.tenths, first.months or every.months)
    return every.tenths, every.months, *running_in, by.tenths, by.on


def _told(rule: Rule) -> str:
    by = [f"by {rule.by.on.isoformat()}"] if rule.by.on else []
    by += [f"by {hours_text(rule.by.tenths)} h"] if rule.by.tenths is not None else []
    told = [limits_text(rule.every), rule.season, *by, "when disturbed" if rule.renew_when_disturbed else ""]
    told += [f"first {limits_text(rule.first)}"] if rule.first else []
    told += [f"{word} × {factor}" for word, factor in rule.severe]
    return "; ".join(filter(None, told))
