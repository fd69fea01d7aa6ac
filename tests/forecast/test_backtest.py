"""Scores tell good forecasts from bad ones, and the forecast is a good one on an invented marina."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from fleetlog.forecast import FleetForecast, fit_fleet
from fleetlog.forecast.backtest import backtest, next_multiples
from fleetlog.forecast.crossings import (
    BURSTS_AFTER,
    BURSTS_BEFORE,
    PARTS,
    UNEVEN,
    crossings,
    days_reached,
)
from fleetlog.forecast.evidence import EngineUsage, FleetUsage
from fleetlog.forecast.scoring import Backtest, Cases, came_true, pinball, scored
from tests.forecast.judging import next_services, service_hours
from tests.forecast.simulator import FIRST, REGIMES, Simulated, simulate
from tests.forecast.weekly_simulator import WEEKLY_REGIMES, simulate_weeks

STAND_ON = [date.fromordinal(FIRST + days) for days in (1100, 1290)]


@pytest.fixture(scope="module")
def marina() -> Simulated:
    return simulate(REGIMES["temperate"], 300, 17)


@pytest.fixture(scope="module")
def truly(marina: Simulated) -> Backtest:
    return scored(next_services(marina, STAND_ON), marina.usage.uses)


@pytest.fixture(scope="module")
def told(marina: Simulated) -> Backtest:
    by_readings = backtest(marina.usage, STAND_ON, next_multiples(service_hours(marina)))
    assert by_readings is not None
    return by_readings


def perfect_cases(spread: float, gap: int = 20, count: int = 4000) -> Cases:
    """Exponential waiting times, read every `gap` days, with windows `spread` times as wide as they are."""
    from scipy.special import ndtr, ndtri

    rng = np.random.default_rng(1)
    read_on = np.floor((1 + rng.exponential(90, count)) / gap) * gap
    cuts = read_on[:, None] + gap * np.arange(9) / 8
    day = np.zeros(count, dtype=np.int64)

    def chance(days: np.ndarray) -> np.ndarray:
        score = ndtri(np.clip(1 - np.exp(-np.maximum(days - 1, 0) / 90), 1e-9, 1 - 1e-9))
        return ndtr(score / spread)

    early, likely, late = (
        np.full(count, int(1 - 90 * np.log(1 - ndtr(spread * ndtri(share)))) + 1) for share in (0.1, 0.5, 0.9)
    )
    zero, thirty = np.zeros(count, dtype=np.int64), np.full(count, 30, dtype=np.int64)
    return Cases(
        engine=np.arange(count), use=zero, readings=thirty, since=day, early=early, likely=likely, late=late,
        plain_days=np.full(count, 90.0), is_reached=np.ones(count, dtype=bool),
        after=cuts[:, :-1], by=cuts[:, 1:], chance_after=chance(cuts[:, :-1]), chance_by=chance(cuts[:, 1:]),
    )  # fmt: skip


def test_true_chances_come_true_eight_times_in_ten_though_days_are_known_roughly() -> None:
    score = scored(perfect_cases(1.0), ("private",)).scores[0]
    assert score.coverage_share == pytest.approx(0.8, abs=0.02)
    assert score.early_share == pytest.approx(0.1, abs=0.015)
    assert score.coverage_least_share < 0.8 < score.coverage_most_share


@pytest.mark.parametrize(("spread", "coverage"), [(0.6, 0.558), (1.6, 0.960)])
def test_windows_too_narrow_or_too_wide_are_found_out(spread: float, coverage: float) -> None:
    # A window of z = 1.2816 x spread holds 2 Phi(z) - 1 (normal distribution).
    assert scored(perfect_cases(spread, gap=4), ("",)).scores[0].coverage_share == pytest.approx(
        coverage, abs=0.03
    )


def test_cases_not_reached_as_yet_count_as_later() -> None:
    cases = perfect_cases(1.0)
    cut = cases.after[:, 0] >= 100
    seen_last = np.flatnonzero(cases.after[:, 0] == 100)[0]
    censored = replace(
        cases,
        is_reached=~cut,
        **{
            name: np.where(cut[:, None], getattr(cases, of)[seen_last, 0], getattr(cases, name))
            for name, of in (
                ("after", "after"),
                ("by", "after"),
                ("chance_after", "chance_after"),
                ("chance_by", "chance_after"),
            )
        },
    )
    assert came_true(censored)[:12] == pytest.approx(np.full(12, 0.05), abs=0.01)
    assert scored(censored, ("",)).scores[0].reached == int((~cut).sum())


def test_the_rival_is_given_the_width_that_suits_all_truth() -> None:
    scores = scored(perfect_cases(1.0, gap=4), ("private",)).scores
    assert scores[0].rival_coverage_share == pytest.approx(0.8, abs=0.02)
    assert scores[0].rival_early_share == pytest.approx(0.1, abs=0.015)
    assert scores[0].rival_late_share == pytest.approx(0.1, abs=0.015)
    # Every case has one expectation here, so that the rival with its fitted width cannot be beaten.
    assert scores[0].pinball_ratio == pytest.approx(1.0, abs=0.02)
    assert scores[0].pinball_days == pytest.approx(sum(scores[0].pinball_by_share_days) / 3)


def test_pinball_loss_weighs_late_and_early_by_the_share() -> None:
    assert pinball(np.array([10.0]), np.array([4.0]), 0.9)[0] == pytest.approx(5.4)
    assert pinball(np.array([10.0]), np.array([14.0]), 0.9)[0] == pytest.approx(0.4)


def test_hours_are_reached_between_the_last_lower_reading_and_the_next() -> None:
    days = [date(2024, month, 1) for month in (1, 3, 6, 9)]
    readings = tuple(zip(days, (0, 400, 500, 900), strict=True))
    fleet = FleetUsage.of(
        [EngineUsage("a"), EngineUsage("b", readings=readings), EngineUsage("c", readings=readings)]
    )
    found = crossings(fleet, np.array([1, 2, 1]), np.array([45.0, 50.0, 95.0]))
    assert found.low_day.tolist() == [d.toordinal() for d in (days[1], days[1], days[3])]
    assert found.high_day.tolist() == [days[2].toordinal(), days[2].toordinal(), 0]


STEADY = FleetUsage.of(
    [
        EngineUsage(
            "a",
            readings=((date(2024, 3, 1), 0), (date(2024, 6, 9), 1000), (date(2025, 6, 6), 1900)),
            layups=((date(2024, 9, 1), date(2025, 4, 20)),),
        )
    ]
)


def parts_of(hours: float) -> tuple[np.ndarray, np.ndarray, FleetForecast]:
    forecast = FleetForecast(fit_fleet(STEADY, date(2025, 6, 6)), STEADY, date(2024, 3, 2))
    engine = np.zeros(1, dtype=np.int64)
    found = crossings(STEADY, engine, np.array([hours]))
    after, by = days_reached(forecast, STEADY, engine, found)
    return after[0] - date(2024, 3, 1).toordinal(), by[0] - date(2024, 3, 1).toordinal(), forecast


@pytest.mark.parametrize("hours", [5.0, 50.0, 96.0])
def test_hours_are_reached_between_two_readings_where_even_bursts_reach_them_a_little_later(
    hours: float,
) -> None:
    from scipy.stats import beta

    after, by, forecast = parts_of(hours)
    ran = 100 / forecast.beliefs.dispersion[0]
    bursts = ran / (1 + UNEVEN * ran)
    clock = forecast.clock.at(np.zeros(101, dtype=np.int64), date(2024, 3, 1).toordinal() + np.arange(101))
    clock = clock @ forecast.beliefs.chance[0]
    level = (clock - clock[0]) / (clock[-1] - clock[0])
    before, after_it = bursts * hours / 100 + BURSTS_BEFORE, bursts * (1 - hours / 100) + BURSTS_AFTER
    chance = beta.cdf(level, before, after_it)
    assert by[-1] == 100
    assert after[0] == 0
    for number, day in enumerate(by[:-1], 1):
        assert chance[day - 1] < number / PARTS <= chance[day]
    assert (after < by).all()


def test_nothing_is_reached_ashore() -> None:
    _, by, _ = parts_of(167.0)
    ashore = [(day - date(2024, 3, 1)).days for day in (date(2024, 9, 1), date(2025, 4, 19))]
    assert (by[0] < ashore[0]) & (by[-2] > ashore[1])
    assert not ((by >= ashore[0]) & (by <= ashore[1])).any()


def test_windows_hold_and_beat_a_constant_rate_on_an_invented_marina(truly: Backtest) -> None:
    score = truly.scores[0]
    assert score.cases > 350
    # Some 200 engines: two standard errors are about six hundredths.
    assert 0.72 < score.coverage_share < 0.88
    assert score.early_share < 0.16
    assert score.late_share < 0.18
    assert score.pinball_ratio < 0.75
    assert score.median_error_days < 0.6 * score.rival_median_error_days
    groups = {one.group for one in truly.scores}
    assert groups >= {"all", "private", "hire", "commercial", "9 to 20 readings"}
    assert truly.came_true_shares[-1] == pytest.approx(1)


def test_windows_hold_on_a_marina_of_another_make() -> None:
    regime = WEEKLY_REGIMES["weeks, tropics"]
    marina = simulate_weeks(regime, 300, 5)
    score = scored(next_services(marina, regime.stand_on), marina.usage.uses).scores[0]
    assert score.cases > 800
    # Some 200 engines: two standard errors are about six hundredths.
    assert 0.74 < score.coverage_share < 0.86
    assert score.early_share < 0.15
    assert score.late_share < 0.15
    assert score.pinball_ratio < 0.75
    assert score.median_error_days < 0.8 * score.rival_median_error_days


def test_what_engines_ran_since_new_halves_the_loss_of_a_young_log() -> None:
    def loss(known_share: float) -> float:
        regime = replace(
            REGIMES["new owners"], delivered_new_share=0.1, new_known_share=known_share, changes_a_year=0.1
        )
        young = simulate(regime, 300, 5)
        cases = next_services(young, [date.fromordinal(FIRST + 60)])
        return scored(cases, young.usage.uses).scores[0].pinball_days

    assert loss(1.0) < 0.6 * loss(0.0)


def test_a_log_can_judge_itself_by_its_readings_alone(truly: Backtest, told: Backtest) -> None:
    assert told.scores[0].coverage_share == pytest.approx(truly.scores[0].coverage_share, abs=0.08)
    assert told.scores[0].pinball_ratio < 0.8


def test_engines_read_because_a_service_fell_due_are_judged_as_well() -> None:
    marina = simulate(replace(REGIMES["read at services"], gap_days=300), 500, 3)
    truly = scored(next_services(marina, STAND_ON), marina.usage.uses).scores[0]
    by_readings = backtest(marina.usage, STAND_ON, next_multiples(service_hours(marina)))
    assert by_readings is not None
    told = by_readings.scores[0]
    assert told.coverage_share == pytest.approx(truly.coverage_share, abs=0.05)
    assert told.early_share == pytest.approx(truly.early_share, abs=0.05)
    assert told.median_error_days < 1.4 * truly.median_error_days
    assert 0.75 < truly.coverage_share < 0.85


def test_what_came_after_is_hidden_from_the_forecasts(marina: Simulated, told: Backtest) -> None:
    usage, day = marina.usage, STAND_ON[1]
    after = usage.reading_day > day.toordinal()
    other = replace(usage, reading_hours=np.where(after, usage.reading_hours + 1000, usage.reading_hours))
    second = backtest(other, [day], next_multiples(service_hours(marina)))
    assert second is not None
    # The cases of a day come in the order of the engines, those of the later day last.
    first = told.cases.chosen(np.arange(len(told.cases)) > int(np.diff(told.cases.engine).argmin()))
    shared = np.intersect1d(first.engine, second.cases.engine)
    assert len(shared) > 50
    for name in ("early", "likely", "late"):
        mine, theirs = (
            getattr(cases, name)[np.isin(cases.engine, shared)] for cases in (first, second.cases)
        )
        assert mine.tolist() == theirs.tolist()


_READ = ((date(2025, 5, 1), 500), (date(2026, 5, 1), 1000))


def test_the_0_hours_of_a_new_engine_are_counted_as_no_reading() -> None:
    new = EngineUsage("new", in_service_on=date(2024, 5, 1), readings=((date(2024, 5, 1), 0), *_READ))
    read = EngineUsage("read", in_service_on=date(2023, 5, 1), readings=((date(2024, 5, 1), 0), *_READ))
    fleet = FleetUsage.of([new, read, EngineUsage("never read")])
    assert fleet.times_read.tolist() == [2, 3, 0]
    result = backtest(fleet, [date(2024, 7, 1)], next_multiples(20))
    assert result is not None
    assert [score.group for score in result.scores] == ["all", "no use stated", "no reading", "1 reading"]


def test_a_log_without_later_readings_has_nothing_to_judge() -> None:
    usage = simulate(REGIMES["rarely read"], 20, 3).usage
    day = STAND_ON[0]
    assert backtest(usage.as_known_on(day.toordinal()), [day], next_multiples(50)) is None
