"""Photos and papers in the CSV folder (`papers.csv`, `papers/HASH.ending`), and as files handed in."""

from __future__ import annotations

import os
import stat
from dataclasses import dataclass
from pathlib import Path

from fleetlog.domain import papers
from fleetlog.domain.papers import ENDINGS, MOST_BYTES, Paper, content_hash, hash_in, media_type_of
from fleetlog.errors import FleetlogError, counted
from fleetlog.errors.files import FileUnreadable
from fleetlog.errors.papers import PaperEmpty, PaperKindUnknown, PaperNotAFile, PaperTooLarge
from fleetlog.exchange.csv import cells
from fleetlog.exchange.csv.cells import CellKind, CellNotUsable
from fleetlog.exchange.csv.columns import Column, csv_file, needed

PAPERS_FOLDER = "papers"
"""The folder inside the CSV folder that holds the files themselves."""


def _hash(text: str) -> str:
    if not papers.is_content_hash(text.lower()):
        raise CellNotUsable("the SHA-256 of the file: 64 characters of 0-9 and a-f")
    return text.lower()


def _bytes(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) <= 9 and 1 <= int(text) <= MOST_BYTES):
        raise CellNotUsable(f"the size of the file in bytes, 1 to {MOST_BYTES:,}")
    return int(text)


def _file_name(text: str) -> str:
    if not papers.is_plain_name(text):
        raise CellNotUsable("a file's own name, without folders, such as gears.jpg")
    return text


PAPERS = csv_file(
    Paper,
    "papers",
    Column("paper_id", cells.ID),
    needed("visit_id", cells.REFERENCE),
    Column("serial", cells.REFERENCE),
    needed("sha256", CellKind(_hash)),
    needed("media_type", cells.one_of(tuple(ENDINGS))),
    needed("size_bytes", CellKind(_bytes)),
    needed("name", CellKind(_file_name)),
    needed("taken_on", cells.DAY),
    Column("note", cells.TEXT),
    Column("by", cells.NAME),
    key=("paper_id",),
    made=True,
)
PAPER_WITHDRAWALS = csv_file(
    papers.PaperWithdrawal,
    "paper_withdrawals",
    needed("paper_id", cells.REFERENCE),
    needed("outcome", cells.one_of(papers.WITHDRAWAL_OUTCOMES)),
    needed("at", cells.MOMENT),
    needed("by", cells.NAME),
    needed("reason", cells.TEXT),
    key=("paper_id", "outcome"),
)
PAPER_FILES = (PAPERS, PAPER_WITHDRAWALS)


@dataclass(frozen=True, slots=True)
class PaperContent:
    """What a file holds, and of which kind it is by its content."""

    content: bytes
    media_type: str

    @property
    def sha256(self) -> str:
        """The hash of the content."""
        return content_hash(self.content)


def read_paper(path: Path) -> PaperContent:
    """The content of a photo or a paper; a file that is too large is refused before it is read.

    Raises PaperNotAFile, PaperEmpty, PaperTooLarge, PaperKindUnknown and FileUnreadable.
    """
    try:
        found = path.stat()
        if not stat.S_ISREG(found.st_mode):
            raise PaperNotAFile(path)
        if found.st_size > MOST_BYTES:
            raise PaperTooLarge(path, found.st_size, MOST_BYTES)
        with path.open("rb") as stream:
            content = stream.read(MOST_BYTES + 1)
    except OSError as error:
        raise FileUnreadable(path, error.strerror or str(error)) from error
    except ValueError as error:  # a name that no system has
        raise FileUnreadable(path, str(error)) from error
    if not content:
        raise PaperEmpty(path)
    if len(content) > MOST_BYTES:
        raise PaperTooLarge(path, len(content), MOST_BYTES)
    media_type = media_type_of(content)
    if media_type is None:
        raise PaperKindUnknown(path, ENDINGS.values())
    return PaperContent(content, media_type)


def papers_in(folder: Path) -> tuple[dict[str, Path], list[str]]:
    """The files of a CSV folder that are papers, by name, and remarks on others that lie among them."""
    found, remarks = {}, []
    inside = folder / PAPERS_FOLDER
    if not inside.is_dir():
        return {}, []
    try:
        names = sorted(os.listdir(inside))
    except OSError as error:
        return {}, [f"{PAPERS_FOLDER} was not read: {error.strerror or error}"]
    for name in names:
        if hash_in(name) is None:
            remarks.append(
                f"{PAPERS_FOLDER}/{name} was not read: papers are named by the hash of their content"
            )
        else:
            found[name] = inside / name
    return found, remarks


def what_is_wrong(path: Path, paper: Paper) -> str | None:
    """What a file of the folder is instead of the paper that its row speaks of; None where it is that."""
    try:
        held = read_paper(path)
    except FleetlogError as error:
        return str(error)
    if held.sha256 != paper.sha256:
        return f"a file whose SHA-256 is {held.sha256}"
    if held.media_type != paper.media_type:
        return f"a file of kind {held.media_type}"
    return (
        None if len(held.content) == paper.size_bytes else f"a file of {counted(len(held.content), 'byte')}"
    )
