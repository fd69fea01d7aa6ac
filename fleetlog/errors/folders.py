"""Refusals of CSV folders, in and out."""

from __future__ import annotations

from fleetlog.errors import FleetlogError, counted, one_of


class FolderNotThere(FleetlogError):
    """The folder to read is missing, no folder, or closed to this user."""

    def __init__(self, path: str, exists: bool, reason: str | None = None) -> None:
        if reason is not None:
            what = f"{path} cannot be read ({reason})"
        elif exists:
            what = f"{path} is a file"
        else:
            what = f"there is no folder {path}"
        super().__init__(f"{what}; name the folder that the CSV files, or schedules/, are in")


class FolderHoldsNothing(FleetlogError):
    """A folder without any file that belongs to the exchange format."""

    def __init__(self, path: str, files: list[str], has_texts: bool) -> None:
        expected = f"expected {one_of(files)}, or schedules/NAME.toml"
        if has_texts:
            expected = "its TOML files belong into schedules/ of a folder; name that folder"
        super().__init__(f"{path} holds nothing to import; {expected}")


class SeparatorUnusable(FleetlogError):
    """What is to stand between cells is none of the usual characters."""

    def __init__(self, separator: str) -> None:
        super().__init__(
            f"{separator!r} cannot stand between cells; say --separator with one of"
            ' "," (comma), ";" (semicolon), "|" (bar) or tab'
        )


class EncodingUnknown(FleetlogError):
    """An encoding of text files that does not exist."""

    def __init__(self, encoding: str) -> None:
        super().__init__(f"no encoding is called {encoding!r}; say --encoding with utf-8, cp1252 or latin-1")


class ImportRefused(FleetlogError):
    """Files with something wrong in them; nothing was taken in. `problems` has one line for each, `more`
    counts those beyond."""

    def __init__(self, problems: list[str], more: int = 0) -> None:
        self.problems, self.more = problems, more
        count = len(problems) + more
        first = f"nothing was imported, as there {'is' if count == 1 else 'are'} {counted(count, 'problem')}:"
        rest = [f"and {more} more"] if more else []
        super().__init__("\n".join([first, *problems, *rest]))


class NoRoomForRows(FleetlogError):
    """The rows of a large folder could not be put aside in a temporary file; nothing was taken in."""

    def __init__(self, reason: str) -> None:
        super().__init__(
            f"nothing was imported, as no temporary file could be written ({reason}); free some place, or"
            " name a folder for temporary files in TMPDIR"
        )


class ExportFolderTaken(FleetlogError):
    """The folder to write holds something that an export did not put there."""

    def __init__(self, path: str, found: str) -> None:
        super().__init__(
            f"{path} holds {found}, which is not of an export; name a new or an empty folder, or one"
            " that holds an earlier export and nothing else (it is replaced)"
        )


class ExportNotWritten(FleetlogError):
    """The folder could not be written; what stood there before still stands."""

    def __init__(self, path: str, reason: str) -> None:
        super().__init__(
            f"the folder {path} was not written ({reason}); free the place or name another folder"
        )
