"""Writes single files for a person, never over another one."""

from __future__ import annotations

import os
from pathlib import Path

from fleetlog.errors.files import FileThereAlready, FileUnreadable


def write_new(path: Path, content: bytes) -> None:
    """Writes a file that is not there yet, whole or not at all, for its owner's eyes alone.

    Raises FileThereAlready, FileUnreadable.
    """
    try:
        handle = os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
        try:
            with os.fdopen(handle, "wb") as stream:
                stream.write(content)
        except BaseException:
            path.unlink()
            raise
    except FileExistsError:
        raise FileThereAlready(path) from None
    except OSError as error:
        raise FileUnreadable(path, error.strerror or str(error)) from None
