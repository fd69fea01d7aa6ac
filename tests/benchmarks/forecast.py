"""How well forecasts hold, on invented marinas and published use, how quick they are, and what aims are met.

python -m tests.benchmarks.forecast [--engines N] [--simulated N] [--seed N] [--only PART]
"""

from __future__ import annotations

import argparse
import sqlite3
import statistics
import tempfile
import time
from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np

from fleetlog.forecast import FleetForecast, FleetUsage, fit_fleet
from fleetlog.forecast.scoring import Cases, Score, pinball, scored
from tests.benchmarks.simple_rivals import SHARES, rivals
from tests.forecast.judging import (
    began_on,
    holds_or_reaches_the_end,
    hours_ahead,
    next_services,
    oracle_windows,
    read_twice_before,
    replaced_on,
)
from tests.forecast.public_usage import flights, goals, metered
from tests.forecast.simulator import FIRST, REGIMES, Simulated, simulate
from tests.forecast.weekly_simulator import WEEKLY_REGIMES, simulate_weeks

STAND_ON = [date.fromordinal(FIRST + days) for days in (1155, 1295, 1440, 1590)]
FLIGHT_DAYS = [date(2013, 5, 31), date(2013, 7, 31), date(2013, 8, 31)]
YOUNG_DAYS = (60, 120, 200, 300, 420, 600)
GOAL_SEASONS = range(1966, 2008)
"""All that have three seasons before them to learn from."""


COVERAGE, TAILS, USE_COVERAGE, PUBLIC_COVERAGE = (0.78, 0.82), (0.07, 0.13), (0.74, 0.86), (0.76, 0.84)
ROUNDS = 5
PINBALL, MEDIAN_ERROR, PUBLIC_PINBALL, READINGS, MILLISECONDS = 0.62, 0.4, 0.85, 3.0, 10.0
JUDGED_CASES, JUDGED_ENGINES = 400, 100
MISSED: list[str] = []


def bar(what: str, value: float, most: float, least: float = 0.0) -> None:
    """Say whether a figure lies within what is aimed at."""
    met = least <= value <= most
    aim = f"{least:g} to {most:g}" if least else f"at most {most:g}"
    print(f"    {what:44s} {value:.3f}  ({aim})  {'met' if met else 'NOT MET'}")
    if not met:
        MISSED.append(f"{what} {value:.3f}, {aim}")


def simulated(engines: int, seed: int) -> None:
    """Marinas whose engines run by the day."""
    print(f"Invented marinas, {engines} engines each, next service from four days, true days known")
    _judged((name, simulate(regime, engines, seed), STAND_ON) for name, regime in REGIMES.items())


def weekly(engines: int, seed: int) -> None:
    """Marinas of another make."""
    print(f"Marinas by the week, {engines} engines each, next service from four days, true days known")
    marinas = WEEKLY_REGIMES.items()
    _judged((name, simulate_weeks(regime, engines, seed), regime.stand_on) for name, regime in marinas)


def _judged(marinas: Iterable[tuple[str, Simulated, list[date]]]) -> None:
    every: list[Cases] = []
    within_reach: list[Cases] = []
    for name, marina, stand_on in marinas:
        cases = next_services(marina, stand_on)
        others = len(every) * len(marina.usage)
        every.append(replace(cases, engine=cases.engine + others, use=0 * cases.use))
        result = scored(cases, marina.usage.uses)
        for score in result.scores:
            print(
                f"  {name:22s} {score.group:22s} cases {score.cases:5d} engines {score.engines:5d}  "
                f"covers {score.coverage_share:.3f} early {score.early_share:.3f} late {score.late_share:.3f}"
                f"  pinball {score.pinball_days:6.2f} d, {score.pinball_ratio:.3f} of the rate's"
                f"  median error {score.median_error_days:5.1f} d ({score.rival_median_error_days:5.1f})"
            )
        overall = result.scores[0]
        reached = cases.chosen(cases.is_reached)
        truth, known = (reached.by[:, 0] - reached.since).astype(float), oracle_windows(marina, reached)
        losses = [pinball(truth, days, share).mean() for days, share in zip(known, SHARES, strict=True)]
        error = np.median(np.abs(truth - known[1])) / overall.rival_median_error_days
        if error <= MEDIAN_ERROR:
            within_reach.append(every[-1])
        print(
            f"    who knew all but weather and chance: pinball {np.mean(losses):.2f} d,"
            f" {np.mean(losses) / overall.rival_pinball_days:.3f} of the rate's,"
            f" median error {error:.3f}"
        )
        overall_bars(name, overall)
        for score in result.scores:
            enough = score.cases >= JUDGED_CASES and score.engines >= JUDGED_ENGINES
            if score.group in marina.usage.uses and enough:
                bar(
                    f"{name}: coverage, {score.group}", score.coverage_share, USE_COVERAGE[1], USE_COVERAGE[0]
                )
    overall_bars("all marinas", scored(Cases.together(every), ("",)).scores[0])
    if 0 < len(within_reach) < len(every):
        print("    of the marinas in which one who knew all but weather and chance would meet it:")
        median_error_bar("within reach", scored(Cases.together(within_reach), ("",)).scores[0])


def overall_bars(name: str, overall: Score) -> None:
    """What is aimed at for all cases of a marina, and for those of all marinas together."""
    bar(f"{name}: coverage", overall.coverage_share, COVERAGE[1], COVERAGE[0])
    bar(f"{name}: too early", overall.early_share, TAILS[1], TAILS[0])
    bar(f"{name}: too late", overall.late_share, TAILS[1], TAILS[0])
    bar(f"{name}: pinball of the rate's", overall.pinball_ratio, PINBALL)
    median_error_bar(name, overall)


def median_error_bar(name: str, overall: Score) -> None:
    """How far off likely dates may be, beside the guesses of a constant rate."""
    ratio = overall.median_error_days / overall.rival_median_error_days
    bar(f"{name}: median error of the rate's", ratio, MEDIAN_ERROR)


def young(engines: int, seed: int) -> None:
    """Logs that begin in spring, summer or autumn, as of some days later: windows and pinball loss."""
    print(f"Young logs of {engines} engines, begun in March, June and September, half of the ages known")
    for name, regime in REGIMES.items():
        marina = simulate(replace(regime, new_known_share=0.5), engines, seed)
        told = []
        for since in YOUNG_DAYS:
            scores = []
            for first_day in (FIRST + 3 * 365 + day for day in (60, 150, 270)):
                log = began_on(marina, first_day)
                cases = next_services(log, [date.fromordinal(first_day + since)])
                scores.append(scored(cases, marina.usage.uses).scores[0])
            covers, early, late, pinball_ratio = np.mean(
                [(s.coverage_share, s.early_share, s.late_share, s.pinball_ratio) for s in scores], axis=0
            )
            told.append(f"{since} d {covers:.2f} ({early:.2f} {late:.2f}) {pinball_ratio:.2f}")
        print(f"  {name:18s} covers (early late) pinball of the rate's: {'; '.join(told)}")


def replaced(engines: int, seed: int) -> None:
    """New engines on boats whose use is known, beside what would be said without it."""
    print(f"A quarter of {engines} engines replaced on one day: with what the boat ran before, and without")
    for name, regime in REGIMES.items():
        marina, day = simulate(regime, engines, seed), FIRST + 1200
        new = read_twice_before(marina, day)[::4]
        told = []
        for since in (30, 120, 240, 420):
            with_it, without = (
                scored(next_services(log, [date.fromordinal(day + since)], new), log.usage.uses).scores[0]
                for log in (replaced_on(marina, day, new, is_told=is_told) for is_told in (True, False))
            )
            told.append(
                f"{since} d covers {with_it.coverage_share:.2f} ({without.coverage_share:.2f}), pinball"
                f" {with_it.pinball_days:.1f} d ({without.pinball_days:.1f}), median error"
                f" {with_it.median_error_days:.0f} d ({without.median_error_days:.0f})"
            )
        print(f"  {name:18s} {'; '.join(told)}")


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
        known = [units.usage.as_known_on(day.toordinal()) for day, _ in mine]
        score = _print_row(f"{name}, +{hours}", Cases.together([cases for _, cases in mine]))
        for rival in rivals(known, [day for day, _ in mine], [cases for _, cases in mine], hours):
            line = f"      {rival.name:22s} median error {rival.median_error_days:5.1f} d"
            if rival.coverage_share is not None:
                line += f", covers {rival.coverage_share:.2f}, pinball {rival.pinball_days:6.2f} d"
            print(line)
            if rival.pinball_days is not None:
                what = f"{name}, +{hours}: pinball of {rival.name}'s"
                bar(what, score.pinball_days / rival.pinball_days, 1.0)
    cases = Cases.together([cases for _, _, cases in parts])
    score = _print_row(f"{name}, all", cases)
    bar(f"{name}: coverage", holds_or_reaches_the_end(cases), PUBLIC_COVERAGE[1], PUBLIC_COVERAGE[0])
    bar(f"{name}: pinball of the rate's", score.pinball_ratio, PUBLIC_PINBALL)


def _print_row(name: str, cases: Cases) -> Score:
    score = scored(cases, ("",)).scores[0]
    day = cases.by[:, 0]
    inside = (cases.early <= day) & (day <= cases.late)
    print(
        f"  {name:26s} cases {len(cases):5d}  holds {holds_or_reaches_the_end(cases):.3f}"
        f" (reached alone {inside[cases.is_reached].mean():.3f})  pinball {score.pinball_days:6.2f} d,"
        f" {score.pinball_ratio:.3f} of the rate's  median error {score.median_error_days:5.1f} d"
        f" (rate {score.rival_median_error_days:5.1f})"
    )
    return score


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


def _round(connection: sqlite3.Connection, fleet: FleetUsage, today: date) -> tuple[float, ...]:
    """How long it takes to read the rows, to fit the fleet, to learn all rates and to date all engines."""
    reading, _ = timed(lambda: connection.execute("SELECT engine, day, tenths FROM reading").fetchall())
    fitting, parameters = timed(lambda: fit_fleet(fleet, today))
    believing, forecast = timed(lambda: FleetForecast(parameters, fleet, today))
    dating, _ = timed(lambda: forecast.windows(np.arange(len(fleet)), np.full(len(fleet), 50.0)))
    return reading, fitting, believing, dating


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
        rounds = [_round(connection, fleet, today) for _ in range(ROUNDS)]
        connection.close()
    reading, fitting, believing, dating = (statistics.median(took) for took in zip(*rounds, strict=True))
    total = fitting + believing + dating
    print(
        f"{engines} engines, {len(fleet.reading_day)} readings, medians of {ROUNDS}: read from SQLite"
        f" {reading:.2f} s; fit {fitting:.2f} s, rates {believing:.2f} s, dates {dating:.2f} s;"
        f" {total / reading:.2f} times the reading"
    )
    bar("fit and dates, of the reading", total / reading, READINGS)
    parameters, moment = fit_fleet(fleet, today), np.arange(1)
    one = fleet.chosen(moment)
    updating, _ = timed(
        lambda: [FleetForecast(parameters, one, today).windows(moment, np.full(1, 50.0)) for _ in range(100)]
    )
    bar("one engine's dates after a reading, ms", 10 * updating, MILLISECONDS)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--engines", type=int, default=100_000, help="engines of the speed run")
    parser.add_argument("--simulated", type=int, default=1600, help="engines of each invented marina")
    parser.add_argument("--seed", type=int, default=7)
    parser.add_argument("--only", choices=("simulated", "weekly", "young", "replaced", "public", "speed"))
    asked = parser.parse_args()
    if asked.only in (None, "speed"):
        speed(asked.engines)
    if asked.only in (None, "simulated"):
        simulated(asked.simulated, asked.seed)
    if asked.only in (None, "weekly"):
        weekly(asked.simulated // 2, asked.seed)
    if asked.only in (None, "young"):
        young(asked.simulated // 2, asked.seed)
    if asked.only in (None, "replaced"):
        replaced(asked.simulated // 2, asked.seed)
    if asked.only in (None, "public"):
        public()
    print("Not met: " + ("; ".join(MISSED) if MISSED else "nothing"))


if __name__ == "__main__":
    main()
