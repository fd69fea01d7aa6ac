"""What was promised and what was told: terms of a warranty or a useful life, and advice to owners.

What follows from them on a day is worked out in `terms` and `advice`.

None of it ever falls due. A term holds on its last day and at its last tenth, as an interval does. Advice
is closed by work recorded after it, or by an answer; *declined* keeps it open, on the next page again, but
only for the owner who was told. Terms and supersessions entered wrongly are withdrawn from a day on, with a
reason (`end_reason`).
"""

from __future__ import annotations

from datetime import date

from fleetlog.domain.values import value_class

TERM_KINDS = ("warranty", "useful life")
ADVICE_WAYS = ("in person", "by telephone", "by e-mail", "by post", "on the reminder")
ANSWERS = ("declined", "accepted", "undecided", "done", "withdrawn")


@value_class(frozen=True, slots=True)
class Term:
    """A warranty or a useful life: `months` or `tenths` (hours) from its start, whichever comes first.

    Without an `item` it covers the whole engine; `entry_id` names the repair or the fitting it stands on.
    `starts_tenths` are engine hours at the start, found through the readings where not given. A term that
    was entered wrongly, or ended early, is withdrawn on a day.
    """

    term_id: str
    serial: str
    kind: str
    starts_on: date
    months: int | None = None
    tenths: int | None = None
    starts_tenths: int | None = None
    title: str | None = None
    item: str | None = None
    position: str | None = None
    entry_id: str | None = None
    withdrawn_on: date | None = None
    note: str | None = None
    by: str | None = None
    withdrawn_reason: str | None = None
    sequence: int = 0


@value_class(frozen=True, slots=True)
class Advice:
    """What was advised on a day (`what`, and the rule or item it is about), how it was told, and the answer.

    `told_to` is who heard it; None in `answer` means that none has come yet. A later answer is a row whose
    `follows` is the id of the first.
    """

    advice_id: str
    serial: str
    on: date
    what: str
    rule: str | None = None
    item: str | None = None
    position: str | None = None
    how: str | None = None
    told_to: str | None = None
    answer: str | None = None
    follows: str | None = None
    visit_id: str | None = None
    note: str | None = None
    by: str | None = None
    sequence: int = 0
