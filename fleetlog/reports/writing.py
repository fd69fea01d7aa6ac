"""Writes pages into a folder: each whole or not at all, private to whoever made them, and only over ours."""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path, PurePosixPath
from shutil import rmtree
from types import MappingProxyType
from typing import TYPE_CHECKING

from fleetlog.domain.papers import hash_in
from fleetlog.errors.reports import (
    ReportFolderHoldsOthers,
    ReportFolderInUse,
    ReportFolderUnwritable,
    ReportListUnreadable,
)
from fleetlog.reports.backtest_page import BACKTEST_PAGE
from fleetlog.reports.context import ReportContext
from fleetlog.reports.rendering import PagesOfPart, paths_in_order, render_front, render_lives
from fleetlog.reports.whole_files import write_whole

if TYPE_CHECKING:
    from fleetlog.life.answer import LifeAnswer

LIST_NAME = "pages.json"
"""The list of the pages we wrote, by which a later run knows which of them it may replace or remove."""

STAGING = ".pages"
"""The folder that pages are set down in until all of them are there."""

PAPERS_FOLDER = "papers"
"""The folder that copies of photos and papers go to."""

FOLDERS = ("owners", "engines", "rebuilds", "life", "weeks", "boats", "days", "estimates")
"""The folders that pages go to."""


@contextmanager
def staging(out: Path) -> Iterator[Path]:
    """A folder within `out` that pages are set down in before the first one is put in its place.

    It is held by a lock in it. What a run left in it that was ended from outside goes away, and so do folders
    made here for pages that did not come. Raises ReportFolderInUse and ReportFolderUnwritable.
    """
    missing = [one for one in (out, *out.parents) if not one.exists()]
    try:
        with _held(out) as folder:
            yield folder
    finally:
        with suppress(OSError):  # one with pages in it stays
            for one in missing:
                one.rmdir()


@contextmanager
def _held(out: Path) -> Iterator[Path]:
    from filelock import FileLock, Timeout

    folder = out / STAGING
    lock = FileLock(folder / "lock", timeout=0, mode=0o600)
    if folder.is_symlink():
        raise ReportFolderUnwritable(out, f"{STAGING} in it is a link, and what it leads to is not ours")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        lock.acquire()
        for left in folder.iterdir():
            if left.is_dir():
                rmtree(left)
            elif left.name != "lock":
                left.unlink()
    except Timeout:
        raise ReportFolderInUse(out) from None
    except OSError as error:
        lock.release()
        raise ReportFolderUnwritable(out, error.strerror or str(error)) from error
    try:
        yield folder
    finally:
        rmtree(folder, ignore_errors=True)  # the lock too, while it is held, where the system lets it go
        lock.release()
        with suppress(OSError):
            folder.rmdir()


def set_down(pages: Mapping[str, str], folder: Path) -> None:
    """Writes pages into the folder of `staging`. Raises OSError."""
    for name, text in pages.items():
        path = folder / name
        path.parent.mkdir(exist_ok=True)
        with open(path, "xb", opener=_private) as file:
            file.write(text.encode("utf-8"))


def _private(path: str, flags: int) -> int:
    return os.open(path, flags, 0o600)


def write_reports(
    parts: Sequence[PagesOfPart],
    folder: Path,
    out: Path,
    context: ReportContext,
    lives: Sequence[LifeAnswer],
    papers: Mapping[str, Path],
) -> list[Path]:
    """Write every page of a fleet, given in parts, and those of `lives` below `out`; pages of an earlier run
    that are no more go away, but for the page of a backtest. Those of the parts are set down in `folder`.

    `papers` are files of photos and papers, by name: copied to `papers/`, where the pages show them.

    Returns the pages' paths. Raises ReportFolderHoldsOthers where a page would replace a file that no
    earlier run wrote, ReportListUnreadable where the list of earlier pages cannot be read, and
    ReportFolderUnwritable where the folder cannot be written; before the first write for the former two.
    """
    kept = {BACKTEST_PAGE} & _earlier_pages(out) if (out / BACKTEST_PAGE).exists() else set()
    front = render_front(parts, context, lives, has_backtest=bool(kept))
    of_lives = render_lives(lives, context, parts[0].today)
    names = [*front, *paths_in_order(parts), *of_lives]
    files = {f"{PAPERS_FOLDER}/{name}": path for name, path in papers.items()}
    return _put_in_place({**front, **of_lives}, names, folder, out, kept=kept, files=files)


def write_pages(pages: Mapping[str, str], out: Path, *, is_whole: bool = True) -> list[Path]:
    """Write rendered pages as `write_reports` does; earlier ones stay where these are not all."""
    with staging(out) as folder:
        return _put_in_place(pages, list(pages), folder, out, is_whole=is_whole)


def _put_in_place(
    pages: Mapping[str, str],
    names: Sequence[str],
    folder: Path,
    out: Path,
    *,
    is_whole: bool = True,
    kept: Iterable[str] = (),
    files: Mapping[str, Path] = MappingProxyType({}),
) -> list[Path]:
    """Sets these pages down too, then moves all that are named from the folder to their places."""
    earlier = _earlier_pages(out)
    for name in (*names, *files):
        if name not in earlier and (out / name).exists():
            raise ReportFolderHoldsOthers(out / name)
    try:
        set_down(pages, folder)
        write_whole(out / LIST_NAME, list_text({*earlier, *names, *files}).encode())
        for name, path in files.items():
            _copy(path, out / name)
        for name in names:
            (out / name).parent.mkdir(exist_ok=True)
            os.replace(folder / name, out / name)
        if is_whole:
            for name in sorted(earlier - {*names, *files, *kept}):
                (out / name).unlink(missing_ok=True)
            write_whole(out / LIST_NAME, list_text({*names, *files, *kept}).encode())
    except OSError as error:
        raise ReportFolderUnwritable(out, error.strerror or str(error)) from error
    return [out / name for name in names]


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
    write_whole(target, source.read_bytes())
