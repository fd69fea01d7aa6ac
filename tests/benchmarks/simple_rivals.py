"""Simple ways to say when hours will be reached, to be beaten: rates and bootstraps, seasonal or not."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np

from fleetlog.forecast.evidence import FleetUsage
from fleetlog.forecast.scoring import Cases, pinball

SHARES = (0.1, 0.5, 0.9)
LEAST_USE = 0.02
"""Of a mean day's use, so that a month without any does not stop the clock for good."""


@dataclass(frozen=True)
class Rival:
    """What a simple way comes to on the cases that were reached: a guess alone has no window."""

    name: str
    median_error_days: float
    coverage_share: float | None = None
    pinball_days: float | None = None


def rivals(known: list[FleetUsage], days: list[date], cases: list[Cases], hours: float) -> list[Rival]:
    """The rivals' scores on cases of several past days, of each the fleet as known on it."""
    found: dict[str, list[np.ndarray]] = {}
    truths = []
    for fleet, day, mine in zip(known, days, cases, strict=True):
        reached = mine.chosen(mine.is_reached)
        truths.append((reached.by[:, 0] - reached.since).astype(float))
        for name, clock in (("", _even_clock(day)), ("seasonal ", _seasonal_clock(fleet, day))):
            rate, drawn = _windows(fleet, clock, reached, hours)
            found.setdefault(f"{name}constant rate", []).append(rate[None])
            found.setdefault(f"{name}bootstrap", []).append(drawn)
    truth = np.concatenate(truths)
    return [_scored(name, np.concatenate(parts, axis=1), truth) for name, parts in found.items()]


def _scored(name: str, stated: np.ndarray, truth: np.ndarray) -> Rival:
    if len(stated) == 1:
        return Rival(name, float(np.median(np.abs(stated[0] - truth))))
    losses = [pinball(truth, days, share).mean() for days, share in zip(stated, SHARES, strict=True)]
    held = float(((stated[0] <= truth) & (truth <= stated[2])).mean())
    return Rival(name, float(np.median(np.abs(stated[1] - truth))), held, float(np.mean(losses)))


def _even_clock(day: date) -> tuple[int, np.ndarray]:
    first = day.toordinal() - 60 * 365
    return first, np.arange(80 * 365, dtype=float)


def _seasonal_clock(fleet: FleetUsage, day: date) -> tuple[int, np.ndarray]:
    """Days of mean use run by each day, by the months of the fleet's own intervals."""
    first, even = _even_clock(day)
    months = np.array([date.fromordinal(first + at).month - 1 for at in range(len(even))])
    same = np.diff(fleet.reading_engine) == 0
    low, high = fleet.reading_day[:-1][same] - first, fleet.reading_day[1:][same] - first
    ran = np.diff(fleet.reading_hours)[same] / np.maximum(high - low, 1)
    used, seen = np.zeros(len(even)), np.zeros(len(even))
    for sums, weight in ((used, ran), (seen, np.ones_like(ran))):
        np.add.at(sums, low, weight)
        np.add.at(sums, high, -weight)
    days_seen = np.bincount(months, np.cumsum(seen), 12)
    by_month = np.bincount(months, np.cumsum(used), 12) / np.maximum(days_seen, 1)
    by_month[days_seen < 1] = by_month[days_seen >= 1].mean()  # nothing is known of a month never seen
    profile = np.maximum(by_month / by_month.mean(), LEAST_USE)
    return first, np.cumsum(profile[months])


def _windows(
    fleet: FleetUsage, clock: tuple[int, np.ndarray], cases: Cases, hours: float, draws: int = 200
) -> tuple[np.ndarray, np.ndarray]:
    """Days since the last reading by a constant rate over the clock, and by own intervals drawn again."""
    rng = np.random.default_rng(0)
    first, running = clock
    rate_days, drawn_days = np.empty(len(cases)), np.empty((3, len(cases)))
    for row, engine in enumerate(cases.engine):
        mine = slice(int(fleet.reading_offsets[engine]), int(fleet.reading_offsets[engine + 1]))
        gaps, ran = np.diff(running[fleet.reading_day[mine] - first]), np.diff(fleet.reading_hours[mine])
        since = int(fleet.reading_day[mine][-1]) - first
        rate = max(float(ran.sum() / gaps.sum()), 1e-3)
        count = int(3 * hours / (rate * gaps.mean())) + 20
        picked = rng.integers(0, len(gaps), (draws, count))
        total, ticks = np.cumsum(ran[picked], axis=1), np.cumsum(gaps[picked], axis=1)
        over = total >= hours
        at = np.where(over.any(axis=1), over.argmax(axis=1), count - 1)
        rows = np.arange(draws)
        before = np.where(at > 0, total[rows, at - 1], 0.0)
        part = np.clip((hours - before) / np.maximum(ran[picked[rows, at]], 1e-6), 0, 1)
        reached = ticks[rows, at] - gaps[picked[rows, at]] * (1 - part)
        wanted = running[since] + np.concatenate([[hours / rate], np.quantile(reached, SHARES)])
        rate_days[row], *drawn_days[:, row] = np.searchsorted(running, wanted) - since
    return rate_days, drawn_days
