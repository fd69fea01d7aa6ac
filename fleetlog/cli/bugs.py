"""Keeps the traceback of a bug in a file, so that a person sees one line."""

from __future__ import annotations

import os
import traceback
from datetime import UTC, datetime
from pathlib import Path


def keep_traceback() -> Path:
    """Append the current traceback to the log file of the user's state folder, and return its path."""
    import platformdirs

    folder = Path(platformdirs.user_state_dir("fleetlog", appauthor=False))
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / "bugs.txt"
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
    with open(descriptor, "a", encoding="utf-8", newline="\n") as file:
        file.write(f"{datetime.now(UTC).isoformat()}\n{traceback.format_exc()}\n")
    return path
