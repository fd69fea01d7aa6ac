"""A condition on many keys that stays one short statement, however many they are.

A list of `IN` becomes a statement with a parameter a key: it is made anew each time, and a database takes
only so many. Here the keys are one parameter: a JSON text on SQLite, an array on PostgreSQL.
"""

from __future__ import annotations

from collections.abc import Callable
from json.encoder import encode_basestring_ascii
from typing import Any, Self

from sqlalchemy import ARRAY, Boolean, ColumnElement, Dialect, Integer, Text, bindparam
from sqlalchemy.ext.compiler import compiles
from sqlalchemy.sql.functions import FunctionElement
from sqlalchemy.types import TypeDecorator, TypeEngine


class _Keys(TypeDecorator[list[Any]]):
    impl = Text
    cache_ok = True

    def __init__(self, numbers: bool) -> None:
        super().__init__()
        self.numbers = numbers

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        if dialect.name == "sqlite":
            return dialect.type_descriptor(Text())
        return dialect.type_descriptor(ARRAY(Integer if self.numbers else Text))

    def bind_processor(self, dialect: Dialect) -> Callable[[Any], Any] | None:
        if dialect.name != "sqlite":
            return None
        return str if self.numbers else _json_of_texts  # a list of numbers is JSON as it stands


def _json_of_texts(texts: list[str]) -> str:
    return f"[{','.join(map(encode_basestring_ascii, texts))}]"


class _Among(FunctionElement[bool]):
    type = Boolean()
    inherit_cache = True

    def self_group(self, against: Any = None) -> Self:
        """It is a condition as it stands: written as `… = 1`, no index would serve it on SQLite."""
        return self


@compiles(_Among, "sqlite")
def _on_sqlite(element: _Among, compiler: Any, **options: Any) -> str:
    column, keys = (compiler.process(clause, **options) for clause in element.clauses)
    return f"{column} IN (SELECT value FROM json_each({keys}))"


@compiles(_Among, "postgresql")
def _on_postgresql(element: _Among, compiler: Any, **options: Any) -> str:
    column, keys = (compiler.process(clause, **options) for clause in element.clauses)
    return f"{column} = ANY ({keys})"


def among(column: ColumnElement[Any], *, numbers: bool = False) -> ColumnElement[bool]:
    """Whether a column's value is one of the list given as parameter `keys`: texts, or whole numbers."""
    return _Among(column, bindparam("keys", type_=_Keys(numbers)))
