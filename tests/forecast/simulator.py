"""A marina of invented owners day by day, so that a forecast can be judged against dates that are known.

It shares no formula with the forecast: trips are drawn per day from each owner's own season, lay-up, year
and habits, and hour meters are read when somebody happens to look.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

import numpy as np

from fleetlog.forecast.evidence import FleetUsage


@dataclass(frozen=True)
class UseRegime:
    """How the owners of one use run their engines; `months` weighs the calendar months of the north."""

    share: float
    annual_hours: float
    log_spread: float
    months: tuple[float, ...]
    layup_share: float
    trip_hours: float


SUMMER = (0.1, 0.1, 0.4, 0.8, 1.2, 1.9, 2.3, 2.2, 1.3, 0.6, 0.2, 0.1)
TOURISTS = (0.2, 0.2, 0.3, 0.6, 1.2, 2.2, 3.0, 3.0, 1.6, 0.5, 0.2, 0.2)
FISHING = (0.7, 0.6, 0.8, 1.0, 1.2, 1.2, 1.1, 1.1, 1.1, 1.2, 1.1, 0.9)
EVEN = (1.0,) * 12


SERVICE_HOURS = {"private": 25.0, "hire": 100.0, "charter": 100.0, "commercial": 100.0, "rescue": 50.0}


@dataclass(frozen=True)
class Regime:
    """One way a marina can be; shares lie in 0 to 1, spreads are of natural logarithms."""

    uses: dict[str, UseRegime] = field(
        default_factory=lambda: {
            "private": UseRegime(0.6, 38, 0.8, SUMMER, 0.7, 2.5),
            "hire": UseRegime(0.15, 230, 0.5, TOURISTS, 0.6, 3.5),
            "commercial": UseRegime(0.25, 420, 0.7, FISHING, 0.15, 5.0),
        }
    )
    days: int = 9 * 365
    south: bool = False
    year_spread: float = 0.25
    changes_a_year: float = 0.08
    change_spread: float = 0.7
    change_recorded_share: float = 0.3
    layup_recorded_share: float = 0.5
    layup_shift_days: float = 22.0
    season_shift_days: float = 12.0
    weekend_factor: float = 3.0
    weather_spread: float = 0.6
    gap_days: float = 55.0
    gap_spread: float = 0.6
    owner_part: float = 0.5
    twin_share: float = 0.2
    gamma_owners: bool = False
    delivered_new_share: float = 0.6
    new_known_share: float = 0.0
    read_at_services_share: float = 0.0


@dataclass(frozen=True, eq=False)
class Simulated:
    """What is known of a simulated marina, and what happened: hours[e, d] after day first_day + d.

    `expected` are the hours that could be expected day by day by whoever knew all but weather and chance,
    `trip_hours` how long an engine's trips usually are; both None for use that nobody invented.
    """

    usage: FleetUsage
    first_day: int
    hours: np.ndarray
    expected: np.ndarray | None = None
    trip_hours: np.ndarray | None = None

    def reached_day(self, engines: np.ndarray, hours: np.ndarray) -> np.ndarray:
        """The day on which each engine truly reached the hours; one past the end where it did not."""
        return np.array(
            [
                self.first_day + int(np.searchsorted(self.hours[e], h - 1e-6))
                for e, h in zip(engines, hours, strict=True)
            ],
            dtype=np.int64,
        )


FIRST = date(2018, 1, 1).toordinal()


def simulate(regime: Regime, engines: int, seed: int) -> Simulated:
    """A marina of so many engines, their true hours day by day and the readings that were taken."""
    rng, ages, services = (np.random.default_rng(seed + number) for number in range(3))
    names = tuple(sorted(regime.uses))
    shares = np.array([regime.uses[name].share for name in names])
    days = np.arange(regime.days)
    ordinals = FIRST + days
    day_of_year = np.array([date.fromordinal(int(d)).timetuple().tm_yday for d in ordinals], dtype=float)
    season_day = (day_of_year + (182.6 if regime.south else 0.0)) % 365.25
    year = (days + (0 if not regime.south else 182)) // 365
    weekend = np.where(ordinals % 7 >= 6, regime.weekend_factor, 1.0)
    weekend = np.where(ordinals % 7 == 0, regime.weekend_factor, weekend)

    use_code, changed, rows, hours_rows = [], [], [], []
    new_days: list[int] = []
    expected_rows, trips_of = [], []
    layups: list[list[tuple[int, int]]] = []
    while len(use_code) < engines:
        use = int(rng.choice(len(names), p=shares / shares.sum()))
        spec = regime.uses[names[use]]
        owner_log = rng.normal(0, spec.log_spread * regime.owner_part**0.5)
        stores = rng.random() < spec.layup_share
        records = rng.random() < regime.layup_recorded_share
        haul_out, launch = (
            300 + rng.normal(0, regime.layup_shift_days),
            105 + rng.normal(0, regime.layup_shift_days),
        )
        shift = rng.normal(0, regime.season_shift_days)
        gap = regime.gap_days * np.exp(rng.normal(0, regime.gap_spread))
        for _ in range(1 + int(rng.random() < 0.25) + int(rng.random() < 0.1)):
            own = rng.normal(0, spec.log_spread * (1 - regime.owner_part) ** 0.5)
            if regime.gamma_owners:
                shape = 1 / (np.exp(spec.log_spread**2) - 1)
                rate = spec.annual_hours * rng.gamma(shape) / shape
            else:
                rate = spec.annual_hours * np.exp(owner_log + own - spec.log_spread**2 / 2)
            months = np.array(spec.months)
            level = np.interp((season_day + shift) % 365.25, _MIDDLES, np.r_[months[-1], months, months[0]])
            afloat = np.ones(regime.days)
            stints = []
            if stores:
                for y in range(-1, regime.days // 365 + 2):
                    turn = (y * 365.25) - (182.6 if regime.south else 0)
                    out = int(turn + haul_out + rng.normal(0, 7))
                    back = int(turn + 365 + launch + rng.normal(0, 7))
                    afloat[max(out, 0) : max(back, 0)] = 0
                    stints.append((FIRST + out, FIRST + back))
            level = level * afloat
            level /= max(level.mean(), 0.05)
            level = level * np.exp(rng.normal(0, regime.year_spread, year.max() + 1))[year]
            changed_day = 0
            for at in np.flatnonzero(rng.random(regime.days) < regime.changes_a_year / 365):
                level[at:] *= np.exp(rng.normal(0, regime.change_spread))
                if rng.random() < regime.change_recorded_share:
                    changed_day = FIRST + int(at)
            weather = np.repeat(
                rng.gamma(1 / regime.weather_spread**2, regime.weather_spread**2, regime.days // 5 + 1), 5
            )
            foreseen = rate / 365.25 * level * weekend / weekend.mean()
            intensity = foreseen * weather[: regime.days]
            trip = spec.trip_hours * np.exp(rng.normal(0, 0.3))
            trips = np.minimum(rng.poisson(intensity / trip), 3)
            run = np.where(trips > 0, rng.gamma(np.maximum(trips, 1) * 2.0, trip / 2.0), 0.0)
            run = np.minimum(run, 18.0)
            bought = 0 if rng.random() < 0.4 else int(rng.integers(0, int(regime.days * 0.85)))
            before = 0.0 if rng.random() < regime.delivered_new_share else float(rng.gamma(1.0, rate * 3))
            twins = 2 if rng.random() < regime.twin_share else 1
            looked = _looks(rng, bought, regime.days, gap)
            years = before / (rate * np.exp(ages.normal(0, 0.5)))
            known = ages.random() < regime.new_known_share
            for _ in range(twins):
                mine = run * np.clip(rng.normal(1, 0.05, regime.days), 0.7, 1.3) if twins == 2 else run.copy()
                mine[:bought] = 0
                hours_rows.append(before + np.cumsum(mine))
                expected_rows.append(foreseen.astype(np.float32))
                trips_of.append(trip)
                use_code.append(use)
                new_days.append(FIRST + bought - int(365 * years) if known else 0)
                changed.append(changed_day if changed_day > FIRST + bought else 0)
                seen = looked if rng.random() < 0.8 else _looks(rng, bought, regime.days, gap)
                serviced = _services(services, hours_rows[-1], SERVICE_HOURS[names[use]])
                kept = serviced[services.random(len(serviced)) < regime.read_at_services_share]
                rows.append(np.union1d(seen, kept) if len(kept) else seen)
                layups.append([s for s in stints if s[1] > FIRST + bought] if stores and records else [])
    hours = np.array(hours_rows[:engines])
    rows, layups = rows[:engines], layups[:engines]
    flat = [stint for mine in layups for stint in mine]
    usage = FleetUsage.from_arrays(
        uses=names,
        use_code=np.array(use_code[:engines]),
        reading_offsets=np.r_[0, np.cumsum([len(r) for r in rows])],
        reading_day=FIRST + np.concatenate(rows),
        reading_hours=np.concatenate([np.round(hours[e, r], 1) for e, r in enumerate(rows)]),
        layup_offsets=np.r_[0, np.cumsum([len(mine) for mine in layups])],
        layup_from=np.array([begin for begin, _ in flat], dtype=np.int64),
        layup_to=np.array([end for _, end in flat], dtype=np.int64),
        changed_day=np.array(changed[:engines]),
        new_day=np.array(new_days[:engines]),
    )
    return Simulated(
        usage=usage,
        first_day=FIRST,
        hours=hours,
        expected=np.array(expected_rows[:engines]),
        trip_hours=np.array(trips_of[:engines]),
    )


_MIDDLES = np.r_[-15.2, 15.2 + 30.4375 * np.arange(12), 380.5]


def _looks(rng: np.random.Generator, bought: int, days: int, gap: float) -> np.ndarray:
    steps = 3 + rng.gamma(1.3, max(gap - 3, 4) / 1.3, int(3 * days / gap) + 20)
    at = (bought + np.cumsum(np.r_[0, steps])).astype(int)
    return np.unique(at[at < days])


def _services(rng: np.random.Generator, hours: np.ndarray, every: float) -> np.ndarray:
    """The days on which an engine is serviced, some days after each multiple of so many hours."""
    passed = np.flatnonzero(np.diff(np.floor(hours / every)) > 0) + 1
    days = passed + rng.integers(0, 40, len(passed))
    return days[days < len(hours)]


REGIMES = {
    "temperate": Regime(),
    "rarely read": Regime(gap_days=150, gap_spread=0.8, year_spread=0.35, layup_recorded_share=0.2),
    "south, unsteady": Regime(
        south=True, changes_a_year=0.25, year_spread=0.4, change_recorded_share=0.6, gap_days=80
    ),
    "steady workboats": Regime(
        uses={
            "private": UseRegime(0.4, 60, 1.1, FISHING, 0.2, 1.8),
            "commercial": UseRegime(0.6, 700, 0.5, EVEN, 0.05, 7.0),
        },
        year_spread=0.12,
        changes_a_year=0.03,
        gap_days=35,
    ),
    "short season": Regime(
        uses={
            "private": UseRegime(0.7, 25, 1.0, TOURISTS, 0.95, 3.0),
            "rescue": UseRegime(0.1, 90, 0.6, EVEN, 0.0, 0.8),
            "hire": UseRegime(0.2, 300, 0.4, TOURISTS, 0.9, 2.0),
        },
        gap_days=70,
        layup_shift_days=12,
        weather_spread=0.9,
        gamma_owners=True,
        owner_part=0.0,
        twin_share=0.4,
    ),
    # Those below were looked at once, when all else was settled: nothing was tuned on them.
    "charter coast": Regime(
        uses={
            "private": UseRegime(0.5, 55, 0.7, SUMMER, 0.4, 3.2),
            "charter": UseRegime(0.3, 160, 0.6, TOURISTS, 0.5, 5.5),
            "commercial": UseRegime(0.2, 550, 0.8, EVEN, 0.1, 6.0),
        },
        year_spread=0.3,
        changes_a_year=0.12,
        change_recorded_share=0.5,
        layup_recorded_share=0.8,
        gap_days=65,
        weekend_factor=2.0,
        weather_spread=0.4,
        owner_part=0.7,
        twin_share=0.3,
    ),
    "lakes in the south": Regime(
        uses={
            "private": UseRegime(0.75, 30, 0.9, SUMMER, 0.85, 2.2),
            "rescue": UseRegime(0.1, 120, 0.4, FISHING, 0.0, 1.2),
            "hire": UseRegime(0.15, 180, 0.6, TOURISTS, 0.7, 2.8),
        },
        south=True,
        year_spread=0.2,
        changes_a_year=0.05,
        layup_recorded_share=0.3,
        gap_days=100,
        gap_spread=0.7,
        weather_spread=0.7,
    ),
    "tropical bursts": Regime(
        uses={
            "private": UseRegime(0.5, 70, 1.0, EVEN, 0.0, 6.0),
            "charter": UseRegime(0.3, 350, 0.6, FISHING, 0.05, 9.0),
            "hire": UseRegime(0.2, 150, 0.4, EVEN, 0.0, 4.0),
        },
        year_spread=0.3,
        weather_spread=1.3,
        weekend_factor=4.0,
        gap_days=45,
        gap_spread=0.9,
        changes_a_year=0.1,
    ),
    "new owners": Regime(
        uses={
            "private": UseRegime(0.7, 45, 0.9, SUMMER, 0.6, 2.0),
            "commercial": UseRegime(0.3, 300, 0.9, FISHING, 0.3, 4.0),
        },
        gap_days=270,
        gap_spread=0.4,
        changes_a_year=0.3,
        change_spread=0.9,
        change_recorded_share=0.7,
        layup_recorded_share=0.7,
        owner_part=0.3,
        year_spread=0.2,
    ),
    "read at services": Regime(
        gap_days=200,
        gap_spread=0.5,
        read_at_services_share=0.9,
        layup_recorded_share=0.7,
        year_spread=0.2,
    ),
}
