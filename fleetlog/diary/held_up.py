"""Work that would wait for a part of other work: it comes by itself where waiting weighs more than a trip."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal

from fleetlog.diary.access import strip_downs
from fleetlog.diary.bundles import (
    Bundle,
    BundleLine,
    BundleTerms,
    Bundling,
    lines_of_boat,
    numbered_bundles,
)
from fleetlog.diary.requests import RequestTerms, risk_of
from fleetlog.diary.risk import PlanWeights, visit_points
from fleetlog.diary.shop import VisitRequest
from fleetlog.diary.supply import PartsReady
from fleetlog.domain.gravity import speaks_of_gravity
from fleetlog.domain.words import NEXT_ACCESS, NO_RECORD, OVERDUE, name_key

STRIP_DOWN_TENTHS = 5
"""An access of so many tenths of an hour, or of unknown time, is not opened twice for want of a part."""


def divide_held_up(
    bundling: Bundling,
    ready: Mapping[str, PartsReady],
    not_before: Mapping[str, date],
    today: date,
    terms: BundleTerms,
    asked: RequestTerms,
) -> Bundling:
    """The visits, those divided that parts of some of their jobs would hold up too long.

    What is ready goes first, the rest when its parts are there; what only rides along is left for another
    time where it has nothing to ride with any more. Before the day in `not_before` waiting harms no boat: it
    does not come, or lies ashore.
    """
    groups: dict[str, list[Sequence[BundleLine]]] = {}
    waiting = list(bundling.waiting)
    for bundle in sorted(bundling.bundles, key=lambda b: (len(b.bundle_id), b.bundle_id)):
        days = _ready_days(bundle, ready[bundle.bundle_id], today, terms)
        earliest_on = not_before.get(bundle.boat_id, today)
        now, later = _parted(bundle, [max(day, earliest_on) for day in days], today, asked)
        visits = groups.setdefault(bundle.boat_id, [])
        if not later:
            visits.append(now)
            continue
        first, left = lines_of_boat([line.work for line in now], terms)
        rest, left = lines_of_boat([line.work for line in (*later, *left)], terms)
        visits += [lines for lines in (first, rest) if lines]
        waiting += left
    return Bundling(numbered_bundles(groups, today, terms), tuple(waiting))


def _parted(
    bundle: Bundle, days: Sequence[date], today: date, asked: RequestTerms
) -> tuple[Sequence[BundleLine], Sequence[BundleLine]]:
    """The lines that come first, and those that wait for their parts, by the day of each; or all, and none.

    What only rides along holds nothing up. A boat comes twice only for what is grave and overdue or without
    a record, on items that are not worked on again with the rest.
    """
    last_on = max(days)
    weights = PlanWeights()
    most: float = weights.trip_points
    parted: tuple[Sequence[BundleLine], Sequence[BundleLine]] = (bundle.lines, ())
    for cut_on in sorted(set(days) - {last_on}):
        first = [line for line, day in zip(bundle.lines, days, strict=True) if day <= cut_on]
        rest = [line for line, day in zip(bundle.lines, days, strict=True) if day > cut_on]
        pressing = [line for line in first if line.owed and not is_put_back(line)]
        if any(line.owed for line in rest):
            again = {(line.work.serial, name_key(line.work.item)) for line in rest if line.owed}
            pressing = [
                line
                for line in pressing
                if line.work.state in (OVERDUE, NO_RECORD)
                and speaks_of_gravity(line.work.consequence)
                and (line.work.serial, name_key(line.work.item)) not in again
            ]
        if not pressing:
            continue
        risks = tuple(risk_of(line, today, asked) for line in pressing)
        request = VisitRequest(bundle.bundle_id, bundle.boat_id, bundle.owner_id, 0, risks)
        late, _ = visit_points(request, cut_on, (last_on - cut_on).days + 1, weights)
        if late[-1] - late[0] > most:
            most = late[-1] - late[0]
            parted = first, rest
    return parted


def _ready_days(bundle: Bundle, ready: PartsReady, today: date, terms: BundleTerms) -> list[date]:
    """The day from which each line has its parts; what is owed is served before what rides along.

    Owed work behind one strip-down waits together, and so does what opens the access of a part put back
    used, which is to be renewed then.
    """
    coming: dict[str, list[tuple[date, Decimal]]] = {}
    for wait in sorted(ready.waits, key=lambda wait: wait.on):
        coming.setdefault(wait.number, []).append((wait.on, wait.quantity))
    for need in bundle.parts:
        waited_for = sum(quantity for _, quantity in coming.get(need.number, ()))
        coming.setdefault(need.number, []).insert(0, (today, need.quantity - waited_for))
    days = [today] * len(bundle.lines)
    for place in sorted(range(len(days)), key=lambda place: not bundle.lines[place].owed):
        for need in bundle.lines[place].work.parts:
            days[place] = max(days[place], _taken(coming[need.number], need.quantity))
    opened = [strip_downs(line.work, terms.access_times) for line in bundle.lines]
    for place in sorted(range(len(days)), key=lambda place: days[place], reverse=True):
        line = bundle.lines[place]
        shared = {
            (serial, access)
            for serial, access in opened[place]
            if (is_put_back(line) and access == name_key(line.work.access or ""))
            or access not in terms.access_times
            or terms.access_times[access].tenths >= STRIP_DOWN_TENTHS
        }
        for other, also in enumerate(opened):
            if line.owed and shared & also:
                days[other] = max(days[other], days[place])
    return days


def is_put_back(line: BundleLine) -> bool:
    """Whether a line is of a part put back used, which waits for its access."""
    return line.work.state == NEXT_ACCESS


def _taken(coming: list[tuple[date, Decimal]], quantity: Decimal) -> date:
    """Take so many of a part, the first to come first; the day on which the last of them is there."""
    on, left = coming[0][0], quantity
    while left > 0 and coming:
        on, there = coming.pop(0)
        if there > left:
            coming.insert(0, (on, there - left))
        left -= min(there, left)
    return on
