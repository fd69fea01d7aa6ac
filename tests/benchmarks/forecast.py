"""How well forecasts hold, on invented marinas and on published use, and how quick they are; judges nothing.

python -m tests.benchmarks.forecast [--engines N] [--simulated N] [--seed N] [--only simulated|public|speed]
"""

from __future__ import annotations

import argparse
import sqlite3
import tempfile
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np

from fleetlog.forecast import FleetForecast, FleetUsage, fit_fleet
from fleetlog.forecast.scoring import Cases, pinball, scored
from tests.forecast.judging import holds_or_reaches_the_end, hours_ahead, next_services
from tests.forecast.public_usage import flights, goals, metered
from tests.forecast.simulator import FIRST, REGIMES, Simulated, simulate

STAND_ON = [date.fromordinal(FIRST + days) for days in (1155, 1295, 1440, 1590)]
FLIGHT_DAYS = [date(2013, 5, 31), date(2013, 7, 31), date(2013, 8, 31)]
GOAL_SEASONS = range(1971, 2008, 4)


def simulated(engines: int, seed: int) -> None:
    print(f"Invented marinas, {engines} engines each, next service from four days, true days known")
    for name, regime in REGIMES.items():
        marina = simulate(regime, engines, seed)
        result = scored(next_services(marina, STAND_ON), marina.usage.uses)
        for score in result.scores:
            print(
                f"  {name:17s} {score.group:22s} cases {score.cases:5d} engines {score.engines:5d}  "
                f"covers {score.coverage_share:.3f} early {score.early_share:.3f} late {score.late_share:.3f}"
                f"  pinball {score.pinball_days:6.2f} d, {score.pinball_ratio:.3f} of the rate's"
                f"  median error {score.median_error_days:5.1f} d ({score.rival_median_error_days:5.1f})"
            )


def bootstrap_windows(
    units: Simulated, day: date, cases: Cases, hours: float, draws: int = 200
) -> np.ndarray:
    """The simple bootstrap: an engine's own intervals drawn again until the hours are run."""
    rng = np.random.default_rng(0)
    known = units.usage.as_known_on(day.toordinal())
    found = np.empty((3, len(cases)))
    for row, engine in enumerate(cases.engine):
        mine = slice(int(known.reading_offsets[engine]), int(known.reading_offsets[engine + 1]))
        gaps, ran = np.diff(known.reading_day[mine]), np.diff(known.reading_hours[mine])
        rate = max(float(ran.sum() / gaps.sum()), 1e-3)
        count = int(3 * hours / (rate * gaps.mean())) + 20
        drawn = rng.integers(0, len(gaps), (draws, count))
        total, days = np.cumsum(ran[drawn], axis=1), np.cumsum(gaps[drawn], axis=1)
        over = total >= hours
        at = np.where(over.any(axis=1), over.argmax(axis=1), count - 1)
        rows = np.arange(draws)
        before = np.where(at > 0, total[rows, at - 1], 0.0)
        part = np.clip((hours - before) / np.maximum(ran[drawn[rows, at]], 1e-6), 0, 1)
        reached = days[rows, at] - gaps[drawn[rows, at]] * (1 - part)
        found[:, row] = np.quantile(reached, (0.1, 0.5, 0.9))
    return found


def public() -> None:
    print(
        "Published use: windows that hold or reach the end of the data, then days reached in the data alone"
    )
    first, running = flights()
    for gap in (30, 60, 120):
        units, everything = metered(first, running, gap, seed=1), []
        for day in FLIGHT_DAYS:
            for hours, cases in zip((50, 100), hours_ahead(units, day, (50, 100), 400, 400), strict=True):
                everything.append((day, hours, cases))
        _print_public(f"flights every {gap} d", units, everything)
    first, running = goals()
    for gap in (30, 60, 120):
        units, everything = metered(first, running, gap, seed=1, decimals=0), []
        for month, start in ((10, 1), (1, 5), (5, 1)):
            for season in GOAL_SEASONS:
                day = date(season + (month < 8), month, start)
                for hours, cases in zip(
                    (20, 50, 100), hours_ahead(units, day, (20, 50, 100), 200, 120), strict=True
                ):
                    everything.append((day, hours, cases))
        _print_public(f"goals every {gap} d", units, everything)


def _print_public(name: str, units: Simulated, parts: list[tuple[date, int, Cases]]) -> None:
    for hours in sorted({part[1] for part in parts}):
        mine = [(day, cases) for day, more, cases in parts if more == hours and len(cases)]
        boot = np.concatenate([bootstrap_windows(units, day, cases, hours) for day, cases in mine], axis=1)
        _print_row(f"{name}, +{hours}", Cases.together([cases for _, cases in mine]), boot)
    _print_row(f"{name}, all", Cases.together([cases for _, _, cases in parts]), None)


def _print_row(name: str, cases: Cases, boot: np.ndarray | None) -> None:
    score = scored(cases, ("",)).scores[0]
    reached = cases.high_day > 0
    truth = (cases.high_day - cases.since)[reached].astype(float)
    inside = (cases.early <= cases.high_day) & (cases.high_day <= cases.late)
    line = (
        f"  {name:26s} cases {len(cases):5d}  holds {holds_or_reaches_the_end(cases):.3f}"
        f" (reached alone {inside[reached].mean():.3f})  pinball {score.pinball_days:6.2f} d,"
        f" {score.pinball_ratio:.3f} of the rate's  median error {score.median_error_days:5.1f} d"
        f" (rate {score.rival_median_error_days:5.1f})"
    )
    if boot is not None:
        early, likely, late = boot[:, reached]
        losses = [
            pinball(truth, days, share).mean()
            for days, share in zip(boot[:, reached], (0.1, 0.5, 0.9), strict=True)
        ]
        covers = ((early <= truth) & (truth <= late)).mean()
        error = np.median(np.abs(truth - likely))
        line += (
            f"; bootstrap covers {covers:.2f}, pinball {np.mean(losses):6.2f} d, median error {error:5.1f} d"
        )
    print(line)


def timed(work: Callable[[], Any]) -> tuple[float, Any]:
    """Seconds of processor time, which other work on the machine does not stretch, and the result."""
    begun = time.process_time()
    result = work()
    return time.process_time() - begun, result


def large_fleet(engines: int, readings: int = 30) -> FleetUsage:
    """A fleet drawn straight into arrays: so many engines, so many readings each."""
    rng = np.random.default_rng(3)
    small = simulate(REGIMES["temperate"], 600, 3).usage
    counts = np.diff(small.reading_offsets)
    enough = np.flatnonzero(counts >= readings)
    pattern = enough[rng.integers(0, len(enough), engines)]
    rows = (small.reading_offsets[1:][pattern] - readings)[:, None] + np.arange(readings)
    scale = np.exp(rng.normal(0, 0.5, engines))[:, None]
    return FleetUsage.from_arrays(
        uses=small.uses,
        use_code=small.use_code[pattern],
        reading_offsets=np.arange(engines + 1) * readings,
        reading_day=small.reading_day[rows].ravel(),
        reading_hours=np.round(small.reading_hours[rows] * scale, 1).ravel(),
    )


def speed(engines: int) -> None:
    fleet = large_fleet(engines)
    today = date.fromordinal(int(fleet.reading_day.max()))
    with tempfile.TemporaryDirectory() as folder:
        connection = sqlite3.connect(Path(folder) / "readings.sqlite")
        connection.execute("CREATE TABLE reading (engine INTEGER, day INTEGER, tenths INTEGER)")
        tenths = np.round(fleet.reading_hours * 10).astype(int)
        rows = zip(fleet.reading_engine.tolist(), fleet.reading_day.tolist(), tenths.tolist(), strict=True)
        connection.executemany("INSERT INTO reading VALUES (?, ?, ?)", rows)
        connection.commit()
        reading, _ = timed(lambda: connection.execute("SELECT engine, day, tenths FROM reading").fetchall())
        connection.close()
    fitting, parameters = timed(lambda: fit_fleet(fleet, today))
    believing, forecast = timed(lambda: FleetForecast(parameters, fleet, today))
    all_engines = np.arange(engines)
    dating, _ = timed(lambda: forecast.windows(all_engines, np.full(engines, 50.0)))
    total = fitting + believing + dating
    print(
        f"{engines} engines, {len(fleet.reading_day)} readings: read from SQLite {reading:.2f} s;"
        f" fit {fitting:.2f} s, rates {believing:.2f} s, dates {dating:.2f} s;"
        f" {total / reading:.2f} times the reading"
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--engines", type=int, default=100_000, help="engines of the speed run")
    parser.add_argument("--simulated", type=int, default=1600, help="engines of each invented marina")
    parser.add_argument("--seed", type=int, default=7)
    parser.add_argument("--only", choices=("simulated", "public", "speed"))
    asked = parser.parse_args()
    if asked.only in (None, "speed"):
        speed(asked.engines)
    if asked.only in (None, "simulated"):
        simulated(asked.simulated, asked.seed)
    if asked.only in (None, "public"):
        public()


if __name__ == "__main__":
    main()
