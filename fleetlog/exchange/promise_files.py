"""The files of the CSV folder that hold terms, advice to owners, and superseded part numbers."""

from __future__ import annotations

from fleetlog.domain import promises
from fleetlog.domain.superseded import Supersession
from fleetlog.exchange.csv import cells
from fleetlog.exchange.csv.columns import Column, csv_file, needed

TERMS = csv_file(
    promises.Term,
    "terms",
    Column("term_id", cells.ID),
    needed("serial", cells.REFERENCE),
    needed("kind", cells.one_of(promises.TERM_KINDS)),
    Column("title", cells.TEXT),
    Column("item", cells.NAME),
    Column("position", cells.NAME),
    Column("entry_id", cells.REFERENCE),
    needed("starts_on", cells.DAY),
    Column("starts_at_hours", cells.HOURS, field_name="starts_tenths"),
    Column("months", cells.MONTHS_ABOVE_0),
    Column("hours", cells.HOURS_ABOVE_0, field_name="tenths"),
    Column("withdrawn_on", cells.DAY),
    Column("withdrawn_reason", cells.TEXT),
    Column("note", cells.TEXT),
    Column("by", cells.NAME),
    key=("term_id",),
    made=True,
    id_leaves_out=("withdrawn_on", "withdrawn_reason"),
)
ADVICE = csv_file(
    promises.Advice,
    "advice",
    Column("advice_id", cells.ID),
    Column("visit_id", cells.REFERENCE),
    needed("serial", cells.REFERENCE),
    needed("on", cells.DAY),
    needed("what", cells.TEXT),
    Column("rule", cells.NAME),
    Column("item", cells.NAME),
    Column("position", cells.NAME),
    Column("how", cells.one_of(promises.ADVICE_WAYS)),
    Column("told_to", cells.NAME),
    Column("answer", cells.one_of(promises.ANSWERS)),
    Column("follows", cells.REFERENCE),
    Column("note", cells.TEXT),
    Column("by", cells.NAME),
    key=("advice_id",),
    made=True,
)
SUPERSESSIONS = csv_file(
    Supersession,
    "supersessions",
    needed("part_number", cells.REFERENCE),
    needed("superseded_by", cells.REFERENCE),
    Column("from_on", cells.DAY),
    Column("withdrawn_on", cells.DAY),
    Column("withdrawn_reason", cells.TEXT),
    Column("note", cells.TEXT),
    Column("by", cells.NAME),
    key=("part_number", "superseded_by"),
)

PROMISE_FILES = (TERMS, ADVICE, SUPERSESSIONS)
