"""The boats' own seasons: lay-ups recorded or assumed, work pulled to a lay-up's start, the fit-out list."""

from __future__ import annotations

import calendar
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from fleetlog.diary.work import ALWAYS_OWED, DateSpan, OwedWork
from fleetlog.domain.season import KEPT_UP_DAYS, SHORT_STAY_DAYS, expected_launch
from fleetlog.domain.words import BEFORE_LAUNCH, NEEDS_A_READING, NEXT_ACCESS, NO_RECORD

TWELVE_MONTHS_DAYS = (360, 370)
"""An interval of so many days counts as one of twelve months."""

OUT_OF_SEASON_USES = frozenset({"hire", "charter", "commercial"})
"""Boats that earn in the season: their best time is outside it, laid up or not."""


@dataclass(frozen=True, slots=True)
class LayUp:
    """The time a boat is stored: from the day it is laid up to the day it is launched, if that is known."""

    from_on: date
    to_on: date | None = None
    assumed: bool = False

    def touches(self, from_on: date, to_on: date) -> bool:
        """Whether the boat is stored on any of these days, both ends included."""
        return self.from_on <= to_on and (self.to_on is None or self.to_on >= from_on)


@dataclass(frozen=True, slots=True)
class FitOutLine:
    """A line of a fit-out list, and why it stands there."""

    work: OwedWork
    why: str


@dataclass(frozen=True, slots=True)
class FitOut:
    """What a boat needs before it is launched; `launch_assumed` where its past years say the day."""

    boat_id: str
    owner_id: str
    launch_on: date
    launch_assumed: bool
    lines: tuple[FitOutLine, ...]


def _in_year(day: date, year: int) -> date:
    return day.replace(year=year, day=min(day.day, calendar.monthrange(year, day.month)[1]))


def expected_layups(recorded: Sequence[LayUp], from_on: date, to_on: date) -> tuple[LayUp, ...]:
    """The lay-ups that touch the days asked for: those recorded, then the anniversaries of the latest.

    An anniversary is marked as assumed, and so is one without a day of launch, which ends when the boat is
    expected afloat again. A boat out of use stays stored, and a habit not kept up has no anniversaries.
    """
    found, last_launch_on = [], None
    for layup in sorted(recorded, key=lambda layup: layup.from_on):
        if layup.to_on is None:
            launch_on = expected_launch(layup.from_on, last_launch_on, from_on)
            layup = LayUp(layup.from_on, launch_on, assumed=launch_on is not None)
        elif (layup.to_on - layup.from_on).days > SHORT_STAY_DAYS:
            last_launch_on = layup.to_on
        found.append(layup)
    latest = found[-1] if found else None
    if latest and latest.to_on and (from_on - latest.to_on).days <= KEPT_UP_DAYS:
        stay = latest.to_on - latest.from_on
        for year in range(latest.from_on.year + 1, to_on.year + 1):
            start_on = _in_year(latest.from_on, year)
            found.append(LayUp(start_on, start_on + stay, assumed=True))
    return tuple(layup for layup in found if layup.touches(from_on, to_on))


def pull_to_layups(
    work: Iterable[OwedWork], layups: Mapping[str, Sequence[LayUp]], today: date
) -> tuple[OwedWork, ...]:
    """The work, with twelve-month lines that fall into a lay-up of their boat pulled to its start.

    The boat is ashore then and the engine would be put away undone; the dates of a pulled line are none
    after the lay-up's first day. A lay-up that has begun pulls nothing, and season rules have dates of
    their own.
    """
    return tuple(_pulled(line, layups.get(line.boat_id, ()), today) for line in work)


def _pulled(line: OwedWork, layups: Sequence[LayUp], today: date) -> OwedWork:
    expected_on = line.expected_on
    low_days, high_days = TWELVE_MONTHS_DAYS
    if expected_on is None or line.season or not low_days <= (line.interval_days or 0) <= high_days:
        return line
    for layup in layups:
        inside = layup.from_on < expected_on and (layup.to_on is None or expected_on <= layup.to_on)
        if inside and layup.from_on >= today:
            start_on = layup.from_on
            return replace(
                line,
                due_on=min(line.due_on or start_on, start_on),
                early_on=min(line.early_on or start_on, start_on),
                likely_on=min(line.likely_on or start_on, start_on),
                late_on=min(line.late_on or start_on, start_on),
            )
    return line


_RUNNING_SOON = timedelta(weeks=4)


def fit_out_list(
    work: Iterable[OwedWork],
    layups: Mapping[str, Sequence[LayUp]],
    today: date,
    weeks_before: int = 6,
) -> tuple[FitOut, ...]:
    """What the boats launched within `weeks_before` weeks from today need first, earliest launch first.

    A line stands on it if its rule is for before the launch, if it is owed already, or if its limit is as
    likely as not reached within four weeks of the launch, when the boat should be running. Work before a
    lay-up is none for a launch.
    """
    by_boat: dict[str, list[OwedWork]] = {}
    for line in work:
        by_boat.setdefault(line.boat_id, []).append(line)
    found = []
    for boat_id, lines in by_boat.items():
        launches = [
            (layup.to_on, layup.assumed)
            for layup in layups.get(boat_id, ())
            if layup.to_on is not None and today <= layup.to_on <= today + timedelta(weeks=weeks_before)
        ]
        if not launches:
            continue
        launch_on, assumed = min(launches)
        needed = [
            FitOutLine(line, why)
            for line in lines
            if (why := _why_before_launch(line, launch_on + _RUNNING_SOON))
        ]
        if needed:
            found.append(FitOut(boat_id, lines[0].owner_id, launch_on, assumed, tuple(needed)))
    return tuple(sorted(found, key=lambda fit_out: (fit_out.launch_on, fit_out.boat_id)))


_OWED_WORDS = {NO_RECORD: "has no record", NEEDS_A_READING: NEEDS_A_READING}


def _why_before_launch(line: OwedWork, until_on: date) -> str | None:
    if line.season == BEFORE_LAUNCH:
        if line.expected_on is None or line.expected_on <= until_on:
            return "is for before the launch"
        return None
    if line.season is not None:
        return None
    if line.state in ALWAYS_OWED:
        return _OWED_WORDS.get(line.state, f"is {line.state}")
    if line.state == NEXT_ACCESS:
        return "was put back used; renew it if its access is opened"
    if line.expected_on is not None and line.expected_on <= until_on:
        return f"is expected on {line.expected_on}, within weeks of the launch"
    return None


def best_spans(
    use: str, layups: Sequence[LayUp], hire_seasons: Sequence[DateSpan], from_on: date, to_on: date
) -> tuple[DateSpan, ...]:
    """The days that suit the boat best: in its lay-up and, for hire and the like, out of their seasons.

    Empty where nothing speaks for one day over another.
    """
    spans = [
        DateSpan(max(layup.from_on, from_on), min(layup.to_on or to_on, to_on))
        for layup in layups
        if layup.touches(from_on, to_on)
    ]
    if use in OUT_OF_SEASON_USES and hire_seasons:
        free_from_on = from_on
        for season in sorted(hire_seasons, key=lambda span: span.from_on):
            spans.append(DateSpan(free_from_on, min(to_on, season.from_on - timedelta(days=1))))
            free_from_on = max(free_from_on, season.to_on + timedelta(days=1))
        spans.append(DateSpan(free_from_on, to_on))
        spans = [span for span in spans if span.from_on <= span.to_on]
    return tuple(sorted(set(spans), key=lambda span: (span.from_on, span.to_on)))
