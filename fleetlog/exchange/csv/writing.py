"""Writes rows of the log as a CSV folder, every file with every column; the folder is whole or not there."""

from __future__ import annotations

import csv
import os
import shutil
import tempfile
from collections.abc import Callable, Iterable
from itertools import islice
from operator import attrgetter
from pathlib import Path
from typing import Any

from fleetlog.domain.batch import Batch
from fleetlog.domain.papers import hash_in
from fleetlog.domain.units import figure_text
from fleetlog.errors.files import FileNameUnfit
from fleetlog.errors.folders import ExportFolderTaken, ExportNotWritten
from fleetlog.exchange.csv.cells import CellKind, Memo, neutralised
from fleetlog.exchange.csv.columns import CsvFile
from fleetlog.exchange.csv.files import BY_KIND, CSV_FILES, FIRST_FILES
from fleetlog.exchange.paper_files import PAPERS_FOLDER
from fleetlog.exchange.toml_files import TOML_KINDS, TomlKind, is_fit_name, toml_file

ROWS_AT_ONCE = 2_000
"""Rows whose cells are made together."""

_TOML_KINDS = {kind.folder: kind for kind in TOML_KINDS}


def write_folder(batch: Batch, path: str | Path, papers: Iterable[tuple[str, bytes]] = ()) -> None:
    """Writes all files of a batch, rows in their order, as `write_kinds` does."""
    write_kinds(batch.by_kind(), path, papers)


def write_kinds(
    kinds: Iterable[tuple[str, Iterable[Any]]],
    path: str | Path,
    papers: Iterable[tuple[str, bytes]],
) -> dict[str, int]:
    """Writes the rows of every kind of a batch to a new or empty folder or in place of an export.

    `kinds` gives the rows, each kind's in their order, of which some thousand are held at once; `papers` the
    photos and papers, each once: its file's name and its content. The files are written beside the folder
    first and take its place at the end. Gives how many rows there are of each kind, kinds without any left
    out. Raises ExportFolderTaken if something else is in the folder, FileNameUnfit or ExportNotWritten.
    """
    target = Path(path).absolute()
    try:
        target = target.resolve()
        _refuse_other_things(target)
        target.parent.mkdir(parents=True, exist_ok=True)
        beside = Path(tempfile.mkdtemp(prefix=f".{target.name}-", dir=target.parent))
        try:
            fresh = beside / "new"
            fresh.mkdir()
            counts = {kind: _write_kind(kind, rows, fresh) for kind, rows in kinds}
            _write_papers(papers, fresh / PAPERS_FOLDER)
            _put_in_place(fresh, target, beside / "old")
        finally:
            if target.exists() or not (beside / "old").exists():
                shutil.rmtree(beside, ignore_errors=True)
    except OSError as error:
        raise ExportNotWritten(str(target), error.strerror or str(error)) from None
    return {kind: count for kind, count in counts.items() if count}


def _refuse_other_things(target: Path) -> None:
    """Lets pass what is not there, what is empty, and what an earlier export has written whole."""
    if not target.exists():
        return
    if not target.is_dir():
        raise ExportFolderTaken(str(target), "a file of that name")
    names = {entry.name for entry in target.iterdir()}
    if not names:
        return
    headers = {file.name: _header_line(file) for file in CSV_FILES}
    for name in sorted(names - _TOML_KINDS.keys() - {PAPERS_FOLDER}):
        if name not in headers:
            raise ExportFolderTaken(str(target), name)
        with (target / name).open("rb") as stream:
            if stream.readline(len(headers[name]) + 1) != headers[name]:
                raise ExportFolderTaken(str(target), f"{name} with other columns")
    missing = [file.name for file in FIRST_FILES if file.name not in names]
    if missing:
        raise ExportFolderTaken(str(target), f"CSV files without {missing[0]}")
    for folder in sorted(_TOML_KINDS.keys() & names):
        for entry in sorted((target / folder).iterdir()):
            if entry.suffix != ".toml" or not entry.is_file():
                raise ExportFolderTaken(str(target), f"{folder}/{entry.name}")
    if PAPERS_FOLDER in names:
        for entry in sorted((target / PAPERS_FOLDER).iterdir()):
            if hash_in(entry.name) is None or not entry.is_file():
                raise ExportFolderTaken(str(target), f"{PAPERS_FOLDER}/{entry.name}")


def _header_line(file: CsvFile) -> bytes:
    return (",".join(c.name for c in file.columns) + "\r\n").encode()


def _write_kind(kind: str, rows: Iterable[Any], folder: Path) -> int:
    if kind in BY_KIND:
        return _write_csv(BY_KIND[kind], rows, folder)
    return _write_toml(_TOML_KINDS[kind], list(rows), folder)


def _write_csv(file: CsvFile, rows: Iterable[Any], folder: Path) -> int:
    """Writes a file, its cells made column by column, which is quicker; gives how many rows it has."""
    columns = [(attrgetter(c.fills), _writer(c.kind)) for c in file.columns]
    count, left = 0, iter(rows)
    with (folder / file.name).open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream, lineterminator="\r\n")
        writer.writerow([c.name for c in file.columns])
        while block := list(islice(left, ROWS_AT_ONCE)):
            cells = (map(write, map(value_of, block)) for value_of, write in columns)
            writer.writerows(zip(*cells, strict=True))
            count += len(block)
        _to_disk(stream)
    return count


def _write_toml(kind: TomlKind, texts: list[Any], folder: Path) -> int:
    newest: dict[str, int] = {}
    for text in texts:
        if not is_fit_name(text.name):
            raise FileNameUnfit(kind.one, text.name)
        newest[text.name] = max(text.revision, newest.get(text.name, 0))
    if newest:
        (folder / kind.folder).mkdir()
    for text in texts:
        with (folder / toml_file(kind, text, newest[text.name])).open("xb") as stream:
            stream.write(text.text.encode())
            _to_disk(stream)
    return len(texts)


def _write_papers(papers: Iterable[tuple[str, bytes]], folder: Path) -> None:
    for name, content in papers:
        folder.mkdir(exist_ok=True)
        with (folder / name).open("xb") as stream:
            stream.write(content)
            _to_disk(stream)


def _writer(kind: CellKind) -> Callable[[Any], str]:
    write = kind.write

    def text(value: Any) -> str:
        return "" if value is None else neutralised(write(value))

    # 1.0 and 1.00 are one figure to a memo, and two texts
    return Memo(text).__getitem__ if kind.repeats and write is not figure_text else text


def _to_disk(stream: Any) -> None:
    stream.flush()
    os.fsync(stream.fileno())


def _put_in_place(fresh: Path, target: Path, old: Path) -> None:
    """Moves the written folder to where it belongs; on failure the former one stands there again."""
    if not target.exists():
        fresh.rename(target)
        return
    fresh.chmod(target.stat().st_mode & 0o7777)
    target.rename(old)
    try:
        fresh.rename(target)
    except OSError:
        if not target.exists():
            old.rename(target)
        raise
