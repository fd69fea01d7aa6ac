"""Writes pages into a folder: each whole or not at all, private to whoever made them, and only over ours."""

from __future__ import annotations

import json
import os
import tempfile
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path, PurePosixPath
from types import MappingProxyType
from typing import TYPE_CHECKING

from fleetlog.domain.papers import hash_in
from fleetlog.errors.reports import ReportFolderHoldsOthers, ReportFolderUnwritable, ReportListUnreadable
from fleetlog.reports.backtest_page import BACKTEST_PAGE
from fleetlog.reports.context import ReportContext
from fleetlog.reports.rendering import PagesOfPart, pages_of_all

if TYPE_CHECKING:
    from fleetlog.life.answer import LifeAnswer

LIST_NAME = "pages.json"
"""The list of the pages we wrote, by which a later run knows which of them it may replace or remove."""


PAPERS_FOLDER = "papers"
"""The folder that copies of photos and papers go to."""

FOLDERS = ("owners", "engines", "rebuilds", "life", "weeks", "boats", "days", "estimates")
"""The folders that pages go to."""


def write_reports(
    parts: Sequence[PagesOfPart],
    out: Path,
    context: ReportContext,
    lives: Sequence[LifeAnswer] = (),
    papers: Mapping[str, Path] = MappingProxyType({}),
) -> list[Path]:
    """Write every page of a fleet, given in parts, and those of `lives` below `out`; pages of an earlier run
    that are no more go away, but for the page of a backtest.

    `papers` are files of photos and papers, by name: copied to `papers/`, where the pages show them.

    Returns the pages' paths. Raises ReportFolderHoldsOthers where a page would replace a file that no
    earlier run wrote, ReportListUnreadable where the list of earlier pages cannot be read, and
    ReportFolderUnwritable where the folder cannot be written; before the first write for the former two.
    """
    kept = {BACKTEST_PAGE} & _earlier_pages(out) if (out / BACKTEST_PAGE).exists() else set()
    pages = pages_of_all(parts, context, lives, has_backtest=bool(kept))
    files = {f"{PAPERS_FOLDER}/{name}": path for name, path in papers.items()}
    return write_pages(pages, out, kept=kept, files=files)


def write_pages(
    pages: dict[str, str],
    out: Path,
    *,
    is_whole: bool = True,
    kept: Iterable[str] = (),
    files: Mapping[str, Path] = MappingProxyType({}),
) -> list[Path]:
    """Write rendered pages and copy files, as `write_reports` does; returns the pages' paths.

    Earlier ones stay where these are not all, or `kept`.
    """
    earlier = _earlier_pages(out)
    for name in (*pages, *files):
        if name not in earlier and (out / name).exists():
            raise ReportFolderHoldsOthers(out / name)
    written = []
    try:
        out.mkdir(parents=True, exist_ok=True)
        _write(out / LIST_NAME, list_text({*earlier, *pages, *files}).encode())
        for name, path in files.items():
            _copy(path, out / name)
        for name, text in pages.items():
            _write(out / name, text.encode("utf-8"))
            written.append(out / name)
        if is_whole:
            for name in sorted(earlier - {*pages, *files, *kept}):
                (out / name).unlink(missing_ok=True)
            _write(out / LIST_NAME, list_text({*pages, *files, *kept}).encode())
    except OSError as error:
        raise ReportFolderUnwritable(out, error.strerror or str(error)) from error
    return written


def list_text(names: Iterable[str]) -> str:
    """The text of the list of pages."""
    return json.dumps({"pages": sorted(names)}, indent=1, ensure_ascii=False) + "\n"


def _earlier_pages(out: Path) -> set[str]:
    path = out / LIST_NAME
    try:
        text = path.read_text(encoding="utf-8")
    except (FileNotFoundError, NotADirectoryError):
        return set()
    except (OSError, UnicodeDecodeError) as error:
        raise ReportListUnreadable(path) from error
    try:
        names = json.loads(text)["pages"]
    except (ValueError, KeyError, TypeError) as error:
        raise ReportListUnreadable(path) from error
    if not isinstance(names, list) or not all(isinstance(n, str) and _is_ours(n) for n in names):
        raise ReportListUnreadable(path)
    return set(names)


def _is_ours(name: str) -> bool:
    """Whether a listed name can be one of ours: an HTML file, at most one folder down, or a paper."""
    path = PurePosixPath(name)
    if len(path.parts) == 2 and path.parts[0] == PAPERS_FOLDER and name.count("/") == 1:
        return hash_in(path.name) is not None
    return (
        path.suffix == ".html"
        and not path.is_absolute()
        and ".." not in path.parts
        and "\\" not in name
        and ":" not in name
        and (len(path.parts) == 1 or (len(path.parts) == 2 and path.parts[0] in FOLDERS))
    )


def _copy(source: Path, target: Path) -> None:
    """Copies a file that is named by its content: one of that name and size is left as it is."""
    try:
        if target.stat().st_size == source.stat().st_size:
            return
    except FileNotFoundError:
        pass
    _write(target, source.read_bytes())


def _write(path: Path, content: bytes) -> None:
    path.parent.mkdir(exist_ok=True)
    handle, temporary = tempfile.mkstemp(prefix=".page-", dir=path.parent)
    try:
        with open(handle, "wb") as file:
            file.write(content)
        os.replace(temporary, path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise
