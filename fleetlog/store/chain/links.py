"""The chains of a log as they are kept: links of the log and of its engines, and what they seal."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import Any, NamedTuple

from sqlalchemy import Connection, select

from fleetlog.domain.chain import LogContent, read_engine_content, read_log_content
from fleetlog.store.chain.heads import ENGINE_LINKS, FACT_SEALS, LOG_LINKS
from fleetlog.store.shapes import SHAPES, WRITINGS


class LinkOfLog(NamedTuple):
    """One writing in the chain of the log."""

    link_no: int
    writing_no: int
    text: str
    marks: bytes
    head: str

    @property
    def content(self) -> LogContent | None:
        """What it seals; None where its text is none of a link."""
        return read_log_content(self.text)


class LinkOfEngine(NamedTuple):
    """What one writing added to one engine's ledger."""

    link_no: int
    text: str
    marks: bytes
    head: str

    @property
    def rows(self) -> list[Any] | None:
        """Kind, count and digest of the rows it seals; None where its text is none of a link."""
        return read_engine_content(self.text)


class Serials(dict[int, str]):
    """Serial numbers by number; an engine whose own row is gone is called by its number."""

    def __missing__(self, number: int) -> str:
        return f"no. {number}"


@dataclass(slots=True)
class Chains:
    """The chains as they are kept, and the writings they seal."""

    links: list[LinkOfLog]
    of_engine: dict[int, list[LinkOfEngine]]
    seals: dict[int, list[tuple[str, str, str]]]
    """Kind, key and digest of the facts that each link of the log seals."""
    serials: Serials
    """The serial that each engine was entered with, by number."""
    corrected: dict[str, str]
    """The serials that engines are known by now, by the one each was entered with, where that is another."""
    writings: dict[int, Any]

    def shown(self, writing_no: int) -> str:
        """A writing as it is named to a person."""
        writing = self.writings.get(writing_no)
        if writing is None:
            return f"writing {writing_no}, which is gone"
        return f"writing {writing_no} of {writing.recorded_at:%Y-%m-%d} by {writing.recorded_by}"

    def engines_by_link(self) -> dict[int, list[tuple[str, str]]]:
        """Serial and head of the engines that have a link under each link of the log."""
        found: dict[int, list[tuple[str, str]]] = defaultdict(list)
        for number, links in self.of_engine.items():
            for link in links:
                found[link.link_no].append((self.serials[number], link.head))
        return found


def read_chains(connection: Connection) -> Chains:
    """All links, seals and writings of a log, in their order."""
    of_engine: dict[int, list[LinkOfEngine]] = defaultdict(list)
    query = select(*ENGINE_LINKS.c).order_by(ENGINE_LINKS.c.engine_no, ENGINE_LINKS.c.link_no)
    for number, *link in connection.execute(query):
        of_engine[number].append(LinkOfEngine(*link))
    seals: dict[int, list[tuple[str, str, str]]] = defaultdict(list)
    for row in connection.execute(select(*FACT_SEALS.c).order_by(FACT_SEALS.c.link_no)):
        seals[row.link_no].append((row.kind, row.key, row.digest))
    engines = SHAPES["engines"].table.c
    numbered = connection.execute(select(engines.engine_no, engines.entered_as, engines.serial)).all()
    links = connection.execute(select(*LOG_LINKS.c).order_by(LOG_LINKS.c.link_no))
    return Chains(
        links=[LinkOfLog(*row) for row in links],
        of_engine=of_engine,
        seals=seals,
        serials=Serials((number, first) for number, first, _ in numbered),
        corrected={first: serial for _, first, serial in numbered if serial != first},
        writings={row.writing_no: row for row in connection.execute(select(*WRITINGS.c))},
    )
