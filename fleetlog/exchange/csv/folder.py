"""Reads the CSV folder, files and schedules, into rows; knows nothing of what the log holds already."""

from __future__ import annotations

import codecs
from array import array
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from fleetlog.domain.batch import Batch
from fleetlog.domain.nearest import offer
from fleetlog.domain.records import Change
from fleetlog.domain.renumbered import NO_NUMBERS, Numbers
from fleetlog.errors.folders import EncodingUnknown, FolderHoldsNothing, FolderNotThere, SeparatorUnusable
from fleetlog.exchange.csv.files import BY_KIND, CHANGES, CSV_FILES
from fleetlog.exchange.csv.reading import FileRows, read_csv_file
from fleetlog.exchange.csv.text import CsvManner
from fleetlog.exchange.paper_files import papers_in
from fleetlog.exchange.problems import Problem, ProblemList, Remark
from fleetlog.exchange.rows_aside import PUT_ASIDE, RowsAside
from fleetlog.exchange.toml_files import SCHEDULES, TOML_KINDS, names_of, passed_over, read_toml_files

_TOML_FOLDERS = frozenset(kind.folder for kind in TOML_KINDS)
_SEPARATORS = (",", ";", "\t", "|")


@dataclass(slots=True)
class FolderContents:
    """What a folder holds: its rows, what is wrong with it, and where each row stands.

    `findings` are remarks that stop nothing. `files` has the files that are there, by kind;
    `schedule_names` the names of all schedules, those with problems too; `papers` the files in `papers/`.
    """

    batch: Batch = field(default_factory=Batch)
    problem_list: ProblemList = field(default_factory=ProblemList)
    findings: list[Remark] = field(default_factory=list)
    files: dict[str, FileRows] = field(default_factory=dict)
    toml_files: dict[str, dict[tuple[str, int], str]] = field(default_factory=dict)
    schedule_names: frozenset[str] = frozenset()
    papers: dict[str, Path] = field(default_factory=dict)
    _lines: dict[str, dict[Any, int]] = field(default_factory=dict)

    @property
    def problems(self) -> list[Problem]:
        """What is wrong, the first fifty; `problem_list.more` counts the others."""
        return self.problem_list.kept

    def let_go(self, kind: str) -> None:
        """Lets go of the rows of a kind, which nothing asks about any more."""
        getattr(self.batch, kind).clear()
        if kind in self.files:
            self.files[kind].lines = array("L")
        self._lines.pop(kind, None)

    def place_of(self, kind: str, key: Any) -> tuple[str, int | None]:
        """The file and the line on which a row begins, by its kind and key as in `Batch`.

        A schedule or a work card has a file but no line. What is not in the folder has the file alone.
        """
        if kind in _TOML_FOLDERS:
            return self.toml_files.get(kind, {}).get(key, kind), None
        if kind not in self._lines:
            found = self.files.get(kind)
            key_of = BY_KIND[kind].key_of
            self._lines[kind] = (
                {} if found is None else dict(zip(map(key_of, found.rows), found.lines, strict=True))
            )
        return BY_KIND[kind].name, self._lines[kind].get(key)


def read_folder(
    path: str | Path,
    *,
    separator: str = ",",
    decimal_comma: bool = False,
    encoding: str = "utf-8",
    aside: RowsAside | None = None,
    numbers: Callable[[Sequence[Change]], Numbers] = lambda _: NO_NUMBERS,
) -> FolderContents:
    """Reads every file of the folder that is there; what is wrong with them is returned, not raised.

    The many rows of engines are put `aside` where that is given, and are in the contents where it is not.
    `numbers` says, given the changes that the folder has, by which it may know engines of the log.
    Raises FolderNotThere, FolderHoldsNothing, SeparatorUnusable, EncodingUnknown or NoRoomForRows.
    """
    manner = _manner(separator, decimal_comma, encoding)
    folder = folder_there(Path(path))
    names = _names_in(folder)
    contents = FolderContents()
    for kind in TOML_KINDS:
        if kind.folder in names:
            texts, contents.toml_files[kind.folder] = read_toml_files(kind, folder, contents.problem_list)
            setattr(contents.batch, kind.folder, texts)
    if SCHEDULES.folder in names:
        contents.schedule_names = names_of(SCHEDULES, folder)
    has_changes = CHANGES.name in names
    changes = read_csv_file(folder / CHANGES.name, CHANGES, manner, ProblemList()).rows if has_changes else []
    known_by = numbers(changes)
    for file in CSV_FILES:
        if file.name in names:
            away = aside if file.kind in PUT_ASIDE else None
            found = read_csv_file(folder / file.name, file, manner, contents.problem_list, away, known_by)
            contents.files[file.kind] = found
            setattr(contents.batch, file.kind, found.rows)
    renamed = set().union(*(found.renamed for found in contents.files.values()))
    for serial in sorted(renamed):
        said = f"the number {serial} was corrected in one of the two"
        contents.findings.append(Remark(f"engine {known_by.now[serial]} of the log is meant: {said}"))
    read = contents.files or contents.batch.schedules or contents.batch.cards or contents.batch.shop
    if not read and not contents.problems:
        has_texts = any(name.endswith(".toml") for name in names)
        raise FolderHoldsNothing(str(folder), [file.name for file in CSV_FILES], has_texts)
    contents.findings.extend(map(Remark, _passed_over(names)))
    contents.papers, remarks = papers_in(folder)
    contents.findings.extend(map(Remark, remarks))
    for kind in TOML_KINDS:
        if kind.folder in names:
            contents.findings.extend(map(Remark, passed_over(kind, folder)))
    return contents


def folder_there(folder: Path) -> Path:
    """The folder, where it is one. Raises FolderNotThere."""
    if not folder.is_dir():
        raise FolderNotThere(str(folder), folder.exists())
    return folder


def _manner(separator: str, decimal_comma: bool, encoding: str) -> CsvManner:
    if separator.casefold() in ("tab", "\\t"):
        separator = "\t"
    if separator not in _SEPARATORS:
        raise SeparatorUnusable(separator)
    try:
        codecs.lookup(encoding)
        bytes(4).decode(encoding)
    except UnicodeError:
        pass
    except (LookupError, ValueError):
        raise EncodingUnknown(encoding) from None
    return CsvManner(separator, decimal_comma, encoding)


def _names_in(folder: Path) -> set[str]:
    try:
        return {entry.name for entry in folder.iterdir()}
    except OSError as error:
        raise FolderNotThere(str(folder), True, error.strerror or str(error)) from None


def _passed_over(names: Iterable[str]) -> list[str]:
    """Remarks on CSV files that are not of the folder's own: perhaps a name is mistyped."""
    known = {file.name for file in CSV_FILES}
    return [
        f"{name} was not read: no file of that name belongs to the folder{offer(name, known)}"
        for name in sorted(names)
        if name.casefold().endswith(".csv") and name not in known
    ]
