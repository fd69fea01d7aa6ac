"""A condition on many keys is one that the database looks up, whatever the table's size."""

from __future__ import annotations

import pytest

from fleetlog.store.among import among
from fleetlog.store.log import Log
from fleetlog.store.shapes import SHAPES


@pytest.mark.parametrize(
    ("kind", "name"),
    [("engines", "serial"), ("entries", "entry_id"), ("layups", "boat_id"), ("readings", "engine_no")],
)
def test_rows_are_searched_by_their_keys_not_read_through(log: Log, kind: str, name: str) -> None:
    shape, numbers = SHAPES[kind], name == "engine_no"
    query = shape.select.where(among(shape.table.c[name], numbers=numbers))
    with log.reading() as reader:
        connection = reader._connection
        compiled = query.compile(dialect=connection.dialect)
        if connection.dialect.name == "sqlite":
            plan = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {compiled}", {"keys": "[]"}).all()
            assert any(row[-1].startswith(f"SEARCH {kind} ") for row in plan), plan
        else:  # with few rows it reads a table through for being sooner done
            connection.exec_driver_sql("SET LOCAL enable_seqscan = off")
            asked = {"keys": [1] if numbers else ["1"]}
            plan = connection.exec_driver_sql(f"EXPLAIN {compiled}", asked).all()
            assert "Index Cond" in str(plan), plan
