"""A second kind of invented marina, so that no forecast is tuned to the first: engines are used by the week.

Busy weeks follow each other, private owners run much of their hours in holidays, rates wander, single years
go unused, and engines are read at launch, at haul-out and when a service fell due, often in whole hours.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np

from fleetlog.forecast.evidence import FleetUsage
from tests.forecast.simulator import SERVICE_HOURS, Simulated

FIRST = date(2017, 1, 1).toordinal()
STAND_YEARS_BEFORE_END = (3.9, 3.5, 3.1, 2.7)

TRIP_HOURS = {"private": 2.0, "hire": 2.0, "charter": 4.0, "commercial": 6.0}


@dataclass(frozen=True)
class WeeklyUse:
    """How the owners of one use run their engines: hours a year, and the spread of their logarithm."""

    share: float
    annual_hours: float
    log_spread: float


@dataclass(frozen=True)
class WeeklyRegime:
    """One way such a marina can be; shares lie in 0 to 1, spreads are of natural logarithms."""

    private: WeeklyUse = WeeklyUse(0.6, 45, 1.0)
    hire: WeeklyUse = WeeklyUse(0.0, 300, 1.2)
    charter: WeeklyUse = WeeklyUse(0.2, 250, 0.6)
    commercial: WeeklyUse = WeeklyUse(0.2, 500, 0.7)
    years: int = 8
    south: bool = False
    wander_a_year: float = 0.15
    year_spread: float = 0.2
    unused_year_share: float = 0.03
    holiday_share: float = 0.4
    stickiness: float = 0.6
    layup_share: float = 0.6
    layup_recorded_share: float = 0.5
    messages_a_year: float = 2.0
    read_at_services: bool = True
    whole_hours_share: float = 0.5
    age_known_share: float = 0.5

    @property
    def uses(self) -> dict[str, WeeklyUse]:
        """The uses that this marina has, by name."""
        named = {name: getattr(self, name) for name in ("charter", "commercial", "hire", "private")}
        return {name: use for name, use in named.items() if use.share > 0}

    @property
    def stand_on(self) -> list[date]:
        """The past days on which forecasts are made."""
        end = FIRST + 365 * self.years
        return [date.fromordinal(end - int(365 * years)) for years in STAND_YEARS_BEFORE_END]


def simulate_weeks(regime: WeeklyRegime, engines: int, seed: int) -> Simulated:
    """A marina of so many engines, their true hours day by day and the readings that were taken."""
    rng = np.random.default_rng(seed)
    names = tuple(regime.uses)
    shares = np.array([use.share for use in regime.uses.values()])
    use_code = rng.choice(len(names), engines, p=shares / shares.sum())
    made = [_engine(regime, names[code], rng) for code in use_code]
    flat = [stint for one in made for stint in one.layups]
    usage = FleetUsage.from_arrays(
        uses=names,
        use_code=use_code,
        reading_offsets=np.r_[0, np.cumsum([len(one.read_on) for one in made])],
        reading_day=FIRST + np.concatenate([one.read_on for one in made]),
        reading_hours=np.concatenate([one.shown for one in made]),
        layup_offsets=np.r_[0, np.cumsum([len(one.layups) for one in made])],
        layup_from=np.array([begin for begin, _ in flat], dtype=np.int64),
        layup_to=np.array([end for _, end in flat], dtype=np.int64),
        new_day=np.array([one.new_day for one in made]),
    )
    return Simulated(
        usage=usage,
        first_day=FIRST,
        hours=np.array([one.hours for one in made]),
        expected=np.array([one.expected for one in made]),
        trip_hours=np.array([one.trip_hours for one in made]),
    )


@dataclass(frozen=True, eq=False)
class _Engine:
    hours: np.ndarray
    expected: np.ndarray
    trip_hours: float
    read_on: np.ndarray
    shown: np.ndarray
    layups: list[tuple[int, int]]
    new_day: int


def _engine(regime: WeeklyRegime, name: str, rng: np.random.Generator) -> _Engine:
    days, use = 365 * regime.years, regime.uses[name]
    annual = use.annual_hours * np.exp(rng.normal(0, use.log_spread) - use.log_spread**2 / 2)
    turns = [365 * year - (182 if regime.south else 0) for year in range(-1, regime.years + 1)]
    level = _season(regime, name, turns, rng)
    stints: list[tuple[int, int]] = []
    if rng.random() < regime.layup_share * (1.0 if name == "private" else 0.4):
        out, back = 295 + rng.normal(0, 15), 100 + rng.normal(0, 20)
        for turn in turns:
            begin, end = int(turn + out + rng.normal(0, 12)), int(turn + 365 + back + rng.normal(0, 14))
            level[max(begin, 0) : max(end, 0)] = 0
            stints.append((FIRST + begin, FIRST + end))
    expected = annual / 365 * level / max(level.mean(), 1e-9) * _fortunes(regime, rng)
    trip = TRIP_HOURS[name] * np.exp(rng.normal(0, 0.4))
    trips = np.minimum(rng.poisson(expected * _busy_weeks(regime, rng) / trip), 4)
    run = np.where(trips > 0, rng.gamma(np.maximum(trips, 1) * 1.5, trip / 1.5), 0.0)
    bought = 0 if rng.random() < 0.35 else int(rng.integers(0, int(0.8 * days)))
    run[:bought] = 0
    before = 0.0 if rng.random() < 0.6 else float(rng.gamma(1.2, 2.5 * annual))
    hours = before + np.cumsum(np.minimum(run, 20.0))
    read_on = _looks(regime, hours, bought, SERVICE_HOURS[name], turns, rng)
    shown = hours[read_on]
    age_days = int(365 * before / annual * np.exp(rng.normal(0, 0.4)))
    return _Engine(
        hours=hours,
        expected=expected.astype(np.float32),
        trip_hours=trip,
        read_on=read_on,
        shown=np.floor(shown) if rng.random() < regime.whole_hours_share else np.round(shown, 1),
        layups=[s for s in stints if s[1] > FIRST + bought]
        if rng.random() < regime.layup_recorded_share
        else [],
        new_day=FIRST + bought - age_days if rng.random() < regime.age_known_share else 0,
    )


def _season(regime: WeeklyRegime, name: str, turns: list[int], rng: np.random.Generator) -> np.ndarray:
    """How much use falls on each day: a hump about a day of the year, and a private owner's holidays."""
    days = 365 * regime.years
    if name == "commercial":
        peak, width, base = 200 + rng.normal(0, 30), 120.0, 0.8
    elif name == "private":
        peak, width, base = 195 + rng.normal(0, 20), 50 + abs(rng.normal(0, 15)), 0.08
    else:
        peak, width, base = 205 + rng.normal(0, 10), 45.0, 0.15
    off = np.abs((np.arange(days) + (182 if regime.south else 0)) % 365 - peak)
    level: np.ndarray = base + np.exp(-0.5 * (np.minimum(off, 365 - off) / width) ** 2)
    if name == "private":
        holidays = np.zeros(days)
        for turn in turns:
            begin = int(turn + peak + rng.normal(0, 10))
            holidays[max(begin, 0) : max(begin + int(rng.integers(10, 24)), 0)] = 1
        level = (1 - regime.holiday_share) * level / level.sum() + regime.holiday_share * holidays / max(
            holidays.sum(), 1
        )
    return level


def _fortunes(regime: WeeklyRegime, rng: np.random.Generator) -> np.ndarray:
    """By what factor each day's use departs from the owner's usual: it wanders, and years differ."""
    days, weeks = 365 * regime.years, 365 * regime.years // 7 + 1
    wandered = np.cumsum(rng.normal(0, regime.wander_a_year / 52**0.5, weeks))
    years = np.exp(rng.normal(0, regime.year_spread, regime.years))
    years = np.where(rng.random(regime.years) < regime.unused_year_share, 0.02, years)
    factor: np.ndarray = np.exp(np.repeat(wandered, 7)[:days]) * np.repeat(years, 365)
    return factor


def _busy_weeks(regime: WeeklyRegime, rng: np.random.Generator) -> np.ndarray:
    days, weeks = 365 * regime.years, 365 * regime.years // 7 + 1
    shocks = rng.normal(0, 1, weeks)
    busy = np.empty(weeks)
    busy[0] = shocks[0]
    for week in range(1, weeks):
        busy[week] = regime.stickiness * busy[week - 1] + (1 - regime.stickiness**2) ** 0.5 * shocks[week]
    factor: np.ndarray = np.repeat(np.exp(0.7 * busy - 0.245), 7)[:days]
    return factor


def _looks(
    regime: WeeklyRegime,
    hours: np.ndarray,
    bought: int,
    every: float,
    turns: list[int],
    rng: np.random.Generator,
) -> np.ndarray:
    """The days on which the meter was read: bought, about launch and haul-out, by messages, at services."""
    days = len(hours)
    looks = [bought]
    for turn in turns:
        for about in (105, 300):
            if rng.random() < 0.75:
                looks.append(int(turn + about + rng.normal(0, 20)))
    messages = rng.poisson(regime.messages_a_year * rng.gamma(1, 1) * (days - bought) / 365)
    looks += rng.integers(bought, days, messages).tolist()
    due = (np.floor(hours[bought] / every) + 1) * every
    while regime.read_at_services and rng.random() < 0.9:
        day = int(np.searchsorted(hours, due))
        if day >= days:
            break
        looks.append(day + int(rng.integers(0, 40)))
        due += every
    return np.unique([day for day in looks if bought <= day < days])


_NO_CHARTER = WeeklyUse(0.0, 250, 0.6)

WEEKLY_REGIMES = {
    "weeks": WeeklyRegime(),
    "weeks, south": WeeklyRegime(south=True, layup_recorded_share=0.9),
    "weeks that stick": WeeklyRegime(stickiness=0.9, wander_a_year=0.3),
    "weeks, few messages": WeeklyRegime(messages_a_year=0.3),
    "weeks, idle years": WeeklyRegime(unused_year_share=0.12, year_spread=0.35),
    "weeks, a hundredfold": WeeklyRegime(
        private=WeeklyUse(0.7, 40, 1.5),
        hire=WeeklyUse(0.3, 300, 1.2),
        charter=_NO_CHARTER,
        commercial=WeeklyUse(0.0, 500, 0.7),
    ),
    "weeks, tropics": WeeklyRegime(
        private=WeeklyUse(0.3, 80, 1.0),
        charter=WeeklyUse(0.4, 300, 0.8),
        commercial=WeeklyUse(0.3, 700, 0.5),
        layup_share=0.0,
        holiday_share=0.1,
    ),
    "weeks, not at services": WeeklyRegime(read_at_services=False, messages_a_year=4.0),
    "weeks, little told": WeeklyRegime(layup_recorded_share=0.0, age_known_share=0.0),
    "weeks, short log": WeeklyRegime(years=5),
}
