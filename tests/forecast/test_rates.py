"""What is known of a rate after its readings, against numerical integration, and what moves it."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from fleetlog.forecast.calibration import USUAL_STRETCH
from fleetlog.forecast.evidence import FleetUsage
from fleetlog.forecast.fit import fit_fleet
from fleetlog.forecast.fleet import FleetForecast
from fleetlog.forecast.intervals import intervals_of
from fleetlog.forecast.rates import BLOCK_DAYS, BLOCKS, Blocks, Moves, Rates, seen
from fleetlog.forecast.season import Layups, SeasonClock
from tests.forecast.simulator import FIRST, REGIMES, simulate

STILL = Moves(1e-3, 1e-6, 0.9)


@pytest.mark.parametrize("bursts", [0.0, 0.4, 2.0, 15.0, 300.0])
@pytest.mark.parametrize("clock", [1.0, 5.0, 80.0])
def test_a_rate_seen_is_the_product_of_what_was_known_and_the_bursts(bursts: float, clock: float) -> None:
    mean, variance = -0.3, 0.8
    found = [float(x[0]) for x in seen(*(np.array([v]) for v in (bursts, clock, mean, variance)))]
    log = np.linspace(-12, 9, 40_001)
    told = bursts * log - clock * np.exp(log) - (log - mean) ** 2 / (2 * variance)
    weight = np.exp(told - told.max())
    true_mean = (weight * log).sum() / weight.sum()
    spread = np.sqrt((weight * (log - true_mean) ** 2).sum() / weight.sum())
    evidence = np.log(weight.sum() * (log[1] - log[0])) + told.max() - np.log(2 * np.pi * variance) / 2
    assert found[0] == pytest.approx(true_mean, abs=0.1 * spread)
    assert np.sqrt(found[1]) == pytest.approx(spread, rel=0.1)
    assert found[2] == pytest.approx(evidence, abs=0.06)


def rates_of(bursts: list[float], moves: Moves = STILL, changed_block: int | None = None) -> Rates:
    """One engine's rates; of each block of days the bursts where the centre of its use runs five."""
    blocks = np.arange(-len(bursts), 0)
    last = 100 * BLOCK_DAYS
    changed = 0 if changed_block is None else last + changed_block * BLOCK_DAYS + 5
    read = Blocks.of(
        np.zeros(len(bursts), dtype=np.int64),
        last + blocks * BLOCK_DAYS + 10,
        np.array(bursts),
        np.full((len(bursts), 1), 5.0),
        np.ones(1),
        np.array([last]),
        np.array([changed]),
    )
    return read.filtered(np.ones((1, 1)), moves)


def test_readings_one_by_one_tell_what_they_tell_together() -> None:
    found = rates_of([20.0] * 8)
    together = seen(np.array([160.0]), np.array([40.0]), np.zeros(1), np.ones(1))
    assert found.mean[0, 0] == pytest.approx(together[0][0], abs=0.01)
    assert found.variance[0, 0] == pytest.approx(together[1][0], rel=0.05)


def test_after_a_change_of_owner_what_was_before_counts_less() -> None:
    bursts = [20.0] * (BLOCKS - 2) + [5.0, 5.0]
    kept, changed = rates_of(bursts), rates_of(bursts, changed_block=-2)
    assert kept.mean[0, 0] > 0.8
    assert abs(changed.mean[0, 0]) < 0.3
    assert changed.variance[0, 0] > kept.variance[0, 0]


def test_rates_that_move_forget() -> None:
    bursts = [15.0] * 6 + [6.0] * 3
    still, moving = rates_of(bursts), rates_of(bursts, Moves(0.4, 1e-6, 0.9))
    assert 0.1 < moving.mean[0, 0] < still.mean[0, 0] - 0.3


def fleet_read(hours: list[float]) -> FleetUsage:
    days = FIRST + 300 * np.arange(len(hours))
    return FleetUsage.from_arrays(
        uses=("private",),
        use_code=np.zeros(1, dtype=np.int64),
        reading_offsets=np.array([0, len(hours)]),
        reading_day=days,
        reading_hours=np.array(hours),
    )


@pytest.mark.parametrize(("hours", "told"), [([0, 60, 120, 120, 120, 180], 3), ([0, 1, 1, 1, 1, 2], 5)])
def test_only_who_would_have_run_is_out_of_use_without_an_hour(hours: list[float], told: int) -> None:
    fleet = fleet_read([float(h) for h in hours])
    clock = Layups.of(fleet, FIRST + 2000).stored(SeasonClock.of(np.ones((1, 36)), FIRST - 1, FIRST + 2001))
    assert len(intervals_of(fleet, clock).engine) == told


def test_a_small_fleet_keeps_nearly_the_usual_width() -> None:
    today = date.fromordinal(FIRST + 1500)
    small = fit_fleet(simulate(REGIMES["temperate"], 12, 5).usage, today)
    assert small.stretch[0] == pytest.approx(USUAL_STRETCH, abs=0.1)
    assert small.shift[0] == pytest.approx(0, abs=0.1)


def test_width_depends_on_how_far_ahead_the_hours_are_up_to_a_year_and_a_half() -> None:
    today = date.fromordinal(FIRST + 1500)
    usage = simulate(REGIMES["temperate"], 40, 5).usage
    forecast = FleetForecast(fit_fleet(usage, today), usage, today)
    engine = np.zeros(4, dtype=np.int64)
    yearly = forecast.yearly_hours(engine)
    ahead = forecast.features(engine, yearly * np.array([0.001, 0.03, 1.0, 9.0]))[:, 2]
    assert ahead == pytest.approx(np.log([0.03, 0.03, 1.0, 1.5]))
