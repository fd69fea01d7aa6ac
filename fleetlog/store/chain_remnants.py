"""What the chains of a damaged log can still say, and of which engines they cannot say all.

The links of engines are told twice, by themselves and by digests in the links of the log. So one that is lost
is made anew from the rows that it sealed, and counts where the log's link has its digest.
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
    NOT_COMPARED,
    Fault,
    Segment,
    engine_content,
    first_head,
    listed,
    next_head,
)
from fleetlog.store.chain_faults import Place
from fleetlog.store.chain_heads import LOG_LINKS
from fleetlog.store.chain_links import Chains, LinkOfEngine, read_chains
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


def remake_links(chains: Chains, now: Mapping[Place, Segment]) -> None:
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
            told = ", ".join(f"{count} {kind}" for kind, count, _ in rows)
            engine = None if number is None else chains.serials[number]
            yield Fault(NOT_COMPARED, engine, f"{told}: no seal of them is left ({chains.shown(writing_no)})")
