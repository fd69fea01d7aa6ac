"""When given engine hours were reached: between which readings, and on which days between these.

Engines are often read because hours were reached, at a service that fell due: then the later reading lies
close behind. What both readings show says where between them it was.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import betaincinv

from fleetlog.forecast.evidence import Days, FleetUsage
from fleetlog.forecast.fleet import FleetForecast
from fleetlog.forecast.intervals import over_kinds
from fleetlog.forecast.season import Layups

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

PARTS = 8
"""Into so many parts, each as likely, the time between two readings is cut."""

BURSTS_BEFORE, BURSTS_AFTER = 0.65, 0.55
"""Parts of a burst on either side of the one that reaches given hours. Evenly it were half a burst each; more
lie before it, since readings follow hours. Set by simulated fleets, not by a source."""

UNEVEN = 0.01
"""By how much each further burst tells less of where they fell, for weeks differ. Set by simulated fleets."""


@dataclass(frozen=True, eq=False)
class Crossings:
    """Between which days each case's hours were reached; `high_day` 0 where no reading shows it yet.

    Of the `ran` hours that lie between the two readings, a share `part` came before the case's hours.
    """

    low_day: Days
    high_day: Days
    ran: Floats
    part: Floats

    def chosen(self, rows: Flags) -> Crossings:
        """The cases for which `rows` holds."""
        return Crossings(self.low_day[rows], self.high_day[rows], self.ran[rows], self.part[rows])


def crossings(fleet: FleetUsage, engine: Days, engine_hours: Floats) -> Crossings:
    """Between which readings of the whole fleet the engine hours of each case were reached.

    The low day is the last one that shows less, the high day the next reading after it.
    """
    span = float(np.max(fleet.reading_hours, initial=0.0)) + np.max(engine_hours, initial=0.0) + 1.0
    hours = fleet.reading_hours.copy()
    starts = fleet.reading_offsets[:-1]
    running = np.maximum.accumulate(fleet.reading_engine * span + hours) if len(hours) else hours
    at = np.searchsorted(running, engine * span + engine_hours - 1e-6)
    at = np.clip(at, starts[engine], fleet.reading_offsets[1:][engine])
    days, shown = np.append(fleet.reading_day, 0), np.append(hours, 0.0)
    before = np.maximum(at - 1, 0)
    has_low, has_high = at > starts[engine], at < fleet.reading_offsets[1:][engine]
    ran = np.where(has_low & has_high, shown[at] - shown[before], 0.0)
    part = np.divide(engine_hours - shown[before], ran, out=np.full(len(at), 0.5), where=ran > 0)
    return Crossings(
        low_day=np.where(has_low, days[before], 0),
        high_day=np.where(has_high, days[at], 0),
        ran=ran,
        part=np.clip(part, 0.0, 1.0),
    )


def days_reached(forecast: FleetForecast, fleet: FleetUsage, engine: Days, found: Crossings) -> Days:
    """Days after which and by whose end hours were reached: two tables (cases x PARTS), each part as likely.

    The first is the low day, the last the high day; all are the low day where hours are not reached yet. By
    the engine's clock, with the lay-ups of the whole `fleet`, bursts fall evenly between two readings: the
    one that reaches a share of the hours is an order statistic, whose place has a beta distribution (David
    and Nagaraja, Order Statistics, 3rd ed. 2003, chapter 2; from memory).
    """
    stored = Layups.of(fleet, int(fleet.reading_day.max())).stored(forecast.season)
    cuts = np.arange(PARTS + 1) / PARTS
    rows, chance = np.repeat(engine, len(cuts)), forecast.beliefs.chance

    def clock(days: Days) -> Floats:
        return over_kinds(chance[rows], stored.at(rows, days))

    bursts = found.ran / forecast.beliefs.dispersion[engine]
    told = bursts / (1 + UNEVEN * bursts)
    before, after = told * found.part + BURSTS_BEFORE, told * (1 - found.part) + BURSTS_AFTER
    place = betaincinv(before[:, None], after[:, None], cuts).ravel()
    last = np.where(found.high_day > 0, found.high_day, found.low_day)
    low, high = np.repeat(found.low_day, len(cuts)), np.repeat(last, len(cuts))
    begun = clock(low)
    goal = begun + place * (clock(high) - begun)
    while bool((high > low).any()):
        middle = (low + high) // 2
        short = clock(middle) < goal
        low, high = np.where(short, middle + 1, low), np.where(short, high, middle)
        low = np.minimum(low, high)
    by = high.reshape(-1, len(cuts))
    by[:, 0], by[:, -1] = found.low_day, last
    # A part that begins and ends on one day is of that day.
    return np.stack([np.minimum(by[:, :-1], np.maximum(by[:, 1:] - 1, by[:, :1])), by[:, 1:]])


def chances_on(forecast: FleetForecast, engine: Days, hours: Floats, days: Days) -> Floats:
    """The chances that engines run so many hours after their last reading by given days (a row a case)."""
    since = np.broadcast_to(forecast.last_day[engine][:, None], days.shape)
    who, more = np.broadcast_to(engine[:, None], days.shape), np.broadcast_to(hours[:, None], days.shape)
    by = np.maximum(days, since)
    chance = forecast.reached(who.ravel(), more.ravel(), since.ravel(), by.ravel()).reshape(days.shape)
    return np.where(by > since, chance, 0.0)
