"""An engine's due lines by a forecast of its own, as a test asks for them."""

from __future__ import annotations

from datetime import date

from fleetlog.domain.due import DEFAULT_WINDOW_DAYS, DueLine, engine_limits, lines_from
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.schedule import Schedule
from fleetlog.domain.usage import UsageForecast


def due_lines(
    ledger: EngineLedger,
    schedule: Schedule,
    today: date,
    forecast: UsageForecast,
    within_days: int = DEFAULT_WINDOW_DAYS,
) -> list[DueLine]:
    """Every due line of an engine on a day, in the order of its schedule."""
    limits = engine_limits(ledger, schedule, today).resting_on(forecast.basis())
    return lines_from(limits, forecast.windows(limits.targets), within_days)
