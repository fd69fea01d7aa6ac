"""How fast each engine runs now: the chance of each rate, kind of season by kind, after all its readings.

Hours between two readings are counted in bursts; given the rate, bursts over the seasonal clock are Poisson
(a quasi-likelihood whose burst size, the dispersion, is the engine's own). The rate follows a Markov chain
over a grid of logarithms, whose stationary distribution is what engines of the same use do.

All of it in double precision: in single, dates of an engine alone and among many would differ.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleetlog.forecast.evidence import Days

Floats = NDArray[np.float64]

GRID_STEP = 0.25
LOG_RATE = GRID_STEP * np.arange(-18, 19)
"""Logarithms of rates relative to the centre of the use: from a ninetieth of it to ninety times."""

BLOCK_DAYS = 122
BLOCKS = 12
"""Readings older than so many blocks of days are taken together with the oldest block."""

CHUNK = 2048


def stationary_kernel(stationary: Floats, step_spread: float, restart_share: float) -> Floats:
    """The chance of each rate a block later, leaving `stationary` as it is.

    Small steps of a normal kernel, made reversible by scaling rows and columns alike, and now and then
    (restart_share) a new start.
    """
    gap = LOG_RATE[:, None] - LOG_RATE[None, :]
    near = np.exp(-0.5 * (gap / max(step_spread, 1e-3)) ** 2) * np.sqrt(
        stationary[:, None] * stationary[None, :]
    )
    scale = np.ones(len(stationary))
    for _ in range(200):
        scale = np.sqrt(scale * stationary / np.maximum(near @ scale, 1e-300))
    moves = near * scale[:, None] * scale[None, :]
    moves /= moves.sum(axis=1, keepdims=True)
    kernel: Floats = (1 - restart_share) * moves + restart_share * stationary[None, :]
    return kernel


@dataclass(frozen=True, eq=False)
class Posterior:
    """What is known of each engine's rate: chances[e, kind, rate] (summing to 1) and the log evidence."""

    chances: Floats
    log_evidence: Floats

    def moments(self) -> tuple[Floats, Floats, Floats]:
        """Per engine and kind: mean and variance of the logarithm of the rate, and the chance of the kind."""
        chance = self.chances.sum(axis=2)
        mean = (self.chances @ LOG_RATE) / np.maximum(chance, 1e-20)
        variance = (self.chances @ LOG_RATE**2) / np.maximum(chance, 1e-20) - mean**2
        return mean, np.maximum(variance, 1e-4), chance


@dataclass(frozen=True, eq=False)
class Moves:
    """How rates of one use move from block to block, and the long-run moments of their logarithms."""

    kernel: Floats
    changed_kernel: Floats
    mean: float
    variance: float

    @classmethod
    def of(cls, stationary: Floats, step_spread: float, restart: float, changed_restart: float) -> Moves:
        """The moves that leave the distribution `stationary` of a use as it is."""
        kernel = stationary_kernel(stationary, step_spread, restart)
        mean = float(stationary @ LOG_RATE)
        off = LOG_RATE - mean
        variance = float(stationary @ off**2)
        changed = stationary_kernel(stationary, step_spread, changed_restart)
        return cls(kernel, changed, mean, variance)


def filter_rates(
    engine: Days,
    middle_day: Days,
    bursts: Floats,
    clock_bursts: Floats,
    start: Floats,
    kernel: Floats,
    last_day: Days,
    changed_day: Days,
    changed_kernel: Floats,
) -> Posterior:
    """Each engine's chances after its last reading, from the chances `start[e, kind, rate]` before its first.

    `engine` and `middle_day` say whose interval it is and when; `bursts` are its hours in bursts, and
    `clock_bursts` (intervals x kinds) the bursts that the centre of the use would have run. On `changed_day`
    the chances move by `changed_kernel` as well.
    """
    engines, kinds, rates = start.shape
    block = np.clip((middle_day - last_day[engine]) // BLOCK_DAYS, -BLOCKS, -1) + BLOCKS
    key = engine * BLOCKS + block
    starts = np.flatnonzero(np.concatenate([[True], key[1:] != key[:-1]])) if len(key) else np.zeros(0, int)
    rate = np.exp(LOG_RATE)
    chances = start.copy()
    evidence = np.zeros(engines)
    if not len(starts):
        return Posterior(chances, evidence)
    count = np.add.reduceat(bursts, starts)
    clock = np.add.reduceat(clock_bursts, starts, axis=0)
    shape = np.add.reduceat(bursts[:, None] * np.log(clock_bursts), starts, axis=0)
    row_engine, row_block = key[starts] // BLOCKS, key[starts] % BLOCKS
    changed_block = np.where(
        changed_day > 0, np.clip((changed_day - last_day) // BLOCK_DAYS, -BLOCKS - 1, -1) + BLOCKS, -1
    )
    first_row = np.searchsorted(row_engine, np.arange(0, engines + CHUNK, CHUNK))
    for number in range(-(-engines // CHUNK)):
        low, high = number * CHUNK, min((number + 1) * CHUNK, engines)
        mine = slice(first_row[number], first_row[number + 1])
        blocks, members = row_block[mine], row_engine[mine] - low
        state = chances[low:high].reshape(high - low, kinds, rates)
        begun = blocks.min(initial=BLOCKS)
        for step in range(begun, BLOCKS):
            if step > begun:
                state = (state.reshape(-1, rates) @ kernel).reshape(state.shape)
            turned = np.flatnonzero(changed_block[low:high] == step)
            if len(turned):
                state[turned] = state[turned] @ changed_kernel
            rows = np.flatnonzero(blocks == step)
            if not len(rows):
                continue
            at = rows + first_row[number]
            log_likelihood = (
                shape[at][:, :, None] + count[at][:, None, None] * LOG_RATE - clock[at][:, :, None] * rate
            )
            top = log_likelihood.max(axis=(1, 2))
            log_likelihood -= top[:, None, None]
            np.exp(log_likelihood, out=log_likelihood)
            log_likelihood *= state[members[rows]]
            total = log_likelihood.sum(axis=(1, 2)) + 1e-30
            evidence[low + members[rows]] += top + np.log(total)
            state[members[rows]] = log_likelihood / total[:, None, None]
        chances[low:high] = state
    return Posterior(chances, evidence)
