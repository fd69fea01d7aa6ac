"""Lives drawn from known distributions, for the tests and the benchmark of life."""

from __future__ import annotations

import numpy as np

from fleetlog.life.lives import Lives


def mixed_lives(rng: np.random.Generator, number: int, shape: float, scale: float) -> Lives:
    """Lives from a Weibull distribution with all four kinds of evidence.

    Of those drawn, the ones that had ended before they came into the records are never seen.
    """
    age = scale * rng.weibull(shape, number)
    entered_at = np.where(rng.random(number) < 0.3, rng.uniform(0, 0.8 * scale, number), 0.0)
    watched_to = entered_at + rng.uniform(0.2, 2.0, number) * scale
    inspected_every = 0.25 * scale
    seen = age > entered_at
    age, entered_at, watched_to = age[seen], entered_at[seen], watched_to[seen]
    failed = age <= watched_to
    by_inspection = failed & (rng.random(age.size) < 0.5)
    look = np.floor(age / inspected_every) * inspected_every
    low = np.where(by_inspection, look, np.minimum(age, watched_to))
    high = np.where(by_inspection, look + inspected_every, np.where(failed, age, np.inf))
    return Lives.from_arrays(low, high, entered_at)


def lives_with_failures(rng: np.random.Generator, failures: int, sound: int, shape: float) -> Lives:
    """Lives of a characteristic life of 1000, watched until so many have failed and so many still run."""
    age = np.sort(1000 * rng.weibull(shape, failures + sound))
    low = np.minimum(age, age[failures - 1])
    return Lives.from_arrays(low, np.where(age <= age[failures - 1], age, np.inf))
