"""Who asks, when, and which day counts as today: handed to every use case, never looked up in one."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import date, datetime

_ID_LETTERS = "23456789abcdefghjkmnpqrstvwxyz"


@dataclass(frozen=True, slots=True)
class Occasion:
    """A person at work: `by` signs what is written, `at` is the UTC moment, `today` the day asked about."""

    by: str
    at: datetime
    today: date

    @property
    def said_at(self) -> datetime:
        """The UTC moment that voids and deferrals are dated by: it always falls on today.

        A day that was set, or an evening far west of Greenwich, would else date them out of sight.
        """
        return self.at if self.at.date() == self.today else datetime.combine(self.today, self.at.timetz())

    def refuse_future(self, what: str, on: date) -> None:
        """Raise NotInTheFuture for what is said to have been done on a day after today."""
        if on > self.today:
            from fleetlog.errors.recording import NotInTheFuture

            raise NotInTheFuture(what, on, self.today)


def new_id(kind: str) -> str:
    """A short id that no other log will make: a letter for the kind, then eight random ones easy to type."""
    return kind + "".join(secrets.choice(_ID_LETTERS) for _ in range(8))
