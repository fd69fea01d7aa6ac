"""What a reader finds that is kept for speed: fits of the fleet's use, and due lines."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import date
from typing import Any

from sqlalchemy import Connection, text
from sqlalchemy.exc import DataError, DBAPIError, IntegrityError, InterfaceError, ProgrammingError

from fleetlog.domain.kept import KeptEngine
from fleetlog.store.direct import Direct
from fleetlog.store.kept import fits as kept_fits
from fleetlog.store.kept import lines as kept_lines
from fleetlog.store.kept.fits import KeptFit
from fleetlog.store.kept.lines import Seen

_SAVE, _TAKE_BACK, _RELEASE = (
    Direct(text(f"{what} apart")) for what in ("SAVEPOINT", "ROLLBACK TO SAVEPOINT", "RELEASE SAVEPOINT")
)

_NO_RIGHT = "42501"
"""The state in which PostgreSQL refuses what a user may not do."""


class Kept:
    """What is kept for speed, as one state of the log has it."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection

    @contextmanager
    def apart(self, tell_of_a_bug: Callable[[], object]) -> Iterator[None]:
        """A block for speed within a writing: a bug in it is told and takes back what the block wrote alone.

        So does a right on what is kept that the server does not give, untold. Where the database itself
        fails, so does the writing.
        """
        _SAVE.do(self._connection, {})
        try:
            yield
        except Exception as error:
            of_rows = isinstance(error, (DataError, IntegrityError, InterfaceError, ProgrammingError))
            if isinstance(error, DBAPIError) and not of_rows:
                raise
            _TAKE_BACK.do(self._connection, {})
            if getattr(getattr(error, "orig", None), "sqlstate", None) != _NO_RIGHT:
                tell_of_a_bug()
        _RELEASE.do(self._connection, {})

    def latest_fit(self, first: date, last: date) -> KeptFit | None:
        """The fit of the fleet's use of the latest day from `first` to `last`, if there is one."""
        return kept_fits.latest_fit(self._connection, first, last)

    def figures_until(self, day: date, most: int | None = None) -> int:
        """How many figures of hour meters are dated by the end of a day; counted no further than `most`."""
        return kept_fits.figures_until(self._connection, day, most)

    def fit(self, content_id: str) -> KeptFit | None:
        """The fit of that name, if it is kept."""
        return kept_fits.fit_named(self._connection, content_id)

    def newest_first_day(self) -> date | None:
        """The latest of the days from which kept lines hold."""
        return kept_lines.newest_first_day(self._connection)

    def out_of_date(self, fit: str, today: date, serial: str | None = None) -> list[str]:
        """The engines, or the one, whose kept lines do not serve on a day with a fit, in their order."""
        return kept_lines.out_of_date(self._connection, fit, today, serial)

    def lines_showing(self, until_on: date | None, **asked: str | None) -> Iterator[Sequence[Any]]:
        """The kept lines that show up to a day (None: all), of an `owner_id`, a `boat_id`, a `serial`.

        The rows are as `kept_lines.lines_showing` says; engines out of date are among them.
        """
        return kept_lines.lines_showing(self._connection, until_on, **asked)

    def engines(self, serials: Sequence[str]) -> dict[str, KeptEngine]:
        """What is kept of these engines; those that were written to since are left out."""
        return kept_lines.kept_engines(self._connection, serials)

    def seen(self, serials: Iterable[str]) -> dict[str, Seen]:
        """How engines are seen now, for keeping what is worked out from them."""
        return kept_lines.seen_engines(self._connection, serials)
