"""How long a kind of item lasts: the fit of its lives, of groups of them, and what can't be said and why."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from fleetlog.errors import FleetlogError
from fleetlog.errors.life import AgesTellNoShape, NoFailures, TooFewFailures
from fleetlog.life.compare import SIGNIFICANT, Comparison, Overall, adjusted, compare_all, compare_groups
from fleetlog.life.fit import WeibullFit, fit_stated_shape, fit_weibull, outlasted_life
from fleetlog.life.lives import GatheredLives, LeftOut, LifeTally, Unit

MOST_COMPARED = 5
"""So many groups are compared pair by pair; more only all at once."""


@dataclass(frozen=True, slots=True)
class MakerInterval:
    """The maker's interval for an item in one schedule, in the unit of the answer.

    `shortened`: the words for severe water or use, each with the interval that it leaves.
    """

    schedule: str
    age: float
    is_grave: bool
    shortened: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, eq=False)
class GroupLife:
    """The lives of one group: their fit, or the refusal that says why there is none.

    `outlasted`: the characteristic life known to be reached at a stated shape, where none has failed.
    """

    name: str
    gathered: GatheredLives
    fit: WeibullFit | None
    refusal: FleetlogError | None
    outlasted: float | None = None

    @property
    def tally(self) -> LifeTally:
        """How many lives ended how."""
        return self.gathered.tally

    @property
    def left_out(self) -> tuple[LeftOut, ...]:
        """The lives that could not be used, each with the reason."""
        return self.gathered.left_out


@dataclass(frozen=True, slots=True)
class Pair:
    """Two groups compared; `chance` is that of so great a difference in any of all pairs compared."""

    first: str
    second: str
    comparison: Comparison
    chance: float

    @property
    def differ(self) -> bool:
        """Whether so great a difference would be rare, as many pairs as were compared."""
        return self.chance < SIGNIFICANT


@dataclass(frozen=True, eq=False)
class LifeAnswer:
    """What the lives of a kind of item say.

    `about` says of which lives (`water salt`), empty for all. `split_by` is the condition the groups
    differ in, empty without groups. `overall` compares three groups or more at once.
    """

    item: str
    unit: Unit
    about: str
    whole: GroupLife
    intervals: tuple[MakerInterval, ...] = ()
    split_by: str = ""
    groups: tuple[GroupLife, ...] = ()
    pairs: tuple[Pair, ...] = ()
    overall: Overall | None = None
    stated_shape: float | None = None

    @property
    def named(self) -> str:
        """The kind of item, with the conditions its lives were chosen by."""
        return f"{self.item} ({self.about})" if self.about else self.item

    @property
    def fit(self) -> WeibullFit:
        """The fit of all lives; raises the refusal where there is none."""
        if self.whole.fit is None:
            raise self.whole.refusal or NoFailures(0, 0, self.unit)
        return self.whole.fit

    @property
    def interval(self) -> MakerInterval | None:
        """The maker's interval, where all schedules agree on it."""
        return self.intervals[0] if len({(i.age, i.shortened) for i in self.intervals}) == 1 else None


def group_life(name: str, gathered: GatheredLives, shape: float | None, confidence: float) -> GroupLife:
    """Fit one group, with a shape where one is stated; thin evidence is said to be thin."""
    lives = gathered.lives
    try:
        if shape is not None:
            return GroupLife(name, gathered, fit_stated_shape(lives, shape, confidence), None)
        return GroupLife(name, gathered, fit_weibull(lives, confidence), None)
    except NoFailures as refusal:
        outlasted = None if shape is None else outlasted_life(lives, shape, confidence)
        return GroupLife(name, gathered, None, refusal, outlasted)
    except (TooFewFailures, AgesTellNoShape) as refusal:
        return GroupLife(name, gathered, None, refusal)


def compared(groups: Sequence[GroupLife], confidence: float) -> tuple[Pair, ...]:
    """Every two of the groups that have a fit of their own, compared."""
    fitted = _with_fit(groups)
    if len(fitted) > MOST_COMPARED:
        return ()
    found = []
    for one, other in combinations(fitted, 2):
        try:
            comparison = compare_groups(one.gathered.lives, other.gathered.lives, confidence)
        except AgesTellNoShape:  # together they may fit no shape though each does alone
            continue
        found.append((one.name, other.name, comparison))
    chances = adjusted([comparison.p_value for _, _, comparison in found])
    return tuple(Pair(*pair, chance) for pair, chance in zip(found, chances, strict=True))


def _overall(groups: Sequence[GroupLife]) -> Overall | None:
    """Three groups or more that have a fit of their own, compared at once; None where they can't be."""
    fitted = _with_fit(groups)
    if len(fitted) < 3:
        return None
    try:
        return compare_all([group.gathered.lives for group in fitted])
    except AgesTellNoShape:
        return None


def _with_fit(groups: Sequence[GroupLife]) -> list[GroupLife]:
    return [g for g in groups if g.fit is not None and not g.fit.is_shape_stated]


def answer_life(
    item: str,
    whole: GatheredLives,
    *,
    about: str = "",
    intervals: Sequence[MakerInterval] = (),
    split_by: str = "",
    parts: Mapping[str, GatheredLives] | None = None,
    shape: float | None = None,
    confidence: float = 0.95,
) -> LifeAnswer:
    """What lives say of a kind of item, as a whole and, where they are split, group by group.

    A `shape` is stated for all groups. Refuses a shape or a confidence that is none.
    """
    unit = whole.lives.unit
    fitted = group_life("all", whole, shape, confidence)
    groups = tuple(group_life(name, lives, shape, confidence) for name, lives in (parts or {}).items())
    pairs = compared(groups, confidence)
    overall = _overall(groups)
    return LifeAnswer(item, unit, about, fitted, tuple(intervals), split_by, groups, pairs, overall, shape)
