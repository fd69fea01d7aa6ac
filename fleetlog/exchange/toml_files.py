"""The TOML files of the folder (schedules, cards, the shop): NAME.toml, older revisions NAME@REVISION.toml.

A kind of them stands in a folder of its own inside.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fleetlog.diary.shop_text import shop_from_toml
from fleetlog.domain.card_text import card_from_toml
from fleetlog.domain.diary_records import ShopText
from fleetlog.domain.evidence import CardText
from fleetlog.domain.schedule import ScheduleText
from fleetlog.domain.schedule_text import schedule_from_toml
from fleetlog.exchange.csv.text import refuse_endless
from fleetlog.exchange.problems import Problem, ProblemList


@dataclass(frozen=True, slots=True)
class TomlKind:
    """A kind of TOML files: its folder, which is its field of `Batch` too, and how its texts are read."""

    folder: str
    what: str
    one: str
    made: type[ScheduleText] | type[CardText] | type[ShopText]
    read: Callable[[str, str], tuple[Any, list[str]]]


SCHEDULES = TomlKind("schedules", "a service schedule", "a schedule", ScheduleText, schedule_from_toml)
SHOP = TomlKind("shop", "the shop", "the shop's file", ShopText, shop_from_toml)
CARDS = TomlKind("cards", "a work card", "a work card", CardText, card_from_toml)
TOML_KINDS = (SCHEDULES, CARDS, SHOP)

_OLDER = re.compile(r"(?P<name>.+)@(?P<revision>\d{1,9})", re.ASCII)
_UNFIT = re.compile(r'[<>:"/\\|?*\x00-\x1f]')
_DEVICES = {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(1, 10))}
_MOST_BYTES = 2_000_000


def is_fit_name(name: str) -> bool:
    """Whether a name can be a file name on every system."""
    return (
        0 < len(name.encode()) <= 200
        and name.isprintable()
        and not _UNFIT.search(name)
        and name == name.strip().rstrip(".")
        and not name.startswith(".")
        and name.split(".")[0].casefold() not in _DEVICES
        and not _OLDER.fullmatch(name)
    )


def toml_file(kind: TomlKind, text: Any, newest: int) -> str:
    """The name of the file in the folder in which a revision stands."""
    stem = text.name if text.revision == newest else f"{text.name}@{text.revision}"
    return f"{kind.folder}/{stem}.toml"


def read_toml_files(
    kind: TomlKind, folder: Path, problems: ProblemList
) -> tuple[list[Any], dict[tuple[str, int], str]]:
    """The texts of a kind in a folder, by name and ascending revision, and the file that each stands in."""
    found: list[Any] = []
    files: dict[tuple[str, int], str] = {}
    for path in sorted((folder / kind.folder).glob("*.toml")):
        if path.name.startswith("."):
            continue
        file = f"{kind.folder}/{path.name}"
        text = _read(kind, path, file, problems)
        if text is None:
            continue
        key = (text.name, text.revision)
        if key in files:
            problems.add(
                Problem(
                    file,
                    None,
                    None,
                    f"revision {text.revision}",
                    f"each revision once; {files[key]} has it",
                )
            )
            continue
        found.append(text)
        files[key] = file
    found.sort(key=lambda t: (t.name, t.revision))
    _refuse_older_as_newest(kind, found, files, problems)
    return found, files


def passed_over(kind: TomlKind, folder: Path) -> list[str]:
    """Remarks on files that stand among those of a kind and are none by their name."""
    return [
        f"{kind.folder}/{path.name} was not read: {kind.one} is called NAME.toml"
        for path in sorted((folder / kind.folder).glob("*"))
        if path.suffix != ".toml" and not path.name.startswith(".")
    ]


def names_of(kind: TomlKind, folder: Path) -> frozenset[str]:
    """The names of a kind that have files in a folder, whatever is in those."""
    return frozenset(name_and_revision(path)[0] for path in (folder / kind.folder).glob("*.toml"))


def name_and_revision(path: Path) -> tuple[str, int | None]:
    """The name and, for an older one, the revision that a file's name speaks of."""
    older = _OLDER.fullmatch(path.stem)
    return (older["name"], int(older["revision"])) if older else (path.stem, None)


def _read(kind: TomlKind, path: Path, file: str, problems: ProblemList) -> Any:
    def wrong(found: str | None, expected: str) -> None:
        problems.add(Problem(file, None, None, found, expected))

    name, revision = name_and_revision(path)
    if not is_fit_name(name):
        wrong(path.stem, "a name that can be a file name on every system, without @ and a number at its end")
        return None
    try:
        refuse_endless(path)
        data = path.read_bytes()
    except OSError as error:
        wrong(error.strerror or str(error), "a file that can be read")
        return None
    if len(data) > _MOST_BYTES:
        wrong(f"{len(data):,} bytes", f"{kind.one} of at most {_MOST_BYTES:,}")
        return None
    try:
        text = data.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        problems.add(Problem(file, line, None, "a byte that is not UTF-8", "UTF-8, as TOML has to be"))
        return None
    parsed, faults = kind.read(name, text)
    for fault in faults:
        problems.add(Problem(file, None, None, None, f"{kind.what}; {fault}"))
    if parsed is None:
        return None
    if revision is not None and revision != parsed.revision:
        wrong(f"revision = {parsed.revision}", f"revision = {revision}, as the file's name says")
        return None
    return kind.made(name, parsed.revision, text)


def _refuse_older_as_newest(
    kind: TomlKind, found: list[Any], files: dict[tuple[str, int], str], problems: ProblemList
) -> None:
    newest = {t.name: t.revision for t in found}
    for text in found:
        key = (text.name, text.revision)
        if files[key] == f"{kind.folder}/{text.name}.toml" and text.revision < newest[text.name]:
            expected = f"the newest revision in this file; {files[text.name, newest[text.name]]} is newer"
            problems.add(Problem(files[key], None, None, f"revision {text.revision}", expected))
