"""Digests of what the files hold that a command records from: `--once` tells by them what was said."""

from __future__ import annotations

from collections.abc import Iterable
from hashlib import file_digest, sha256
from pathlib import Path

_TEXTS = (".csv", ".toml")


def content_digests(handed_in: Iterable[Path | str]) -> list[str]:
    """A digest each of files, folders and texts that were handed in; of what cannot be read it is empty.

    Of a folder the texts count by what they hold; photos and papers, which may be many, by name and size:
    they are called by the hash of their content.
    """
    return [sha256(one.encode()).hexdigest() if isinstance(one, str) else _digest(one) for one in handed_in]


def _digest(path: Path) -> str:
    try:
        if not path.is_dir():
            return _of_file(path)
        found = sha256()
        for file in sorted(f for pattern in ("*", "*/*") for f in path.glob(pattern) if f.is_file()):
            counts = _of_file(file) if file.suffix.casefold() in _TEXTS else file.stat().st_size
            found.update(f"{file.relative_to(path).as_posix()}\n{counts}\n".encode())
        return found.hexdigest()
    except OSError:  # the command says so itself
        return ""


def _of_file(path: Path) -> str:
    with path.open("rb") as stream:
        return file_digest(stream, "sha256").hexdigest()
