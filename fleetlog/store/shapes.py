"""How rows of the tables and values of the domain correspond, kind by kind.

A kind is a field of `Batch`. The tables here are light: names and types of columns, enough for statements.
What the tables really are (keys, references, checks) is in `models`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, fields
from functools import cached_property
from importlib import import_module
from operator import attrgetter
from typing import Any

from sqlalchemy import Boolean, Select, TableClause, column, func, literal_column, select, table
from sqlalchemy.sql.elements import ColumnClause, ColumnElement

from fleetlog.domain.records import (
    Entry,
    Reading,
)
from fleetlog.domain.renumbered import NAMING, renumbered
from fleetlog.store.among import among
from fleetlog.store.column_types import Day, Figure, Moment, day_number, figure_kept, moment_number
from fleetlog.store.direct import Direct, OfRows

FIGURES = frozenset({"low", "high", "target", "applied", "target_nm", "applied_nm", "value", "amount"})
"""Columns that keep exact figures."""

YES_OR_NO = frozenset({"logged_from_new", "hour_meter", "cut_short"})
"""Columns that keep yes or no."""


@dataclass(slots=True)
class Names:
    """What numbers in the tables stand for: serials of engines, items as spelled, rulings by reading.

    `corrected` has the serials of engines that were entered with another one, by that one.
    """

    serials: Mapping[int, str] = field(default_factory=dict)
    items: Mapping[int | None, str | None] = field(default_factory=dict)
    statuses: Mapping[str, str] = field(default_factory=dict)
    corrected: Mapping[str, str] = field(default_factory=dict)


def light_table(name: str, columns: Iterable[str]) -> TableClause:
    """A table for statements; a column's type follows from its name (`_on`, `_at`)."""
    return table(name, *(_column(c) for c in columns))


def schedule_followed() -> ColumnElement[str]:
    """The name of the schedule that an engine follows, as `Engine.schedule_name` says of one."""
    engines = SHAPES["engines"].table.c
    return func.coalesce(func.nullif(engines.schedule, ""), engines.family)


def _column(name: str) -> ColumnClause[Any]:
    if name.endswith("_on"):
        return column(name, Day)
    if name.endswith("_at"):
        return column(name, Moment)
    if name in FIGURES:
        return column(name, Figure)
    return column(name, Boolean) if name in YES_OR_NO else column(name)


@dataclass(frozen=True)
class Shape:
    """One kind of row: its class, its table, and how its fields are kept.

    `named` is its class, after the module of the domain that has it.
    `renamed` gives the columns that are not named like their field, None for a field kept elsewhere.
    `key` names the fields that tell one row from another, `order` the columns by which rows are listed.
    """

    kind: str
    named: str
    key: tuple[str, ...]
    order: tuple[str, ...]
    renamed: Mapping[str, str | None] = field(default_factory=dict)
    beside: tuple[str, ...] = ()

    @cached_property
    def made(self) -> type[Any]:
        """Its class, loaded when it is first asked for: a look-up needs few of them."""
        module, _, name = self.named.partition(".")
        made: type[Any] = getattr(import_module(f"fleetlog.domain.{module}"), name)
        return made

    @cached_property
    def columns(self) -> tuple[str, ...]:
        """The columns that keep its fields, in the order of the fields."""
        names = (self.renamed.get(f.name, f.name) for f in fields(self.made))
        return tuple(n for n in names if n is not None)

    @cached_property
    def of_engine(self) -> bool:
        """Whether it is a row of one engine."""
        return self.kind in OF_ENGINE

    @cached_property
    def table(self) -> TableClause:
        """Its table, every column of it."""
        more = ("engine_no", *self.order, *self.beside) if self.of_engine else (*self.order, *self.beside)
        return light_table(self.kind, dict.fromkeys((*self.columns, *more, "writing_no")))

    @cached_property
    def select(self) -> Select[Any]:
        """All its rows: the columns of its fields, and at the end the engine's number for an engine's row."""
        chosen = [self.table.c[name] for name in self.columns]
        return select(*chosen, self.table.c.engine_no) if self.of_engine else select(*chosen)

    @cached_property
    def listed(self) -> Select[Any]:
        """All its rows in their order."""
        return self.select.order_by(*(self.table.c[name] for name in self.order))

    @cached_property
    def every_row(self) -> Direct:
        """The same, made once."""
        return OfRows(self.listed)

    @cached_property
    def by_key(self) -> Direct:
        """Its rows whose first key is one of `keys`: texts, or numbers of engines in place of serials."""
        return OfRows(self.select.where(among(self.key_column, numbers=self.is_by_engine)))

    @cached_property
    def ids(self) -> Direct:
        """Those of `keys` that are first keys of its rows."""
        return Direct(select(self.key_column).where(among(self.key_column)))

    @cached_property
    def any_row(self) -> Direct:
        """One row, if there are any."""
        return Direct(select(literal_column("1")).select_from(self.table).limit(1))

    @cached_property
    def is_by_engine(self) -> bool:
        """Whether the first field of its key is its engine's serial."""
        return self.of_engine and self.key[0] == "serial"

    @cached_property
    def key_of(self) -> Callable[[Any], Any]:
        """The key of a value: text where one field is enough, else a tuple."""
        return attrgetter(*self.key)

    @cached_property
    def key_column(self) -> ColumnClause[Any]:
        """The column that keeps the first field of the key."""
        return self.table.c[self.renamed.get(self.key[0]) or self.key[0]]

    @cached_property
    def _fields(self) -> list[tuple[Callable[[Any], Any], Callable[[Any], Any] | None]]:
        """How each column's field is read off a value, and what number or text it is kept as, if another."""
        kept = [f.name for f in fields(self.made) if self.renamed.get(f.name, f.name) is not None]
        return [(attrgetter(name), _kept_as(column)) for name, column in zip(kept, self.columns, strict=True)]

    def keeps(self, values: Sequence[Any]) -> list[list[Any]]:
        """What columns are given for values, column by column; serials and items stand in them as names."""
        columns: list[list[Any]] = []
        for field_of, kept_as in self._fields:
            told = map(field_of, values)
            columns.append(list(told if kept_as is None else map(kept_as, told)))
        return columns

    def values(self, rows: Sequence[Any], names: Names) -> list[Any]:
        """The values that rows of `select` stand for."""
        values = self._made_of(rows, names)
        if names.corrected and self.kind in NAMING:
            return renumbered(self.kind, values, names.corrected)
        return values

    def _made_of(self, rows: Sequence[Any], names: Names) -> list[Any]:
        maker = _MAKERS.get(self.kind)
        if maker is not None:
            return maker(rows, names)
        if not self.of_engine:
            return [self.made(*row) for row in rows]
        if "engine_no" not in self.columns:
            return [self.made(*row[:-1]) for row in rows]
        made, serials, place = self.made, names.serials, self.columns.index("engine_no")
        return [made(*row[:place], serials[row[place]], *row[place + 1 : -1]) for row in rows]


def _kept_as(column: str) -> Callable[[Any], Any] | None:
    if column.endswith("_at"):
        return moment_number
    if column.endswith("_on"):
        return day_number
    return figure_kept if column in FIGURES else None


def _readings(rows: Sequence[Any], names: Names) -> list[Reading]:
    serials, statuses = names.serials, names.statuses
    return [
        Reading(reading_id, serials[engine], on, tenths, source, statuses.get(reading_id), by, sequence)
        for reading_id, engine, on, tenths, source, by, sequence, _ in rows
    ]


def _entries(rows: Sequence[Any], names: Names) -> list[Entry]:
    serials, items = names.serials, names.items
    return [
        Entry(entry_id, serials[engine], on, action, visit_id, meter_tenths, scope, items[item], *row)
        for entry_id, engine, on, action, visit_id, meter_tenths, scope, item, *row, _ in rows
    ]


_MAKERS: dict[str, Callable[[Sequence[Any], Names], list[Any]]] = {
    "readings": _readings,
    "entries": _entries,
}

EVIDENCE = frozenset({"torques", "measurements", "checks", "answers"})
PROMISES = frozenset({"terms", "advice"})
OF_ENGINE = EVIDENCE | PROMISES | {"mounts", "meters", "readings", "entries", "voids", "deferrals"}
SEQUENCED = EVIDENCE | PROMISES | {"meters", "readings", "entries", "voids", "deferrals", "rulings"}
"""Kinds whose rows are numbered in the order in which they were written, engine by engine."""

_RENAMED = {"text": "toml", "retired_reason": "end_reason", "withdrawn_reason": "end_reason"}
"""Fields whose column has another name in every table."""


def _shape(
    kind: str, named: str, key: str, order: str = "", beside: str = "", **renamed: str | None
) -> Shape:
    """A shape by names with spaces between them; without an order: as written of an engine, else by key."""
    if kind in OF_ENGINE:
        renamed["serial"] = "engine_no"
    in_order = order or ("engine_no sequence" if kind in SEQUENCED else key)
    keys, places, more = (tuple(names.split()) for names in (key, in_order, beside))
    return Shape(kind, named, keys, places, {**_RENAMED, **renamed}, more)


SHAPES: dict[str, Shape] = {
    shape.kind: shape
    for shape in (
        _shape("schedules", "schedule.ScheduleText", "name revision"),
        _shape("owners", "records.Owner", "owner_id", "owner_no", "version"),
        _shape("boats", "records.Boat", "boat_id", "boat_no", "version"),
        _shape("engines", "records.Engine", "serial", "engine_no", "version serial_key entered_as"),
        _shape(
            "changes",
            "records.Change",
            "key kind field until_on changed_at",
            "kind key sequence",
            by="changed_by",
        ),
        _shape("ownership", "records.Ownership", "boat_id from_on"),
        _shape("layups", "records.Layup", "boat_id from_on", beside="end_writing_no"),
        _shape(
            "layup_changes",
            "records.LayupChange",
            "change_id",
            "change_no",
            at="changed_at",
            by="changed_by",
        ),
        _shape("mounts", "records.Mount", "serial from_on", "engine_no from_on", "end_writing_no"),
        _shape(
            "corrections",
            "records.Correction",
            "correction_id",
            "correction_no",
            at="corrected_at",
            by="corrected_by",
        ),
        _shape("meters", "records.Meter", "serial fitted_on"),
        _shape("readings", "records.Reading", "reading_id", on="read_on", by="read_by", status=None),
        _shape("visits", "records.Visit", "visit_id", "visit_no", "end_writing_no"),
        _shape("entries", "records.Entry", "entry_id", on="done_on", item="item_no", by="done_by"),
        _shape("voids", "records.Void", "entry_id", by="voided_by"),
        _shape("deferrals", "records.Deferral", "deferral_id", by="deferred_by", at="deferred_at"),
        _shape("cards", "evidence.CardText", "name revision"),
        _shape("tools", "evidence.Tool", "tool_id", "tool_no", "end_writing_no"),
        _shape(
            "calibrations",
            "evidence.Calibration",
            "calibration_id",
            "calibration_no",
            on="calibrated_on",
            by="calibrated_by",
        ),
        _shape("torques", "evidence.Torque", "torque_id", on="done_on", by="done_by"),
        _shape("measurements", "evidence.Measurement", "measurement_id", on="done_on", by="done_by"),
        _shape("checks", "evidence.Check", "check_id", on="done_on", by="done_by"),
        _shape("answers", "evidence.Answer", "answer_id", on="answered_on", by="answered_by"),
        _shape("papers", "papers.Paper", "paper_id", "paper_no", by="taken_by"),
        _shape(
            "paper_withdrawals",
            "papers.PaperWithdrawal",
            "paper_id outcome",
            "withdrawal_no",
            at="withdrawn_at",
            by="withdrawn_by",
        ),
        _shape("terms", "promises.Term", "term_id", beside="end_writing_no", by="told_by"),
        _shape("advice", "promises.Advice", "advice_id", on="advised_on", by="advised_by"),
        _shape(
            "supersessions",
            "superseded.Supersession",
            "part_number superseded_by",
            beside="end_writing_no",
            by="told_by",
        ),
        _shape("parts", "parts.Part", "part_number", by="told_by"),
        _shape("shop", "diary_records.ShopText", "name revision"),
        _shape("wishes", "diary_records.Wish", "wish_id", "wish_no", "end_writing_no", by="told_by"),
        _shape(
            "bookings",
            "diary_records.Booking",
            "change_id",
            "change_no",
            at="changed_at",
            by="changed_by",
            on="visit_on",
        ),
        _shape("plans", "diary_records.DiaryPlan", "plan_id", "plan_no", at="planned_at", by="planned_by"),
        _shape("plan_visits", "diary_records.DiaryVisit", "plan_id visit", on="visit_on"),
        _shape("part_moves", "diary_records.PartMove", "move_id", "move_no", on="moved_on", by="moved_by"),
        _shape("mails", "diary_records.Mail", "mail_id", "mail_no", at="sent_at", by="sent_by"),
        _shape(
            "mail_attempts",
            "diary_records.MailAttempt",
            "mail_id outcome",
            "attempt_no",
            at="attempted_at",
            by="attempted_by",
        ),
    )
}
"""Every kind of row, in the order in which rows refer to each other."""

WRITINGS = light_table("writings", ("writing_no", "recorded_at", "recorded_by"))
ONCE_KEYS = light_table("once_keys", ("once_key", "writing_no", "mark"))
ITEMS = light_table("items", ("item_no", "name_key", "spelling", "writing_no"))
RULINGS = light_table("rulings", ("engine_no", "sequence", "reading_id", "status", "reason", "writing_no"))
