"""Keeps what fits of the fleet found out, as text, by the day they were made for."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import Connection, Select, bindparam, func, literal_column, select, text

from fleetlog.store.column_types import day_number
from fleetlog.store.direct import Direct
from fleetlog.store.shapes import SHAPES, light_table

_FITS = light_table("forecast_parameters", ("fit_no", "content_id", "fitted_on", "figures", "parameters"))
_COLUMNS = (_FITS.c.content_id, _FITS.c.fitted_on, _FITS.c.figures, _FITS.c.parameters)
_FIRST, _LAST = (bindparam(name, type_=_FITS.c.fitted_on.type) for name in ("first", "last"))
_LATEST = Direct(
    select(*_COLUMNS)
    .where(_FITS.c.fitted_on.between(_FIRST, _LAST))
    .order_by(_FITS.c.fitted_on.desc(), _FITS.c.fit_no.desc())
    .limit(1)
)


_READINGS, _ENTRIES = SHAPES["readings"].table.c, SHAPES["entries"].table.c
_DAY = bindparam("day", type_=_READINGS.read_on.type)
_EACH_FIGURE: tuple[Select[Any], ...] = (
    select(literal_column("1")).where(_READINGS.read_on <= _DAY),
    select(literal_column("1")).where(_ENTRIES.done_on <= _DAY, _ENTRIES.meter_tenths.is_not(None)),
)
_FIGURES, _FIGURES_UP_TO = (
    tuple(Direct(select(func.count()).select_from(query.subquery())) for query in queries)
    for queries in (_EACH_FIGURE, [query.limit(bindparam("most")) for query in _EACH_FIGURE])
)


@dataclass(frozen=True, slots=True)
class KeptFit:
    """A fit: the name of its content, its day, the figures that it could see, and its JSON text."""

    content_id: str
    fitted_on: date
    figures: int
    parameters: str


def latest_fit(connection: Connection, first: date, last: date) -> KeptFit | None:
    """The fit of the latest day from `first` to `last`; of one day's, the one made last."""
    rows = _LATEST.rows(connection, first=first, last=last)
    return KeptFit(*rows[0]) if rows else None


def fit_named(connection: Connection, content_id: str) -> KeptFit | None:
    """The fit of that name."""
    row = connection.execute(select(*_COLUMNS).where(_FITS.c.content_id == content_id)).one_or_none()
    return None if row is None else KeptFit(*row)


def keep_fit(connection: Connection, fit: KeptFit) -> None:
    """Keeps a fit as the one made last; one that is there already is moved there."""
    connection.execute(
        text("DELETE FROM forecast_parameters WHERE content_id = :content_id"), {"content_id": fit.content_id}
    )
    connection.execute(
        text(
            "INSERT INTO forecast_parameters (content_id, fitted_on, figures, parameters)"
            " VALUES (:content_id, :fitted_on, :figures, :parameters)"
        ),
        {
            "content_id": fit.content_id,
            "fitted_on": day_number(fit.fitted_on),
            "figures": fit.figures,
            "parameters": fit.parameters,
        },
    )


def figures_until(connection: Connection, day: date, most: int | None = None) -> int:
    """How many figures of meters, read or on entries, are dated by a day's end; counted up to `most`."""
    found = 0
    for statement in _FIGURES if most is None else _FIGURES_UP_TO:
        left = {} if most is None else {"most": most - found}
        found += statement.rows(connection, day=day, **left)[0][0]
    return found
