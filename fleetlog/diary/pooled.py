"""Days pooled over places and technicians, for the HiGHS solver: the lower bound, and windows of a few days.

HiGHS comes with scipy. The linear relaxation of the pooled days is solved once: its value bounds every
plan from below and its reduced costs say which days are worth trying. Windows are small integer problems
that put the visits of a few days anew.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.optimize import Bounds, LinearConstraint, linprog, milp

from fleetlog.diary.model import Bools, Ints, Model

Floats = NDArray[np.float64]
TIME_IS_UP = 1
"""Status of scipy.optimize for a limit of iterations, nodes or time that was reached."""

WINDOW_GAP_SHARE = 0.001
"""A window counts as solved this near to its best."""


@dataclass(frozen=True, slots=True)
class Relaxation:
    """The linear relaxation: its value, the share of each visit on each day, and the reduced costs.

    Arrays are by visit and day, infinite reduced cost where a day isn't permitted.
    """

    value: float
    shares: Floats
    reduced: Floats


def relax(model: Model, seconds: float | None) -> Relaxation | None:
    """Solve the linear relaxation; None where the time was up first."""
    count, length = model.permitted.shape
    visit, day = np.nonzero(model.permitted)
    if not len(visit):
        shares = np.zeros((count, length))
        return Relaxation(float(model.unplanned_points.sum()), shares, np.full((count, length), np.inf))
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
    return Relaxation(float(found.fun), shares, reduced)


def solve_window(
    points: Ints,
    allowed: Bools,
    shares: Ints,
    room: Ints,
    below: int,
    nodes: int,
    seconds: float | None,
) -> tuple[Ints | None, bool]:
    """Put visits into columns (days, or places of days; the last one is no day) at the least points.

    `points` and `allowed` are by visit and column; `shares`, by resource and visit, add up to at most `room`,
    by resource and column (the last excepted). Only what costs less than `below` is looked for. Returns the
    column of each visit, or None where nothing was found, and whether the time was up.
    """
    rows, width = allowed.shape
    visit, column = np.nonzero(allowed)
    numbers = np.arange(len(visit))
    once = sparse.csr_array((np.ones(len(visit)), (visit, numbers)), shape=(rows, len(visit)))
    constraints = [LinearConstraint(once, 1, 1)]
    planned = column < width - 1
    for share, limit in zip(shares, room, strict=True):
        used = sparse.csr_array(
            (share[visit[planned]].astype(float), (column[planned], numbers[planned])),
            shape=(width - 1, len(visit)),
        )
        constraints.append(LinearConstraint(used, -np.inf, limit.astype(float)))
    costs = points[visit, column].astype(float)
    constraints.append(LinearConstraint(sparse.csr_array(costs[None, :]), -np.inf, below - 1.0))
    options: dict[str, float] = {"node_limit": nodes, "mip_rel_gap": WINDOW_GAP_SHARE}
    if seconds is not None:
        options["time_limit"] = max(0.01, seconds)
    found = milp(
        costs,
        constraints=constraints,
        integrality=np.ones(len(visit)),
        bounds=Bounds(0, 1),
        options=options,
    )
    if found.x is None:
        return None, found.status == TIME_IS_UP
    chosen = np.full(rows, width - 1, dtype=np.int64)
    taken = found.x > 0.5
    chosen[visit[taken]] = column[taken]
    return chosen, found.status == TIME_IS_UP
