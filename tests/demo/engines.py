"""An engine of the demo marina as the shop knows it: its hours day by day, and what was last done when."""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from datetime import date, timedelta
from fractions import Fraction
from pathlib import Path

from fleetlog.domain.months import add_months
from fleetlog.domain.schedule import Limits, Rule, Schedule
from fleetlog.domain.schedule_text import schedule_from_toml
from fleetlog.domain.words import SATISFIED_BY, name_key

SCHEDULES_FOLDER = Path(__file__).parents[2] / "demo_fleet" / "schedules"

MONTH_WEIGHTS = {
    "private": (0, 0, 0.1, 0.35, 0.85, 1.1, 1.35, 1.3, 0.8, 0.35, 0.05, 0),
    "hire": (0, 0, 0.15, 0.5, 0.8, 1.1, 1.5, 1.5, 0.8, 0.4, 0.05, 0),
    "charter": (0, 0, 0.3, 0.6, 1.0, 1.2, 1.35, 1.3, 1.0, 0.6, 0.1, 0),
    "commercial": (0.8, 0.8, 1, 1, 1.1, 1.1, 1.1, 1.1, 1, 1, 0.9, 0.8),
    "rescue": (0.5, 0.5, 0.7, 0.9, 1.1, 1.3, 1.6, 1.6, 1.1, 0.8, 0.6, 0.5),
}
RUNNING_DAYS = {
    "private": (0.07, 0.4),
    "hire": (0.55, 0.85),
    "charter": (0.3, 0.7),
    "commercial": (0.5, 0.05),
    "rescue": (0.2, 0.35),
}
"""The chance of a trip on a weekday and on a day of the weekend, in an average month."""

IMPELLER_LIFE_HOURS = {"salt": 350, "brackish": 600, "fresh": 900}


def read_schedules() -> dict[str, Schedule]:
    """The schedules that stand in demo_fleet, by name; refuses one that cannot be read."""
    found = {}
    for path in sorted(SCHEDULES_FOLDER.glob("*.toml")):
        schedule, problems = schedule_from_toml(path.stem, path.read_text(encoding="utf-8"))
        if schedule is None:
            raise ValueError(f"{path.name}: {problems}")
        found[path.stem] = schedule
    return found


@dataclass
class Line:
    """What the shop remembers of one rule at one position."""

    base_on: date | None
    base_tenths: int
    running_in: bool


@dataclass
class DemoEngine:
    """One outboard; `tenths` are its engine hours so far, `held_back` rules that nobody does on it."""

    serial: str
    family: str
    schedule: Schedule
    in_service_on: date | None
    from_new: bool
    joined_on: date
    tenths: int
    position: str | None
    model: str
    model_year: int
    metered: bool = True
    water: str = "salt"
    use: str = "private"
    boat: int | None = None
    state: str = "in service"
    named_schedule: str | None = None
    keen: float = 1.0
    lines: dict[tuple[str, str | None], Line] = field(default_factory=dict)
    meter_base: tuple[int, int] = (0, 0)
    impeller_ends_at: float = 0.0
    anode_left: dict[str | None, float] = field(default_factory=dict)
    held_back: set[str] = field(default_factory=set)

    def __post_init__(self) -> None:
        self.chance = random.Random(f"engine {self.serial}")
        for rule in self.schedule.rules:
            for position in rule.lines():
                self.lines[rule.key, position] = Line(self.in_service_on, 0, self.from_new)
        self.fit_impeller()

    def fit_impeller(self) -> None:
        """A new impeller, with the life that it will turn out to have."""
        life = self.chance.weibullvariate(IMPELLER_LIFE_HOURS[self.water], 2.6)
        self.impeller_ends_at = self.tenths + 10 * max(life, 25)

    @property
    def impeller_worn(self) -> bool:
        """Whether the vanes of the impeller would be seen to have set or cracked."""
        base = self.lines["impeller-replace", None].base_tenths
        return self.tenths - base > 0.72 * (self.impeller_ends_at - base)

    def meter(self) -> int | None:
        """What its hour meter shows, in tenths; None where it has none."""
        at, reads = self.meter_base
        return self.tenths - at + reads if self.metered else None

    def interval(self, rule: Rule, line: Line) -> Limits:
        """The interval that holds now: first or regular, shortened by severe use."""
        factors = [factor for word, factor in rule.severe if word in (self.water, self.use)]
        shorter = Fraction(min(factors)) if factors else Fraction(1)
        tenths, months = rule.every.tenths, rule.every.months
        if tenths is not None:
            tenths = tenths * shorter
        if months is not None:
            months = max(int(months * shorter), 1)
        if line.running_in and rule.first is not None:
            tenths, months = rule.first.tenths or tenths, rule.first.months or months
        return Limits(tenths, months)

    def is_hardly_run_in(self, rule: Rule, line: Line, today: date) -> bool:
        """Whether the first service would be far too early."""
        if not line.running_in or rule.first is None or line.base_on is None:
            return False
        half_run = self.tenths - line.base_tenths >= (rule.first.tenths or 0) // 2
        return not half_run and today < add_months(line.base_on, rule.first.months or 0) - timedelta(days=12)

    def owed(self, by: date, tenths_ahead: int, today: date) -> list[tuple[Rule, str | None]]:
        """The lines whose limit is reached by a day or within so many tenths; big jobs when nearly due."""
        found = []
        for rule in self.schedule.rules:
            if rule.season or rule.once or rule.renew_when_disturbed or rule.key in self.held_back:
                continue
            for position in rule.lines():
                line = self.lines[rule.key, position]
                if line.base_on is None:
                    found.append((rule, position))
                    continue
                limits = self.interval(rule, line)
                if self.is_hardly_run_in(rule, line, today):
                    continue
                big = (rule.every.months or 99) >= 48
                until = min(by, today + timedelta(days=20)) if big else by
                ahead = min(tenths_ahead, 300) if big else tenths_ahead
                if (limits.months is not None and add_months(line.base_on, limits.months) <= until) or (
                    self.metered
                    and limits.tenths is not None
                    and line.base_tenths + limits.tenths <= self.tenths + ahead
                ):
                    found.append((rule, position))
        return found

    def record(self, action: str, item: str, position: str | None, on: date) -> None:
        """Takes note of an entry: every line that it satisfies starts again."""
        done = [
            rule
            for rule in self.schedule.rules
            if name_key(rule.item) == name_key(item) and action in SATISFIED_BY[rule.action]
        ]
        for rule in (*done, *(self.schedule.rule(key) for first in done for key in first.renews)):
            if rule is None:
                continue
            for place in rule.lines():
                if position is None or place is None or place == position:
                    self.lines[rule.key, place] = Line(on, self.tenths, False)

    def rebuilt(self, scope: str, on: date) -> None:
        """Starts again what a rebuild of this scope resets, with its running-in."""
        for rule in self.schedule.rules:
            if scope in rule.reset_by:
                for place in rule.lines():
                    self.lines[rule.key, place] = Line(on, self.tenths, True)


def trip_hours(chance: random.Random, use: str, annual_hours: float, day: date) -> float:
    """Hours run on a day afloat, 0 on most; `annual_hours` is what a whole season comes to."""
    weights = MONTH_WEIGHTS[use]
    weekday, weekend = RUNNING_DAYS[use]
    usual = weekend if day.weekday() >= 5 else weekday
    likely = min(usual * weights[day.month - 1], 0.95)
    if chance.random() >= likely:
        return 0.0
    outings = sum(30.4 * (5 * min(weekday * w, 0.95) + 2 * min(weekend * w, 0.95)) / 7 for w in weights)
    return min(chance.weibullvariate(1.11 * annual_hours / outings, 1.6), 19.0)
