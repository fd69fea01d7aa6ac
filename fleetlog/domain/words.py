"""The words of the trade that the ledger is written in, and the orders they stand in."""

from __future__ import annotations

from unicodedata import normalize

from fleetlog.errors import counted

WATERS = ("fresh", "brackish", "salt")
USES = ("private", "hire", "charter", "commercial", "rescue")
REMIND_BY = ("email", "post", "none")
ENGINE_STATES = ("in service", "laid by", "sold", "scrapped")
CORRECTED = ("ownership", "mounts")
ENDS, WITHDRAWN = "ends", "withdrawn"
LAYUP_CHANGES = (ENDS, WITHDRAWN)
"""What can be said of a lay-up after it was recorded: another end, or that it was not or will not be."""

READING_STATUSES = ("confirmed", "withdrawn")

ACTIONS = ("fitted", "removed", "reused", "inspected", "adjusted", "serviced", "rebuilt")
CONDITIONS = ("new", "used")
REMOVAL_REASONS = ("scheduled", "failed", "worn", "access", "transferred")
REBUILD_SCOPES = ("powerhead", "top end", "lower unit")
ASSEMBLIES = ("powerhead", "midsection", "lower unit", "rigging")

RULE_ACTIONS = ("replace", "inspect", "adjust", "service")
ANSWER_OUTCOMES = ("put right", "left as it is", "entered wrong")
"""What can be said of evidence that is off."""

RAN_AT_LEAST = "ran at least these hours: no reading tells them when it was put on or came off"
"""What stands at the end of the note of an item that came used, whose hours before are only the least."""

BEFORE_LAY_UP = "before lay-up"
BEFORE_LAUNCH = "before launch"
SEASONS = (BEFORE_LAY_UP, BEFORE_LAUNCH)

SATISFIED_BY = {
    "replace": frozenset({"fitted"}),
    "inspect": frozenset({"inspected", "adjusted", "serviced", "fitted"}),
    "adjust": frozenset({"adjusted", "fitted"}),
    "service": frozenset({"serviced", "fitted"}),
}
"""Which actions of an entry satisfy a rule's action on the same item."""

DONE_AS = {"replace": "fitted", "inspect": "inspected", "adjust": "adjusted", "service": "serviced"}
"""The action of an entry that says a rule's work was done."""

ORDER_IN_A_DAY = {
    "inspected": 0,
    "removed": 1,
    "fitted": 2,
    "reused": 3,
    "adjusted": 4,
    "serviced": 5,
    "rebuilt": 6,
}
"""How entries of one date on one item and position follow each other."""

OVERDUE = "overdue"
NO_RECORD = "no record"
NEEDS_A_READING = "needs a reading"
DUE = "due"
NEXT_ACCESS = "next access"
LATER = "later"
STATES = (OVERDUE, NO_RECORD, NEEDS_A_READING, DUE, NEXT_ACCESS, LATER)
"""The states of a due line, the most urgent first."""


def name_key(name: str) -> str:
    """The form in which names of items and positions are compared: without case."""
    return name.strip().casefold()


def spelling_key(name: str) -> str:
    """The form in which names spelt alike are the same: without case, accents, spaces and signs."""
    letters = name if name.isascii() else normalize("NFKD", name)
    return "".join(filter(str.isalnum, letters.casefold())) or name_key(name)


def said_text(text: str | None) -> str | None:
    """What a text says, None where nothing stands in it."""
    return text.strip() or None if text is not None else None


def same_name(one: str | None, other: str | None) -> bool:
    """Whether two names of items or positions mean the same; None only means None."""
    if one is None or other is None:
        return one is other
    return name_key(one) == name_key(other)


def same_place(one: str | None, other: str | None) -> bool:
    """Whether two positions of an item can be one; None stands for all of them, or an item without any."""
    return one is None or other is None or name_key(one) == name_key(other)


def with_position(name: str, position: str | None) -> str:
    """`anode (gearcase)`: an item or a work as it is called where several are on an engine."""
    return f"{name} ({position})" if position else name


def counted_kind(count: int, kind: str) -> str:
    """Rows of a kind that is called by its plural: `1 entry`, `3 entries`, `1 part_move`, `2 advice`."""
    ending, single = next((e, o) for e, o in _ENDINGS if kind.endswith(e))
    return counted(count, kind.removesuffix(ending) + single, kind)


_ENDINGS = (("ies", "y"), ("shes", "sh"), ("s", ""), ("", ""))
"""How a plural ends, and the one of it; the last serves words that have none."""
