"""Finds rows that no folder can hold: what is read of a damaged log may say what an import refuses."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from operator import attrgetter
from typing import Any

from fleetlog.domain.batch import Batch
from fleetlog.domain.row_rules import NEEDED
from fleetlog.exchange.csv.cells import CellNotUsable, Memo, cell_text, neutralised
from fleetlog.exchange.csv.columns import Column, CsvFile
from fleetlog.exchange.csv.files import BY_KIND, row_rule
from fleetlog.exchange.problems import printable


def take_out_unfit(batch: Batch) -> tuple[Batch, list[str]]:
    """Takes the rows out of a batch that an import would refuse by themselves; gives them, and why, each."""
    apart, said = Batch(), []
    for kind, rows in batch.by_kind():
        if kind in BY_KIND:
            wrong_with = _checked(BY_KIND[kind])
            kept = []
            for row in rows:
                wrong = next(wrong_with(row), None)
                if wrong is None:
                    kept.append(row)
                else:
                    getattr(apart, kind).append(row)
                    said.append(f"{kind} {BY_KIND[kind].key_of(row)}: {wrong}")
            setattr(batch, kind, kept)
    return apart, said


def _checked(file: CsvFile) -> Callable[[Any], Iterator[str]]:
    columns = [(attrgetter(c.fills), Memo(_wrong_in(c)).__getitem__) for c in file.columns]
    rule = row_rule(file)

    def wrong_with(row: Any) -> Iterator[str]:
        yield from filter(None, (wrong(value_of(row)) for value_of, wrong in columns))
        for field, expected in () if rule is None else rule(row):
            yield f"{file.column_of(field)}: expected {expected}"

    return wrong_with


def _wrong_in(column: Column) -> Callable[[Any], str | None]:
    def wrong(value: Any) -> str | None:
        written = "" if value is None else column.kind.write(value)
        try:
            text = cell_text(neutralised(written))
            if text is not None:
                column.kind.read(text)
            elif column.required:
                return f"{column.name}: expected {NEEDED}"
        except CellNotUsable as expected:
            return f'{column.name}: found "{printable(written)}"; expected {expected}'
        return None

    return wrong
