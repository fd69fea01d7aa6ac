"""The photos and papers of an imported folder: which files are needed, and are they what is said."""

from __future__ import annotations

from fleetlog.domain.papers import ERASED, Paper
from fleetlog.exchange.csv.folder import FolderContents
from fleetlog.exchange.paper_files import PAPERS_FOLDER, read_paper, what_is_wrong
from fleetlog.exchange.problems import Problem, Remark
from fleetlog.store.papers import PaperFolder
from fleetlog.store.reader import Reader


class NeededPapers:
    """The papers that a folder speaks of and whose files the log has not."""

    def __init__(self, contents: FolderContents, folder: PaperFolder, reader: Reader) -> None:
        self._contents, self._folder = contents, folder
        rows: list[Paper] = contents.batch.papers
        erased = {w.paper_id for w in contents.batch.paper_withdrawals if w.outcome == ERASED}
        asked = [(paper.paper_id, ERASED) for paper in rows]
        erased |= {paper_id for paper_id, _ in reader.existing("paper_withdrawals", asked)}
        standing = [paper for paper in rows if paper.paper_id not in erased]
        faults = folder.faults(standing, thoroughly=False) if standing else []
        self._missing = [fault.paper for fault in faults]

    def check(self) -> None:
        """Adds a problem for each row whose file is neither in the folder nor in the log, or is another."""
        for paper in self._missing:
            found = self._contents.papers.get(paper.file_name)
            wrong = "no such file" if found is None else what_is_wrong(found, paper)
            if wrong is not None:
                file, line = self._contents.place_of("papers", paper.paper_id)
                expected = f"the file {PAPERS_FOLDER}/{paper.file_name} that the row speaks of"
                self._contents.problem_list.add(Problem(file, line, "sha256", wrong, expected))
        named = {paper.file_name for paper in self._contents.batch.papers}
        self._contents.findings.extend(
            Remark(f"{PAPERS_FOLDER}/{name} was not taken in: no row of papers.csv speaks of it")
            for name in sorted(self._contents.papers.keys() - named)
        )

    def put(self) -> None:
        """Keeps the files beside the log. Raises PapersFolderUnwritable."""
        for paper in self._missing:
            self._folder.put(paper.file_name, read_paper(self._contents.papers[paper.file_name]).content)
