"""Terms that run on an engine, a part or a repair: a warranty, a useful life; by months, hours or both.

A term is no work and never falls due. It tells until when somebody else answers for a fault, so that work is
done, and a claim made, while that still holds.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from fleetlog.domain.hour_record import HourRecord, is_past
from fleetlog.domain.hours import Tenths
from fleetlog.domain.months import add_months
from fleetlog.domain.promises import Term
from fleetlog.domain.usage import DateWindow, HoursTarget, UsageForecast, meeting_window
from fleetlog.domain.values import value_class


@value_class(frozen=True, slots=True)
class TermStanding:
    """Where a term stands on a day: its limits, which one ends it first, and whether it still runs.

    `window` has the days on which the first of both limits is reached; `governs` says which that is.
    """

    term: Term
    ends_on: date | None
    ends_tenths: Tenths | None
    window: DateWindow | None
    governs: str | None
    is_over: bool

    @property
    def likely_on(self) -> date | None:
        """The day on which it likely ends."""
        return self.window.likely_on if self.window else None


def term_standings(
    terms: Sequence[Term], hours: HourRecord, today: date, forecast: UsageForecast | None
) -> list[TermStanding]:
    """The terms that have begun by a day and are not withdrawn, each with its end, the next to end first.

    A term holds up to and on its last day, and up to its hours. Hours count only on an engine with an hour
    meter; without one age alone counts. Without a forecast nothing is said of hours to come.
    """
    told = [
        _standing(term, hours, today, forecast)
        for term in terms
        if term.starts_on <= today and (term.withdrawn_on is None or term.withdrawn_on > today)
    ]
    return sorted(told, key=lambda s: (s.is_over, s.likely_on or date.max, s.term.sequence))


def _standing(term: Term, hours: HourRecord, today: date, forecast: UsageForecast | None) -> TermStanding:
    ends_on = None if term.months is None else add_months(term.starts_on, term.months)
    ends_tenths = _ends_tenths(term, hours)
    windows = list(_by_hours(ends_tenths, hours, forecast))
    window, governs = meeting_window(ends_on, windows)
    is_over = is_past(ends_on, ends_tenths, today, hours)
    return TermStanding(term, ends_on, ends_tenths, window, governs, is_over)


def _ends_tenths(term: Term, hours: HourRecord) -> Tenths | None:
    if term.tenths is None or not hours.metered:
        return None
    start = term.starts_tenths if term.starts_tenths is not None else hours.tenths_on(term.starts_on)
    return None if start is None else start + term.tenths


def _by_hours(
    ends_tenths: Tenths | None, hours: HourRecord, forecast: UsageForecast | None
) -> Iterator[DateWindow]:
    if ends_tenths is None or hours.last is None:
        return
    if hours.last.tenths < ends_tenths:
        if forecast is not None:
            yield from forecast.windows([HoursTarget(ends_tenths)])
        return
    reached = hours.reached_on(ends_tenths)
    if reached is not None:
        yield DateWindow.of_day(reached)
