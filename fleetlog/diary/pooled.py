"""Days pooled over places and technicians, for the HiGHS solver (it comes with scipy): the lower bound.

The linear relaxation of the pooled days is solved once: its value bounds every plan from below, and its
shares and reduced costs say which days are worth trying.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.optimize import linprog

from fleetlog.diary.model import Model

Floats = NDArray[np.float64]
TIME_IS_UP = 1
"""Status of scipy.optimize for a limit of iterations or time that was reached."""


@dataclass(frozen=True, slots=True)
class Relaxation:
    """The linear relaxation: its value, the price of each visit, its share on each day, the reduced costs.

    Arrays are by visit, and by visit and day, with infinite reduced cost where a day isn't permitted.
    """

    value: float
    prices: Floats
    shares: Floats
    reduced: Floats


def relax(model: Model, seconds: float | None) -> Relaxation | None:
    """Solve the linear relaxation; None where the time was up first."""
    count, length = model.permitted.shape
    visit, day = np.nonzero(model.permitted)
    if not len(visit):
        shares = np.zeros((count, length))
        prices = model.unplanned_points.astype(float)
        return Relaxation(float(prices.sum()), prices, shares, np.full((count, length), np.inf))
    columns = len(visit)
    costs = np.concatenate([model.points[visit, day], model.unplanned_points]).astype(float)
    once = sparse.csr_array(
        (
            np.ones(columns + count),
            (np.concatenate([visit, np.arange(count)]), np.arange(columns + count)),
        ),
        shape=(count, columns + count),
    )
    limits = []
    for share in model.shares:
        limits.append(
            sparse.csr_array(
                (share[visit].astype(float), (day, np.arange(columns))), shape=(length, columns + count)
            )
        )
    options = {} if seconds is None else {"time_limit": max(0.01, seconds)}
    pooled = sparse.vstack(limits, format="csr") if limits else None
    found = linprog(
        costs,
        A_eq=once,
        b_eq=np.ones(count),
        A_ub=pooled,
        b_ub=model.capacity.ravel().astype(float) if limits else None,
        bounds=(0, 1),
        method="highs",
        options=options,
    )
    if found.x is None or found.status == TIME_IS_UP:
        return None
    reduced_costs = costs - once.T @ found.eqlin.marginals
    if pooled is not None:
        reduced_costs = reduced_costs - pooled.T @ found.ineqlin.marginals
    shares = np.zeros((count, length))
    reduced = np.full((count, length), np.inf)
    shares[visit, day] = found.x[:columns]
    reduced[visit, day] = reduced_costs[:columns]
    return Relaxation(float(found.fun), found.eqlin.marginals.copy(), shares, reduced)
