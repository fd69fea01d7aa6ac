"""Repairs that recur: by hand, by another library, and by simulation."""

from __future__ import annotations

import math

import numpy as np
import pytest
from lifelines import NelsonAalenFitter

from fleetlog.errors.life import (
    NoRepairs,
    RepairsDisagreeInNumber,
    RepairsOutsideWatch,
    RepairsTellNoTrend,
    ShareOutOfRange,
    TooFewRepairs,
    WatchIsEmpty,
)
from fleetlog.life.mean_cumulative import mean_cumulative_function
from fleetlog.life.recurrence import (
    Repairs,
    fit_power_law,
    repair_trend,
    time_between_repairs,
)


def power_law_repairs(rng: np.random.Generator, engines: int, power: float, late: bool = False) -> Repairs:
    """Repairs at a rate that grows as a power of age, of scale 300, watched to ends of 500 to 1500."""
    end = rng.uniform(500, 1500, engines)
    start = rng.uniform(0, 400, engines) if late else np.zeros(engines)
    ages = []
    for begun, done in zip(start, end, strict=True):
        expected = (done / 300) ** power
        all_ages = done * rng.random(rng.poisson(expected)) ** (1 / power)
        ages.append(all_ages[all_ages > begun])
    return Repairs.of_engines(ages, end, start)


def test_the_mean_counts_only_engines_under_watch() -> None:
    repairs = Repairs.of_engines([[100.0, 300.0], [200.0], []], [400.0, 250.0, 150.0], [0.0, 50.0, 120.0])
    found = mean_cumulative_function(repairs)
    assert found.age.tolist() == [100.0, 200.0, 300.0]
    assert found.at_risk.tolist() == [2, 2, 1]
    assert found.mean == pytest.approx([1 / 2, 1, 2])


def test_with_at_most_one_repair_each_the_mean_is_nelson_and_aalens() -> None:
    rng = np.random.default_rng(1)
    age, end = 1000 * rng.weibull(2, 80), rng.uniform(200, 1500, 80)
    failed = age <= end
    repairs = Repairs.of_engines(
        [[a] if f else [] for a, f in zip(age, failed, strict=True)], np.where(failed, age, end)
    )
    theirs = NelsonAalenFitter(nelson_aalen_smoothing=False).fit(np.minimum(age, end), failed)
    found = mean_cumulative_function(repairs)
    assert found.mean == pytest.approx(theirs.cumulative_hazard_.loc[found.age].iloc[:, 0].to_numpy())


def test_the_robust_error_is_its_definition_engine_by_engine() -> None:
    """Lawless & Nadeau, written out anew."""
    repairs = power_law_repairs(np.random.default_rng(2), 12, 1.3, late=True)
    found = mean_cumulative_function(repairs)
    at_risk = (repairs.start[:, None] < found.age) & (found.age <= repairs.end[:, None])
    counts = np.array(
        [[np.sum((repairs.engine == i) & (repairs.age == t)) for t in found.age] for i in range(12)]
    )
    share = at_risk / found.at_risk * (counts - found.repairs / found.at_risk)
    variance = (np.cumsum(share, axis=1) ** 2).sum(axis=0)
    told = found.at_risk > 1
    mean, se, low = found.mean[told], found.se[told], found.low[told]
    assert se == pytest.approx(np.sqrt(variance[told]), rel=1e-9)
    assert low == pytest.approx(mean * np.exp(-1.959963984540054 * se / mean))
    assert np.all(low > 0)


@pytest.mark.parametrize("late", [False, True])
def test_the_power_law_is_found_again(late: bool) -> None:
    law = fit_power_law(power_law_repairs(np.random.default_rng(3), 300, 1.6, late))
    assert law.power == pytest.approx(1.6, rel=0.08)
    assert law.scale == pytest.approx(300, rel=0.08)
    assert law.expected(law.scale) == pytest.approx(1)
    step = 1e-4
    slope = (law.expected(500 + step) - law.expected(500 - step)) / (2 * step)
    assert law.per_unit(500) == pytest.approx(slope, rel=1e-6)


def test_the_power_of_one_engine_has_crows_closed_form() -> None:
    ages, end = [30.0, 90.0, 250.0, 400.0, 700.0], 800.0
    found = fit_power_law(Repairs.of_engines([ages], [end]))
    assert found.power == pytest.approx(5 / sum(math.log(end / age) for age in ages), rel=1e-9)
    assert found.expected(end) == pytest.approx(5, rel=1e-9)


def test_a_trend_is_found_where_there_is_one_and_not_where_there_is_none() -> None:
    rng = np.random.default_rng(4)
    worse, steady, better = (repair_trend(power_law_repairs(rng, 60, p)) for p in (1.8, 1.0, 0.5))
    assert worse.laplace > 3
    assert worse.chi_square_p_value < 0.01
    assert abs(steady.laplace) < 2.5
    assert better.laplace < -3


def test_laplaces_statistic_is_near_standard_normal_without_a_trend() -> None:
    rng = np.random.default_rng(5)
    found = np.array([repair_trend(power_law_repairs(rng, 6, 1.0, late=True)).laplace for _ in range(400)])
    assert found.mean() == pytest.approx(0, abs=0.16)
    assert found.std() == pytest.approx(1, abs=0.12)


def test_limits_of_the_mean_time_hold_the_truth_about_as_often_as_they_say() -> None:
    """80 % nominal, for a steady rate of one repair in 100."""
    rng, samples, held = np.random.default_rng(6), 600, 0
    for _ in range(samples):
        ages = 2000 * rng.random(max(4, rng.poisson(20)))
        found = time_between_repairs(ages, 2000)
        held += found.mean_time.low <= 100 <= found.mean_time.high
    assert 0.72 < held / samples < 0.88


def test_repairs_that_cannot_be_are_refused() -> None:
    with pytest.raises(RepairsOutsideWatch, match=r"engine 2: a repair at age 900, but .* from 0 to 800"):
        Repairs.of_engines([[10.0], [900.0]], [100.0, 800.0])
    with pytest.raises(RepairsOutsideWatch):
        Repairs.of_engines([[40.0]], [100.0], [50.0])
    with pytest.raises(WatchIsEmpty, match="engine 1: watched from age 100 to 100"):
        Repairs.of_engines([[]], [100.0], [100.0])
    with pytest.raises(RepairsDisagreeInNumber):
        Repairs.of_engines([[1.0]], [100.0, 200.0])
    with pytest.raises(RepairsDisagreeInNumber):
        Repairs.of_engines([[1.0]], [100.0], [0.0, 0.0])
    with pytest.raises(RepairsDisagreeInNumber):
        Repairs(np.zeros(1), np.ones(1), np.zeros(2), np.ones(1))


def test_one_engine_alone_sets_no_limits_though_others_were_watched_before() -> None:
    found = mean_cumulative_function(Repairs.of_engines([[10.0, 60.0], [20.0], [30.0]], [90.0, 40.0, 40.0]))
    assert found.at_risk.tolist() == [3, 3, 3, 1]
    assert np.isnan(found.low).tolist() == [False, False, False, True]
    assert np.isnan(found.high).tolist() == np.isnan(found.se).tolist() == np.isnan(found.low).tolist()
    assert found.mean[-1] == pytest.approx(2)


def test_too_few_repairs_tell_no_trend() -> None:
    few = Repairs.of_engines([[10.0, 20.0, 30.0]], [100.0])
    none = Repairs.of_engines([[]], [100.0])
    for refused in (repair_trend, fit_power_law):
        with pytest.raises(TooFewRepairs, match="3 repairs are too few"):
            refused(few)
    with pytest.raises(NoRepairs, match="no repair is on record"):
        mean_cumulative_function(none)
    with pytest.raises(TooFewRepairs):
        time_between_repairs([10.0], 100)
    with pytest.raises(ShareOutOfRange):
        mean_cumulative_function(few, confidence=95)


def test_repairs_all_at_the_end_tell_no_trend() -> None:
    with pytest.raises(RepairsTellNoTrend):
        fit_power_law(Repairs.of_engines([[100.0] * 4], [100.0]))
    with pytest.raises(RepairsTellNoTrend):
        time_between_repairs([100.0] * 4, 100)
