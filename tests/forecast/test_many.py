"""The forecasts of many engines together are those of each one alone."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from random import Random

import pytest

from fleetlog.domain.usage import HoursTarget
from fleetlog.forecast import EngineForecast, EngineUsage, FleetUsage, fit_fleet
from fleetlog.forecast.many import outlooks, years_ahead

TODAY = date(2026, 2, 1)
USES = (None, "private", "hire", "charter")


def an_engine(number: int, chance: Random) -> EngineUsage:
    """Any use, from no reading to sixty, with and without lay-ups."""
    first = TODAY - timedelta(days=chance.randrange(100, 3000))
    days = sorted(
        {first + timedelta(days=chance.randrange(3000)) for _ in range(chance.choice((0, 1, 4, 60)))}
    )
    tenths, readings = 0, []
    for day in days:
        tenths += chance.choice((0, 30, 200))
        readings.append((day, tenths))
    winters = range(TODAY.year - chance.randrange(4), TODAY.year)
    layups = tuple((date(year, 10, 20), chance.choice((date(year + 1, 4, 10), None))) for year in winters)
    return EngineUsage(
        f"E{number}",
        use=chance.choice(USES),
        metered=chance.random() < 0.9,
        readings=tuple(readings),
        layups=layups[: chance.choice((0, 4))],
        changed_on=chance.choice((None, None, TODAY - timedelta(days=200))),
    )


def some_targets(usage: EngineUsage, chance: Random) -> list[HoursTarget]:
    known = [r for r in usage.readings if r[0] <= TODAY] if usage.metered else []
    last = known[-1][1] if known else 0
    ahead = [HoursTarget(int(last) + chance.randrange(1, 5000)) for _ in range(chance.randrange(4))]
    since = [HoursTarget(chance.randrange(1, 3000), TODAY - timedelta(days=chance.randrange(900)))]
    return [*ahead, *since[: chance.randrange(2)]]


def test_many_engines_together_come_to_the_same_as_each_alone() -> None:
    chance = Random(7)
    engines = [an_engine(number, chance) for number in range(120)]
    parameters = fit_fleet(FleetUsage.of(engines), TODAY)
    targets = [some_targets(usage, chance) for usage in engines]
    together = outlooks(parameters, engines, targets, TODAY)
    for usage, wanted, outlook in zip(engines, targets, together, strict=True):
        alone = EngineForecast(parameters, usage, TODAY)
        assert outlook.windows == list(alone.windows(wanted)), usage.key
        assert outlook.basis == alone.basis(), usage.key


def test_the_years_ahead_of_many_engines_are_those_of_each_alone() -> None:
    chance = Random(5)
    engines = [an_engine(number, chance) for number in range(60)]
    parameters = fit_fleet(FleetUsage.of(engines), TODAY)
    for usage, ahead in zip(engines, years_ahead(parameters, engines, TODAY), strict=True):
        alone = EngineForecast(parameters, usage, TODAY)
        (by_itself,) = years_ahead(parameters, [usage], TODAY)
        assert ahead.today_tenths == by_itself.today_tenths, usage.key
        for (month_on, hours), month in zip(ahead.months, by_itself.months, strict=True):
            assert (month_on, hours) == (month[0], pytest.approx(month[1], abs=1e-9)), usage.key
        levels = [tenths for tenths, _ in ahead.curve]
        assert levels == sorted(set(levels))
        windows = alone.windows([HoursTarget(tenths) for tenths in levels])
        assert [window for _, window in ahead.curve] == windows, usage.key


def test_a_month_in_a_lay_up_has_no_hours() -> None:
    chance = Random(5)
    engines = [an_engine(number, chance) for number in range(60)]
    parameters = fit_fleet(FleetUsage.of(engines), TODAY)
    stored = replace(engines[0], layups=((TODAY - timedelta(days=90), TODAY + timedelta(days=400)),))
    months = years_ahead(parameters, [*engines, stored], TODAY)[-1].months
    assert [f"{hours:g}" for _, hours in months] == ["0"] * 12


def test_a_fleet_taken_in_parts_comes_to_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    chance = Random(11)
    engines = [an_engine(number, chance) for number in range(70)]
    parameters = fit_fleet(FleetUsage.of(engines), TODAY)
    targets = [some_targets(usage, chance) for usage in engines]
    whole = outlooks(parameters, engines, targets, TODAY)
    monkeypatch.setattr("fleetlog.forecast.fleet.CHUNK", 16)
    assert outlooks(parameters, engines, targets, TODAY) == whole


def test_no_engine_has_no_outlook() -> None:
    parameters = fit_fleet(FleetUsage.of([]), TODAY)
    assert outlooks(parameters, [], [], TODAY) == []
    assert years_ahead(parameters, [], TODAY) == []
