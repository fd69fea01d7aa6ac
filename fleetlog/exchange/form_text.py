"""What the forms to fill in have in common: texts as TOML writes them, and reading with every fault told."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

from fleetlog.domain.bounds import MOST_HOURS, MOST_IN_AN_ID, can_be_id
from fleetlog.domain.hours import tenths_from_hours
from fleetlog.domain.toml_table import TomlTable, read_toml
from fleetlog.errors.files import FileUnreadable, FormNotUsable

_MOST_BYTES = 2_000_000


def quoted(text: str) -> str:
    """A text as a TOML string on one line."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def comment(text: str) -> str:
    """A text as it can stand behind # on one line."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


def read_text(path: Path) -> str:
    """The text of a file, without a byte order mark and with plain line ends. Raises FileUnreadable."""
    try:
        with path.open("rb") as stream:
            data = stream.read(_MOST_BYTES + 1)
    except OSError as error:
        raise FileUnreadable(path, error.strerror or str(error)) from None
    if len(data) > _MOST_BYTES:
        raise FileUnreadable(path, f"it has more than {_MOST_BYTES:,} bytes")
    try:
        return data.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise FileUnreadable(path, f"line {line} has a byte that is not UTF-8, as TOML has to be") from None


def read_form(path: Path) -> tuple[TomlTable, list[str]]:
    """The top table of a form, and the list that takes what is wrong with it.

    Raises FileUnreadable, and FormNotUsable where it is no TOML.
    """
    top, problems = read_toml(read_text(path))
    if top is None:
        raise FormNotUsable(path.name, problems)
    return top, problems


def one_line_of(table: TomlTable, key: str) -> str | None:
    """A name or an id of a form."""
    text = table.text(key)
    if text is not None and not can_be_id(text):
        table.wrong(key, f"one line of at most {MOST_IN_AN_ID} characters")
        return None
    return text


def hours_of(table: TomlTable, key: str) -> int | None:
    """Hours of a form, as whole tenths."""
    hours = table.number(
        key,
        f"hours, 0 to {MOST_HOURS}, with at most one decimal",
        lambda v: 0 <= v <= MOST_HOURS and v * 10 == int(v * 10),
    )
    return None if hours is None else int(tenths_from_hours(hours))


def day_of(table: TomlTable, key: str, today: date) -> date | None:
    """A day of a form that is not after today."""
    day = table.day(key)
    if day is not None and day > today:
        table.wrong(key, f"a day up to today, {today.isoformat()}")
    return day
