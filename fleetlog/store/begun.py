"""The file of a new log until something is written to it: made beside its place, moved there or removed."""

from __future__ import annotations

import os
import shutil
from contextlib import ExitStack, suppress
from glob import escape
from pathlib import Path
from secrets import token_hex

from fleetlog.errors.log import LogFolderNotWritable
from fleetlog.store.copies import UNFINISHED, move_to_free, sweep, sweep_left
from fleetlog.store.file_lock import file_lock
from fleetlog.store.papers import folder_beside, sync_folder
from fleetlog.store.place import Place, place_of


class BegunFile:
    """An empty private file beside the place of a log, under a name of its own, held as long as it is there.

    What programs that died left of theirs is swept away. Raises LogFolderNotWritable.
    """

    def __init__(self, target: Path) -> None:
        self._target = target
        self._folders = make_folder(target.parent)
        _sweep_left(target)
        self._path = target.with_name(f"{target.name}.{token_hex(4)}{UNFINISHED}")
        self._held = ExitStack()
        self._held.enter_context(file_lock(self._path))
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
            self._let_go()

    def _let_go(self) -> None:
        self._held.close()
        _sweep(self._path)

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
        self._let_go()
        for folder in reversed(self._folders):
            with suppress(OSError):
                folder.rmdir()


def make_folder(folder: Path) -> list[Path]:
    """Makes a private folder where it is not there yet; gives those made. Raises LogFolderNotWritable."""
    missing = [one for one in (folder, *folder.parents) if not one.exists()][::-1]
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise LogFolderNotWritable(str(folder), error.strerror or str(error)) from error
    if not os.access(folder, os.W_OK | os.X_OK):
        raise LogFolderNotWritable(str(folder), "no permission")
    return missing


def _sweep_left(target: Path) -> None:
    """Sweeps away what nobody holds of logs begun in a place: their programs died."""
    sweep_left(target.parent.glob(f"{escape(target.name)}.*{UNFINISHED}"), _sweep)


def _sweep(unfinished: Path) -> None:
    sweep(unfinished)
    shutil.rmtree(folder_beside(unfinished), ignore_errors=True)


def make_private(path: Path) -> None:
    """An empty file that its owner alone can read. Raises FileExistsError where there is one."""
    os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
