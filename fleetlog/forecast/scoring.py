"""Scores forecasts of days whose truth is known only to lie between two readings, or after the last one.

Of the time between two readings it is known in which parts, each as likely, the hours were reached. How often
windows hold is the distribution of the chance that was given to the true day: even within a part, and where
hours are not reached yet self-consistent (Turnbull, J. R. Stat. Soc. B 38, 1976, 290-295). Losses in days
are means over the parts, for the forecast and its rival.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
from numpy.typing import NDArray

from fleetlog.forecast.evidence import Days
from fleetlog.forecast.fleet import SHARES

Floats = NDArray[np.float64]

CELLS, ROUNDS = 20, 200
"""Equal cells of the chance given to a true day, and rounds in which their shares are found."""

WINDOW = slice(CELLS // 10, -(CELLS // 10))
"""The cells between early and late."""

READING_GROUPS = ((0, 0), (1, 1), (2, 3), (4, 8), (9, 20), (21, 10**9))


@dataclass(frozen=True, eq=False)
class Cases:
    """Forecasts with their truth, a row each; days are ordinals.

    With the same chance the hours were reached in each of some parts of time (a column each): after a day of
    `after` and by the end of that of `by`. `chance_after` and `chance_by` are what the forecast gave for
    having reached them by the ends of those days. Hours not reached yet (`is_reached`) may be on any day
    `after` the last reading. `plain_days` is the constant-rate rival's guess.
    """

    engine: Days
    use: Days
    readings: Days
    since: Days
    early: Days
    likely: Days
    late: Days
    plain_days: Floats
    is_reached: NDArray[np.bool_]
    after: Days
    by: Days
    chance_after: Floats
    chance_by: Floats

    def __len__(self) -> int:
        return len(self.engine)

    def chosen(self, rows: NDArray[np.bool_]) -> Cases:
        """The cases for which `rows` holds."""
        return Cases(**{field.name: getattr(self, field.name)[rows] for field in fields(self)})

    @classmethod
    def together(cls, parts: Sequence[Cases]) -> Cases:
        """The cases of several past days in one."""
        names = [field.name for field in fields(cls)]
        return cls(**{name: np.concatenate([getattr(part, name) for part in parts]) for name in names})


FEW_ENGINES, BY_CHANCE = 30, "shares can be off by ten in a hundred or more by chance."
"""From how many engines on shares tell something, and what is said of fewer."""


@dataclass(frozen=True, slots=True)
class Score:
    """How a group of cases came out; days are days, shares 0 to 1, the rival has a constant rate.

    `coverage_share` is how often the true day lies between early and late; it is known to lie between
    `coverage_least_share` and `coverage_most_share` without any assumption. Losses and errors are over the
    `reached` cases only, `pinball_days` the mean of those at 10, 50 and 90 %. The rival's window has the
    width that suits the truth of all cases best.
    """

    group: str
    cases: int
    engines: int
    reached: int
    coverage_share: float
    coverage_least_share: float
    coverage_most_share: float
    early_share: float
    late_share: float
    rival_coverage_share: float
    rival_early_share: float
    rival_late_share: float
    pinball_by_share_days: tuple[float, float, float]
    rival_pinball_by_share_days: tuple[float, float, float]
    median_error_days: float
    rival_median_error_days: float
    median_width_days: float

    @property
    def tells_little(self) -> bool:
        """Whether its shares come from few engines."""
        return self.engines < FEW_ENGINES

    @property
    def pinball_days(self) -> float:
        """The forecast's mean pinball loss."""
        return float(np.mean(self.pinball_by_share_days))

    @property
    def rival_pinball_days(self) -> float:
        """The rival's mean pinball loss."""
        return float(np.mean(self.rival_pinball_by_share_days))

    @property
    def pinball_ratio(self) -> float:
        """The forecast's pinball loss in parts of the rival's."""
        return self.pinball_days / self.rival_pinball_days if self.rival_pinball_days else float("nan")


@dataclass(frozen=True, eq=False)
class Backtest:
    """Cases with their scores, overall first, and how often each stated chance came true."""

    cases: Cases
    scores: tuple[Score, ...]
    stated_shares: Floats
    came_true_shares: Floats

    @property
    def note(self) -> str | None:
        """What the star beside groups of few engines means; None where there are none."""
        return f"* Of few engines: {BY_CHANCE}" if any(score.tells_little for score in self.scores) else None


def came_true(cases: Cases) -> Floats:
    """The share of cases in each of `CELLS` equal cells of the chance given to the true day.

    Perfect forecasts fill all cells alike.
    """
    done = cases.is_reached
    parts = _spread(cases.chance_after[done].ravel(), cases.chance_by[done].ravel())
    known = parts.sum(axis=0) / cases.after.shape[1]
    later = _spread(cases.chance_after[~done, 0], np.ones(np.count_nonzero(~done)))
    shares = np.full(CELLS, 1 / CELLS)
    for _ in range(ROUNDS):
        joint = later * shares
        told = joint / np.maximum(joint.sum(axis=1, keepdims=True), 1e-300)
        shares = (known + told.sum(axis=0)) / len(cases)
    return shares


def _spread(low: Floats, high: Floats) -> Floats:
    """Of each range of chances, spread evenly, the shares that lie in each cell."""
    edges, low = np.linspace(0, 1, CELLS + 1), np.clip(low, 0.0, 1 - 1e-9)[:, None]
    high = np.maximum(high[:, None], low + 1e-9)
    shares: Floats = np.clip(np.minimum(high, edges[1:]) - np.maximum(low, edges[:-1]), 0, None) / (
        high - low
    )
    return shares


def pinball(truth: Floats, stated: Floats, share: float) -> Floats:
    """The pinball loss in days of a stated quantile."""
    over = truth - stated
    loss: Floats = np.where(over >= 0, share * over, (share - 1) * over)
    return loss


def scored(cases: Cases, uses: Sequence[str]) -> Backtest:
    """The scores of all cases, of each use and of each number of readings."""
    ratios = np.ones(1)
    if bool(cases.is_reached.any()):
        told = cases.chosen(cases.is_reached)
        ratios = np.sort((_truths(told) / np.maximum(told.plain_days, 0.5)[:, None]).ravel())
    factors = np.quantile(ratios, SHARES)
    rival = replace(
        cases,
        chance_after=_rival_chance(ratios, cases, cases.after),
        chance_by=_rival_chance(ratios, cases, cases.by),
    )
    groups = [("all", np.ones(len(cases), dtype=bool))]
    groups += [(name or "no use stated", cases.use == number) for number, name in enumerate(uses)]
    for least, most in READING_GROUPS:
        name = ("no reading", "1 reading")[most] if most <= 1 else f"{least} to {most} readings"
        name = f"{least} readings or more" if most > 10**6 else name
        groups.append((name, (cases.readings >= least) & (cases.readings <= most)))
    scores = tuple(
        _score(name, cases.chosen(rows), rival.chosen(rows), factors)
        for name, rows in groups
        if bool(rows.any())
    )
    shares = came_true(cases)
    return Backtest(cases, scores, np.linspace(0, 1, CELLS + 1), np.concatenate([[0.0], np.cumsum(shares)]))


def _truths(cases: Cases) -> Floats:
    """Days since the last reading by whose end the hours were reached: the middle of each part."""
    days: Floats = (cases.after + cases.by + 1) / 2 - cases.since[:, None]
    return days


def _rival_chance(ratios: Floats, cases: Cases, days: Days) -> Floats:
    """The rival's chances of days (a row a case): the share of true days that came as soon, by its guess."""
    ratio = (days - cases.since[:, None]) / np.maximum(cases.plain_days, 0.5)[:, None]
    found: Floats = np.searchsorted(ratios, ratio, side="right") / len(ratios)
    return found


def _score(name: str, cases: Cases, rival_cases: Cases, factors: Floats) -> Score:
    shares, rival_shares = came_true(cases), came_true(rival_cases)
    reached = cases.chosen(cases.is_reached)
    truth = _truths(reached)
    windows = (reached.early, reached.likely, reached.late)
    stated = [(days - reached.since).astype(np.float64)[:, None] for days in windows]
    rival = [np.maximum(reached.plain_days * factor, 1.0)[:, None] for factor in factors]
    # The window holds for certain, or at best, whatever the day between the readings was.
    first = cases.after[:, 0] + 1
    last = np.where(cases.is_reached, cases.by[:, -1], np.iinfo(np.int64).max)
    surely = (first >= cases.early) & (last <= cases.late)
    maybe = (first <= cases.late) & (last >= cases.early)

    def losses(days: list[Floats]) -> tuple[float, float, float]:
        early, likely, late = (
            float(pinball(truth, quantile, share).mean()) if len(reached) else float("nan")
            for quantile, share in zip(days, SHARES, strict=True)
        )
        return early, likely, late

    none = not len(reached)
    return Score(
        group=name,
        cases=len(cases),
        engines=len(np.unique(cases.engine)),
        reached=len(reached),
        coverage_share=float(shares[WINDOW].sum()),
        coverage_least_share=float(surely.mean()),
        coverage_most_share=float(maybe.mean()),
        early_share=float(shares[: WINDOW.start].sum()),
        late_share=float(shares[WINDOW.stop :].sum()),
        rival_coverage_share=float(rival_shares[WINDOW].sum()),
        rival_early_share=float(rival_shares[: WINDOW.start].sum()),
        rival_late_share=float(rival_shares[WINDOW.stop :].sum()),
        pinball_by_share_days=losses(stated),
        rival_pinball_by_share_days=losses(rival),
        median_error_days=float("nan") if none else float(np.median(np.abs(truth - stated[1]))),
        rival_median_error_days=float("nan")
        if none
        else float(np.median(np.abs(truth - reached.plain_days[:, None]))),
        median_width_days=float(np.median(cases.late - cases.early)),
    )
