"""The evidence: lives as plain arrays of ages, each with how far its end is known.

Where lives come from (the ledger) is not known here; `gather_lives` takes one small value per life.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from fleetlog.errors.life import (
    AgeIsNoNumber,
    AgeNotPositive,
    LifeEndsBeforeItBegins,
    LifeNeverWatched,
    LivesDisagreeInNumber,
    NoLives,
    WeightNotPositive,
)

FloatArray = NDArray[np.float64]
Unit = Literal["hours", "months"]
Ending = Literal["failed", "found worn", "sound"]


@dataclass(frozen=True, slots=True)
class LifeTally:
    """How many lives ended how; `entered_with_age` counts across the other three."""

    lives: int
    failed: int
    found_worn: int
    sound: int
    entered_with_age: int


@dataclass(frozen=True, eq=False)
class Lives:
    """Ages of many lives, in `unit`, checked once when made and read-only from then on.

    `low` = `high`: ended at that age. Finite `high` above `low`: sound at `low`, worn or failed by `high`
    (`low` 0: never seen sound). `high` infinite: sound at `low`, the end not seen. `entered_at`: the age at
    which watching began, 0 for a life known from new. `weight`: how many lives the row stands for.

    An interval that begins before watching did is taken from the age of entry. Refuses, by row: ages that
    are no numbers or not above zero, ends before beginnings, lives never watched, weights not above zero.
    """

    low: FloatArray
    high: FloatArray
    entered_at: FloatArray
    weight: FloatArray
    unit: Unit = "hours"

    def __post_init__(self) -> None:
        arrays = [np.array(a, dtype=np.float64) for a in (self.low, self.high, self.entered_at, self.weight)]
        low, high, entered_at, weight = arrays
        if any(a.ndim != 1 for a in arrays) or len({a.size for a in arrays}) != 1:
            raise LivesDisagreeInNumber(low.size, high.size, entered_at.size, weight.size)
        if low.size == 0:
            raise NoLives
        _check_rows(low, high, entered_at, weight, self.unit)
        np.maximum(low, np.where(high > low, entered_at, low), out=low)
        for name, array in zip(("low", "high", "entered_at", "weight"), arrays, strict=True):
            array.setflags(write=False)
            object.__setattr__(self, name, array)

    @classmethod
    def from_arrays(
        cls,
        low: ArrayLike,
        high: ArrayLike,
        entered_at: ArrayLike | None = None,
        weight: ArrayLike | None = None,
        unit: Unit = "hours",
    ) -> Self:
        """Lives from any array-like ages; known from new and counting once each unless said otherwise."""
        low, high = np.asarray(low, dtype=np.float64), np.asarray(high, dtype=np.float64)
        entered = np.zeros(low.shape) if entered_at is None else np.asarray(entered_at, dtype=np.float64)
        counts = np.ones(low.shape) if weight is None else np.asarray(weight, dtype=np.float64)
        return cls(low, high, entered, counts, unit)

    @property
    def is_exact(self) -> NDArray[np.bool_]:
        """Which lives ended at a known age."""
        return np.equal(self.low, self.high)

    @property
    def is_sound(self) -> NDArray[np.bool_]:
        """Which lives were still sound when last seen."""
        return np.isinf(self.high)

    @property
    def failures(self) -> float:
        """The weight of the lives that failed or were found worn."""
        return float(self.weight[~self.is_sound].sum())

    @property
    def longest(self) -> float:
        """The highest age any life is known to have reached, in `unit`."""
        return float(np.where(self.is_exact, self.high, self.low).max())

    def tally(self) -> LifeTally:
        """Count the lives by how they ended, weights rounded to whole lives."""
        exact, sound = self.is_exact, self.is_sound
        total, failed, running = (
            float(self.weight.sum()),
            float(self.weight[exact].sum()),
            float(self.weight[sound].sum()),
        )
        aged = float(self.weight[self.entered_at > 0].sum())
        return LifeTally(
            round(total), round(failed), round(total - failed - running), round(running), round(aged)
        )

    def scaled(self, factor: float) -> Lives:
        """The same lives with every age multiplied by a factor above zero."""
        return Lives(self.low * factor, self.high * factor, self.entered_at * factor, self.weight, self.unit)

    def joined(self, other: Lives) -> Lives:
        """These lives and others of the same unit, in one."""
        pairs = ((getattr(self, n), getattr(other, n)) for n in ("low", "high", "entered_at", "weight"))
        low, high, entered_at, weight = (np.concatenate(pair) for pair in pairs)
        return Lives(low, high, entered_at, weight, self.unit)


def _check_rows(
    low: FloatArray, high: FloatArray, entered_at: FloatArray, weight: FloatArray, unit: Unit
) -> None:
    """Refuse the first row that cannot be a life."""

    def first(bad: NDArray[np.bool_]) -> int | None:
        return int(bad.argmax()) if bad.any() else None

    row = first(~np.isfinite(low) | np.isnan(high) | ~np.isfinite(entered_at))
    if row is not None:
        raise AgeIsNoNumber(row, low[row], high[row], entered_at[row])
    row = first((low < 0) | (entered_at < 0) | (high <= 0))
    if row is not None:
        raise AgeNotPositive(row, min(low[row], entered_at[row], high[row]), unit)
    row = first(high < low)
    if row is not None:
        raise LifeEndsBeforeItBegins(row, low[row], high[row], unit)
    running = np.isinf(high)
    row = first(running & (low <= 0))
    if row is not None:
        raise AgeNotPositive(row, low[row], unit)
    last_seen = np.where(running, low, high)
    row = first(entered_at >= last_seen)
    if row is not None:
        raise LifeNeverWatched(row, entered_at[row], last_seen[row], unit)
    row = first(~((weight > 0) & np.isfinite(weight)))
    if row is not None:
        raise WeightNotPositive(row, weight[row])


@dataclass(frozen=True, slots=True)
class Life:
    """One life as the records tell it; ages in one unit throughout.

    `age` is the age at the end, or now for what still runs. `last_sound_at` matters for `found worn` alone:
    the age at the last look, before the one that found it worn, that found it sound (0: there was none).
    `entered_at` is the age with which it came into the records. `label` says which life it is, `doubt` why it
    is not to be used, where anything is against it.
    """

    ended: Ending
    age: float
    last_sound_at: float = 0.0
    entered_at: float = 0.0
    label: str = ""
    doubt: str = ""


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A life that cannot be used, and why: a finding, not a refusal."""

    label: str
    reason: str


@dataclass(frozen=True)
class GatheredLives:
    """What the records gave: the lives to be used, their tally, and those left out."""

    lives: Lives
    tally: LifeTally
    left_out: tuple[LeftOut, ...]


def gather_lives(records: Iterable[Life], unit: Unit = "hours") -> GatheredLives:
    """Turn lives as recorded, with ages in `unit`, into arrays; what tells nothing is left out and named.

    What was found worn without having run since the last look counts as ended at that age. Refuses where
    no life is left.
    """
    kept: list[Life] = []
    left_out: list[LeftOut] = []
    for number, life in enumerate(records, 1):
        reason = _why_unusable(life, unit)
        if reason is None:
            kept.append(life)
        else:
            left_out.append(LeftOut(life.label or f"life {number}", reason))
    if not kept:
        raise NoLives(len(left_out))
    lives = Lives.from_arrays(
        [min(life.last_sound_at, life.age) if life.ended == "found worn" else life.age for life in kept],
        [np.inf if life.ended == "sound" else life.age for life in kept],
        [life.entered_at for life in kept],
        unit=unit,
    )
    endings = [life.ended for life in kept]
    tally = LifeTally(
        len(kept),
        endings.count("failed"),
        endings.count("found worn"),
        endings.count("sound"),
        sum(life.entered_at > 0 for life in kept),
    )
    return GatheredLives(lives, tally, tuple(left_out))


def _why_unusable(life: Life, unit: Unit) -> str | None:
    if life.doubt:
        return life.doubt
    ages = (life.age, life.last_sound_at, life.entered_at)
    if not all(np.isfinite(age) for age in ages):
        return "its age is not known"
    if min(ages) < 0:
        return f"its age of {min(ages):g} {unit} is below zero"
    if life.age == 0:
        return "it has not run yet" if life.ended == "sound" else f"it ended at 0 {unit}"
    if life.ended == "found worn" and life.last_sound_at > life.age:
        return f"sound at {life.last_sound_at:g} {unit} but worn at {life.age:g} {unit}"
    if life.entered_at >= life.age:
        return f"it came into the records at {life.entered_at:g} {unit} and has not run since"
    return None
