"""The `fleetlog` command: its options, its commands (each loaded when it is called), and the one catcher."""

from __future__ import annotations

import gc
import os
import sys
from importlib import import_module
from typing import TYPE_CHECKING, NoReturn, TextIO

import click

from fleetlog import __version__
from fleetlog.cli.secrets import without_password

if TYPE_CHECKING:
    from datetime import date

SECTIONS = {
    "Look up": {
        "due": ("looking", "What falls due, for whom, and by when."),
        "history": ("looking", "What was done to an engine."),
        "why": ("looking", "Why a due line stands where it stands, in plain sentences."),
        "item": ("travel", "Follow an item through every engine it ran on."),
        "where-fitted": ("parts", "Who has a part of a number and lot, or had it."),
    },
    "Record work": {
        "fit": ("work", "Record that an item was fitted."),
        "remove": ("work", "Record that an item was taken off."),
        "reuse": ("work", "Record that an item was put back used."),
        "inspect": ("work", "Record that an item was looked at, and what was found."),
        "adjust": ("work", "Record that an item was adjusted."),
        "service": ("work", "Record that an item was serviced."),
        "done": ("work", "Record several jobs of the schedule that were done."),
        "rebuild": ("rebuilding", "Record a rebuild as one visit, from a form or step by step."),
        "swap": ("travel", "Record another powerhead, lower unit … with what rides on it."),
        "move-item": ("travel", "Record that an item went to another engine."),
        "join": ("joining", "Record what is known of an engine just met."),
        "visit": ("visits", "Open, close, void, list and show visits."),
        "paper": ("papers", "Photos and papers on a visit: add, list, save, restore, withdraw, erase."),
        "torque": ("evidence", "Record a torque, as read and in N·m."),
        "measure": ("evidence", "Record a figure measured on an engine."),
        "evidence": ("evidence", "List torques, measurements and checks, and what stands out."),
        "answer": ("evidence", "Say what was done about what is off."),
        "card": ("cards", "Work cards: list, show, print, record."),
        "tool": ("tools", "Torque wrenches and their calibration."),
    },
    "Record hours": {
        "hours": ("hours", "Record hour meter readings, of an engine, a boat or many."),
        "telemetry": ("telemetry", "Record hours out of a boat's telemetry, one reading a day."),
        "reading": ("hours", "List readings; confirm or withdraw one."),
        "meter": ("hours", "Record a new, reset or rolled-over hour meter."),
    },
    "Take back, put off": {
        "void": ("correcting", "Take back a wrong entry."),
        "defer": ("correcting", "Move a due line out, with a reason."),
    },
    "Owners, boats, engines, parts": {
        "owner": ("owners", "Add, show, list, change, export and forget owners."),
        "boat": ("boats", "Add, show, list, sell, lay up and launch boats."),
        "engine": ("engines", "Add, show, list, change, correct and move engines."),
        "schedule": ("schedules", "Show the service schedules of the log."),
        "part": ("part_register", "Part numbers and who makes them."),
        "superseded": ("parts", "Part numbers that others replaced."),
        "bulletin": ("bulletins", "One-time work by serial numbers: who is affected, who is done."),
        "term": ("promises", "Terms of warranty and useful life."),
        "advice": ("promises", "What owners were advised, and what they answered."),
    },
    "The shop's days, and what goes out": {
        "diary": ("diary.group", "The shop's diary: plan, show, book, load, parts, calendar, pages."),
        "remind": ("reminding", "Remind owners by mail of what is due, and of days proposed."),
        "report": ("pages", "Write the HTML pages: due list, reminders, histories."),
        "extract": ("extracts", "One engine's history for a buyer or an insurer, and its check."),
    },
    "What the records tell": {
        "life": ("lives", "How long parts last, by the shop's own records."),
        "repairs": ("wear", "Repairs per engine by age, and whether they become more frequent."),
        "renew": ("wear", "When to renew an item, by the shop's own records and costs."),
        "demand": ("wear", "How many of each part the coming weeks take; what to order."),
        "backtest": ("backtest", "Judge the forecast by the log's own past."),
    },
    "The log itself": {
        "import": ("files", "Take in a folder of CSV files, all or nothing."),
        "import-sheet": ("files", "Take in a spreadsheet by a mapping; --dry-run first."),
        "export": ("files", "Write the whole log to a folder of CSV files."),
        "check": ("upkeep", "Check the log against its own rules."),
        "refresh": ("upkeep", "Work out all due lines that are kept, anew."),
        "backup": ("safekeeping", "Copy the log, check the copy, keep the latest."),
        "restore": ("safekeeping", "Make a new log from a backup."),
        "rescue": ("safekeeping", "Write what can be read of a damaged log to a folder."),
        "copy-log": ("safekeeping", "Copy a log between a file and PostgreSQL, row by row."),
        "demo": ("pages", "Try everything on an invented marina."),
        "completion": ("upkeep", "Print the shell's completion script."),
    },
}
"""Each command under a heading of the help, with the module of `fleetlog.cli` that holds it and its line."""

COMMANDS = {name: found for section in SECTIONS.values() for name, found in section.items()}

_WORDS = "fleetlog.words"
"""Where the words of the command are kept, without the options before it."""


_STANDS_BY_ITSELF = {"--engine": "serial", "--serial": "serial", "--boat": "boat", "--owner": "owner"}
"""The arguments of commands that other commands, which may be narrowed by several, have as options."""

_CLOSED_PIPE = 128 + 13
"""The status of a program that ended because nobody reads its output."""


class Commands(click.Group):
    """The commands by name; a module is imported only when one of its commands is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        module, line = COMMANDS[cmd_name]
        attribute = f"{cmd_name.replace('-', '_')}_command"
        command: click.Command = getattr(import_module(f"fleetlog.cli.{module}"), attribute)
        command.short_help = line
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        width = max(map(len, COMMANDS))
        for heading, section in SECTIONS.items():
            with formatter.section(heading):
                formatter.write_dl([(name.ljust(width), line) for name, (_, line) in section.items()])

    def invoke(self, ctx: click.Context) -> object:
        try:
            return super().invoke(ctx)
        except click.NoSuchOption as error:
            name = error.option_name
            if name[1:2].isdigit():
                said = f"A figure that begins with '{name}' is below 0, and none here can be."
                raise click.UsageError(said, error.ctx) from None
            stands = _STANDS_BY_ITSELF.get(name)
            taken = error.ctx.command.params if error.ctx else ()
            if stands and any(param.name == stands for param in taken):
                said = f"No such option '{name}'. {stands.upper()} stands by itself."
                raise click.UsageError(said, error.ctx) from None
            if not any(name in option.opts for option in self.params):
                raise
            said = f"No such option '{name}'. It stands before the command: fleetlog {name} ... COMMAND."
            raise click.UsageError(said, error.ctx) from None
        except (KeyboardInterrupt, click.Abort):
            if ctx.obj is None or not ctx.obj.may_have_recorded:
                raise
            from fleetlog.errors.log import StoppedWhileRecording

            raise StoppedWhileRecording from None
        except Exception as error:
            damaged = ctx.obj and ctx.obj.damage_behind(error)
            if damaged is None:
                raise
            raise damaged from error

    def resolve_command(self, ctx: click.Context, args: list[str]):  # type: ignore[no-untyped-def]
        ctx.meta[_WORDS] = list(args)
        try:
            return super().resolve_command(ctx, args)
        except click.UsageError as error:
            from fleetlog.domain.nearest import nearest

            near = nearest(args[0], COMMANDS)
            offered = f" Nearest: {', '.join(near)}." if near else ""
            raise click.UsageError(error.message + offered, ctx) from error


def _of_one_line(ctx: click.Context, param: click.Parameter, name: str | None) -> str | None:
    """A name without blanks around it; wrong usage where it takes several lines."""
    if not name:
        return name
    from fleetlog.cli.options import NAME

    return NAME.convert(name, param, ctx)


def _day(ctx: click.Context, param: click.Parameter, text: str | None) -> date | None:
    """A day; wrong usage where it is none."""
    if text is None:
        return None
    from fleetlog.cli.options import DAY

    return DAY.convert(text, param, ctx)


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 80})
@click.option(
    "--log",
    "log_url",
    metavar="URL|PATH",
    envvar="FLEETLOG_LOG",
    callback=without_password,
    help="The log. [FLEETLOG_LOG]",
)
@click.option(
    "--today",
    metavar="YYYY-MM-DD",
    envvar="FLEETLOG_TODAY",
    callback=_day,
    help="The day that counts as today. [FLEETLOG_TODAY]",
)
@click.option(
    "--by",
    metavar="NAME",
    envvar="FLEETLOG_BY",
    callback=_of_one_line,
    help="Who is at work. [FLEETLOG_BY]",
)
@click.option(
    "--papers",
    metavar="FOLDER",
    envvar="FLEETLOG_PAPERS",
    help="Where photos and papers of a log in a database are; of a file, beside it. [FLEETLOG_PAPERS]",
)
@click.option(
    "--once",
    metavar="KEY",
    help="Record under a key of your own: said again, nothing is written; other words, or files that hold"
    " something else, are refused.",
)
@click.version_option(__version__, prog_name="fleetlog")
@click.pass_context
def cli(
    ctx: click.Context,
    log_url: str | None,
    today: date | None,
    by: str | None,
    papers: str | None,
    once: str | None,
) -> None:
    """The maintenance record of a marina's outboard engines.

    What was done to every engine, what falls due and when, and the pages that
    tell the owners.

    \b
    The three everyday tasks:
      fleetlog history SERIAL --rebuilds
      fleetlog due
      fleetlog fit SERIAL "timing belt" --on 2026-04-15 --hours 812.5

    The engine maker's manual, local rules and qualified people come first.
    """
    from fleetlog.cli.desk import Desk

    if once is not None and not once.strip():
        raise click.BadParameter(
            "a key is a word or more; leave --once out to do without", param_hint="--once"
        )
    ctx.obj = Desk(log_url, today, by, papers, once, ctx.meta[_WORDS])
    ctx.call_on_close(ctx.obj.close)


def main() -> None:
    """Run the command line; every refusal becomes one line, every bug one line and a file."""
    gc.set_threshold(100_000)  # a run is short and holds few cycles: looking for them costs a look-up most
    _open_closed_streams()
    _speak_utf8()
    os.umask(os.umask(0o077) | 0o077)  # what is written, the log and all that is made of it, is its owner's
    output = sys.stdout
    try:
        cli.main(prog_name="fleetlog", standalone_mode=False)
        sys.stdout.flush()
    except click.Abort:
        click.echo("fleetlog: stopped, nothing was recorded", err=True)
        sys.exit(1)
    except click.exceptions.NoArgsIsHelpError as error:
        error.show()
        sys.exit(error.exit_code)
    except click.ClickException as error:
        click.echo(f"fleetlog: {_in_one_line(error)}", err=True)
        sys.exit(error.exit_code)
    except BrokenPipeError:
        _leave_closed_pipe()
    except SystemExit:
        if sys.stdout is output:
            raise
        _leave_closed_pipe()  # click met it first, and put another stream in its place
    except Exception as error:
        from fleetlog.errors import FleetlogError  # help has no time to load refusals
        from fleetlog.errors.files import NotText, OutputNotWritten
        from fleetlog.errors.log import AlreadyRecorded

        if isinstance(error, OSError) and not _takes("\n", sys.stdout):
            _discard_output()
            error = OutputNotWritten(error.strerror or str(error))
        if isinstance(error, UnicodeEncodeError) and error.reason == "surrogates not allowed":
            error = NotText(error.object)
        said = str(error)
        if isinstance(error, AlreadyRecorded):  # what was asked for is so
            from fleetlog.cli.output import remark

            remark(said)
            return
        if not isinstance(error, FleetlogError):
            from fleetlog.cli.bugs import details_kept

            said = f"this is a bug, not your doing; {details_kept()}"
        click.echo(f"fleetlog: {said}", err=True)
        sys.exit(1)


def _in_one_line(error: click.ClickException) -> str:
    """What click says of wrong words, and where the right ones stand."""
    said = " ".join(error.format_message().split()).rstrip(".")
    ctx = error.ctx if isinstance(error, click.UsageError) else None
    if ctx is None or "fleetlog " in said:  # it offers the right words itself
        return said
    return f"{said}{'' if said.endswith('?') else ';'} {ctx.command_path} --help shows how"


def _leave_closed_pipe() -> NoReturn:
    """End without a word where nobody reads on, as programs do that the signal of it ends."""
    _discard_output()
    sys.exit(_CLOSED_PIPE)


def _discard_output() -> None:
    """Let what is still to be printed go nowhere, so that the end of the program does not fail on it."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    for stream in (sys.__stdout__, sys.__stderr__):
        if stream is not None and not _takes("", stream):
            os.dup2(nowhere, stream.fileno())
    os.close(nowhere)


def _takes(text: str, stream: TextIO) -> bool:
    """Whether a stream takes a text and what was printed before: not on a full disk, or with no reader."""
    try:
        stream.write(text)
        stream.flush()
    except OSError:
        return False
    return True


def _open_closed_streams() -> None:
    """Have streams that the caller closed lead nowhere; else files opened later would take their place."""
    for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
        if getattr(sys, name) is None:
            setattr(sys, name, os.fdopen(os.open(os.devnull, os.O_RDWR), mode, encoding="utf-8"))


def _speak_utf8() -> None:
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="backslashreplace")
