"""Which failures are grave: those that wreck an engine or endanger people, by the schedule's own words."""

from __future__ import annotations

import re

from fleetlog.domain.schedule import Rule, Schedule

_HEART = r"(engine|motor|powerhead|valves?|pistons?|crank\w*|connecting rods?)"
_RUIN = r"(damag|destr|ruin|loss|lost|break|broke|ben[dt]|hit|strike|meet)"
_BETWEEN = r"\w*\W+(\w+\W+){0,2}"

_GRAVE = re.compile(
    rf"\b({_HEART}{_BETWEEN}{_RUIN}|(damag|destr|ruin|broken|bent){_BETWEEN}{_HEART}|loss of the engine"
    r"|wreck|seiz|fire\b|explo|burn|injur|steering|throttle|run(s|ning)? away|stop switch|kill (cord|switch)"
    r"|sink|capsiz|adrift|collision|flood|drown|danger|overboard|fuel leak|carbon monoxide|electric shock"
    r"|loss of (the )?(control|boat)|people)",
    re.IGNORECASE,
)


def is_grave(rule: Rule) -> bool:
    """Whether a rule's consequence speaks of a wrecked engine or of danger to people."""
    return speaks_of_gravity(rule.consequence)


def speaks_of_gravity(consequence: str | None) -> bool:
    """Whether a schedule's word for what a failure costs means a wrecked engine or danger to people."""
    return consequence is not None and _GRAVE.search(consequence) is not None


def is_grave_item(schedule: Schedule, item: str) -> bool:
    """Whether any rule of a schedule for an item, if only to look at it, says that its failure is grave."""
    return any(is_grave(rule) for rule in schedule.rules_for(item))
