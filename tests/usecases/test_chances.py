"""The chance of failure before the next likely visit: from firm records of engines of one schedule alone."""

from __future__ import annotations

from datetime import date
from types import SimpleNamespace
from typing import TYPE_CHECKING, cast

import numpy as np

from fleetlog.domain.conditions import Conditions
from fleetlog.domain.lives import Age, ItemLife
from fleetlog.domain.usage import NOT_IN_SIGHT
from fleetlog.usecases.lives.chances import FirmFits, HoursAhead, chance_of, next_visit_on

if TYPE_CHECKING:
    from fleetlog.domain.due import DueLine

TODAY, THEN = date(2026, 4, 15), date(2026, 6, 15)


def life(
    age: float | None, ended: str = "sound", schedule: str = "V6", months: float | None = None
) -> ItemLife:
    new = Age(0.0, 0.0)
    off = None if ended == "sound" else TODAY
    under = Conditions(schedule=schedule)
    return ItemLife("E1", "belt", None, None, None, new, Age(age, months), new, ended, off, under)  # type: ignore[arg-type]


def firm(*lives: ItemLife) -> FirmFits:
    return FirmFits.of(lives)


def failed(count: int, unit: str = "hours") -> list[ItemLife]:
    ages = np.random.default_rng(1).weibull(3, count) * 300
    if unit == "months":
        return [life(None, "failed", months=float(age)) for age in ages]
    return [life(float(age), "failed") for age in ages]


def test_only_engines_of_the_same_schedule_tell_and_only_enough_failures() -> None:
    fits = firm(*failed(30))
    assert fits.fit("Belt", "V6") is not None
    assert fits.fit("belt", "I4") is None
    assert firm(*failed(9)).fit("belt", "V6") is None


def test_where_hours_are_not_known_months_tell() -> None:
    fit = firm(*failed(30, "months")).fit("belt", "V6")
    assert fit is not None
    assert fit.unit == "months"
    none_ahead = HoursAhead({})
    chance = chance_of(fit, life(None, months=200.0), none_ahead, TODAY, THEN)
    assert chance is not None
    assert 0 < chance < 0.2
    assert chance_of(fit, life(None), none_ahead, TODAY, THEN) is None


def test_what_ran_since_the_reading_counts_to_the_age_and_what_is_ahead_to_the_risk() -> None:
    fit = firm(*failed(30)).fit("belt", "V6")
    assert fit is not None
    ahead = HoursAhead({("E1", TODAY): 40.0, ("E1", THEN): 90.0})
    chance = chance_of(fit, life(200.0), ahead, TODAY, THEN)
    assert chance == float(fit.weibull.chance_of_failure(240.0, 50.0))
    assert chance_of(fit, life(200.0), HoursAhead({}), TODAY, THEN) is None
    assert chance_of(fit, life(None), ahead, TODAY, THEN) is None


def test_what_still_runs_is_found_by_engine_and_kind() -> None:
    fits = firm(*failed(3), life(100.0))
    assert [x.age.hours for x in fits.running["E1", "belt"]] == [100.0]


def test_the_next_visit_is_the_first_that_is_in_sight() -> None:
    lines = [SimpleNamespace(likely_on=day) for day in (None, TODAY, THEN, NOT_IN_SIGHT)]
    assert next_visit_on(cast("list[DueLine]", lines), TODAY) == THEN
    assert next_visit_on(cast("list[DueLine]", [*lines[:2], lines[3]]), TODAY) is None
