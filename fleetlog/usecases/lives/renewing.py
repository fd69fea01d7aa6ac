"""When to renew a kind of item by the shop's own records and costs; never beyond the maker's interval."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fleetlog.domain.schedule import Schedule
from fleetlog.domain.words import same_name
from fleetlog.errors.life import BeyondMakerInterval, NoMakerInterval
from fleetlog.store.log import Log
from fleetlog.usecases.lives.gathering import chosen_lives, grave_anywhere, recorded_lives, renewal_rule
from fleetlog.usecases.lives.life import LifeQuestion, answer_of
from fleetlog.usecases.occasion import Occasion

if TYPE_CHECKING:
    from fleetlog.life.answer import LifeAnswer, MakerInterval
    from fleetlog.life.renewal import RenewalAdvice


@dataclass(frozen=True, slots=True)
class Costs:
    """What renewals cost, in one currency: planned, forced by a failure (with all it brings), or while open.

    `open_every`: how far apart openings are, in the unit of the question; None: by the schedule.
    """

    planned: float
    failure: float
    while_open: float | None = None
    open_every: float | None = None


@dataclass(frozen=True, eq=False)
class Renewing:
    """The advice for one maker's interval."""

    interval: MakerInterval
    advice: RenewalAdvice
    open_every: float | None


@dataclass(frozen=True, eq=False)
class RenewalAnswer:
    """The lives of a kind of item and the advice they give for each maker's interval."""

    life: LifeAnswer
    renewing: Sequence[Renewing]


def advise_on_renewal(
    log: Log, occasion: Occasion, question: LifeQuestion, costs: Costs, interval: float | None
) -> RenewalAnswer:
    """Advice on renewing a kind of item; `interval` is the maker's, where the schedules do not name it.

    Raises what `look_up_life` raises, the refusal of lives that tell too little, NoMakerInterval, and
    BeyondMakerInterval for one longer than a schedule names.
    """
    from fleetlog.life.answer import MakerInterval
    from fleetlog.life.renewal import RenewalCosts, advise_renewal

    weighed = RenewalCosts(costs.planned, costs.failure)
    with log.reading() as reader:
        recorded = recorded_lives(reader, occasion.today)
    life = answer_of(recorded, question)
    weibull = life.fit.weibull
    intervals = list(life.intervals)
    if interval is not None:
        for named in intervals:
            if interval > named.age:
                raise BeyondMakerInterval(life.item, interval, named.age, life.unit, named.schedule)
        grave = grave_anywhere(recorded, chosen_lives(recorded, life.item, question.where), life.item)
        shortened = _shorter(life.intervals, interval)
        intervals = [MakerInterval("as stated", interval, grave, shortened)]
    if not intervals:
        raise NoMakerInterval(life.item, life.unit)
    found = []
    for maker in intervals:
        every = costs.open_every
        if every is None and costs.while_open is not None and maker.schedule in recorded.schedules:
            every = opening_spacing(recorded.schedules[maker.schedule], life.item, question.unit)
        advice = advise_renewal(
            weibull,
            weighed,
            maker.age,
            is_grave=maker.is_grave,
            opening_cost=costs.while_open,
            opening_spacing=every,
        )
        found.append(Renewing(maker, advice, every))
    return RenewalAnswer(life, found)


def _shorter(named: Sequence[MakerInterval], interval: float) -> tuple[tuple[str, float], ...]:
    """The least that severe water and use leave of the intervals of schedules, where below `interval`."""
    found: dict[str, float] = {}
    for word, less in sorted(shortened for maker in named for shortened in maker.shortened):
        if less < interval:
            found.setdefault(word, less)
    return tuple(found.items())


def opening_spacing(schedule: Schedule, item: str, unit: str) -> float | None:
    """How far apart other work opens the item's access, by the schedule; None where none does."""
    rule = renewal_rule(schedule, item)
    if rule is None or rule.access is None:
        return None
    other = [
        r.every for r in schedule.rules if same_name(r.access, rule.access) and not same_name(r.item, item)
    ]
    if unit == "months":
        return min((float(limits.months) for limits in other if limits.months is not None), default=None)
    return min((float(limits.tenths) / 10 for limits in other if limits.tenths is not None), default=None)
