"""Offers the names nearest to one that is not known, quickly even where a great many are known."""

from __future__ import annotations

from collections.abc import Collection

_MOST_COMPARED = 2000


def nearest(name: str, known: Collection[str], most: int = 3, likeness: float = 0.6) -> list[str]:
    """Up to `most` known names that look like `name`, the nearest first; case does not count.

    `likeness` goes from 0 to 1, for the same name.

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
    return [spellings[key] for key in get_close_matches(wanted, sorted(spellings), n=most, cutoff=likeness)]


def offer(name: str, known: Collection[str]) -> str:
    """The nearest known names as a remark for the end of a sentence; empty where none is near."""
    found = nearest(name, known)
    return f" (nearest: {', '.join(found)})" if found else ""
