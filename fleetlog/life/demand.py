"""How many of each part the coming weeks will take, from due windows and from chances of failure.

Each expected use takes its quantity or none, so the number taken is a Poisson-binomial sum; its
distribution is worked out by convolution, not approximated.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from scipy import signal, special

from fleetlog.errors.life import (
    ChancesDisagreeInNumber,
    IntervalNotPositive,
    QuantityNotPositive,
    ShareOutOfRange,
)
from fleetlog.life.lives import FloatArray

HORIZONS_DAYS = (30, 90, 365)

_FINEST = 100  # quantities count in hundredths at most: 0.85 l of oil
_SHORT = 64  # below this length plain convolution is quicker than by Fourier transform
_Z_EARLY = float(special.ndtri(0.1))


def chance_within(horizon_days: float, early_days: float, likely_days: float, late_days: float) -> float:
    """The chance that work falls due within a horizon, its window being days from today (negative: past).

    Early, likely and late are the 10, 50 and 90 % days. In between and beyond, days run straight on the
    normal scale, each side with its own slope. A side of no width is certain at its day.
    """
    if not horizon_days > 0:
        raise IntervalNotPositive("horizon in days", horizon_days)
    early_days, late_days = min(early_days, likely_days), max(late_days, likely_days)
    over = horizon_days - likely_days
    width = likely_days - early_days if over < 0 else late_days - likely_days
    if width == 0:
        return 1.0 if over >= 0 else 0.0
    return float(special.ndtr(-_Z_EARLY * over / width))


def either(first: float, second: float) -> float:
    """The chance of one or the other of two independent things, such as falling due and failing before."""
    return first + second - first * second


@dataclass(frozen=True, slots=True)
class ExpectedUse:
    """One use of a part that may come: how many it takes, and its chance within each horizon."""

    part_number: str
    quantity: float
    chances: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class PartDemand:
    """What one horizon takes of a part: the expected number, and the number enough at the level asked for."""

    part_number: str
    horizon_days: int
    expected: float
    enough: float


def parts_demand(
    uses: Iterable[ExpectedUse], horizons_days: Sequence[int] = HORIZONS_DAYS, level: float = 0.9
) -> tuple[PartDemand, ...]:
    """The demand for each part number over each horizon, by part number, then horizon.

    `enough` is the least number that suffices with a chance of at least `level`; uses are taken as
    independent. Refuses horizons not above zero, chances outside 0 to 1, and quantities not above zero
    or finer than hundredths.
    """
    if not 0 < level < 1:
        raise ShareOutOfRange("level", level)
    for horizon in horizons_days:
        if not horizon > 0:
            raise IntervalNotPositive("horizon in days", horizon)
    by_part: dict[str, list[ExpectedUse]] = defaultdict(list)
    for use in uses:
        _check_use(use, len(horizons_days))
        by_part[use.part_number].append(use)
    return tuple(
        _demand(number, by_part[number], place, horizon, level)
        for number in sorted(by_part)
        for place, horizon in enumerate(horizons_days)
    )


def number_distribution(chances: FloatArray, units: Sequence[int]) -> FloatArray:
    """The chance of each total 0, 1, 2 …, where each use takes its whole units with its chance, or none."""
    rows = [np.zeros(1 + n) for n in units]
    for row, chance, n in zip(rows, chances, units, strict=True):
        row[0], row[n] = 1 - chance, chance
    if not rows:
        return np.ones(1)
    while len(rows) > 1:
        rows.sort(key=len)
        paired = [_convolved(a, b) for a, b in zip(rows[::2], rows[1::2], strict=False)]
        rows = paired + rows[len(paired) * 2 :]
    return rows[0]


def _convolved(a: FloatArray, b: FloatArray) -> FloatArray:
    if min(a.size, b.size) < _SHORT:
        return np.convolve(a, b)
    both: FloatArray = np.clip(signal.fftconvolve(a, b), 0.0, 1.0)
    return both


def _check_use(use: ExpectedUse, horizons: int) -> None:
    quantity = use.quantity
    fine = math.isfinite(quantity) and abs(quantity * _FINEST - round(quantity * _FINEST)) < 1e-6
    if not (fine and quantity > 0):
        raise QuantityNotPositive(use.part_number, quantity)
    if len(use.chances) != horizons:
        raise ChancesDisagreeInNumber(use.part_number, len(use.chances), horizons)
    for chance in use.chances:
        if not 0 <= chance <= 1:
            raise ShareOutOfRange(f"part {use.part_number}, chance of use", chance)


def _demand(number: str, uses: Sequence[ExpectedUse], place: int, horizon: int, level: float) -> PartDemand:
    chances = np.array([use.chances[place] for use in uses])
    quantities = [Fraction(round(use.quantity * _FINEST), _FINEST) for use in uses]
    unit = Fraction(math.gcd(*(q.numerator * (_FINEST // q.denominator) for q in quantities)), _FINEST)
    units = [int(q / unit) for q in quantities]
    possible = chances > 0
    spread = number_distribution(chances[possible], [n for n, p in zip(units, possible, strict=True) if p])
    # a total that suffices but for rounding suffices
    enough = int(np.argmax(np.cumsum(spread) >= level - 1e-12))
    return PartDemand(
        part_number=number,
        horizon_days=horizon,
        expected=float(sum(p * float(q) for p, q in zip(chances, quantities, strict=True))),
        enough=float(enough * unit),
    )
