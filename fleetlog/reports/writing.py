"""Writes pages into a folder: each whole or not at all, private to whoever made them, and only over ours."""

from __future__ import annotations

import json
import os
import tempfile
from collections.abc import Iterable, Sequence
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING

from fleetlog.domain.fleet import FleetState
from fleetlog.errors import ReportFolderHoldsOthers, ReportFolderUnwritable, ReportListUnreadable
from fleetlog.reports.backtest_page import BACKTEST_PAGE
from fleetlog.reports.context import ReportContext
from fleetlog.reports.rendering import render_pages

if TYPE_CHECKING:
    from fleetlog.life.answer import LifeAnswer

LIST_NAME = "pages.json"
"""The list of the pages we wrote, by which a later run knows which of them it may replace or remove."""


FOLDERS = ("owners", "engines", "rebuilds", "life", "weeks", "boats", "days", "estimates")
"""The folders that pages go to."""


def write_reports(
    fleet: FleetState, out: Path, context: ReportContext, lives: Sequence[LifeAnswer] = ()
) -> list[Path]:
    """Render every page, those of `lives` included, then write them all below `out`; pages of an earlier
    run that are no more go away, but for the page of a backtest.

    Returns the pages' paths. Raises ReportFolderHoldsOthers where a page would replace a file that no
    earlier run wrote, ReportListUnreadable where the list of earlier pages cannot be read, and
    ReportFolderUnwritable where the folder cannot be written; before the first write for the former two.
    """
    kept = {BACKTEST_PAGE} & _earlier_pages(out) if (out / BACKTEST_PAGE).exists() else set()
    pages = render_pages(fleet, context, lives, has_backtest=bool(kept))
    return write_pages(pages, out, kept=kept)


def write_pages(
    pages: dict[str, str], out: Path, *, is_whole: bool = True, kept: Iterable[str] = ()
) -> list[Path]:
    """Write rendered pages, as `write_reports` does; earlier ones stay where these are not all, or `kept`."""
    earlier = _earlier_pages(out)
    for name in pages:
        if name not in earlier and (out / name).exists():
            raise ReportFolderHoldsOthers(out / name)
    written = []
    try:
        out.mkdir(parents=True, exist_ok=True)
        _write(out / LIST_NAME, list_text({*earlier, *pages}))
        for name, text in pages.items():
            _write(out / name, text)
            written.append(out / name)
        if is_whole:
            for name in sorted(earlier - {*pages, *kept}):
                (out / name).unlink(missing_ok=True)
            _write(out / LIST_NAME, list_text({*pages, *kept}))
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
    """Whether a listed name can be one of our pages: an HTML file, at most one folder down."""
    path = PurePosixPath(name)
    return (
        path.suffix == ".html"
        and not path.is_absolute()
        and ".." not in path.parts
        and "\\" not in name
        and ":" not in name
        and (len(path.parts) == 1 or (len(path.parts) == 2 and path.parts[0] in FOLDERS))
    )


def _write(path: Path, text: str) -> None:
    path.parent.mkdir(exist_ok=True)
    handle, temporary = tempfile.mkstemp(prefix=".page-", dir=path.parent)
    try:
        with open(handle, "wb") as file:
            file.write(text.encode("utf-8"))
        os.replace(temporary, path)
    except BaseException:
        Path(temporary).unlink(missing_ok=True)
        raise
