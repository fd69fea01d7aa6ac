"""Prints lists as a table, CSV or JSON: a table fits a terminal, and is plain where it is piped."""

from __future__ import annotations

import csv
import json
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date, datetime
from typing import Any

import click

Row = Mapping[str, Any]

_GAP = "  "
"""What stands between two columns."""


def show(
    rows: Sequence[Row], columns: Sequence[tuple[str, str]], shape: str, nothing: str = "Nothing."
) -> None:
    """Print rows. `columns` are the (key, heading) of the table; CSV and JSON have every key of the rows.

    Days are printed as ISO text.
    """
    if shape == "json":
        show_json(list(rows))
    elif shape == "csv":
        _show_csv(rows, [key for key, _ in columns])
    elif not rows:
        click.echo(nothing)
    elif sys.stdout.isatty():
        _show_on_terminal(rows, columns)
    else:
        _show_plain(rows, columns)


def likely_cell(likely_on: date | None) -> date | str | None:
    """A likely day as a table has it, for people; programs get the day that stands for none in sight."""
    from fleetlog.domain.usage import NOT_IN_SIGHT

    return "not in sight" if likely_on == NOT_IN_SIGHT else likely_on


def remark(text: str) -> None:
    """Say on standard error what is worth knowing beside the answer."""
    click.echo(f"fleetlog: note: {text}", err=True)


def fault(text: str) -> None:
    """Say on standard error what is wrong, so that the command ends with exit status 1."""
    click.echo(f"fleetlog: {text}", err=True)


def say_notices(notices: Sequence[str]) -> None:
    """Say on standard error what was done to open a log, and what was looked up otherwise than typed."""
    for notice in notices:
        remark(notice)


def show_json(answer: Row | list[Row]) -> None:
    """Print an object, or a list of them, as JSON."""
    click.echo(json.dumps(answer, ensure_ascii=False, indent=2, default=_day))


def _day(value: object) -> str:
    if isinstance(value, datetime) or not isinstance(value, date):
        raise TypeError(f"{value!r} is no value of a row")
    return value.isoformat()


@contextmanager
def progress_bar(what: str) -> Iterator[Callable[[int, int], None] | None]:
    """A bar on a terminal, told how much of how much is done; none where nobody watches."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as progress:
        bar = progress.add_task(what, total=None)
        yield lambda done, of: progress.update(bar, completed=done, total=of)


def _text(value: Any) -> str:
    if isinstance(value, bytes):
        raise TypeError(f"{value!r} is no value of a row")
    return "" if value is None else str(value)


def _show_csv(rows: Sequence[Row], keys: Sequence[str]) -> None:
    from fleetlog.exchange.csv.cells import neutralised

    names = list(rows[0]) if rows else list(keys)
    writer = csv.writer(sys.stdout, lineterminator="\n")
    writer.writerow(names)
    writer.writerows([neutralised(_text(row.get(name))) for name in names] for row in rows)


def _show_plain(rows: Sequence[Row], columns: Sequence[tuple[str, str]]) -> None:
    lines = [[heading for _, heading in columns]]
    lines += [[_one_line(_text(row.get(key))) for key, _ in columns] for row in rows]
    widths = [max(len(line[i]) for line in lines) for i in range(len(columns))]
    for line in lines:
        click.echo(_GAP.join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)).rstrip())


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _show_on_terminal(rows: Sequence[Row], columns: Sequence[tuple[str, str]]) -> None:
    """A table whose words are whole, or broken at a hyphen of their own where there is no room; where the
    terminal is too narrow for that too, a row is a block of lines.
    """
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    console = Console(highlight=False)
    headings = [heading for _, heading in columns]
    lines = [[_text(row.get(key)) for key, _ in columns] for row in rows]
    by_column = list(zip(headings, *lines, strict=True))
    room = console.width - len(_GAP) * (len(columns) - 1)
    least = [_widest(word for cell in column for word in cell.split()) for column in by_column]
    if sum(least) > room:
        whole = least
        least = [_widest(part for cell in column for part in _wrapped(cell, 1)) for column in by_column]
        for place, word in enumerate(whole):
            least[place] += min(word - least[place], max(room - sum(least), 0))
        lines = [["\n".join(_wrapped(*both)) for both in zip(line, least, strict=True)] for line in lines]
    if sum(least) > room:
        for row in rows:
            for key, heading in columns:
                if cell := _text(row.get(key)):
                    console.print(Text(f"{heading}: {cell}"))
            console.print()
        return
    table = Table(box=None, pad_edge=False, header_style="bold", padding=(0, len(_GAP), 0, 0))
    for heading, width in zip(headings, least, strict=True):
        table.add_column(heading, overflow="fold", min_width=width)
    for line in lines:
        table.add_row(*map(Text, line))
    console.print(table)


def _widest(texts: Iterable[str]) -> int:
    from rich.cells import cell_len

    return max(map(cell_len, texts), default=0)


def _wrapped(text: str, width: int) -> list[str]:
    """A text in lines of at most a width, broken at blanks and at hyphens between letters alone."""
    from textwrap import wrap

    return wrap(text, max(width, 1), break_long_words=False)
