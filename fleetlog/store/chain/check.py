"""Compares the rows of a log with its chains, and says exactly what is off.

Of a damaged log what was sealed may be lost as well as rows. Then a row that has only lost what vouches for
it is not compared, instead of put in, and no engine is whole of which a link may be lost.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence, Set
from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy import Connection, select

from fleetlog.domain.chain import NO_HEAD, NOT_COMPARED, Fault, Segment, first_head, listed, next_head
from fleetlog.store.chain.faults import NOTHING_SEALED, FaultyRows, Place, Sealed
from fleetlog.store.chain.heads import LOG_LINKS
from fleetlog.store.chain.links import Chains, read_chains
from fleetlog.store.chain.remnants import Doubts, name_engines, remake_engine_links, remake_log_links
from fleetlog.store.chain.rows import ChainedRows, chained_rows, content_of, kept_facts
from fleetlog.store.chain.salts import SALTS, KnownCommitments
from fleetlog.store.chain.sealing import Sealer
from fleetlog.store.column_types import moment_number
from fleetlog.store.shapes import SHAPES, WRITINGS


@dataclass(frozen=True, slots=True)
class ChainReport:
    """What a check of the chains found, every head the log had, the first link's first, and its engines."""

    faults: list[Fault]
    heads: list[str]
    engines: list[str]

    @property
    def head(self) -> str:
        """The head of now; 64 zeros where nothing was ever written."""
        return self.heads[-1] if self.heads else NO_HEAD

    @property
    def whole(self) -> list[str]:
        """The engines of which every row that was sealed is as it was written, and no other is there."""
        faulty = {fault.engine for fault in self.faults}
        return [serial for serial in self.engines if serial not in faulty]


def check_chains(connection: Connection, lost: Set[str] = frozenset()) -> ChainReport:
    """Hash every chained row anew and compare it with what was sealed when it was written.

    `lost` names the tables of a damaged log that may have lost rows.
    """
    check = ChainCheck(connection, lost)
    for rows in chained_rows(connection):
        check.take(rows)
    return check.report()


class ChainCheck:
    """Hashes the rows of a log as they are handed to it; `report` compares them with the chains.

    Rows of a kind are to come in the order of their table's key.
    """

    def __init__(self, connection: Connection, lost: Set[str] = frozenset()) -> None:
        self._connection, self._lost = connection, lost
        self._commitments = KnownCommitments(connection, incomplete=SALTS.name in lost)
        self._now: dict[Place, Segment] = defaultdict(Segment)

    def take(self, rows: ChainedRows) -> None:
        """Takes rows in, each once."""
        for place, lines in rows.runs(self._commitments):
            self._now[place].add(rows.label, lines, rows.ordered)

    def report(self) -> ChainReport:
        """What differs from the chains, once every row was taken in; it reads the facts itself."""
        chains, commitments = read_chains(self._connection), self._commitments
        doubts = None
        if self._lost:
            name_engines(chains)
            remake_log_links(chains, self._now, commitments)
            remake_engine_links(chains, self._now)
            doubts = Doubts.of(chains, self._now, self._lost)
        faults = [
            *_of_log(chains, commitments, doubts),
            *_of_engines(chains, doubts),
            *_of_facts(chains, self._connection, commitments, doubts),
        ]
        faulty = FaultyRows(self._connection, commitments, chains.serials, chains.corrected, chains.shown)
        for link in chains.links:
            content = link.content
            if content is not None:
                segment = self._now.pop((None, link.writing_no), None)
                faulty.compare(None, link.writing_no, Sealed(content.rows, link.marks), segment)
        writing_of = {link.link_no: link.writing_no for link in chains.links}
        for engine_no, links in chains.of_engine.items():
            for engine_link in links:
                writing_no, rows = writing_of.get(engine_link.link_no), engine_link.rows
                if writing_no is not None and rows is not None:
                    segment = self._now.pop((engine_no, writing_no), None)
                    faulty.compare(engine_no, writing_no, Sealed(rows, engine_link.marks), segment)
        if doubts is not None:
            faults += doubts.of_rows(chains, self._now)
        else:
            for (number, writing_no), segment in self._now.items():
                faulty.compare(number, writing_no, NOTHING_SEALED, segment)
        told = [
            fault
            if fault.engine not in chains.corrected
            else replace(fault, engine=chains.corrected[fault.engine])
            for fault in faults + faulty.faults()
        ]
        serials = sorted(chains.corrected.get(first, first) for first in chains.serials.values())
        return ChainReport(told, [link.head for link in chains.links], serials)


def _of_log(chains: Chains, commitments: KnownCommitments, doubts: Doubts | None) -> Iterator[Fault]:
    """The links of the log: their order, their heads, their writings, and the engines they name."""
    before, expected = NO_HEAD, 1
    engines = chains.engines_by_link()
    for link in chains.links:
        if link.link_no != expected:
            yield Fault("deleted", None, _links_gone(expected, link.link_no - 1))
        elif link.content is None or next_head(before, link.text) != link.head:
            yield Fault("changed", None, f"link {link.link_no} of the log's chain was changed")
        before, expected = link.head, link.link_no + 1
        content, writing = link.content, chains.writings.get(link.writing_no)
        shown = chains.shown(link.writing_no)
        if writing is None:
            yield Fault("deleted", None, shown)
        if content is None:
            continue
        if writing is not None and content.at != moment_number(writing.recorded_at):
            yield Fault("changed", None, f"{shown}: its moment was changed")
        elif writing is not None and content.by != commitments[writing.recorded_by]:
            yield _text_fault(None, shown, "person", writing.recorded_by, commitments)
        if content.facts != listed(chains.seals.get(link.link_no, [])):
            yield Fault("changed", None, f"{shown}: the seals of owners, boats or engines were changed")
        if content.engines != listed(engines[link.link_no]):
            text = f"the links of engines are not the {content.engines[0]} that were sealed"
            yield Fault("changed", None, f"{shown}: {text}")
    sealed = {link.writing_no for link in chains.links}
    kind = "inserted" if doubts is None else NOT_COMPARED
    for number in sorted(chains.writings.keys() - sealed):
        yield Fault(kind, None, f"{chains.shown(number)} is in no link of the log's chain")


def _links_gone(first: int, last: int) -> str:
    which = f"link {first}" if first == last else f"links {first} to {last}"
    return f"{which} of the log's chain {'is' if first == last else 'are'} gone"


def _of_engines(chains: Chains, doubts: Doubts | None) -> Iterator[Fault]:
    known = {link.link_no for link in chains.links}
    for number, links in chains.of_engine.items():
        serial = chains.serials[number]
        before: str | None = first_head(serial)
        if number not in chains.serials:
            yield Fault("deleted", serial, "its own row is gone, so that nothing ties its chain to an engine")
            before = None
        for link in links:
            if before is not None and next_head(before, link.text) != link.head:
                text = f"link {link.link_no} of its chain was changed, or one before it is gone"
                yield Fault("changed", serial, text)
            if link.link_no not in known:
                kind = "inserted" if doubts is None else NOT_COMPARED
                yield Fault(kind, serial, f"link {link.link_no} of its chain is in no link of the log's")
            before = link.head
    if doubts is not None:
        yield from doubts.of_engines(chains)


def _of_facts(
    chains: Chains, connection: Connection, commitments: KnownCommitments, doubts: Doubts | None
) -> Iterator[Fault]:
    """Owners, boats and engines against the last seal of each."""
    sealed = {
        (kind, key): (link, digest)
        for link in sorted(chains.seals)
        for kind, key, digest in chains.seals[link]
    }
    for facts in kept_facts(connection):
        found = zip(facts.keys, facts.digests(commitments), zip(*facts.columns, strict=True), strict=True)
        for key, now, row in found:
            link, digest = sealed.pop((facts.kind, key), (0, None))
            if digest == now:
                continue
            shown = _shown_fact(facts.kind, key, chains)
            if doubts is not None and doubts.of_facts > link:
                engine = key if facts.kind == "engines" else None
                yield Fault(NOT_COMPARED, engine, f"{shown}: the seal of its last state may be lost")
            else:
                yield _fact_fault(facts.kind, key, shown, row, digest, commitments)
    for kind, key in sealed:
        yield Fault(
            "deleted", key if kind == "engines" else None, f"{_shown_fact(kind, key, chains)}: it is gone"
        )


def _shown_fact(kind: str, key: str, chains: Chains) -> str:
    """An owner, a boat or an engine as it is told; an engine by the number that it has now."""
    return f"{kind} {chains.corrected.get(key, key) if kind == 'engines' else key}"


def _fact_fault(
    kind: str, key: str, shown: str, row: Sequence[Any], digest: str | None, commitments: KnownCommitments
) -> Fault:
    engine = key if kind == "engines" else None
    if digest is None:
        return Fault("inserted", engine, f"{shown}: no writing sealed it")
    unsalted = [p for p in content_of(kind).committed if row[p] is not None and commitments.lacks(row[p])]
    if unsalted:
        column = SHAPES[kind].columns[unsalted[0]]
        return _text_fault(engine, shown, column, row[unsalted[0]], commitments)
    return Fault("changed", engine, f"{shown}: it is not as it was last written")


def _text_fault(
    engine: str | None, shown: str, column: str, text: str, commitments: KnownCommitments
) -> Fault:
    kind, said = commitments.verdict(column, text)
    return Fault(kind, engine, f"{shown}: {said}")


def seal_all(connection: Connection) -> None:
    """Gives a log that has no chain yet the links of every writing, as if it had always had them.

    A log with a chain is left as it is: what is in no link of it stays in none.
    """
    writings = connection.execute(select(*WRITINGS.c).order_by(WRITINGS.c.writing_no)).all()
    if not writings or connection.execute(select(LOG_LINKS.c.link_no).limit(1)).one_or_none() is not None:
        return
    commitments = KnownCommitments(connection, making=True)
    sealers: dict[int, Sealer] = defaultdict(lambda: Sealer(connection, commitments))
    for rows in chained_rows(connection):
        for (engine_no, writing_no), lines in rows.runs(commitments):
            sealers[writing_no].take_lines(engine_no, rows, lines)
    for facts in kept_facts(connection):
        digests = facts.digests(commitments)
        for key, digest, writing_no in zip(facts.keys, digests, facts.writing_nos, strict=True):
            sealers[writing_no].take_digest(facts.kind, key, digest)
    for writing in writings:
        sealers[writing.writing_no].seal(writing.writing_no, writing.recorded_by, writing.recorded_at)
    commitments.keep_new()  # of the last writing's person
