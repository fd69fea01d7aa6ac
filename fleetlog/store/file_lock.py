"""Holds the place of a SQLite log while a file is made there, put there or upgraded.

Who writes to a log needs none of this: SQLite itself lets in one writer at a time (`connecting`).
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from fleetlog.errors.log import LogBusy, LogFolderNotWritable
from fleetlog.store.connecting import BUSY_SECONDS


@contextmanager
def file_lock(path: Path, seconds: int = BUSY_SECONDS) -> Iterator[None]:
    """Holds the place of a log's file, waited for so long. Raises LogBusy, LogFolderNotWritable."""
    from filelock import FileLock, Timeout  # loads asyncio: too much for a look-up

    lock = FileLock(f"{path}.lock", timeout=seconds, mode=0o600)
    try:
        lock.acquire()
    except Timeout:
        raise LogBusy(str(path), seconds) from None
    except OSError as error:
        raise LogFolderNotWritable(str(path.parent), error.strerror or str(error)) from error
    try:
        yield
    finally:
        lock.release()
