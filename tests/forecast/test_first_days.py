"""First days found by few looks are those that a walk over all days finds."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from fleetlog.forecast import first_days as module
from fleetlog.forecast.evidence import EngineUsage, FleetUsage
from fleetlog.forecast.first_days import DatedClock, first_days
from fleetlog.forecast.hitting import RateBeliefs, reached_chance
from fleetlog.forecast.season import STRETCHES, Layups, SeasonClock, StoredClock, published_profile

TODAY = date(2025, 7, 1)
LAST_DAY = TODAY.toordinal() + 2922
ENGINES, KINDS = 12, 2


def clocks(chance: np.random.Generator) -> StoredClock:
    """Of boats with one, two or no lay-ups recorded, some of them kept up."""
    fleet = FleetUsage.of(
        EngineUsage(
            str(number),
            layups=tuple(
                (date(2024 + year, 10, 1), date(2025 + year, 1 + int(chance.integers(6)), 20))
                for year in range(number % 3)
            ),
        )
        for number in range(ENGINES)
    )
    profiles = np.array([published_profile(), np.roll(published_profile(), STRETCHES // 2)])
    season = SeasonClock.of(profiles, TODAY.toordinal() - 1500, LAST_DAY)
    return Layups.of(fleet, TODAY.toordinal()).stored(season)


def believed(chance: np.random.Generator) -> RateBeliefs:
    share = chance.uniform(0.05, 0.95, ENGINES)

    def spread(low: float, high: float) -> np.ndarray:
        return np.exp(chance.uniform(np.log(low), np.log(high), ENGINES))

    mean = chance.normal(-2.5, 1.5, ENGINES)  # that of both kinds, and the level not far from it
    return RateBeliefs(
        chance=np.column_stack([share, 1 - share]),
        mean=mean[:, None] + chance.normal(0, 0.3, (ENGINES, KINDS)),
        variance=chance.uniform(0.01, 1.0, (ENGINES, KINDS)),
        level_mean=mean[:, None] + chance.normal(0, 0.5, (ENGINES, KINDS)),
        level_variance=spread(0.01, 1.0),
        year_variance=spread(0.02, 0.2),
        drift=spread(1e-5, 1e-3),
        forgetting=spread(1e-3, 8e-3),
        dispersion=spread(0.1, 20.0),
    )


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("looks", [0, 6])
def test_few_looks_find_the_day_that_a_walk_over_all_days_finds(
    seed: int, looks: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "GUESSED_LOOKS", looks)
    chance = np.random.default_rng(seed)
    clock, beliefs = clocks(chance), believed(chance)
    engine = chance.integers(ENGINES, size=50)
    hours = np.exp(chance.uniform(np.log(0.01), np.log(3000), len(engine)))
    score = chance.uniform(-1.6, 1.6, len(engine))  # of much smaller chances the formula is no more even
    since = TODAY.toordinal() - chance.integers(0, 700, len(engine))
    dated = DatedClock.of(clock, beliefs.chance)
    found = first_days(beliefs, dated, engine, hours, score, since, LAST_DAY)
    days = np.arange(TODAY.toordinal() - 700, LAST_DAY)
    for row, number in enumerate(engine):
        same = np.full(len(days), number)
        ran = clock.at(same, days) - clock.at(same[:1], since[row : row + 1])
        reached = reached_chance(beliefs.rows(same), ran, np.full(len(days), hours[row]))
        enough = days[(days > since[row]) & (reached >= module.ndtr(score[row]))]
        assert found[row] == (enough[0] if len(enough) else LAST_DAY)


def test_what_is_to_be_reached_by_the_last_day_is_reached_on_it() -> None:
    chance = np.random.default_rng(5)
    beliefs = believed(chance)
    dated = DatedClock.of(clocks(chance), beliefs.chance)
    since = np.array([LAST_DAY - 1, LAST_DAY])
    found = first_days(beliefs, dated, np.zeros(2, int), np.full(2, 9.0), np.zeros(2), since, LAST_DAY)
    assert found.tolist() == [LAST_DAY, LAST_DAY + 1]


def test_lay_ups_cost_few_looks(monkeypatch: pytest.MonkeyPatch) -> None:
    looked = []

    def look(*asked: np.ndarray) -> np.ndarray:
        looked.append(asked)
        return reached_chance(*asked)

    monkeypatch.setattr(module, "reached_chance", look)
    chance = np.random.default_rng(6)
    of_one_kind = np.eye(KINDS)[np.zeros(ENGINES, dtype=int)]
    beliefs = believed(chance)._replace(chance=of_one_kind, dispersion=np.ones(ENGINES))
    dated = DatedClock.of(clocks(chance), beliefs.chance)
    engine = np.arange(ENGINES).repeat(40)
    hours = np.exp(chance.uniform(np.log(50), np.log(3000), len(engine)))
    since = np.full(len(engine), TODAY.toordinal())
    first_days(beliefs, dated, engine, hours, np.tile([-1.3, 1.3], len(engine) // 2), since, LAST_DAY)
    assert len(looked) <= 10


def test_a_clock_asked_the_other_way_round_names_the_day_that_brought_it_there() -> None:
    chance = np.random.default_rng(7)
    clock, shares = clocks(chance), believed(chance).chance
    dated = DatedClock.of(clock, shares)
    days = np.arange(TODAY.toordinal() - 700, LAST_DAY + 1)
    for number in range(ENGINES):
        same = np.full(len(days), number)
        shown = clock.at(same, days) @ shares[number]
        runs = np.diff(shown) > 1e-6  # afloat
        halfway = (shown[1:] + shown[:-1])[runs] / 2
        assert (dated.day(same[1:][runs], halfway) == days[1:][runs]).all()
