"""The days on which lay-ups of a boat begin and end: for work bound to them, and as they are expected."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from fleetlog.domain.months import add_months
from fleetlog.domain.records import Layup
from fleetlog.domain.words import BEFORE_LAY_UP
from fleetlog.errors import as_word

SHORT_STAY_DAYS = 20
"""A shorter stay ashore says nothing about a boat's season."""

STORED_DAYS = 180
"""How long a boat is expected to be stored whose launch is not known, nor that of an earlier year: a winter,
common practice."""

KEPT_UP_DAYS = 450
"""A habit of laying up is assumed to go on if the latest lay-up ended no longer ago than this, and a boat
stored without a day of launch for longer is out of use until further notice."""


def expected_launch(stored_on: date, last_launch_on: date | None, today: date) -> date | None:
    """When a boat stored without a day of launch is expected afloat again; None where it is out of use.

    At the time of year of its last launch, without one after a winter, and never on a day gone by.
    `fleetlog.forecast.season` says the same of all engines of a fleet at once.
    """
    if (today - stored_on).days > KEPT_UP_DAYS:
        return None
    if last_launch_on is None:
        launch_on = stored_on + timedelta(days=STORED_DAYS)
    else:
        launch_on = first_mark_from([last_launch_on], stored_on + timedelta(days=SHORT_STAY_DAYS))
    return max(launch_on, today + timedelta(days=1))


def season_marks(layups: Sequence[Layup], season: str) -> list[date]:
    """The recorded starts (before lay-up) or ends (before launch), in order, plans included."""
    days = {lay.from_on if season == BEFORE_LAY_UP else lay.to_on for lay in layups}
    return sorted(day for day in days if day is not None)


def shared_layups(layups: Iterable[Layup]) -> list[tuple[Layup, Layup]]:
    """Lay-ups of one boat of which the later begins before the earlier has ended: it cannot be in two."""
    in_order = sorted(layups, key=lambda lay: lay.from_on)
    return [
        (one, two)
        for place, one in enumerate(in_order)
        for two in in_order[place + 1 :]
        if one.to_on is None or two.from_on < one.to_on
    ]


def layup_text(layup: Layup) -> str:
    """`2026-10-15 to 2027-04-10`, or `... to further notice`."""
    return f"{layup.from_on.isoformat()} to {layup.to_on.isoformat() if layup.to_on else 'further notice'}"


def shared_text(boat: str, one: Layup, two: Layup) -> str:
    """What is said of two lay-ups of a boat that share days, with how one of them is withdrawn."""
    return (
        f"{boat} is laid up twice at once: {layup_text(one)}, and {layup_text(two)}; where one of them is not"
        f" so: fleetlog boat not-laid-up {as_word(boat)} --from {one.from_on.isoformat()} --reason WHY"
    )


def first_mark_from(marks: Sequence[date], day: date) -> date:
    """The first mark on or after a day; past the recorded ones, the anniversary of the latest."""
    for mark in marks:
        if mark >= day:
            return mark
    latest = marks[-1]
    years = day.year - latest.year
    anniversary = add_months(latest, 12 * years)
    return anniversary if anniversary >= day else add_months(latest, 12 * (years + 1))


def mark_after_work(marks: Sequence[date], done_on: date) -> date:
    """When work done on a day is due again: on the mark after the one it was done for.

    It was done for the mark nearest in time, a little late included; of two as near, for the earlier.
    """
    following = first_mark_from(marks, done_on)
    before = _marks_before(marks, following)
    nearest = following
    if before and done_on - before[-1] <= following - done_on:
        nearest = before[-1]
    return first_mark_from(marks, date.fromordinal(nearest.toordinal() + 1))


def _marks_before(marks: Sequence[date], mark: date) -> list[date]:
    """The recorded marks, and the anniversaries of the latest, that come before one of them."""
    latest = marks[-1]
    years = range(1, mark.year - latest.year)
    return [*(m for m in marks if m < mark), *(add_months(latest, 12 * y) for y in years)]
