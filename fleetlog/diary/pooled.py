"""Days pooled over places and technicians, for the HiGHS solver: the lower bound, and windows of a few days.

HiGHS comes with scipy. The linear relaxation of the pooled days is solved once: its value bounds every
plan from below and its reduced costs say which days are worth trying. Windows are small integer problems
that put the visits of a few days anew.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.optimize import Bounds, LinearConstraint, linprog, milp

from fleetlog.diary.model import Ints, Model

Floats = NDArray[np.float64]
TIME_IS_UP = 1
"""Status of scipy.optimize for a limit of iterations, nodes or time that was reached."""


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
    model: Model,
    visits: Sequence[int],
    days: Sequence[int],
    points: Ints,
    tightened: Ints,
    nodes: int,
    seconds: float | None,
) -> tuple[Ints | None, bool]:
    """Put the visits on these days (or on none) at the least points by the pooled resources.

    `points` is by visit of `visits` and day of `days`, the last column for no day; `tightened` is taken off
    the first resource's capacity on each day. Returns the place in `days` of each visit (`len(days)` for no
    day) or None, and whether the time was up.
    """
    rows, width = len(visits), len(days) + 1
    taken = np.asarray(visits)
    on = np.asarray(days)
    allowed = np.ones((rows, width), dtype=bool)
    allowed[:, :-1] = model.permitted[np.ix_(taken, on)]
    visit, day = np.nonzero(allowed)
    columns = np.arange(len(visit))
    constraints = [
        LinearConstraint(
            sparse.csr_array((np.ones(len(visit)), (visit, columns)), shape=(rows, len(visit))), 1, 1
        )
    ]
    planned = day < len(days)
    for row, share in enumerate(model.shares):
        used = sparse.csr_array(
            (share[taken][visit[planned]].astype(float), (day[planned], columns[planned])),
            shape=(len(days), len(visit)),
        )
        room = model.capacity[row][on] - (tightened if row == 0 else 0)
        constraints.append(LinearConstraint(used, -np.inf, room.astype(float)))
    options: dict[str, float] = {"node_limit": nodes, "mip_rel_gap": 0.0}
    if seconds is not None:
        options["time_limit"] = max(0.01, seconds)
    found = milp(
        points[visit, day].astype(float),
        constraints=constraints,
        integrality=np.ones(len(visit)),
        bounds=Bounds(0, 1),
        options=options,
    )
    time_is_up = found.status == TIME_IS_UP and "ime" in found.message
    if found.x is None:
        return None, time_is_up
    chosen = np.full(rows, len(days), dtype=np.int64)
    taken_columns = found.x > 0.5
    chosen[visit[taken_columns]] = day[taken_columns]
    return chosen, time_is_up
