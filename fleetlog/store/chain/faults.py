"""Names the rows in which what stands in a log differs from what was sealed."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date
from typing import Any, NamedTuple

from sqlalchemy import Connection

from fleetlog.domain.chain import MARK_BYTES, Difference, Fault, Segment, differences
from fleetlog.errors import counted
from fleetlog.store.chain.rows import ChainedRows, chained_kind, chained_rows
from fleetlog.store.chain.salts import KnownCommitments

NAMED_AT_MOST = 20
"""How many rows of one kind and one writing are named one by one."""

ENGINES_NAMED = 50
"""Of how many engines rows are named; beyond that, how many differ is said."""

Place = tuple[int | None, int]


class Sealed(NamedTuple):
    """What a link says of its rows: kind, count and digest of each, and all their marks."""

    rows: list[Any]
    marks: bytes


NOTHING_SEALED = Sealed([], b"")


class _Row(NamedTuple):
    """One row, and those it was read among."""

    among: ChainedRows
    values: Sequence[Any]

    def line(self, commitments: KnownCommitments) -> bytes:
        return self.among.content.lines([[value] for value in self.values], commitments)[0]


class FaultyRows:
    """Gathers what differs, then reads those rows once more to name them."""

    def __init__(
        self,
        connection: Connection,
        commitments: KnownCommitments,
        serials: Mapping[int, str],
        corrected: Mapping[str, str],
        shown: Callable[[int], str],
    ) -> None:
        self._connection, self._commitments = connection, commitments
        self._serials, self._corrected, self._shown = serials, corrected, shown
        self._found: dict[Place, dict[str, list[Difference]]] = defaultdict(dict)
        self._counts: dict[tuple[Place, str], int] = {}

    def compare(self, engine_no: int | None, writing_no: int, sealed: Sealed, now: Segment | None) -> None:
        """Compares what a writing added to one chain with what stands there now."""
        rows, marks = now.end() if now is not None else ([], b"")
        if rows == sealed.rows and marks == sealed.marks:
            return
        before, after = _by_kind(sealed), _by_kind(Sealed(rows, marks))
        place = (engine_no, writing_no)
        for kind in sorted(before.keys() | after.keys()):
            old, new = before.get(kind, (None, b"")), after.get(kind, (None, b""))
            if old != new:
                self._found[place][kind] = differences(old[1], new[1], old[0] != new[0])
                self._counts[place, kind] = len(old[1]) // MARK_BYTES

    def faults(self) -> list[Fault]:
        """Every difference in words, engine by engine."""
        named = dict.fromkeys(engine for engine, _ in self._found)
        faults: list[Fault] = []
        for place, engine_no in enumerate(sorted(named, key=lambda n: n or 0)):
            rows = self._rows(engine_no) if place < ENGINES_NAMED else {}
            for (engine, writing_no), kinds in self._found.items():
                if engine == engine_no:
                    for kind, found in kinds.items():
                        key = ((engine, writing_no), kind)
                        faults += self._named(key, found, rows.get((writing_no, kind), []))
        return faults

    def _rows(self, engine_no: int | None) -> dict[tuple[int, str], list[_Row]]:
        """The rows of the writings that differ, in the order in which they are hashed."""
        found: dict[tuple[int, str], list[_Row]] = defaultdict(list)
        only = None if engine_no is None else {"engine_no": engine_no}
        for rows in chained_rows(self._connection, only):
            told = zip(rows.engine_nos, rows.writing_nos, zip(*rows.columns, strict=True), strict=True)
            for number, writing_no, values in told:
                if number == engine_no and rows.label in self._found.get((engine_no, writing_no), ()):
                    found[writing_no, rows.label].append(_Row(rows, values))
        for of_kind in found.values():
            if not of_kind[0].among.ordered:
                of_kind.sort(key=lambda row: row.line(self._commitments))
        return found

    def _key_text(self, row: _Row) -> str:
        """The key of a row; what speaks of an engine by the number that it has now."""
        shown = []
        for name in chained_kind(row.among.kind).key:
            value = row.values[row.among.names.index(name)]
            is_day = name.endswith("_on") and isinstance(value, int)
            shown.append(date.fromordinal(value).isoformat() if is_day else str(value))
        if row.among.kind == "changes" and "engines" in shown:
            shown = [self._corrected.get(word, word) for word in shown]
        return " ".join(shown)

    def _named(self, key: tuple[Place, str], found: list[Difference], rows: list[_Row]) -> Iterator[Fault]:
        (engine_no, writing_no), kind = key
        engine = None if engine_no is None else self._serials.get(engine_no, f"no. {engine_no}")
        where = f"({self._shown(writing_no)})"
        gone = [one.sealed + 1 for one in found if one.now is None and one.sealed is not None]
        there = [one for one in found if one.now is not None or one.sealed is None]
        for one in there[:NAMED_AT_MOST]:
            fault, said = one.kind, _SAID[one.kind]
            if one.now is None:
                what, said = kind, "a row was changed so that its short mark still fits"
            elif one.now < len(rows):
                row = rows[one.now]
                what = f"{kind} {self._key_text(row)}"
                if fault == "changed":
                    fault, said = self._why_changed(row)
            else:
                what = f"{kind}, row {one.now + 1}"
            yield Fault(fault, engine, f"{what}: {said} {where}")
        if len(there) > NAMED_AT_MOST:
            more = len(there) - NAMED_AT_MOST
            yield Fault(
                there[0].kind,
                engine,
                f"{kind}: {counted(more, 'more row differs', 'more rows differ')} {where}",
            )
        if gone:
            which, are = (f"row {gone[0]}", "is") if len(gone) == 1 else (f"rows {_runs(gone)}", "are")
            said = f"{kind}: {which} of the {self._counts[key]} that were written {are} gone {where}"
            yield Fault("deleted", engine, said)

    def _why_changed(self, row: _Row) -> tuple[str, str]:
        for place in row.among.content.committed:
            text = row.values[place]
            if text is not None and self._commitments.lacks(text):
                return self._commitments.verdict(row.among.names[place], text)
        return "changed", _SAID["changed"]


def _runs(numbers: Sequence[int]) -> str:
    """Ascending numbers as a person lists them: 1 to 9, 12; the first runs, and how many numbers follow."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    shown = ", ".join(
        f"{run[0]} to {run[-1]}" if len(run) > 1 else str(run[0]) for run in runs[:NAMED_AT_MOST]
    )
    more = sum(map(len, runs[NAMED_AT_MOST:]))
    return f"{shown} and {more} more" if more else shown


_SAID = {
    "changed": "it is not as it was written",
    "inserted": "no writing sealed it",
    "reordered": "it does not stand where it was written",
}


def _by_kind(sealed: Sealed) -> dict[str, tuple[Any, bytes]]:
    """The digest and the marks of each kind."""
    found, start = {}, 0
    for kind, count, digest in sealed.rows:
        end = start + count * MARK_BYTES
        found[kind] = (digest, sealed.marks[start:end])
        start = end
    return found
