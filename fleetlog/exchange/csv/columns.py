"""What a file of the CSV folder is: its columns, the field each one fills, and what a row is known by."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, fields
from operator import attrgetter
from typing import Any

from fleetlog.exchange.csv.cells import CellKind


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its name, the kind of its cells, and the field of the row if that is called otherwise."""

    name: str
    kind: CellKind
    required: bool = False
    field_name: str = ""

    @property
    def fills(self) -> str:
        """The field of the row that the column fills."""
        return self.field_name or self.name


@dataclass(frozen=True, slots=True)
class CsvFile:
    """One file: the kind of rows as `Batch` names it, its columns, and the fields that are a row's key.

    Where rows may come without an id, `id_field` is the field that gets one made of the row's content, of
    all fields but those in `id_leaves_out`. `named_by` is the field whose value stands in for a name that is
    not known.
    """

    kind: str
    row_type: type[Any]
    columns: tuple[Column, ...]
    key_fields: tuple[str, ...]
    id_field: str | None = None
    id_leaves_out: tuple[str, ...] = ()
    named_by: str | None = None
    key_of: Callable[[Any], Any] = field(init=False, repr=False)
    """What a row is known by: an id, or a tuple where it takes several fields."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "key_of", attrgetter(*self.key_fields))

    @property
    def name(self) -> str:
        """The file's name in the folder."""
        return f"{self.kind}.csv"

    def column_of(self, field_name: str) -> str:
        """The name of the column that fills a field of the row."""
        return next((c.name for c in self.columns if c.fills == field_name), field_name)

    def columns_from(self, rows: Sequence[Any]) -> list[list[Any]]:
        """A column for every field of rows, in the order of the fields."""
        return [list(map(attrgetter(f.name), rows)) for f in fields(self.row_type)]


def csv_file(
    row_type: type[Any], kind: str, *columns: Column, key: tuple[str, ...], made: bool = False, **more: Any
) -> CsvFile:
    """A file of the folder; `made` says that its first key is made from a row's content where it is empty."""
    return CsvFile(kind, row_type, columns, key, key[0] if made else None, **more)


def needed(name: str, kind: CellKind, field_name: str = "") -> Column:
    """A column without which a row makes no sense."""
    return Column(name, kind, True, field_name)
