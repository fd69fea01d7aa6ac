"""One engine's use as its ledger tells it, in the form in which forecasts take it."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import TYPE_CHECKING

from fleetlog.domain.ledger import EngineLedger, taken_back
from fleetlog.domain.records import Layup
from fleetlog.domain.replaced import run_before
from fleetlog.domain.satisfaction import Seen

if TYPE_CHECKING:
    from fleetlog.forecast.evidence import EngineUsage


def usage_of(ledger: EngineLedger, seen: Seen) -> EngineUsage:
    """One engine's use as seen on a day: accepted readings, its boat's use, lay-ups and changes.

    Where the engine replaced another one, what that ran on the boat stands for what this ran elsewhere.
    """
    from fleetlog.forecast.evidence import EngineUsage

    record, boat_ledger, boat, engine = seen.hours, seen.boat_ledger, seen.boat, seen.engine
    before = run_before(ledger, seen)
    readings = zip(record.days, record.tenths, strict=True)
    return EngineUsage(
        key=engine.serial,
        use=boat.use if boat else None,
        is_on_boat=boat is not None,
        metered=record.metered,
        readings=tuple(read for read in readings if before is None or read[0] >= before.since),
        replaced_readings=before.readings if before else (),
        layups=tuple(_stored(boat_ledger.layups)) if boat_ledger else (),
        in_service_on=engine.in_service_on,
        came_on=before.since if before else None,
        changed_on=_changed_on(ledger, seen.today, by_own_readings=before is None),
    )


def _stored(layups: Iterable[Layup]) -> Iterable[tuple[date, date | None]]:
    return ((lay.from_on, lay.to_on) for lay in sorted(layups, key=lambda lay: lay.from_on))


def _changed_on(ledger: EngineLedger, today: date, *, by_own_readings: bool) -> date | None:
    """The day from which the boat, its owner and its use are today's; None where they always were.

    A move from another boat counts only where its use is told `by_own_readings`, since those are of both
    boats; where the engine it replaced tells its use, all readings are of the present one.
    """
    days = []
    mount = ledger.mount_on(today)
    if mount is not None and by_own_readings:
        elsewhere = [m for m in ledger.mounts if m.from_on < mount.from_on and m.boat_id != mount.boat_id]
        if elsewhere:
            back = max(m.from_on for m in elsewhere)
            days.append(min(m.from_on for m in ledger.mounts if back < m.from_on <= mount.from_on))
    boat_ledger, _ = ledger.place_on(today)
    if boat_ledger is not None:
        not_so = taken_back(boat_ledger.not_sold)
        owned = sorted(
            o.from_on for o in boat_ledger.ownership if o.from_on <= today and o.from_on not in not_so
        )
        days.extend(owned[-1:])
        days.extend(c.until_on for c in boat_ledger.changes if c.field == "use" and c.until_on <= today)
    return max(days, default=None)
