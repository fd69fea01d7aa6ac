"""Writes all that the log holds to a CSV folder, from which the same log can be made again."""

from __future__ import annotations

from pathlib import Path

from fleetlog.exchange.csv.writing import write_kinds
from fleetlog.store.log import Log
from fleetlog.usecases.collecting import many_values


@many_values()
def export_folder(log: Log, path: str | Path) -> dict[str, int]:
    """Writes every row of the log, as it stands at one moment, and tells how many there are of each kind.

    Photos and papers are written as well, each compared with its hash. Raises ExportFolderTaken,
    ExportNotWritten, FileNameUnfit, PaperFileFaulty or PaperUnreadable; then nothing was written.
    """
    with log.reading() as reader:
        papers = {paper.file_name: paper for paper in reader.kept_papers()}
        contents = ((name, log.papers.read(paper)) for name, paper in papers.items())
        return write_kinds(reader.by_kind(), path, contents)
