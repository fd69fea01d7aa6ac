"""Which failures are grave: those that wreck an engine or endanger people, by the schedule's own words."""

from __future__ import annotations

import re

from fleetlog.domain.schedule import Rule

_GRAVE = re.compile(
    r"\b(engine (damage|wreck|destroy|loss|seiz)|powerhead damage|wreck|seiz|valves? (hit|strike|meet)|fire\b"
    r"|explo|burn|injur|steering|throttle|run(s|ning)? away|stop switch|kill (cord|switch)|sink|flood|drown"
    r"|danger|overboard|fuel leak|carbon monoxide|loss of (the )?(control|boat)|people)",
    re.IGNORECASE,
)


def is_grave(rule: Rule) -> bool:
    """Whether a rule's consequence speaks of a wrecked engine or of danger to people."""
    return rule.consequence is not None and _GRAVE.search(rule.consequence) is not None
