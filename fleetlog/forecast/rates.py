"""How fast each engine runs now, kind of season by kind, after all its readings.

Hours between two readings are counted in bursts; given the rate, bursts over the seasonal clock are Poisson
(a quasi-likelihood whose burst size, the dispersion, is the engine's own). What is known of a rate is a
normal distribution of its logarithm. From block to block of days it drifts back to what engines of the same
use do and gets less sure; now and then an engine starts anew, and surely more often when its owner changed.

All of it in double precision: in single, dates of an engine alone and among many would differ.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import expit, wrightomega

from fleetlog.forecast.evidence import Days

Floats = NDArray[np.float64]

BLOCK_DAYS = 122
BLOCKS = 12
"""Readings older than so many blocks of days are taken together with the oldest block."""

NO_CLOCK = 1e-200
"""Stands for none, of which there is no logarithm."""

SURELY_ANEW = 0.98


@dataclass(frozen=True, eq=False)
class Rates:
    """Per engine and kind of season: its chance, and mean and variance of the log rate; the log evidence."""

    chance: Floats
    mean: Floats
    variance: Floats
    log_evidence: Floats


@dataclass(frozen=True, slots=True)
class Moves:
    """How rates move in a block of days: by small steps, anew, and anew after a change of owner or use."""

    step_spread: float
    restart_share: float
    changed_restart_share: float


def seen(bursts: Floats, clock: Floats, mean: Floats, variance: Floats) -> tuple[Floats, Floats, Floats]:
    """Mean and variance of a normal log rate after so many bursts over a clock, and the log evidence.

    By Laplace's method: the mode, where (mode - mean) / variance = bursts - clock * exp(mode), by Wright's
    omega function, and from it by the third derivative the mean. The evidence lacks what depends on bursts
    and clock alone.
    """
    weight = 1 / variance
    without_clock = mean + bursts * variance
    back = wrightomega(without_clock + np.log(np.maximum(clock, NO_CLOCK) * variance))
    mode, expected = without_clock - back, weight * back
    after, step = 1 / (weight + expected), mode - mean
    evidence = bursts * mode - expected - step * step * weight / 2 + np.log(after * weight) / 2
    return mode - expected * after * after / 2, after, evidence


@dataclass(frozen=True, eq=False)
class Blocks:
    """What was read of engines by blocks of days, relative to the centre of their use: a row each, by block.

    `starting` is what is known of a rate where the engine starts anew in the block; `bounds` are the rows at
    which each block of days begins. `before` is the engine's block before, `changed` that of its last change
    (engines; -1 where it never changed), `alike` the variance of its use (engines x 1).
    """

    engine: Days
    block: Days
    before: Days
    bounds: Days
    count: Floats
    clock: Floats
    told_within: Floats
    starting: tuple[Floats, Floats, Floats]
    changed: Days
    alike: Floats

    @classmethod
    def of(
        cls,
        engine: Days,
        middle_day: Days,
        bursts: Floats,
        clock_bursts: Floats,
        alike_variance: Floats,
        last_day: Days,
        changed_day: Days,
    ) -> Blocks:
        """The blocks of intervals, which come engine by engine, in the order of their days.

        `engine` and `middle_day` say whose interval it is and when; `bursts` are its hours in bursts, and
        `clock_bursts` (intervals x kinds) the bursts that the centre of the use would have run.
        """
        alike = alike_variance[:, None]
        block = (middle_day - last_day[engine]) // BLOCK_DAYS + BLOCKS
        block = np.minimum(np.maximum(block, 0), BLOCKS - 1)
        key = engine * BLOCKS + block
        opens = np.concatenate([[True], key[1:] != key[:-1]])[: len(key)]
        starts = opens.nonzero()[0]
        row_engine, row_block = engine[starts], block[starts]
        first = np.concatenate([[True], row_engine[1:] != row_engine[:-1]])[: len(starts)]
        before = np.where(first, row_block - 1, np.concatenate([row_block[-1:], row_block[:-1]]))
        order = row_block.argsort(kind="stable")
        count = np.add.reduceat(bursts, starts)[order][:, None]
        clock = np.add.reduceat(clock_bursts, starts, axis=0)[order]
        # How the bursts of a block lie within it tells kinds of season apart, whatever the rate.
        told_within = np.add.reduceat(bursts[:, None] * np.log(clock_bursts), starts, axis=0)[order]
        row_engine, row_block = row_engine[order], row_block[order]
        changed = (changed_day - last_day) // BLOCK_DAYS + BLOCKS
        return cls(
            engine=row_engine,
            block=row_block,
            before=before[order],
            bounds=row_block.searchsorted(np.arange(BLOCKS + 1)),
            count=count,
            clock=clock,
            told_within=told_within,
            starting=seen(count, clock, np.zeros(1), alike[row_engine]),
            changed=np.where(changed_day > 0, np.minimum(np.maximum(changed, -1), BLOCKS), -1),
            alike=alike,
        )

    def filtered(self, shares: Floats, moves: Moves) -> Rates:
        """What is known of each engine's rate after its last reading, where rates move like this.

        Before its first reading an engine is known by the `shares` of kinds (engines x kinds) and the
        variance of its use.
        """
        engines, kinds = shares.shape
        alike = self.alike
        mean, variance, told = np.zeros((engines, kinds)), alike.repeat(kinds, axis=1), np.log(shares)
        if len(self.engine):
            anew = _anew(self.before, self.block, self.changed[self.engine], moves)
            anew = np.minimum(anew, SURELY_ANEW)[:, None]
            odds_before = np.log(anew / (1 - anew)) + self.starting[2]
            told_by = self.told_within + np.log1p(-anew)
            fresh = np.minimum(moves.step_spread**2, 0.9 * alike)
            kept = np.sqrt(1 - fresh / alike)
            kept_square = kept * kept
            going_on_told, odds = np.empty((2, *told_by.shape))
            bounds = self.bounds.tolist()
            for number in range(self.block[0], BLOCKS):
                mean, variance = kept * mean, kept_square * variance + fresh
                rows = slice(*bounds[number : number + 2])
                if rows.start == rows.stop:
                    continue
                who = self.engine[rows] if rows.stop - rows.start < engines else slice(None)
                going_on = seen(self.count[rows], self.clock[rows], mean[who], variance[who])
                going_on_told[rows] = going_on[2]
                odds[rows] = odds_before[rows] - going_on[2]
                anew_here = (self.starting[0][rows], self.starting[1][rows])
                mean[who], variance[who] = _mixed(expit(odds[rows]), going_on, anew_here)
            np.add.at(told, self.engine, told_by + (going_on_told + np.logaddexp(0.0, odds)))
            last_block = np.full(engines, self.block[0] - 1)
            np.maximum.at(last_block, self.engine, self.block)
            who = (self.changed >= 0).nonzero()[0]
            now = np.maximum(self.changed[who], BLOCKS - 1)  # a change after the last reading is of no block
            share = _anew(last_block[who], now, self.changed[who], moves)[:, None]
            mean[who], variance[who] = _mixed(share, (mean[who], variance[who]), (np.zeros(1), alike[who]))
        top = told.max(axis=1, keepdims=True)
        chance = np.exp(told - top)
        total = chance.sum(axis=1, keepdims=True)
        return Rates(chance / total, mean, variance, (top + np.log(total))[:, 0])


def _anew(before: Days, block: Days, changed: Days, moves: Moves) -> Floats:
    """The chance that engines started anew after one block, by another one, by the block they changed in."""
    has_changed = (before < changed) & (changed <= block)
    by_change = moves.changed_restart_share + moves.restart_share * (block - changed)
    return np.where(has_changed, by_change, moves.restart_share * (block - before))


def _mixed(share: Floats, one: tuple[Floats, ...], other: tuple[Floats, ...]) -> tuple[Floats, Floats]:
    """Mean and variance where the other of two normals holds with a chance of `share`."""
    apart, left = other[0] - one[0], 1 - share
    mean = one[0] + share * apart
    variance = left * one[1] + share * other[1] + share * left * apart * apart
    return mean, variance
