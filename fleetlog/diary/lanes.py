"""A bound nearer to the best plan than the pooled one: each technician's (or place's) day holds whole visits.

That each visit is done at most once is priced instead of kept (Lagrangian relaxation: M. L. Fisher, The
Lagrangian relaxation method for solving integer programming problems, Management Science 27 (1981), 1–18).
Each day of a lane is then a knapsack of its own, filled exactly; whatever the prices, the sum bounds every
plan from below. The prices are improved by subgradient steps.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from fleetlog.diary.model import Bools, Ints, Model
from fleetlog.diary.packing import DayPacker

Floats = NDArray[np.float64]

MOST_CELLS = 20_000_000
"""Beyond so many cells of the knapsacks the bound is not worked out."""
STEP = 0.6
AIMED_ABOVE_SHARE = 0.01
"""The steps aim so far above the bound that is known (Polyak's rule, with an estimate for the optimum)."""
PATIENCE = 5
"""After so many rounds without a better bound the steps get shorter."""


def lane_bound(
    model: Model,
    packers: Sequence[DayPacker],
    known: float,
    prices: Floats,
    rounds: int,
    is_time_up: Callable[[], bool],
) -> float:
    """The best bound of so many rounds, at least `known`; `prices` are those of the visits to begin with."""
    knapsacks = _Knapsacks(model, packers)
    if not knapsacks.count or knapsacks.cells > MOST_CELLS:
        return known
    unplanned = model.unplanned_points.astype(float)
    best, best_prices, step, waited = -np.inf, prices, STEP, 0
    for _ in range(rounds):
        if is_time_up():
            break
        least, taken = knapsacks.filled(prices)
        value = float(prices.sum() + np.minimum(0.0, unplanned - prices).sum() + least)
        slope = 1.0 - taken - (unplanned < prices)
        if value > best:
            best, best_prices, waited = value, prices, 0
        else:
            waited += 1
        if waited == PATIENCE:
            step, waited, prices = 0.6 * step, 0, best_prices
            continue
        length = float(slope @ slope)
        if length == 0.0:
            break
        aim = max(known, best) * (1 + AIMED_ABOVE_SHARE)
        prices = prices + step * max(1.0, aim - value) / length * slope
    return max(known, best)


class _Knapsacks:
    """The lanes of every day, those alike on a day taken together, and what visits would bring in each."""

    def __init__(self, model: Model, packers: Sequence[DayPacker]) -> None:
        kinds = [packers[0].kind_of(visit) for visit in range(len(model.requests))] if packers else []
        lanes = min(
            ([packer.lanes(of_places=of_places) for packer in packers] for of_places in (False, True)),
            key=lambda by_day: sum(tenths for day in by_day for tenths, _ in day),
        )
        self._sizes = [request.tenths for request in model.requests]
        rows = [
            (day, tenths, suited, alike)
            for day, there in enumerate(lanes)
            for (tenths, suited), alike in sorted(Counter(there).items(), key=lambda item: item[0][0])
            if tenths > 0
        ]
        self.count = len(rows)
        self._most = max((tenths for _, tenths, _, _ in rows), default=0)
        self.cells = self.count * (self._most + 1) * len(self._sizes)
        days = np.array([day for day, _, _, _ in rows], dtype=np.int64)
        self._tenths: Ints = np.array([tenths for _, tenths, _, _ in rows], dtype=np.int64)
        self._alike: Ints = np.array([alike for _, _, _, alike in rows], dtype=np.int64)
        suits = np.array([[kind in suited for kind in kinds] for _, _, suited, _ in rows], dtype=bool)
        self._points: Floats = model.points.T[days].astype(float)
        self._may: Bools = model.permitted.T[days] & suits if self.count else suits

    def filled(self, prices: Floats) -> tuple[float, Ints]:
        """The least sum of points less prices over all lanes, and how often each visit is taken for it."""
        values = np.where(self._may, self._points - prices, 0.0)
        useful = [
            visit
            for visit, size in enumerate(self._sizes)
            if 0 < size <= self._most and values[:, visit].min() < 0
        ]
        best = np.zeros((self.count, self._most + 1))
        took = np.zeros((len(useful), self.count, self._most + 1), dtype=bool)
        for number, visit in enumerate(useful):
            size = self._sizes[visit]
            tried = best[:, : self._most + 1 - size] + values[:, visit, None]
            better = tried < best[:, size:]
            took[number, :, size:] = better
            best[:, size:] = np.where(better, tried, best[:, size:])
        rows = np.arange(self.count)
        best[np.arange(self._most + 1)[None, :] > self._tenths[:, None]] = np.inf
        at = best.argmin(axis=1)
        least = float((best[rows, at] * self._alike).sum())
        taken = np.zeros(len(self._sizes), dtype=np.int64)
        for number in range(len(useful) - 1, -1, -1):
            chosen = took[number, rows, at]
            taken[useful[number]] = int((chosen * self._alike).sum())
            at = at - np.where(chosen, self._sizes[useful[number]], 0)
        return least, taken
