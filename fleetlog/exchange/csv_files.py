"""The files of the CSV folder: which columns each has, in order, and which field of a row each fills."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, fields
from operator import attrgetter
from typing import Any

from fleetlog.domain import records, words
from fleetlog.exchange import csv_cells as cells
from fleetlog.exchange.csv_cells import CellKind


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

    `id_field` is the one of them that a row without an id of its own is given from its content, all fields
    but those of `id_leaves_out`. `named_by` is the field that stands in for a name that is not known.
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


def _file(
    row_type: type[Any], kind: str, *columns: Column, key: tuple[str, ...], made: bool = False, **more: Any
) -> CsvFile:
    return CsvFile(kind, row_type, columns, key, key[0] if made else None, **more)


def _needed(name: str, kind: CellKind, field_name: str = "") -> Column:
    return Column(name, kind, True, field_name)


FACTS_OF: dict[str, type[Any]] = {
    "owners": records.Owner,
    "boats": records.Boat,
    "engines": records.Engine,
}
"""The kinds of rows whose facts change in time, as `changes.csv` and `Change.kind` name them."""

OWNERS = _file(
    records.Owner,
    "owners",
    _needed("owner_id", cells.ID),
    Column("name", cells.TEXT),
    Column("email", cells.TEXT),
    Column("phone", cells.TEXT),
    Column("address", cells.TEXT),
    Column("remind_by", cells.one_of(words.REMIND_BY)),
    key=("owner_id",),
    named_by="owner_id",
)
BOATS = _file(
    records.Boat,
    "boats",
    _needed("boat_id", cells.ID),
    Column("owner_id", cells.REFERENCE),
    Column("name", cells.TEXT),
    Column("registration", cells.TEXT),
    Column("water", cells.one_of(words.WATERS)),
    Column("use", cells.one_of(words.USES)),
    Column("berth", cells.TEXT),
    key=("boat_id",),
    named_by="boat_id",
)
ENGINES = _file(
    records.Engine,
    "engines",
    _needed("serial", cells.REFERENCE),
    Column("maker", cells.NAME),
    Column("model", cells.NAME),
    Column("family", cells.NAME),
    Column("model_year", cells.YEAR),
    Column("in_service_on", cells.DAY),
    Column("logged_from_new", cells.YES_OR_NO),
    Column("hour_meter", cells.YES_OR_NO),
    Column("schedule", cells.NAME),
    Column("boat_id", cells.REFERENCE),
    Column("position", cells.NAME),
    Column("state", cells.one_of(words.ENGINE_STATES)),
    key=("serial",),
)
CHANGES = _file(
    records.Change,
    "changes",
    _needed("kind", cells.one_of(tuple(FACTS_OF))),
    _needed("key", cells.REFERENCE),
    _needed("field", cells.NAME),
    Column("was", cells.TEXT),
    _needed("until_on", cells.DAY),
    _needed("changed_at", cells.MOMENT),
    _needed("by", cells.NAME),
    key=("key", "kind", "field", "until_on", "changed_at"),
)
OWNERSHIP = _file(
    records.Ownership,
    "ownership",
    _needed("boat_id", cells.REFERENCE),
    _needed("owner_id", cells.REFERENCE),
    _needed("from_on", cells.DAY),
    key=("boat_id", "from_on"),
)
LAYUPS = _file(
    records.Layup,
    "layups",
    _needed("boat_id", cells.REFERENCE),
    _needed("from", cells.DAY, "from_on"),
    Column("to", cells.DAY, field_name="to_on"),
    key=("boat_id", "from_on"),
)
MOUNTS = _file(
    records.Mount,
    "mounts",
    _needed("serial", cells.REFERENCE),
    _needed("boat_id", cells.REFERENCE),
    Column("position", cells.NAME),
    _needed("from_on", cells.DAY),
    Column("to_on", cells.DAY),
    key=("serial", "from_on"),
)
METERS = _file(
    records.Meter,
    "meters",
    _needed("serial", cells.REFERENCE),
    _needed("fitted_on", cells.DAY),
    Column("meter_reads", cells.HOURS, field_name="meter_reads_tenths"),
    _needed("engine_hours", cells.HOURS, "engine_tenths"),
    Column("reason", cells.TEXT),
    key=("serial", "fitted_on"),
)
READINGS = _file(
    records.Reading,
    "readings",
    Column("reading_id", cells.ID),
    _needed("serial", cells.REFERENCE),
    _needed("on", cells.DAY),
    _needed("meter", cells.HOURS, "meter_tenths"),
    Column("source", cells.NAME),
    Column("status", cells.one_of(words.READING_STATUSES)),
    Column("by", cells.NAME),
    key=("reading_id",),
    made=True,
    id_leaves_out=("status",),
)
VISITS = _file(
    records.Visit,
    "visits",
    _needed("visit_id", cells.REFERENCE),
    Column("boat_id", cells.REFERENCE),
    Column("opened_on", cells.DAY),
    Column("closed_on", cells.DAY),
    Column("why", cells.NAME),
    Column("complaint", cells.TEXT),
    Column("cause", cells.TEXT),
    Column("correction", cells.TEXT),
    Column("advised", cells.TEXT),
    Column("note", cells.TEXT),
    key=("visit_id",),
)
ENTRIES = _file(
    records.Entry,
    "entries",
    Column("entry_id", cells.ID),
    Column("visit_id", cells.REFERENCE),
    _needed("serial", cells.REFERENCE),
    _needed("on", cells.DAY),
    Column("meter", cells.HOURS, field_name="meter_tenths"),
    _needed("action", cells.one_of(words.ACTIONS)),
    Column("scope", cells.one_of(words.REBUILD_SCOPES)),
    Column("item", cells.NAME),
    Column("position", cells.NAME),
    Column("part_number", cells.NAME),
    Column("lot", cells.NAME),
    Column("condition", cells.one_of(words.CONDITIONS)),
    Column("prior_hours", cells.HOURS, field_name="prior_tenths"),
    Column("prior_months", cells.MONTHS),
    Column("from_serial", cells.REFERENCE),
    Column("reason", cells.one_of(words.REMOVAL_REASONS)),
    Column("again_hours", cells.HOURS_ABOVE_0, field_name="again_tenths"),
    Column("again_months", cells.MONTHS_ABOVE_0),
    Column("measured", cells.FIGURE),
    Column("unit", cells.NAME),
    Column("note", cells.TEXT),
    Column("by", cells.NAME),
    Column("checked_by", cells.NAME),
    key=("entry_id",),
    made=True,
)
VOIDS = _file(
    records.Void,
    "voids",
    _needed("entry_id", cells.REFERENCE),
    _needed("voided_at", cells.MOMENT),
    _needed("by", cells.NAME),
    _needed("reason", cells.TEXT),
    Column("replaced_by", cells.REFERENCE),
    key=("entry_id",),
)
DEFERRALS = _file(
    records.Deferral,
    "deferrals",
    Column("deferral_id", cells.ID),
    _needed("serial", cells.REFERENCE),
    _needed("rule", cells.NAME),
    Column("position", cells.NAME),
    Column("until_on", cells.DAY),
    Column("until_hours", cells.HOURS, field_name="until_tenths"),
    _needed("reason", cells.TEXT),
    _needed("by", cells.NAME),
    _needed("at", cells.MOMENT),
    key=("deferral_id",),
    made=True,
)

CSV_FILES = (
    OWNERS,
    BOATS,
    ENGINES,
    CHANGES,
    OWNERSHIP,
    LAYUPS,
    MOUNTS,
    METERS,
    READINGS,
    VISITS,
    ENTRIES,
    VOIDS,
    DEFERRALS,
)
"""All files, in the order in which their rows refer to each other."""

BY_KIND = {file.kind: file for file in CSV_FILES}


def facts_of(kind: str) -> dict[str, Callable[[str], Any]]:
    """The fields of an owner, a boat or an engine that can change, each with the reader of its texts."""
    file = BY_KIND[kind]
    known = {f.name for f in fields(file.row_type)}
    return {c.fills: c.kind.read for c in file.columns if c.fills in known and c.fills not in file.key_fields}
