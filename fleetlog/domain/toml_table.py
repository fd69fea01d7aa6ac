"""Takes the values of a TOML table out one by one, and gathers everything that is wrong with them."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any

from fleetlog.domain.bounds import MOST_COUNT, MOST_FIGURE, YEARS


class TomlTable:
    """One table of a file; takes values out by name and gathers what is wrong."""

    def __init__(self, values: dict[str, Any], where: str, problems: list[str]) -> None:
        """`where` names the table in what is said of its fields; it is empty for the file's own."""
        self.values, self.where, self.problems = values, where, problems
        self._taken: set[str] = set()

    def place(self, key: str) -> str:
        """Where a field of this table is."""
        return f"{self.where}, {key}" if self.where else key

    def wrong(self, key: str, expected: str) -> None:
        """Note that a field is not what was expected."""
        found = self.values.get(key)
        shown = "it is missing" if found is None else f"found {shown_value(found)}"
        self.problems.append(f"{self.place(key)}: expected {expected}; {shown}")

    def take(
        self, key: str, kind: Callable[[Any], bool], expected: str, *, default: Any, needed: bool = False
    ) -> Any:
        """A value of the kind that fits; the default where it is missing or something else."""
        self._taken.add(key)
        value = self.values.get(key)
        if value is None:
            if needed:
                self.wrong(key, expected)
            return default
        if not kind(value):
            self.wrong(key, expected)
            return default
        return value

    def text(self, key: str, *, needed: bool = False) -> str | None:
        """A text without the blanks around it; None where there is none."""
        value = self.take(key, lambda v: isinstance(v, str), "a text", default=None, needed=needed)
        if value is not None and not value.strip():
            if needed:
                self.wrong(key, "a text that is not empty")
            return None
        return None if value is None else str(value).strip()

    def word(self, key: str, choices: tuple[str, ...], *, needed: bool = False) -> str | None:
        """One of a few words."""
        value = self.take(
            key, lambda v: v in choices, f"one of {', '.join(choices)}", default=None, needed=needed
        )
        return None if value is None else str(value)

    def texts(self, key: str, choices: tuple[str, ...] | None = None) -> tuple[str, ...]:
        """A list of texts, of a few words where choices are given."""

        def fits(value: Any) -> bool:
            return isinstance(value, list) and all(
                isinstance(v, str) and v.strip() and (choices is None or v in choices) for v in value
            )

        expected = "a list of texts" if choices is None else f"a list of: {', '.join(choices)}"
        return tuple(v.strip() for v in self.take(key, fits, expected, default=[]))

    def number(
        self, key: str, expected: str, fits: Callable[[Decimal], bool], *, needed: bool = False
    ) -> Decimal | None:
        """An exact number that fits."""
        value = self.take(
            key,
            lambda v: is_number(v) and abs(v) <= MOST_FIGURE and fits(Decimal(v)),
            expected,
            default=None,
            needed=needed,
        )
        return None if value is None else Decimal(value)

    def flag(self, key: str) -> bool:
        """Yes or no; no where it is not said."""
        return bool(self.take(key, lambda v: isinstance(v, bool), "true or false", default=False))

    def day(self, key: str) -> date | None:
        """A plain date."""
        value: date | None = self.take(
            key,
            lambda v: isinstance(v, date) and not isinstance(v, datetime) and v.year in YEARS,
            f"a day, such as 2026-09-01, without quotes, from {YEARS[0]} to {YEARS[-1]}",
            default=None,
        )
        return value

    def whole(self, key: str, least: int, most: int = MOST_COUNT, *, needed: bool = False) -> int | None:
        """A whole number of at least and at most so much."""
        found = self.values.get(key)
        is_above = isinstance(found, int) and found > most
        value = self.take(
            key,
            lambda v: isinstance(v, int) and not isinstance(v, bool) and least <= v <= most,
            f"a whole number, {most} at most" if is_above else f"a whole number, {least} or more",
            default=None,
            needed=needed,
        )
        return None if value is None else int(value)

    def table(self, key: str) -> TomlTable | None:
        """A table within this one."""
        value = self.take(key, lambda v: isinstance(v, dict), "a table such as { ... }", default=None)
        return None if value is None else TomlTable(value, self.place(key), self.problems)

    def tables(self, key: str, *, needed: bool = False) -> list[TomlTable]:
        """A list of tables within this one, at least one where it is needed."""

        def fits(value: Any) -> bool:
            all_tables = isinstance(value, list) and all(isinstance(v, dict) for v in value)
            return all_tables and bool(value or not needed)

        found = self.take(key, fits, "a list of tables such as { ... }", default=[], needed=needed)
        return [
            TomlTable(value, self.place(f"{key} {number}"), self.problems)
            for number, value in enumerate(found, start=1)
        ]

    def refuse_the_rest(self) -> None:
        """Note every field that nobody asked for, with those that there are."""
        for key in self.values:
            if key not in self._taken:
                self.problems.append(
                    f"{self.place(key)}: no such field; there are: {', '.join(sorted(self._taken))}"
                )


def read_toml(text: str) -> tuple[TomlTable | None, list[str]]:
    """The top table of a TOML text (None where it is none), and the list that takes what is wrong with it."""
    try:
        values = tomllib.loads(text, parse_float=Decimal)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        return None, [f"not readable as TOML: {error}"]
    problems: list[str] = []
    return TomlTable(values, "", problems), problems


def is_number(value: Any) -> bool:
    """Whether a value is a finite number, as TOML has them (floats read as Decimal)."""
    return isinstance(value, (int, Decimal)) and not isinstance(value, bool) and Decimal(value).is_finite()


def shown_value(value: Any) -> str:
    """A value as a message shows it: as the file has it, shortened."""
    text = _in_toml(value)
    return text if len(text) <= 60 else text[:57] + "..."


def _in_toml(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (date, time)):
        return value.isoformat()
    if isinstance(value, list):
        return f"[{', '.join(map(_in_toml, value))}]"
    if isinstance(value, dict):
        return f"{{{', '.join(f'{key} = {_in_toml(one)}' for key, one in value.items())}}}"
    return repr(value) if isinstance(value, str) else str(value)
