"""The folder of a log's photos and papers: each content once, under its hash, private, whole or not there.

A file is written before the row that speaks of it, so that a program that dies in between leaves a file
too many and never a row too many. What the rows say is the reader's and the writer's.
"""

from __future__ import annotations

import os
import stat
from collections.abc import Iterable
from dataclasses import dataclass
from hashlib import file_digest
from pathlib import Path

from fleetlog.domain.papers import Paper, content_hash, hash_in
from fleetlog.errors.papers import (
    PaperFileFaulty,
    PapersFolderUnknown,
    PapersFolderUnwritable,
    PaperUnreadable,
)

MISSING, ALTERED = "missing", "altered"


@dataclass(frozen=True, slots=True)
class PaperFault:
    """A paper whose file is missing or altered, told in `text`."""

    paper: Paper
    kind: str
    text: str


def folder_beside(log: Path) -> Path:
    """Where the papers of a log in a file lie."""
    return log.with_name(f"{log.stem}-papers")


class PaperFolder:
    """The folder of one log's papers; made when the first one comes. `log` names the log to a person."""

    def __init__(self, path: Path | None, log: str) -> None:
        self._path, self._log = path, log

    @property
    def is_known(self) -> bool:
        """Whether anybody said where the papers are; of a log in a file they are beside it."""
        return self._path is not None

    @property
    def path(self) -> Path:
        """The folder. Raises PapersFolderUnknown."""
        if self._path is None:
            raise PapersFolderUnknown(self._log)
        return self._path

    def path_of(self, paper: Paper) -> Path:
        """Where a paper's content lies, or would."""
        return self.path / paper.file_name

    def put(self, file_name: str, content: bytes) -> bool:
        """Keeps a content under its name, on the disk when this returns; whether it was not there before.

        A file that is there and altered is put right. Raises PapersFolderUnwritable.
        """
        target = self.path / file_name
        if fault_of(target, hash_in(file_name) or "", len(content), thoroughly=True) is None:
            return False
        unfinished = target.with_name(f".{file_name}.{os.getpid()}.unfinished")
        try:
            self.path.mkdir(mode=0o700, parents=True, exist_ok=True)
            unfinished.unlink(missing_ok=True)
            handle = os.open(unfinished, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)
            try:
                with open(handle, "wb") as stream:
                    stream.write(content)
                    stream.flush()
                    os.fsync(stream.fileno())
                os.replace(unfinished, target)
            except BaseException:
                unfinished.unlink(missing_ok=True)
                raise
            sync_folder(self.path)
        except OSError as error:
            raise PapersFolderUnwritable(self.path, error.strerror or str(error)) from error
        return True

    def read(self, paper: Paper) -> bytes:
        """The content of a paper, letter for letter what was put in.

        Raises PaperFileFaulty, PaperUnreadable.
        """
        try:
            content = self.path_of(paper).read_bytes()
        except OSError:
            content = b""
        if content_hash(content) != paper.sha256:
            faults = self.faults([paper], thoroughly=True)
            if faults and faults[0].kind in (MISSING, ALTERED):
                raise PaperFileFaulty(faults[0].text)
            raise PaperUnreadable(faults[0].text if faults else f"paper {paper.paper_id} cannot be read")
        return content

    def faults(self, papers: Iterable[Paper], *, thoroughly: bool) -> list[PaperFault]:
        """The papers whose file is missing, altered or not to be read.

        Without `thoroughly` only its size is looked at.
        """
        found: dict[str, str | None] = {}
        faults = []
        for paper in papers:
            path = self.path_of(paper)
            if paper.sha256 not in found:
                found[paper.sha256] = fault_of(path, paper.sha256, paper.size_bytes, thoroughly=thoroughly)
            kind = found[paper.sha256]
            if kind is not None:
                said = f"paper {paper.paper_id} of visit {paper.visit_id}: its file {path} is {kind}"
                faults.append(PaperFault(paper, kind, said))
        return faults

    def strangers(self, papers: Iterable[Paper]) -> list[Path]:
        """The files in the folder that belong to none of these papers, unfinished ones too."""
        if self._path is None:
            return []
        known = {paper.file_name for paper in papers}
        try:
            return sorted(entry for entry in self._path.iterdir() if entry.name not in known)
        except OSError:
            return []

    def remove(self, paper: Paper) -> None:
        """Takes a paper's file away. Raises PapersFolderUnwritable."""
        try:
            self.path_of(paper).unlink(missing_ok=True)
        except OSError as error:
            raise PapersFolderUnwritable(self.path, error.strerror or str(error)) from error

    def take_from(self, other: PaperFolder, papers: Iterable[Paper]) -> tuple[int, list[PaperFault]]:
        """Copies papers that are not here, or are altered here; how many, and which could not be.

        What is missing or altered in the other folder is not copied.
        """
        faults, taken = [], 0
        for paper in {p.sha256: p for p in papers}.values():
            if not self.faults([paper], thoroughly=True):
                continue
            at_fault = other.faults([paper], thoroughly=True)
            faults += at_fault
            if not at_fault:
                taken += self.put(paper.file_name, other.read(paper))
        return taken, faults


def fault_of(path: Path, sha256: str, size_bytes: int, *, thoroughly: bool) -> str | None:
    """What is wrong with the file of a content: `missing`, `altered` (a link counts as that), or nothing.

    Of one that the system does not let be read it is said why: it may be whole.
    """
    try:
        found = path.lstat()
        if not stat.S_ISREG(found.st_mode) or found.st_size != size_bytes:
            return ALTERED
        if not thoroughly:
            return None
        with path.open("rb") as stream:
            return None if file_digest(stream, "sha256").hexdigest() == sha256 else ALTERED
    except (FileNotFoundError, NotADirectoryError):
        return MISSING
    except OSError as error:
        return f"not to be read ({error.strerror or error})"


def sync_folder(folder: Path) -> None:
    """Puts the folder's list of names on the disk, where the system can."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
