"""What is wrong with a file that was handed in: place, value and what was expected, one line each."""

from __future__ import annotations

from dataclasses import dataclass, field

MOST_REPORTED = 50
_MOST_SHOWN = 60


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong with a row, or without a `line` with a file.

    `line` counts from 1, which is the header; without a `column` the whole row is meant. `value` is what
    stood there, None where that is not the point. Where two lines say the same, `first_line` is the earlier.
    """

    file: str
    line: int | None
    column: str | None
    value: str | None
    expected: str
    first_line: int | None = None

    def __str__(self) -> str:
        place = self.file
        if self.line is not None:
            place += f", line {self.line}"
        if self.column is not None:
            place += f", column {printable(self.column)}"
        expected = self.expected
        if self.first_line is not None:
            expected += f"; line {self.first_line} says it first"
        if self.value is None:
            return f"{place}: expected {expected}"
        found = "nothing" if not self.value else printable(self.value)
        if self.value and self.column is not None:
            found = f'"{found}"'
        return f"{place}: found {found}; expected {expected}"


@dataclass(frozen=True, slots=True)
class Remark:
    """What is odd and stops nothing, of a row of a file where it has one; `line` counts from 1."""

    text: str
    file: str | None = None
    line: int | None = None

    def __str__(self) -> str:
        place = self.file or ""
        if self.line is not None:
            place += f", line {self.line}"
        return f"{place}: {self.text}" if place else self.text


Told = Problem | Remark


@dataclass(slots=True)
class ProblemList:
    """Problems as they are met: the first fifty kept, the others only counted."""

    kept: list[Problem] = field(default_factory=list)
    more: int = 0

    def add(self, problem: Problem) -> None:
        """Adds one problem, or counts it where the list is full."""
        if self.is_full:
            self.more += 1
        else:
            self.kept.append(problem)

    def take(self, others: ProblemList) -> None:
        """Adds those of another list."""
        for problem in others.kept:
            self.add(problem)
        self.more += others.more

    @property
    def is_full(self) -> bool:
        """Whether further problems are only counted."""
        return len(self.kept) >= MOST_REPORTED

    def __bool__(self) -> bool:
        return bool(self.kept)


def printable(value: str) -> str:
    """A value as it can be shown in one line: short, and without anything a terminal would act on."""
    short = value if len(value) <= _MOST_SHOWN else value[: _MOST_SHOWN - 1] + "…"
    return "".join(c if c.isprintable() else c.encode("unicode_escape").decode("ascii") for c in short)
