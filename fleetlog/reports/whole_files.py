"""Writes single files so that nobody ever finds half of one."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path


def write_whole(path: Path, content: bytes) -> None:
    """Write a file whole or not at all, readable by its owner only. Raises OSError.

    A link stays one: the file it leads to is written. A pipe or a device is written into, never replaced.
    """
    if path.exists() and not path.is_file():
        with path.open("wb") as sink:
            sink.write(content)
        return
    path = path.resolve()
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, temporary = tempfile.mkstemp(prefix=".fleetlog-", dir=path.parent)
    try:
        with open(handle, "wb") as file:
            file.write(content)
        os.replace(temporary, path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise
