"""What every command shares: the log, the person, the clock and today, each found when first asked for."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Sequence
from datetime import UTC, date, datetime
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fleetlog.cli.output import remark, say_notices

if TYPE_CHECKING:
    from fleetlog.store.log import Log
    from fleetlog.store.writer import Writer
    from fleetlog.usecases.occasion import Occasion


class Desk:
    """The place where a person works: holds the options given before the command."""

    def __init__(
        self,
        log_url: str | None,
        today: date | None,
        by: str | None,
        papers: str | None,
        once: str | None,
        words: Sequence[str],
    ) -> None:
        self._log_url, self._today, self._by = log_url, today, by
        self._papers, self._once, self._words = papers, once, words
        self._log: Log | None = None
        self.handed_in: list[Path | str] = []
        """The files and folders, or texts, that the command records from."""

    @property
    def log(self) -> Log:
        """The log, opened when first asked for. Raises LogNotFound where there is none."""
        return self._opened(create=False)

    @property
    def log_for_work(self) -> Log:
        """The log, for a command that records on engines: it is ready to work out their due lines."""
        from fleetlog.usecases.standing import get_ready

        get_ready(self.log, self.occasion)
        return self.log

    @property
    def log_or_new(self) -> Log:
        """The log; where there is none, one that is made with what is written first.

        It is for the commands that write what a log begins with: one that is refused leaves none, in a
        database empty tables, of which it is said that they were made.
        """
        return self._opened(create=True)

    @property
    def log_or_passing(self) -> Log:
        """The log; where there is none, an empty one that goes with the command, to see what would be."""
        from fleetlog.errors.log import LogNotFound

        try:
            return self.log
        except LogNotFound:
            from tempfile import TemporaryDirectory

            from fleetlog.store.opening import open_log

            command = click.get_current_context()
            folder = command.with_resource(TemporaryDirectory(prefix="fleetlog-preview-"))
            log = open_log(str(Path(folder) / "log.db"), at=datetime.now(UTC))
            command.call_on_close(log.dispose)
            return log

    def _opened(self, *, create: bool) -> Log:
        if self._log is None:
            from fleetlog.store.opening import open_log

            self._log = open_log(
                self.log_url, at=datetime.now(UTC), create=create, papers=self.papers_of_database
            )
            self._say_notices(self._log)
            self._log.when_written = self._keep_lines
            if self._once is not None:
                from fleetlog.exchange.handed_in import content_digests
                from fleetlog.store.once import Once, mark_of

                self._log.once = Once(self._once, mark_of(self._words, content_digests(self.handed_in)))
        return self._log

    def _say_notices(self, log: Log) -> None:
        """Say what was done to open the log, each once."""
        say_notices(log.notices)
        log.notices.clear()

    def _keep_lines(self, writer: Writer, serials: list[str]) -> None:
        from fleetlog.usecases.standing import keep_what_is_written_to

        keep_what_is_written_to(writer, self.occasion, serials, _tell_of_lines)

    def signed_by(self, marina: str | None) -> str:
        """The name that signs pages and mails: as said, else what the log's shop says."""
        from fleetlog.usecases.diary.setup import marina_of

        return marina or marina_of(self.log)

    @property
    def log_url(self) -> str:
        """Where the log is: as said, else in the user's data folder."""
        return self._log_url or str(default_log_path())

    @property
    def papers_of_database(self) -> Path | None:
        """Where the photos and papers of a log in a database are, where somebody said so."""
        return Path(self._papers).absolute() if self._papers else None

    @property
    def backups_elsewhere(self) -> Path | None:
        """Where the backups of the log are, where the environment says so; else they are beside it."""
        folder = os.environ.get("FLEETLOG_BACKUPS")
        return Path(folder) if folder else None

    @property
    def given_log_url(self) -> str | None:
        """Where the log is, where somebody said so."""
        return self._log_url

    @cached_property
    def occasion(self) -> Occasion:
        """Who asks, when, and what day counts as today."""
        from fleetlog.usecases.occasion import Occasion

        return Occasion(self._by or _login_name(), datetime.now(UTC), self.today)

    @cached_property
    def today(self) -> date:
        """The day that counts as today."""
        return date.today() if self._today is None else self._today

    def damage_behind(self, error: Exception) -> Exception | None:
        """The damage of the log over which a command may have tripped after it was read."""
        return None if self._log is None else self._log.damage_behind(error)

    @property
    def may_have_recorded(self) -> bool:
        """Whether something was handed over to be recorded."""
        return self._log is not None and self._log.handed_over

    def close(self) -> None:
        """Let go of the log."""
        if self._log is not None:
            self._say_notices(self._log)
            if self._today is None and self._log.written_no is not None:
                self._remind_of_clock(self._log)
            if sys.stderr.isatty():
                self._remind()
                self._remind_of_day()
            self._log.dispose()

    def _remind_of_clock(self, log: Log) -> None:
        """Say so where a clock that was set back dated what was recorded."""
        from fleetlog.usecases.safekeeping import clock_reminder

        reminder = clock_reminder(log, self.occasion.at)
        if reminder:
            remark(reminder)

    def _remind_of_day(self) -> None:
        """Say so where another day counts as today by a setting, which a person may have forgotten."""
        if self._today is not None and self._today.isoformat() == os.environ.get("FLEETLOG_TODAY"):
            remark(f"{self.today.isoformat()} counts as today, as FLEETLOG_TODAY says")

    def _remind(self) -> None:
        """Say so where the last backup is old; a person is told, a script is not."""
        from fleetlog.usecases.safekeeping import backup_reminder

        reminder = self._log and backup_reminder(self._log, datetime.now(UTC), self.backups_elsewhere)
        if reminder:
            remark(reminder)


def pass_desk(command: Callable[..., Any]) -> Callable[..., Any]:
    """Hand the desk to a command as its first argument."""
    return click.make_pass_decorator(Desk)(command)


def default_log_path() -> Path:
    """The log in the user's data folder."""
    import platformdirs

    return Path(platformdirs.user_data_dir("fleetlog", appauthor=False)) / "fleetlog.db"


def somebody_there() -> bool:
    """Whether a person can answer questions."""
    return sys.stdin.isatty() and sys.stderr.isatty()


def ask(question: str) -> bool | None:
    """Ask yes or no; None where nobody can answer."""
    return click.confirm(question, err=True) if somebody_there() else None


def _tell_of_lines() -> None:
    """Say of a bug in working out due lines that the writing is recorded all the same."""
    from fleetlog.cli.bugs import details_kept

    remark(
        "this is recorded; working out its due lines failed, which is a bug, not your doing;"
        f" {details_kept()}"
    )


def _login_name() -> str:
    import getpass

    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return os.environ.get("USERNAME", "unknown")
