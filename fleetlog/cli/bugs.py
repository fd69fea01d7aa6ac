"""Keeps the traceback of a bug in a file, so that a person sees one line."""

from __future__ import annotations

import os
import sys
import tempfile
import traceback
from datetime import UTC, datetime
from pathlib import Path


def details_kept() -> str:
    """Keeps the current traceback in the user's state folder, else among temporary files; says where."""
    text = f"{datetime.now(UTC).isoformat()}\n{traceback.format_exc()}\n"
    for keep in (_in_state_folder, _in_temporary_file):
        try:
            return f"the details are in {keep(text)}"
        except OSError:
            continue
    kind, error, _ = sys.exc_info()
    said = " ".join(f"{kind.__name__ if kind else ''}: {error}".split())
    return f"the details could be kept nowhere ({said})"


def _in_state_folder(text: str) -> Path:
    import platformdirs

    folder = Path(platformdirs.user_state_dir("fleetlog", appauthor=False))
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / "bugs.txt"
    _write(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600), text)
    return path


def _in_temporary_file(text: str) -> Path:
    descriptor, path = tempfile.mkstemp(prefix="fleetlog-bug-", suffix=".txt")
    _write(descriptor, text)
    return Path(path)


def _write(descriptor: int, text: str) -> None:
    with open(descriptor, "a", encoding="utf-8", errors="backslashreplace", newline="\n") as file:
        file.write(text)
