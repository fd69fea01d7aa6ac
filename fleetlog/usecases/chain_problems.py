"""Puts what is wrong with the chains into words; a head printed before finds a tail that was cut off."""

from __future__ import annotations

from fleetlog.errors.extracts import HeadTooShort
from fleetlog.store.chain.check import ChainReport

HEAD_CHARACTERS = 16
"""How much of a head has to be given for a comparison: 64 bits."""


def chain_problems(chains: ChainReport, printed_head: str | None = None) -> list[str]:
    """What is wrong with the chains: its kind, its engine, and in words.

    `printed_head` is a head that was printed before, or at least 16 characters of it: it has to be one
    that the log had. Raises HeadTooShort.
    """
    found = []
    for fault in chains.faults:
        engine = "" if fault.engine is None else f"engine {fault.engine}, "
        found.append(f"{fault.kind}: {engine}{fault.text}")
    if printed_head is not None:
        wanted = printed_head.strip().casefold()
        if len(wanted) < HEAD_CHARACTERS:
            raise HeadTooShort(printed_head, HEAD_CHARACTERS)
        if not any(head.startswith(wanted) for head in chains.heads):
            found.append(
                f"cut off: the head {wanted} is none that this log ever had, so what was written last before"
                " it was printed is gone, or it is another log's"
            )
    return found
