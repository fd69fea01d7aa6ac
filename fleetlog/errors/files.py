"""Refusals of files and forms, read and written."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from fleetlog.errors import FleetlogError, counted, lines_of


class FileNameUnfit(FleetlogError):
    """A schedule or a work card whose name cannot be the name of a file."""

    def __init__(self, what: str, name: str) -> None:
        super().__init__(
            f"{what} called {name!r} cannot be exported, as its name cannot be a file's on every system;"
            " import it again under a plain name"
        )


class FormNotUsable(FleetlogError):
    """A form with something wrong in it; nothing was recorded. `problems` has one line for each."""

    def __init__(self, name: str, problems: Sequence[str]) -> None:
        self.problems = list(problems)
        first = f"nothing was recorded, as {name} has {counted(len(problems), 'problem')}:"
        super().__init__("\n".join([first, *lines_of(problems)]))


class FormOfAnotherEngine(FleetlogError):
    """A form that was filled in for another engine than the one named."""

    def __init__(self, form_serial: str, serial: str) -> None:
        super().__init__(
            f"the form is of engine {form_serial}, not of {serial}; give the right form, or correct it"
        )


class FileUnreadable(FleetlogError):
    """A file that cannot be read or written."""

    def __init__(self, path: Path, reason: str) -> None:
        super().__init__(f"{path}: {reason}; give another file")


class FileThereAlready(FleetlogError):
    """A file that would be written over."""

    def __init__(self, path: Path) -> None:
        super().__init__(f"{path} is there already and is left alone; give another name, or remove it")


class NotText(FleetlogError):
    """A word of a command, or a setting, that came in another code than UTF-8."""

    def __init__(self, text: str) -> None:
        super().__init__(
            f"{text!a} is not text in UTF-8, so nothing was recorded; type it anew in a terminal of UTF-8"
        )


class OutputNotWritten(FleetlogError):
    """What a command prints cannot be written where it goes."""

    def __init__(self, reason: str) -> None:
        super().__init__(
            f"the output could not be written ({reason}); send it elsewhere, and where something was to be"
            " recorded, look it up before you record it again"
        )
