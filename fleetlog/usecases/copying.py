"""Moves a log between a SQLite file and a PostgreSQL database."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from fleetlog.errors.log import LogNotFound
from fleetlog.errors.safekeeping import CopyOntoItself, NothingThere
from fleetlog.store.opening import open_log
from fleetlog.store.place import place_of
from fleetlog.usecases.collecting import many_values
from fleetlog.usecases.occasion import Occasion


@dataclass(frozen=True, slots=True)
class LogCopied:
    """Rows by table, links of the chain, what the chains and papers say is off, and what opening did."""

    rows: dict[str, int]
    links: int
    faults: list[str]
    notices: list[str]


@many_values()
def copy_log(source: str, target: str, occasion: Occasion, papers: Path | None = None) -> LogCopied:
    """Copies the log at one path or URL into an empty or new one at another; the source is left as it is.

    Every row is read back and compared, and hashed against the chains; a difference between the two sides
    takes all of it back. What the chains find was off in the source as well. Photos and papers are copied
    first; `papers` is their folder where one of the two is a database. Raises CopyNeedsEmptyLog, CopyDiffers,
    CopyOntoItself, NothingThere, PapersFolderUnknown, and what `open_log` raises.
    """
    if place_of(source).url == place_of(target).url:
        raise CopyOntoItself(place_of(target).shown)
    try:
        ours = open_log(source, at=occasion.at, create=False, papers=papers)
    except LogNotFound:
        raise NothingThere(place_of(source).shown, "copy") from None
    try:
        theirs = open_log(target, at=occasion.at, papers=papers)
        try:
            copied, chains = ours.copy_into(theirs)
        finally:
            theirs.dispose()
    finally:
        ours.dispose()
    faults = [fault.text for fault in chains.faults] + copied.paper_faults
    return LogCopied(copied.rows, len(chains.heads), faults, ours.notices + theirs.notices)
