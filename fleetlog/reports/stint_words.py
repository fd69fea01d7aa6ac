"""The stints of an item that ran elsewhere or came off and went on again, as a sentence of a page."""

from __future__ import annotations

from datetime import date

from fleetlog.domain.stints import TrackedItem
from fleetlog.domain.travel import Homes, Leg, journey_of
from fleetlog.reports.words import at_least, day_text, hours_shown, months_shown


def stints_text(homes: Homes, serial: str, item: TrackedItem, today: date) -> str:
    """Each stint with its engine, days, hours and months; empty where there is but one."""
    legs = journey_of(homes, serial, item).legs
    if len(legs) < 2:
        return ""
    return "; ".join(_leg(leg, serial, today) for leg in legs) + "."


def _leg(leg: Leg, serial: str, today: date) -> str:
    stint = leg.stint
    where = "here" if leg.serial == serial else f"engine {leg.serial}"
    days = [f"from {day_text(stint.from_on)}"] if stint.from_on is not None else []
    days += [f"to {day_text(stint.to_on)}"] if stint.to_on is not None else []
    hours, months = leg.run_tenths, leg.run_months(today)
    run = [at_least(hours_shown(hours), is_least=stint.is_least)] if hours is not None else []
    run += [months_shown(months)] if months is not None else []
    ran = f" ({', '.join(run)})" if run else ""
    return " ".join([where, *days]) + ran
