"""Offers the names nearest to one that is not known, quickly even where a great many are known."""

from __future__ import annotations

import re
from collections.abc import Collection

MISSPELT = 0.85
"""So like a known name is one that may have been meant for it."""

_MOST_COMPARED = 2000
_SLIPS = 2
_BETWEEN_PARTS = re.compile(r"[^0-9A-Za-z]+")


def nearest(name: str, known: Collection[str], most: int = 3, likeness: float = 0.6) -> list[str]:
    """Up to `most` known names that look like `name`, the nearest first; case does not count.

    `likeness` goes from 0 to 1, for the same name.

    What one or two slips of the hand explain comes first; two letters exchanged are one slip.
    Among more than a few thousand known names only those are compared that share the beginning or the end.
    """
    from difflib import get_close_matches

    wanted = name.casefold()[:200]
    pool: Collection[str] = known
    if len(known) > _MOST_COMPARED:
        head, tail = wanted[:3], wanted[-3:]
        pool = [k for k in known if k.casefold().startswith(head) or k.casefold().endswith(tail)]
        pool = sorted(pool)[:_MOST_COMPARED]
    spellings: dict[str, str] = {}
    for spelling in pool:
        spellings.setdefault(spelling.casefold(), spelling)
    alike = get_close_matches(wanted, sorted(spellings), n=10 * most, cutoff=likeness)
    alike.sort(key=lambda key: min(_slips(wanted, key), _SLIPS + 1))
    return [spellings[key] for key in alike[:most]]


def _slips(one: str, other: str) -> int:
    """How many letters were left out, put in, mistaken or exchanged with the next between two words."""
    before: list[int] = []
    last = list(range(len(other) + 1))
    for i, letter in enumerate(one, 1):
        row = [i]
        for j, theirs in enumerate(other, 1):
            row.append(min(last[j] + 1, row[j - 1] + 1, last[j - 1] + (letter != theirs)))
            if i > 1 and j > 1 and letter == other[j - 2] and theirs == one[i - 2]:
                row[j] = min(row[j], before[j - 2] + 1)
        before, last = last, row
    return last[-1]


def nearest_numbers(typed: str, known: Collection[str], most: int = 3) -> list[str]:
    """Up to `most` known numbers that look, or of which a part looks, like what was typed."""
    owner: dict[str, str] = {}
    for number in known:
        for part in (number, *_BETWEEN_PARTS.split(number)):
            owner.setdefault(part, number)
    return list(dict.fromkeys(owner[part] for part in nearest(typed, owner, 2 * most)))[:most]


def offer(name: str, known: Collection[str]) -> str:
    """The nearest known names as a remark for the end of a sentence; empty where none is near."""
    found = nearest(name, known)
    return f" (nearest: {', '.join(found)})" if found else ""
