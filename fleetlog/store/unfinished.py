"""Files of logs that have no name of their own yet: held as long as they are there, swept away at the end."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from glob import escape
from pathlib import Path
from secrets import token_hex

from fleetlog.errors.log import LogBusy, LogFolderNotWritable
from fleetlog.store.file_lock import file_lock
from fleetlog.store.papers import folder_beside

_ENDING = ".unfinished"


@contextmanager
def unfinished_file(wanted: Path) -> Iterator[Path]:
    """A name beside the place of a log, for a file that is held and swept away at the end unless moved on.

    What programs left there that died over theirs is swept away first: nobody holds it.
    """
    for left in wanted.parent.glob(f"{escape(wanted.name)}.{'[0-9a-f]' * 8}{_ENDING}"):
        with suppress(LogBusy, LogFolderNotWritable, OSError), file_lock(left, seconds=0):
            sweep(left)
    unfinished = wanted.with_name(f"{wanted.name}.{token_hex(4)}{_ENDING}")
    with ExitStack() as held:
        held.callback(_sweep_what_goes, unfinished)
        held.enter_context(file_lock(unfinished))
        yield unfinished


def _sweep_what_goes(path: Path) -> None:
    """What stays, of a name too long or on a disk that is gone, is swept by the next."""
    with suppress(OSError):
        sweep(path)


def sweep(path: Path) -> None:
    """Removes a file and what SQLite and the file lock put beside it, of an unfinished one its papers too.

    The lock comes last: where it is held by whoever sweeps, some systems do not let it be removed.
    """
    for suffix in ("", "-wal", "-shm", "-journal"):
        Path(f"{path}{suffix}").unlink(missing_ok=True)
    if path.suffix == _ENDING:
        shutil.rmtree(folder_beside(path), ignore_errors=True)
    Path(f"{path}.lock").unlink(missing_ok=True)


def move_to_free(source: Path, target: Path) -> None:
    """Moves a file to a name that nothing has. Raises FileExistsError."""
    if os.name == "nt":
        os.rename(source, target)
        return
    try:
        os.link(source, target)
    except FileExistsError:
        raise
    except OSError:  # a file system without hard links
        if target.exists():
            raise FileExistsError(target) from None
        os.rename(source, target)
        return
    source.unlink()


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
