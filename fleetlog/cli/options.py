"""Kinds of option values: days, hours and windows, as people type them; and options that commands share."""

from __future__ import annotations

import errno
import re
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any, TypeVar

import click

from fleetlog.domain.bounds import MOST_COUNT, MOST_IN_AN_ID, MOST_MONTHS, YEARS, can_be_id, day_from_text
from fleetlog.domain.hours import tenths_from_text
from fleetlog.errors import as_word

Command = TypeVar("Command", bound=Callable[..., Any])

_MOST_LETTERS = 2_000_000
"""So many a text has at most that a command records from: a device may never end."""

_FORMATS = ("table", "csv", "json")


class ValueKind(click.ParamType):  # type: ignore[type-arg]  # generic in newer clicks only
    """A kind of option value."""


class Day(ValueKind):
    """A plain date, YYYY-MM-DD."""

    name = "YYYY-MM-DD"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> date:
        if isinstance(value, date):
            return value
        try:
            return day_from_text(value)
        except ValueError:
            span = f"{YEARS[0]} to {YEARS[-1]}"
            self.fail(
                f"{value!r} is not a day from {span}; write it as YYYY-MM-DD, such as 2026-04-15", param, ctx
            )


class OneLine(ValueKind):
    """A name, or an id, a serial or a part number as a folder takes it back."""

    def __init__(self, name: str) -> None:
        self.name = name

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        text = str(value).strip()
        text.encode()  # what is no text at all is refused by main, as everywhere
        if not can_be_id(text):
            self.fail(
                f"{value!r} cannot be one: write one line of 1 to {MOST_IN_AN_ID} characters", param, ctx
            )
        return text


class Hours(ValueKind):
    """Hours with at most one decimal, kept as whole tenths."""

    name = "HOURS"

    def __init__(self, least_tenths: int = 0) -> None:
        self._least_tenths = least_tenths

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:
        if isinstance(value, int):
            return value
        try:
            tenths = tenths_from_text(value.strip().replace(",", "."))
        except ValueError:
            tenths = -1
        if tenths < self._least_tenths:
            above = " above 0" if self._least_tenths else ""
            self.fail(
                f"{value!r} is not hours{above}; write them as the meter shows them, such as 412.5",
                param,
                ctx,
            )
        return tenths


class Window(ValueKind):
    """A number of days: `60d`, `8w` or `60`."""

    name = "DAYS"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:
        if isinstance(value, int):
            return value
        found = re.fullmatch(r"(\d{1,5})\s*([dw]?)", value.strip(), re.I | re.ASCII)
        if not found:
            self.fail(f"{value!r} is not a window; write days or weeks, such as 60d or 8w", param, ctx)
        return int(found.group(1)) * (7 if found.group(2).lower() == "w" else 1)


class Between(click.FloatRange):
    """A number of a range; what is no number lies in none."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        number: float = super().convert(value, param, ctx)
        if number != number:
            self.fail(f"{value!r} is no number", param, ctx)
        return number


class DecimalFigure(ValueKind):
    """An exact figure, with a decimal point or comma."""

    name = "FIGURE"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Decimal:
        if isinstance(value, Decimal):
            return value
        text = str(value).strip().replace(",", ".")
        if not re.fullmatch(r"-?\d{1,9}(\.\d{1,6})?", text, re.ASCII):
            self.fail(f"{value!r} is not a figure; write it such as 49 or 5.8", param, ctx)
        return Decimal(text)


class TorqueUnit(ValueKind):
    """A unit of torque in one of its usual spellings."""

    name = "UNIT"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        from fleetlog.domain.units import torque_unit
        from fleetlog.errors.evidence import UnitUnknown

        try:
            return torque_unit(value)
        except UnitUnknown as error:
            self.fail(str(error), param, ctx)


def pair_of(text: str, between: str, option: str, form: str) -> tuple[str, str]:
    """The two parts of what an option was given, as in `JOB=NUMBER`."""
    name, found, value = text.rpartition(between)
    if not found or not name.strip() or not value.strip():
        raise click.UsageError(f"{option} {text!r}: write it as {form}.")
    return name.strip(), value.strip()


def refuse_too_long(path: Path, param: click.Parameter | None, ctx: click.Context | None) -> Path:
    """The path; wrong usage where the system takes none so long, as whoever asks about it would fail."""
    try:
        path.lstat()
    except OSError as error:
        if error.errno == errno.ENAMETOOLONG:
            said = f"{path.name[:40]}… is too long a name, or in too deep a folder"
            raise click.BadParameter(said, ctx, param) from None
    return path


class OnDisk(ValueKind):
    """A file or folder by its path; raises LogNeedsFile for the address of a database."""

    name = "PATH"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Path:
        if not value:
            self.fail("it is empty; say which log", param, ctx)
        if isinstance(value, Path) or "://" not in value:
            return refuse_too_long(Path(value), param, ctx)
        from fleetlog.errors.safekeeping import LogNeedsFile
        from fleetlog.store.place import place_of

        place = place_of(value)
        if place.path is None:
            raise LogNeedsFile(place.shown)
        return place.path


class Named(click.Path):
    """A file or folder by a name that is not empty: that would stand for the folder that one is in."""

    def __init__(self, *, file: bool = True, folder: bool = True) -> None:
        super().__init__(file_okay=file, dir_okay=folder, path_type=Path)

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        if not str(value):
            self.fail(f"it is empty; say which {self.name}", param, ctx)
        path: Any = super().convert(value, param, ctx)
        return refuse_too_long(path, param, ctx)


class HandedIn(Named):
    """A file or folder that a command records from: what it holds belongs to what `--once` stands for."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        path = super().convert(value, param, ctx)
        if ctx is not None and ctx.obj is not None:
            ctx.obj.handed_in.append(path)
        return path


class HandedInText(click.File):
    """A text that a command records from, of a file or (`-`) as it is pasted."""

    def __init__(self) -> None:
        super().__init__(encoding="utf-8")

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        stream = super().convert(value, param, ctx)
        try:
            text = stream.read(_MOST_LETTERS + 1)
        except UnicodeDecodeError:
            stream.close()
            self.fail(f"{value!r} is not text in UTF-8: save it as such, where it was written", param, ctx)
        if len(text) > _MOST_LETTERS:
            stream.close()
            self.fail(f"{value!r} has more than {_MOST_LETTERS:,} letters", param, ctx)
        if ctx is not None and ctx.obj is not None:
            ctx.obj.handed_in.append(text)
        return text


DAY, HOURS, WINDOW, DECIMAL, TORQUE_UNIT = Day(), Hours(), Window(), DecimalFigure(), TorqueUnit()
HOURS_ABOVE_0, ID, NAME = Hours(1), OneLine("ID"), OneLine("NAME")
MONTHS, MONTHS_ABOVE_0 = click.IntRange(0, MOST_MONTHS), click.IntRange(1, MOST_MONTHS)
COUNT_ABOVE_0 = click.IntRange(1, MOST_COUNT)
ON_DISK = OnDisk()
FILE, FOLDER, FILE_OR_FOLDER = Named(folder=False), Named(file=False), Named()
HANDED_IN, HANDED_IN_TEXT = HandedIn(), HandedInText()


def printed_as(*shapes: str) -> Callable[[Command], Command]:
    """The option that says in which of some shapes a command prints; the first one is the usual."""
    return click.option(
        "--format",
        "shape",
        type=click.Choice(shapes),
        default=shapes[0],
        show_default=True,
        help="How it is printed.",
    )


format_option = printed_as(*_FORMATS)

NEW_ITEM = click.option(
    "--new-item", "is_new_kind", is_flag=True, help="The kind of item is new to this engine."
)
PROCESSES = click.option(
    "--processes", type=click.IntRange(1, 64), default=2, show_default=True, help="How many work at once."
)

MARINA = click.option(
    "--marina",
    envvar="FLEETLOG_MARINA",
    help="Who signs it; else the marina of shop.toml. [FLEETLOG_MARINA]",
)
REPLY_EMAIL = click.option(
    "--reply-email", envvar="FLEETLOG_REPLY_EMAIL", help="Where owners write to. [FLEETLOG_REPLY_EMAIL]"
)
REPLY_BY = click.option(
    "--reply-by", envvar="FLEETLOG_REPLY_BY", help="Other ways to answer, in your words. [FLEETLOG_REPLY_BY]"
)


def _by_job(_ctx: click.Context, option: click.Parameter, given: tuple[str, ...]) -> list[tuple[str, str]]:
    return [pair_of(pair, "=", option.opts[0], str(option.metavar)) for pair in given]


PARTS_OF_JOBS = click.option(
    "--part",
    "parts",
    multiple=True,
    metavar="JOB=NUMBER",
    callback=_by_job,
    help="Another part than the rule's.",
)
LOTS_OF_JOBS = click.option(
    "--lot", "lots", multiple=True, metavar="JOB=LOT", callback=_by_job, help="The lot of the part fitted."
)


class OfWhom(click.Command):
    """A command that is narrowed by options alone, and says which one a name that stands by itself wants."""

    allow_extra_args = True

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        left = super().parse_args(ctx, args)
        if left and not ctx.resilient_parsing:
            known = [param.opts[0] for param in self.params if param.name in ("owner", "boat", "engine")]
            name = as_word(" ".join(left))
            ways = " or ".join(f"{ctx.command_path} {option} {name}" for option in known)
            ctx.fail(f"{name} stands by itself; say whose or what it is: {ways}")
        return left


def with_options(*options: Callable[[Any], Any]) -> Callable[[Command], Command]:
    """Gives a command these options, in this order."""

    def wrap(command: Command) -> Command:
        for option in reversed(options):
            command = option(command)
        return command

    return wrap


def examples(*lines: str) -> str:
    """The examples at the end of a command's help."""
    return "\b\nExamples:\n" + "\n".join(f"  fleetlog {line}" for line in lines)
