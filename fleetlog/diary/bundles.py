"""Work bundled into visits: what a boat is owed, and what soon comes up under an access open anyway."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from fleetlog.diary.access import AccessTimes, labour_tenths, opened_by, strip_downs
from fleetlog.diary.work import ALWAYS_OWED, OwedWork, total_parts
from fleetlog.domain.schedule import PartNeed
from fleetlog.domain.words import BEFORE_LAY_UP, NEXT_ACCESS, name_key

LAY_UP_NEAR_DAYS = 14
"""So many days before a lay-up its work can be done: a boat runs little any more (own rule)."""


@dataclass(frozen=True, slots=True)
class BundleTerms:
    """How far a bundle looks.

    Work expected up to `horizon_to_on` is owed. Work expected up to `ride_along_days` after that joins where
    its access is open anyway or where the boat's other engine has the same job; seasonal work never does,
    it has a time of its own. No part of a visit's life is said to be wasted as long as no line gives up more
    than `tolerated_waste_share` of its interval. A visit of more than `longest_visit_tenths` (tenths of an
    hour) is divided where it can be.
    """

    horizon_to_on: date
    ride_along_days: int = 90
    tolerated_waste_share: float = 0.1
    longest_visit_tenths: int | None = None
    access_times: AccessTimes = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class BundleLine:
    """One job of a visit and why it is in it; `owed` is false for what only rides along."""

    work: OwedWork
    why: str
    owed: bool


@dataclass(frozen=True, slots=True)
class Bundle:
    """One visit to be made: a boat's jobs that are done together.

    `labour_tenths` counts a shared access once. From `first_sensible_on` no life worth speaking of is wasted;
    after `last_sensible_on` the chance that a line is overdue exceeds one in ten (or, without a forecast, its
    date has passed).
    """

    bundle_id: str
    boat_id: str
    owner_id: str
    lines: tuple[BundleLine, ...]
    labour_tenths: int
    parts: tuple[PartNeed, ...]
    first_sensible_on: date
    last_sensible_on: date


@dataclass(frozen=True, slots=True)
class Bundling:
    """The bundles, most pressing first, and the work that waits for an access to be opened."""

    bundles: tuple[Bundle, ...]
    waiting: tuple[BundleLine, ...]


def bundle_work(work: Iterable[OwedWork], today: date, terms: BundleTerms) -> Bundling:
    """Bundle the work of each boat into one visit, or into several where one would be too long.

    A line put back used waits for its access: it joins a visit that opens it (or, where it needs no access,
    any visit of its engine) and makes none by itself. The ids of bundles are the boat's, numbered from the
    second on, so that a plan can be compared with the last one.
    """
    by_boat: dict[str, list[OwedWork]] = {}
    for line in work:
        by_boat.setdefault(line.boat_id, []).append(line)
    visits: dict[str, list[list[BundleLine]]] = {}
    waiting: list[BundleLine] = []
    for boat_id in sorted(by_boat):
        parted, left = _parted_by_lay_up(by_boat[boat_id], today, terms)
        waiting += left
        visits[boat_id] = [visit for lines in parted for visit in _divided(lines, terms)]
    return Bundling(numbered_bundles(visits, today, terms), tuple(waiting))


def _parted_by_lay_up(
    work: Sequence[OwedWork], today: date, terms: BundleTerms
) -> tuple[list[list[BundleLine]], list[BundleLine]]:
    """What is done of a boat's work, and what waits for its access.

    Work before a lay-up that is weeks off would be undone again by running on: what cannot wait for it comes
    by itself.
    """
    lines, waiting = lines_of_boat(work, terms)
    starts = [line.work.expected_on for line in lines if line.work.season == BEFORE_LAY_UP]
    near_on = min((on for on in starts if on is not None), default=today) - timedelta(days=LAY_UP_NEAR_DAYS)
    owed = [line.work for line in lines if line.owed and line.work.state != NEXT_ACCESS]
    pressing = [
        w for w in owed if w.season != BEFORE_LAY_UP and _sensible_days([w], today, terms)[1] < near_on
    ]
    if not pressing or near_on <= today:
        return [lines], waiting
    first, _ = lines_of_boat([w for w in work if w in pressing or w not in owed], terms)
    done = [line.work for line in first]
    rest, waiting = lines_of_boat([w for w in work if w not in done], terms)
    return [first, rest], waiting


def numbered_bundles(
    visits: Mapping[str, Sequence[Sequence[BundleLine]]], today: date, terms: BundleTerms
) -> tuple[Bundle, ...]:
    """The visits of each boat, numbered boat by boat, the most pressing first."""
    bundles = [
        _bundle(boat_id if place == 1 else f"{boat_id}/{place}", lines, today, terms)
        for boat_id in sorted(visits)
        for place, lines in enumerate(visits[boat_id], start=1)
    ]
    return tuple(sorted(bundles, key=lambda bundle: (bundle.last_sensible_on, bundle.bundle_id)))


def lines_of_boat(work: Sequence[OwedWork], terms: BundleTerms) -> tuple[list[BundleLine], list[BundleLine]]:
    """What is done of a boat's work, each line with its reason, and what waits for its access."""
    times = terms.access_times
    chosen = [BundleLine(line, why, owed=True) for line in work if (why := _why_owed(line, terms))]
    opened: dict[str, dict[str, str]] = {}
    for member in chosen:
        for access in opened_by(member.work.access, times):
            opened.setdefault(member.work.serial, {}).setdefault(access, member.work.title)
    owed_rules = {(member.work.rule, member.work.position): member.work.serial for member in reversed(chosen)}
    engines = {member.work.serial for member in chosen}
    ride_until_on = terms.horizon_to_on + timedelta(days=terms.ride_along_days)
    waiting = []
    for line in work:
        if _why_owed(line, terms):
            continue
        opener = opened.get(line.serial, {}).get(name_key(line.access)) if line.access else None
        if line.state == NEXT_ACCESS:
            if opener:
                why = f"was put back used; {line.access} for “{opener}” anyway"
                chosen.append(BundleLine(line, why, owed=True))
            elif not line.access and line.serial in engines:
                chosen.append(BundleLine(line, "was put back used; needs no access", owed=True))
            else:
                what = f"until {line.access}" if line.access else "for the engine's next visit"
                waiting.append(BundleLine(line, f"was put back used; waits {what}", owed=True))
            continue
        expected_on = line.expected_on
        if expected_on is None or expected_on > ride_until_on or line.season:
            continue
        twin = owed_rules.get((line.rule, line.position))
        if opener:
            why = f"expected on {expected_on}; {line.access} for “{opener}” anyway"
            chosen.append(BundleLine(line, why, owed=False))
        elif twin is not None and twin != line.serial:
            why = f"expected on {expected_on}; done on the boat's other engine {twin} anyway"
            chosen.append(BundleLine(line, why, owed=False))
    return (chosen if engines else []), waiting


def _why_owed(line: OwedWork, terms: BundleTerms) -> str | None:
    if line.state == NEXT_ACCESS:
        return None
    expected_on = line.expected_on
    if expected_on is not None and expected_on <= terms.horizon_to_on:
        told = f", expected on {expected_on}" if line.state not in ALWAYS_OWED - {"due"} else ""
        return (line.state if line.state in ALWAYS_OWED else "due") + told
    return line.state if line.state in ALWAYS_OWED else None


def _divided(lines: Sequence[BundleLine], terms: BundleTerms) -> list[list[BundleLine]]:
    """The lines in visits no longer than allowed; jobs that share a strip-down stay together."""
    if not lines:
        return []
    longest = terms.longest_visit_tenths
    if longest is None or _labour(lines, terms) <= longest:
        return [list(lines)]
    groups: list[tuple[frozenset[tuple[str, str]], list[BundleLine]]] = []
    for line in lines:
        keys = strip_downs(line.work, terms.access_times)
        joined = [line]
        apart = []
        for other_keys, other in groups:
            if keys & other_keys:
                keys, joined = keys | other_keys, other + joined
            else:
                apart.append((other_keys, other))
        groups = [*apart, (keys, joined)]
    visits: list[list[BundleLine]] = []
    for _, group in sorted(groups, key=lambda group: _pressing(group[1])):
        for visit in visits:
            if _labour([*visit, *group], terms) <= longest:
                visit += group
                break
        else:
            visits.append(list(group))
    return visits


def _labour(lines: Sequence[BundleLine], terms: BundleTerms) -> int:
    return labour_tenths((line.work for line in lines), terms.access_times)


def _pressing(lines: Sequence[BundleLine]) -> tuple[date, str, str]:
    return min(
        (line.work.early_on or line.work.expected_on or date.min, line.work.serial, line.work.rule)
        for line in lines
    )


def _bundle(bundle_id: str, lines: Sequence[BundleLine], today: date, terms: BundleTerms) -> Bundle:
    first_on, last_on = _sensible_days([line.work for line in lines if line.owed], today, terms)
    return Bundle(
        bundle_id=bundle_id,
        boat_id=lines[0].work.boat_id,
        owner_id=lines[0].work.owner_id,
        lines=tuple(lines),
        labour_tenths=_labour(lines, terms),
        parts=total_parts(need for line in lines for need in line.work.parts),
        first_sensible_on=first_on,
        last_sensible_on=last_on,
    )


def _sensible_days(owed: Sequence[OwedWork], today: date, terms: BundleTerms) -> tuple[date, date]:
    """First and last sensible day, never before today; where lines pull apart, the pressing one counts."""
    firsts, lasts = [today], []
    for line in owed:
        expected_on = line.expected_on
        if line.state == NEXT_ACCESS:
            continue
        if expected_on is None:
            lasts.append(today)
            continue
        lasts.append(max(today, line.early_on or expected_on))
        spare_days = int((line.interval_days or 0) * terms.tolerated_waste_share)
        firsts.append(expected_on - timedelta(days=spare_days))
    last_on = min(lasts, default=max(today, terms.horizon_to_on))
    return min(max(firsts), last_on), last_on
