"""How quick the life fits are and whether their limits hold; prints figures, judges nothing.

    python -m tests.benchmarks.life [--lives N] [--samples N] [--without-lifelines]

Seconds are those of the processor, so that other work on the machine does not count; the elapsed ones stand
in brackets.
"""

from __future__ import annotations

import argparse
import math
import time
import warnings
from collections.abc import Callable
from functools import partial
from typing import Any, NamedTuple

import numpy as np

from fleetlog.life.fit import WeibullFit, fit_weibull
from fleetlog.life.lives import Lives
from tests.life.samples import lives_with_failures, mixed_lives

SHAPE, SCALE = 1.8, 650.0


class Seconds(NamedTuple):
    """Seconds of the processor, and elapsed."""

    busy: float
    elapsed: float

    def __str__(self) -> str:
        return f"{self.busy:.3f} s ({self.elapsed:.3f})"


def timed(work: Callable[[], Any]) -> tuple[Seconds, Any]:
    busy, begun = time.process_time(), time.perf_counter()
    result = work()
    return Seconds(time.process_time() - busy, time.perf_counter() - begun), result


def fit_with_limits(lives: Lives) -> WeibullFit:
    fit = fit_weibull(lives)
    _ = fit.characteristic_life, fit.b10, fit.b50
    return fit


def speed(number: int, with_lifelines: bool) -> None:
    rng = np.random.default_rng(1)
    age, end = SCALE * rng.weibull(SHAPE, number), rng.uniform(0, 2 * SCALE, number)
    low, failed = np.minimum(age, end), age <= end
    high = np.where(failed, low, np.inf)
    checked, lives = timed(lambda: Lives.from_arrays(low, high))
    alone, fit = timed(lambda: fit_weibull(lives))
    limits, _ = timed(lambda: (fit.characteristic_life, fit.b10, fit.b50))
    print(f"{number:,} lives, failed or still running")
    print(f"  fleetlog   check {checked}, fit with shape limits {alone}, other limits {limits}")
    print(f"             shape {fit.weibull.shape:.6f}, life {fit.weibull.characteristic_life:.4f}")
    if with_lifelines:
        from lifelines import WeibullFitter

        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            theirs, model = timed(lambda: WeibullFitter().fit(low, failed, timeline=[SCALE]))
        print(f"  lifelines  fit {theirs}")
        print(f"             shape {model.rho_:.6f}, life {model.lambda_:.4f}")
        ours = checked.busy + alone.busy + limits.busy
        print(f"  ratio      fit {theirs.busy / alone.busy:.0f}, with all limits {theirs.busy / ours:.0f}")
    mixed = mixed_lives(rng, number, SHAPE, SCALE)
    seconds, fit = timed(lambda: fit_with_limits(mixed))
    print(f"{mixed.low.size:,} lives of all four kinds: fit and all limits {seconds}")
    print(f"             shape {fit.weibull.shape:.6f}, life {fit.weibull.characteristic_life:.4f}")


def coverage(samples: int, draw: Callable[[np.random.Generator], Lives], shape: float, scale: float) -> str:
    """How often the 95 % limits hold the true figures, over samples."""
    rng = np.random.default_rng(2)
    truth = (
        shape,
        scale,
        scale * (-math.log(0.9)) ** (1 / shape),
        scale * math.log(2) ** (1 / shape),
    )
    held = np.zeros(4)
    for _ in range(samples):
        fit = fit_weibull(draw(rng))
        found = (fit.shape, fit.characteristic_life, fit.b10, fit.b50)
        held += [limits.low <= true <= limits.high for limits, true in zip(found, truth, strict=True)]
    names = ("shape", "life", "B10", "B50")
    return ", ".join(f"{name} {100 * share / samples:.1f}" for name, share in zip(names, held, strict=True))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--lives", type=int, default=1_000_000)
    parser.add_argument("--samples", type=int, default=4000)
    parser.add_argument("--without-lifelines", action="store_true")
    wanted = parser.parse_args()
    speed(wanted.lives, not wanted.without_lifelines)
    print(f"coverage of 95 % limits over {wanted.samples} samples, in %")
    for shape in (1.0, 2.5):
        for sound in (0, 20, 180):
            draw = partial(lives_with_failures, failures=20, sound=sound, shape=shape)
            held = coverage(wanted.samples, draw, shape, 1000.0)
            print(f"  20 failures, {sound:3} still running, shape {shape}: {held}")
    held = coverage(wanted.samples, partial(mixed_lives, number=40, shape=2.0, scale=1000.0), 2.0, 1000.0)
    print(f"  about 25 failures of all kinds among 35 seen, shape 2.0: {held}")


if __name__ == "__main__":
    main()
