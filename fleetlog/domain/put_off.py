"""What the shop put off, and what a due list leaves out for that: it is told, as the maker's limit stands."""

from __future__ import annotations

from collections.abc import Iterable

from fleetlog.domain.hours import hours_text
from fleetlog.domain.kept import ListedLine
from fleetlog.domain.words import with_position
from fleetlog.errors import as_word, one_of


def put_off_texts(lines: Iterable[ListedLine]) -> list[str]:
    """The lines that a list without later ones leaves out since they were put off, in one sentence.

    What is grave comes first. A line whose own limits come later still is left out for these.
    """
    left_out = [line for line in lines if line.is_put_off]
    if not left_out:
        return []
    from fleetlog.domain.gravity import is_grave

    left_out.sort(key=lambda line: (not is_grave(line.rule), line.order))
    first = left_out[0]
    named = one_of([f"{line.serial} {_work(line)} until {_until(line)}" for line in left_out])
    return [
        f"put off, and so not in this list: {named}; what the schedule says:"
        f" fleetlog why {as_word(first.serial)} {as_word(first.rule.key)}; all: fleetlog due --all"
    ]


def _work(line: ListedLine) -> str:
    return repr(with_position(line.rule.title, line.position))


def _until(line: ListedLine) -> str:
    until = [line.deferred_on.isoformat()] if line.deferred_on is not None else []
    until += [f"{hours_text(line.deferred_tenths)} h"] if line.deferred_tenths is not None else []
    return " or ".join(until)
