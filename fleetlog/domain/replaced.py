"""What a boat ran before an engine came to it: hours are run by boats, and a new engine has none to show."""

from __future__ import annotations

from datetime import date

from fleetlog.domain.hour_record import hour_record
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.satisfaction import Seen
from fleetlog.domain.values import value_class
from fleetlog.domain.words import same_name

EMPTY_DAYS = 400
"""The place may have stood empty for so long, a winter and the wait for an engine: else it is another use."""

OVERLAP_DAYS = 60
"""The old engine may come off so long after the new one is said to be in service (common practice)."""


@value_class(frozen=True, slots=True)
class RunBefore:
    """What the engine that stood at the place before ran there, up to the day from which another one does."""

    since: date
    readings: tuple[tuple[date, int], ...]


def run_before(ledger: EngineLedger, seen: Seen) -> RunBefore | None:
    """What the boat ran before the engine came to its place, told by at least two readings of the one before.

    None for an engine that was on the boat before, whose own readings tell it, and on a day before its stay.
    """
    if not ledger.replaced:
        return None
    since = _there_since(ledger, seen)
    if seen.boat is None or since is None or since > seen.today:
        return None
    boat_id, position = seen.boat.boat_id, seen.position
    if any(mount.boat_id == boat_id and mount.from_on < since for mount in ledger.mounts):
        return None
    stays = [
        (mount.to_on, former, mount)
        for former in ledger.replaced
        for mount in former.mounts
        if mount.boat_id == boat_id
        and same_name(mount.position or "", position or "")
        and mount.to_on is not None
        and -EMPTY_DAYS <= (mount.to_on - since).days <= OVERLAP_DAYS
    ]
    if not stays:
        return None
    to_on, former, mount = max(stays, key=lambda stay: stay[0])
    record = hour_record(former, seen.today)
    readings = tuple(
        (day, tenths)
        for day, tenths in zip(record.days, record.tenths, strict=True)
        if mount.from_on <= day <= min(to_on, since)
    )
    return RunBefore(since, readings) if record.metered and len(readings) > 1 else None


def _there_since(ledger: EngineLedger, seen: Seen) -> date | None:
    """From which day the engine stands where it stands.

    Where no mount tells it, since it came into service or was first read, whichever is later: a used engine
    was in service elsewhere before.
    """
    mount = ledger.mount_on(seen.today)
    if mount is not None:
        return mount.from_on
    known = [day for day in (seen.engine.in_service_on, *seen.hours.days[:1]) if day is not None]
    return max(known, default=None)
