"""Compares the rows of a log with its chains, and says exactly what is off."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, select

from fleetlog.domain.chain import NO_HEAD, Fault, Segment, first_head, listed, next_head
from fleetlog.store.chain_faults import NOTHING_SEALED, FaultyRows, Sealed
from fleetlog.store.chain_heads import ENGINE_LINKS, FACT_SEALS, LOG_LINKS
from fleetlog.store.chain_rows import ChainedRows, chained_rows, content_of, kept_facts
from fleetlog.store.chain_sealing import Sealer
from fleetlog.store.column_types import moment_number
from fleetlog.store.salts import KnownCommitments
from fleetlog.store.shapes import SHAPES, WRITINGS


@dataclass(frozen=True, slots=True)
class ChainReport:
    """What a check of the chains found, and every head the log had, the first link's first."""

    faults: list[Fault]
    heads: list[str]

    @property
    def head(self) -> str:
        """The head of now; 64 zeros where nothing was ever written."""
        return self.heads[-1] if self.heads else NO_HEAD


@dataclass(slots=True)
class _Chains:
    """The chains as they are kept, and the writings they seal."""

    links: list[Any]
    of_engine: dict[int, list[Any]]
    seals: dict[int, list[tuple[str, str, str]]]
    serials: dict[int, str]
    writings: dict[int, Any]

    def shown(self, writing_no: int) -> str:
        """A writing as it is named to a person."""
        writing = self.writings.get(writing_no)
        if writing is None:
            return f"writing {writing_no}, which is gone"
        return f"writing {writing_no} of {writing.recorded_at:%Y-%m-%d} by {writing.recorded_by}"


def check_chains(connection: Connection) -> ChainReport:
    """Hash every chained row anew and compare it with what was sealed when it was written."""
    check = ChainCheck(connection)
    for rows in chained_rows(connection):
        check.take(rows)
    return check.report()


class ChainCheck:
    """Hashes the rows of a log as they are handed to it; `report` compares them with the chains.

    Rows of a kind are to come in the order of their table's key.
    """

    def __init__(self, connection: Connection) -> None:
        self._connection, self._commitments = connection, KnownCommitments(connection)
        self._now: dict[tuple[int | None, int], Segment] = defaultdict(Segment)

    def take(self, rows: ChainedRows) -> None:
        """Takes rows in, each once."""
        for place, lines in rows.runs(self._commitments):
            self._now[place].add(rows.label, lines, rows.ordered)

    def report(self) -> ChainReport:
        """What differs from the chains, once every row was taken in; it reads the facts itself."""
        chains, commitments = _read(self._connection), self._commitments
        faults = [
            *_of_log(chains, commitments),
            *_of_engines(chains),
            *_of_facts(chains, self._connection, commitments),
        ]
        faulty = FaultyRows(self._connection, commitments, chains.serials, chains.shown)
        for link in chains.links:
            rows = json.loads(link.content)["rows"]
            segment = self._now.pop((None, link.writing_no), None)
            faulty.compare(None, link.writing_no, Sealed(rows, link.marks), segment)
        writing_of = {link.link_no: link.writing_no for link in chains.links}
        for engine_no, links in chains.of_engine.items():
            for link in links:
                writing_no = writing_of.get(link.link_no, 0)
                segment = self._now.pop((engine_no, writing_no), None)
                faulty.compare(engine_no, writing_no, Sealed(json.loads(link.content), link.marks), segment)
        for (number, writing_no), segment in self._now.items():
            faulty.compare(number, writing_no, NOTHING_SEALED, segment)
        return ChainReport(faults + faulty.faults(), [link.head for link in chains.links])


def _read(connection: Connection) -> _Chains:
    of_engine: dict[int, list[Any]] = defaultdict(list)
    query = select(*ENGINE_LINKS.c).order_by(ENGINE_LINKS.c.engine_no, ENGINE_LINKS.c.link_no)
    for row in connection.execute(query):
        of_engine[row.engine_no].append(row)
    seals: dict[int, list[tuple[str, str, str]]] = defaultdict(list)
    for row in connection.execute(select(*FACT_SEALS.c).order_by(FACT_SEALS.c.link_no)):
        seals[row.link_no].append((row.kind, row.key, row.digest))
    engines = SHAPES["engines"].table.c
    return _Chains(
        links=list(connection.execute(select(*LOG_LINKS.c).order_by(LOG_LINKS.c.link_no))),
        of_engine=of_engine,
        seals=seals,
        serials={row[0]: row[1] for row in connection.execute(select(engines.engine_no, engines.serial))},
        writings={row.writing_no: row for row in connection.execute(select(*WRITINGS.c))},
    )


def _of_log(chains: _Chains, commitments: KnownCommitments) -> Iterator[Fault]:
    """The links of the log: their order, their heads, their writings, and the engines they name."""
    before, expected = NO_HEAD, 1
    engines: dict[int, list[tuple[str, str]]] = defaultdict(list)
    for number, links in chains.of_engine.items():
        for link in links:
            engines[link.link_no].append((chains.serials[number], link.head))
    for link in chains.links:
        if link.link_no != expected:
            yield Fault(
                "deleted", None, f"link(s) {expected} to {link.link_no - 1} of the log's chain are gone"
            )
        elif next_head(before, link.content) != link.head:
            yield Fault("changed", None, f"link {link.link_no} of the log's chain was changed")
        before, expected = link.head, link.link_no + 1
        content, writing = json.loads(link.content), chains.writings.get(link.writing_no)
        shown = chains.shown(link.writing_no)
        if writing is None:
            yield Fault("deleted", None, shown)
        elif content["at"] != moment_number(writing.recorded_at):
            yield Fault("changed", None, f"{shown}: its moment was changed")
        elif content["by"] != commitments[writing.recorded_by]:
            yield _text_fault(None, shown, "person", writing.recorded_by, commitments)
        if content["facts"] != listed(chains.seals.get(link.link_no, [])):
            yield Fault("changed", None, f"{shown}: the seals of owners, boats or engines were changed")
        if content["engines"] != listed(engines[link.link_no]):
            text = f"the links of engines are not the {content['engines'][0]} that were sealed"
            yield Fault("changed", None, f"{shown}: {text}")
    sealed = {link.writing_no for link in chains.links}
    for number in sorted(chains.writings.keys() - sealed):
        yield Fault("inserted", None, f"{chains.shown(number)} is in no link of the log's chain")


def _of_engines(chains: _Chains) -> Iterator[Fault]:
    known = {link.link_no for link in chains.links}
    for number, links in chains.of_engine.items():
        serial = chains.serials[number]
        before = first_head(serial)
        for link in links:
            if next_head(before, link.content) != link.head:
                text = f"link {link.link_no} of its chain was changed, or one before it is gone"
                yield Fault("changed", serial, text)
            if link.link_no not in known:
                yield Fault(
                    "inserted", serial, f"link {link.link_no} of its chain is in no link of the log's"
                )
            before = link.head


def _of_facts(chains: _Chains, connection: Connection, commitments: KnownCommitments) -> Iterator[Fault]:
    """Owners, boats and engines against the last seal of each."""
    sealed = {
        (kind, key): digest for link in sorted(chains.seals) for kind, key, digest in chains.seals[link]
    }
    for facts in kept_facts(connection):
        found = zip(facts.keys, facts.digests(commitments), zip(*facts.columns, strict=True), strict=True)
        for key, now, row in found:
            digest = sealed.pop((facts.kind, key), None)
            if digest != now:
                yield _fact_fault(facts.kind, key, row, digest, commitments)
    for kind, key in sealed:
        yield Fault("deleted", key if kind == "engines" else None, f"{kind} {key}: it is gone")


def _fact_fault(
    kind: str, key: str, row: Sequence[Any], digest: str | None, commitments: KnownCommitments
) -> Fault:
    engine = key if kind == "engines" else None
    if digest is None:
        return Fault("inserted", engine, f"{kind} {key}: it was put in behind the log's back")
    unsalted = [p for p in content_of(kind).committed if row[p] is not None and commitments.lacks(row[p])]
    if unsalted:
        column = SHAPES[kind].columns[unsalted[0]]
        return _text_fault(engine, f"{kind} {key}", column, row[unsalted[0]], commitments)
    return Fault("changed", engine, f"{kind} {key}: it was changed behind the log's back")


def _text_fault(
    engine: str | None, shown: str, column: str, text: str, commitments: KnownCommitments
) -> Fault:
    kind, said = commitments.verdict(column, text)
    return Fault(kind, engine, f"{shown}: {said}")


def seal_all(connection: Connection) -> None:
    """Gives a log that has no chain yet the links of every writing, as if it had always had them.

    A log with a chain is left as it is: what is in no link of it stays in none.
    """
    if connection.execute(select(LOG_LINKS.c.link_no).limit(1)).one_or_none() is not None:
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
    for writing in connection.execute(select(*WRITINGS.c).order_by(WRITINGS.c.writing_no)).all():
        sealers[writing.writing_no].seal(writing.writing_no, writing.recorded_by, writing.recorded_at)
    commitments.keep_new()  # of the last writing's person
