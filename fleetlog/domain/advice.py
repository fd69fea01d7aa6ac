"""What an owner was advised, when and how, and what he answered; a deferral is the shop's own word instead.

Advice is never edited: what is heard later is a row of its own that `follows` the first one.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from fleetlog.domain.promises import Advice
from fleetlog.domain.records import Entry
from fleetlog.domain.satisfaction import Seen, own_work
from fleetlog.domain.schedule import Schedule
from fleetlog.domain.values import value_class
from fleetlog.domain.words import same_place

CLOSED_BY = ("done", "withdrawn")
"""Answers after which the advice stands on no page any more."""


@value_class(frozen=True, slots=True)
class AdviceStanding:
    """One piece of advice as it stands on a day: the first word, every later one, and what closed it."""

    first: Advice
    later: Sequence[Advice]
    done_by: Entry | None = None

    @property
    def latest(self) -> Advice:
        """The last word on it."""
        return self.later[-1] if self.later else self.first

    @property
    def answer(self) -> str | None:
        """The last answer that was heard."""
        heard = [a.answer for a in (self.first, *self.later) if a.answer is not None]
        return heard[-1] if heard else None

    @property
    def is_open(self) -> bool:
        """Whether it still wants an answer or the work: declined advice stays open until it is done."""
        return self.done_by is None and self.answer not in CLOSED_BY


def advice_standings(advice: Iterable[Advice], seen: Seen, schedule: Schedule | None) -> list[AdviceStanding]:
    """What was advised of an engine by a day, the newest first.

    Work recorded after the advice closes it: what satisfies the rule it names, or else anything fitted,
    serviced or adjusted on its item and position.
    """
    threads: dict[str, list[Advice]] = {}
    for row in sorted(advice, key=lambda a: (a.on, a.sequence)):
        if row.on <= seen.today:
            threads.setdefault(row.follows or row.advice_id, []).append(row)
    standings = [
        AdviceStanding(rows[0], rows[1:], _done_by(rows[0], seen, schedule)) for rows in threads.values()
    ]
    return sorted(standings, key=lambda s: (s.first.on, s.first.sequence), reverse=True)


def _done_by(advice: Advice, seen: Seen, schedule: Schedule | None) -> Entry | None:
    rule = schedule.rule(advice.rule) if schedule is not None and advice.rule is not None else None
    if rule is not None:
        work = own_work(seen, rule)
    elif advice.item is not None:
        work = (e for e in seen.of_item(advice.item) if e.action in ("fitted", "serviced", "adjusted"))
    else:
        return None
    after = [e for e in work if e.on > advice.on and same_place(e.position, advice.position)]
    return min(after, key=lambda e: (e.on, e.sequence), default=None)
