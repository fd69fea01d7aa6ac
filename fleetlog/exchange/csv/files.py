"""The files of the CSV folder: which columns each has, in order, and which field of a row each fills."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import fields
from typing import Any

from fleetlog.domain import records, words
from fleetlog.domain.parts import Part
from fleetlog.domain.renumbered import SERIAL
from fleetlog.domain.row_rules import Wrong, rule_for
from fleetlog.exchange.csv import cells
from fleetlog.exchange.csv.columns import Column, CsvFile, csv_file, needed
from fleetlog.exchange.diary_files import DIARY_FILES
from fleetlog.exchange.evidence_files import EVIDENCE_FILES
from fleetlog.exchange.paper_files import PAPER_FILES
from fleetlog.exchange.promise_files import PROMISE_FILES

FACTS_OF: dict[str, type[Any]] = {
    "owners": records.Owner,
    "boats": records.Boat,
    "engines": records.Engine,
}
"""The kinds of rows whose facts change in time, as `changes.csv` and `Change.kind` name them."""

OWNERS = csv_file(
    records.Owner,
    "owners",
    needed("owner_id", cells.ID),
    Column("name", cells.TEXT),
    Column("email", cells.TEXT),
    Column("phone", cells.TEXT),
    Column("address", cells.TEXT),
    Column("remind_by", cells.one_of(words.REMIND_BY)),
    key=("owner_id",),
    named_by="owner_id",
)
BOATS = csv_file(
    records.Boat,
    "boats",
    needed("boat_id", cells.ID),
    Column("owner_id", cells.REFERENCE),
    Column("name", cells.TEXT),
    Column("registration", cells.TEXT),
    Column("water", cells.one_of(words.WATERS)),
    Column("use", cells.one_of(words.USES)),
    Column("berth", cells.TEXT),
    key=("boat_id",),
    named_by="boat_id",
)
ENGINES = csv_file(
    records.Engine,
    "engines",
    needed("serial", cells.REFERENCE),
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
CHANGES = csv_file(
    records.Change,
    "changes",
    needed("kind", cells.one_of(tuple(FACTS_OF))),
    needed("key", cells.REFERENCE),
    needed("field", cells.NAME),
    Column("was", cells.TEXT),
    needed("until_on", cells.DAY),
    needed("changed_at", cells.MOMENT),
    needed("by", cells.NAME),
    Column("reason", cells.TEXT),
    key=("key", "kind", "field", "until_on", "changed_at"),
)
OWNERSHIP = csv_file(
    records.Ownership,
    "ownership",
    needed("boat_id", cells.REFERENCE),
    needed("owner_id", cells.REFERENCE),
    needed("from_on", cells.DAY),
    key=("boat_id", "from_on"),
)
LAYUPS = csv_file(
    records.Layup,
    "layups",
    needed("boat_id", cells.REFERENCE),
    needed("from", cells.DAY, "from_on"),
    Column("to", cells.DAY, field_name="to_on"),
    key=("boat_id", "from_on"),
)
LAYUP_CHANGES = csv_file(
    records.LayupChange,
    "layup_changes",
    Column("change_id", cells.ID),
    needed("boat_id", cells.REFERENCE),
    needed("from", cells.DAY, "from_on"),
    needed("change", cells.one_of(words.LAYUP_CHANGES)),
    Column("to", cells.DAY, field_name="to_on"),
    needed("at", cells.MOMENT),
    needed("by", cells.NAME),
    Column("reason", cells.TEXT),
    key=("change_id",),
    made=True,
)
MOUNTS = csv_file(
    records.Mount,
    "mounts",
    needed("serial", cells.REFERENCE),
    needed("boat_id", cells.REFERENCE),
    Column("position", cells.NAME),
    needed("from_on", cells.DAY),
    Column("to_on", cells.DAY),
    key=("serial", "from_on"),
)
CORRECTIONS = csv_file(
    records.Correction,
    "corrections",
    needed("correction_id", cells.ID),
    needed("kind", cells.one_of(words.CORRECTED)),
    needed("key", cells.REFERENCE),
    needed("from_on", cells.DAY),
    Column("owner_id", cells.REFERENCE),
    Column("boat_id", cells.REFERENCE),
    Column("position", cells.NAME),
    needed("at", cells.MOMENT),
    needed("by", cells.NAME),
    Column("reason", cells.TEXT),
    key=("correction_id",),
)
METERS = csv_file(
    records.Meter,
    "meters",
    needed("serial", cells.REFERENCE),
    needed("fitted_on", cells.DAY),
    Column("meter_reads", cells.HOURS, field_name="meter_reads_tenths"),
    needed("engine_hours", cells.HOURS, "engine_tenths"),
    Column("reason", cells.TEXT),
    key=("serial", "fitted_on"),
)
READINGS = csv_file(
    records.Reading,
    "readings",
    Column("reading_id", cells.ID),
    needed("serial", cells.REFERENCE),
    needed("on", cells.DAY),
    needed("meter", cells.HOURS, "meter_tenths"),
    Column("source", cells.NAME),
    Column("status", cells.one_of(words.READING_STATUSES)),
    Column("by", cells.NAME),
    key=("reading_id",),
    made=True,
    id_leaves_out=("status",),
)
VISITS = csv_file(
    records.Visit,
    "visits",
    needed("visit_id", cells.ID),
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
ENTRIES = csv_file(
    records.Entry,
    "entries",
    Column("entry_id", cells.ID),
    Column("visit_id", cells.REFERENCE),
    needed("serial", cells.REFERENCE),
    needed("on", cells.DAY),
    Column("meter", cells.HOURS, field_name="meter_tenths"),
    needed("action", cells.one_of(words.ACTIONS)),
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
VOIDS = csv_file(
    records.Void,
    "voids",
    needed("entry_id", cells.REFERENCE),
    needed("voided_at", cells.MOMENT),
    needed("by", cells.NAME),
    needed("reason", cells.TEXT),
    Column("replaced_by", cells.REFERENCE),
    key=("entry_id",),
)
DEFERRALS = csv_file(
    records.Deferral,
    "deferrals",
    Column("deferral_id", cells.ID),
    needed("serial", cells.REFERENCE),
    needed("rule", cells.NAME),
    Column("position", cells.NAME),
    Column("until_on", cells.DAY),
    Column("until_hours", cells.HOURS, field_name="until_tenths"),
    needed("reason", cells.TEXT),
    needed("by", cells.NAME),
    needed("at", cells.MOMENT),
    key=("deferral_id",),
    made=True,
)

PARTS = csv_file(
    Part,
    "parts",
    needed("part_number", cells.REFERENCE),
    Column("maker", cells.NAME),
    Column("name", cells.TEXT),
    Column("note", cells.TEXT),
    Column("by", cells.NAME),
    key=("part_number",),
)

FIRST_FILES = (
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
"""The files that an export always had: where they are, the later ones may be missing."""

CSV_FILES = (
    *FIRST_FILES,
    LAYUP_CHANGES,
    CORRECTIONS,
    *EVIDENCE_FILES,
    *PAPER_FILES,
    *PROMISE_FILES,
    PARTS,
    *DIARY_FILES,
)
"""All files, in the order in which their rows refer to each other."""

BY_KIND = {file.kind: file for file in CSV_FILES}


def facts_of(kind: str) -> dict[str, Callable[[str], Any]]:
    """The fields of an owner, a boat or an engine that can change, each with the reader of its texts."""
    file = BY_KIND[kind]
    known = {f.name for f in fields(file.row_type)}
    return {c.fills: c.kind.read for c in file.columns if c.fills in known and c.fills not in file.key_fields}


def row_rule(file: CsvFile) -> Callable[[Any], Iterator[Wrong]] | None:
    """What the rows of a file must be by themselves; None where any row will do."""
    return change_problems if file.row_type is records.Change else rule_for(file.row_type)


def change_problems(change: records.Change) -> Iterator[Wrong]:
    """What is wrong with a change of a fact, whose text is read as its column is."""
    facts = facts_of(change.kind)
    read = facts.get(change.field)
    if (change.kind, change.field) == ("engines", SERIAL):
        if change.was is None:
            yield "was", "the serial number that was wrong"
    elif read is None:
        yield "field", f"one of: {', '.join(facts)}"
    elif change.was is not None:
        try:
            read(change.was)
        except cells.CellNotUsable as error:
            yield "was", str(error)
