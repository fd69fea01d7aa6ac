"""What the chains of a damaged log can still say, and of which engines they cannot say all.

A lost link is made anew from what it sealed. One of the log counts where the next link that is left follows
its head; one of an engine where the log's link has its digest.

A row without a seal, a text without a salt, a fact whose last seal may be gone is *not compared*, never put
in or changed; no engine is whole after whose last link or seal one may be lost. The log's last links cannot
be proven.
"""

from __future__ import annotations

from bisect import insort
from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Set
from dataclasses import dataclass
from math import inf
from operator import attrgetter

from sqlalchemy import Connection

from fleetlog.domain.chain import (
    NO_HEAD,
    NOT_COMPARED,
    Fault,
    Segment,
    engine_content,
    first_head,
    listed,
    log_content,
    next_head,
)
from fleetlog.domain.words import counted_kind
from fleetlog.store.chain.faults import Place
from fleetlog.store.chain.heads import LOG_LINKS
from fleetlog.store.chain.links import Chains, LinkOfEngine, LinkOfLog, read_chains
from fleetlog.store.column_types import moment_number
from fleetlog.store.shapes import WRITINGS

_TELL_OF_THE_END = frozenset({LOG_LINKS.name, WRITINGS.name})
"""Where one of these tables is whole, it shows links that are lost at the end."""


def proven_serials(connection: Connection) -> dict[int, str]:
    """Serial numbers by number, of engines whose own rows are lost too where their chains prove them."""
    chains = read_chains(connection)
    name_engines(chains)
    return dict(chains.serials)


def name_engines(chains: Chains) -> None:
    """Gives engines whose own rows are lost the serial numbers from which their chains began."""
    known = set(chains.serials.values())
    sealed = {key for seals in chains.seals.values() for kind, key, _ in seals if kind == "engines"}
    for number in chains.of_engine.keys() - chains.serials.keys():
        first = chains.of_engine[number][0]
        for serial in sealed - known:
            if next_head(first_head(serial), first.text) == first.head:
                chains.serials[number] = serial


def remake_log_links(chains: Chains, now: Mapping[Place, Segment], commitments: Mapping[str, str]) -> None:
    """Makes lost links of the log anew from the rows, seals and heads that they sealed.

    They count where the link after them follows their head: the last ones of a log cannot be proven.
    """
    heads, linked = chains.engines_by_link(), {link.writing_no for link in chains.links}
    found, before = [], LinkOfLog(0, 0, "", b"", NO_HEAD)
    for link in chains.links:
        within = range(before.writing_no + 1, link.writing_no)
        lost = [number for number in sorted(chains.writings) if number in within and number not in linked]
        made = [before]
        for writing_no in lost if len(lost) == link.link_no - before.link_no - 1 else ():
            made.append(_remade_of_log(chains, made[-1], writing_no, heads, now, commitments))
        if len(made) > 1 and next_head(made[-1].head, link.text) == link.head:
            found += made[1:]
        found.append(link)
        before = link
    chains.links = found


def _remade_of_log(
    chains: Chains,
    before: LinkOfLog,
    writing_no: int,
    heads: Mapping[int, list[tuple[str, str]]],
    now: Mapping[Place, Segment],
    commitments: Mapping[str, str],
) -> LinkOfLog:
    """The link after another that all that is left of one writing comes to."""
    number, writing = before.link_no + 1, chains.writings[writing_no]
    rows, marks = now[None, writing_no].end() if (None, writing_no) in now else ([], b"")
    content = log_content(
        moment_number(writing.recorded_at),
        commitments[writing.recorded_by],
        rows,
        chains.seals.get(number, []),
        heads.get(number, []),
    )
    return LinkOfLog(number, writing_no, content, marks, next_head(before.head, content))


def remake_engine_links(chains: Chains, now: Mapping[Place, Segment]) -> None:
    """Makes the lost links of engines anew from the rows of `now`, where the log's links prove them."""
    heads = chains.engines_by_link()
    engines: dict[int, set[int]] = defaultdict(set)
    for number, writing_no in now:
        if number is not None and number in chains.serials:
            engines[writing_no].add(number)
    for link in chains.links:
        content, left = link.content, heads[link.link_no]
        if content is None or content.engines == listed(left):
            continue
        linked = {serial for serial, _ in left}
        made = {
            number: _remade(chains, number, link.link_no, now[number, link.writing_no])
            for number in engines[link.writing_no]
            if chains.serials[number] not in linked
        }
        remade = [(chains.serials[number], link_made.head) for number, link_made in made.items()]
        if content.engines == listed(left + remade):
            for number, link_made in made.items():
                insort(chains.of_engine[number], link_made, key=attrgetter("link_no"))


def _remade(chains: Chains, number: int, link_no: int, segment: Segment) -> LinkOfEngine:
    """The link of an engine's chain that its rows of one writing come to."""
    rows, marks = segment.end()
    content = engine_content(rows)
    before = [link.head for link in chains.of_engine[number] if link.link_no < link_no]
    head = next_head(before[-1] if before else first_head(chains.serials[number]), content)
    return LinkOfEngine(link_no, content, marks, head)


@dataclass(frozen=True, slots=True)
class Doubts:
    """The last link of a damaged log of which seals of ledgers, and of facts, may be lost; else 0."""

    of_ledgers: float
    of_facts: float

    @classmethod
    def of(cls, chains: Chains, now: Collection[Place], lost: Set[str]) -> Doubts:
        """What is in doubt where `lost` names the tables that may have lost rows."""
        heads = chains.engines_by_link()
        before, last_writing_no = 0, 0
        of_ledgers = of_facts = 0.0
        for link in chains.links:
            number, content = link.link_no, link.content
            if number != before + 1:
                of_ledgers = of_facts = number - 1
            if content is None or content.engines != listed(heads[number]):
                of_ledgers = number
            if content is None or content.facts != listed(chains.seals.get(number, [])):
                of_facts = number
            before, last_writing_no = number, link.writing_no
        writings = {*chains.writings, *(writing_no for _, writing_no in now)}
        if (
            lost >= _TELL_OF_THE_END
            or max(writings, default=0) > last_writing_no
            or max([*heads, *chains.seals], default=0) > before
        ):
            of_ledgers = of_facts = inf
        return cls(of_ledgers, of_facts)

    def of_engines(self, chains: Chains) -> Iterator[Fault]:
        """The engines of which something may have been written after all that is left."""
        sealed = {
            key: number
            for number in sorted(chains.seals)
            for kind, key, _ in chains.seals[number]
            if kind == "engines"
        }
        for number, serial in chains.serials.items():
            links = chains.of_engine.get(number)
            last = links[-1].link_no if links else 0
            if last < self.of_ledgers or sealed.get(serial, 0) < self.of_facts:
                text = "what sealed its last rows may be lost, so it is not known whether they are all there"
                yield Fault(NOT_COMPARED, serial, text)

    def of_rows(self, chains: Chains, left: Mapping[Place, Segment]) -> Iterator[Fault]:
        """The rows that no link is left of."""
        for (number, writing_no), segment in left.items():
            rows, _ = segment.end()
            told = ", ".join(counted_kind(count, kind) for kind, count, _ in rows)
            engine = None if number is None else chains.serials[number]
            yield Fault(NOT_COMPARED, engine, f"{told}: no seal of them is left ({chains.shown(writing_no)})")
