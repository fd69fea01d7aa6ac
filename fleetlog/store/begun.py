"""The file of a new log until something is written to it: made beside its place, moved there or removed."""

from __future__ import annotations

import os
from contextlib import ExitStack, suppress
from pathlib import Path

from fleetlog.errors.log import LogFolderNotWritable
from fleetlog.store.file_lock import file_lock
from fleetlog.store.papers import folder_beside, sync_folder
from fleetlog.store.place import Place, place_of
from fleetlog.store.unfinished import make_folder, move_to_free, unfinished_file


class BegunFile:
    """An empty private file beside the place of a log, unfinished until it is moved there.

    Raises LogFolderNotWritable.
    """

    def __init__(self, target: Path) -> None:
        self._target = target
        self._folders = make_folder(target.parent)
        self._held = ExitStack()
        self._path = self._held.enter_context(unfinished_file(target))
        make_private(self._path)

    @property
    def place(self) -> Place:
        """Where the log is until it is moved."""
        return place_of(str(self._path))

    @property
    def papers(self) -> Path:
        """The folder of its photos and papers until then."""
        return folder_beside(self._path)

    def put_in_place(self) -> None:
        """Moves papers and file, which nobody has open, to their place.

        Raises FileExistsError where a log is there by now; the papers are moved then as well. Raises
        LogFolderNotWritable.
        """
        try:
            with file_lock(self._target):
                self._move_papers()
                move_to_free(self._path, self._target)
                sync_folder(self._target.parent)
        except FileExistsError:
            raise
        except OSError as error:
            raise LogFolderNotWritable(str(self._target.parent), error.strerror or str(error)) from error
        finally:
            self._held.close()

    def _move_papers(self) -> None:
        if not self.papers.is_dir():
            return
        place = folder_beside(self._target)
        place.mkdir(mode=0o700, exist_ok=True)
        for paper in self.papers.iterdir():
            paper.replace(place / paper.name)
        sync_folder(place)

    def remove(self) -> None:
        """Leaves nothing behind of what was made: the file, and folders with nothing else in them."""
        self._held.close()
        for folder in reversed(self._folders):
            with suppress(OSError):
                folder.rmdir()


def make_private(path: Path) -> None:
    """An empty file that its owner alone can read. Raises FileExistsError where there is one."""
    os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
