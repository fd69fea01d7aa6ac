"""Every refusal, in one place: one base, one class a cause, the wording in the class; a module an area.

A refusal is what the person did or the data say, never a bug: it becomes one line on standard
error and exit status 1. Odd but usable data are findings, which are returned, not raised.
"""

from __future__ import annotations

import os
from collections.abc import Sequence


class FleetlogError(Exception):
    """Base of every refusal; its text says what is wrong, where, and what to do."""


def one_of(words: Sequence[str], most: int = 6) -> str:
    """A choice for the reader: the first words, and how many more there are."""
    shown = list(words[:most])
    more = len(words) - len(shown)
    listed = ", ".join(shown)
    return f"{listed} and {more} more" if more > 0 else listed


def as_word(text: str) -> str:
    """A text of the log as one word of a command that is offered, whatever a shell would make of it bare."""
    from shlex import quote

    word = quote(text)
    if os.name != "nt" or word == text:
        return word
    escaped = text.replace('"', '\\"')
    return f'"{escaped}"'  # no shell there takes single quotes for what they are elsewhere


def first_of(problems: Sequence[str]) -> str:
    """The first of some problems, and how many more there are: `… (and 2 more)`."""
    return f"{problems[0]} (and {len(problems) - 1} more)" if len(problems) > 1 else problems[0]


def lines_of(problems: Sequence[str], most: int = 50) -> list[str]:
    """A line for each problem, and one that says how many more there are."""
    more = len(problems) - most
    return [*problems[:most], *([f"and {more} more"] if more > 0 else [])]


def counted(count: int, one: str, many: str | None = None) -> str:
    """`1 engine`, `3 engines`; `many` where more changes than an s: `1 engine is`, `3 engines are`."""
    return f"{count} {one if count == 1 else many or one + 's'}"
