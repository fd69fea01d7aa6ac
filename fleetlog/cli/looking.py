"""Commands that look things up: due, history, why."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import click

from fleetlog.cli.desk import Desk, pass_desk
from fleetlog.cli.options import WINDOW, OfWhom, examples, format_option, printed_as
from fleetlog.cli.output import likely_cell, remark, show, show_json
from fleetlog.domain.words import with_position
from fleetlog.errors import as_word, counted, one_of

if TYPE_CHECKING:
    from fleetlog.domain.kept import ListedLine
    from fleetlog.usecases.due import Explanation

HISTORY_COLUMNS = [
    ("on", "Date"),
    ("hours", "Hours"),
    ("action", "Done"),
    ("what", "What"),
    ("how", "How, why, by whom"),
    ("entry_id", "Entry"),
]
"""What is shown of the rows of a history."""


@click.command(
    "due",
    cls=OfWhom,
    epilog=examples("due", "due --within 90d --owner Haugtveit", "due --item belt --all --format json"),
)
@click.option("--within", "within_days", type=WINDOW, default="60d", show_default=True, help="How far ahead.")
@click.option("--all", "with_later", is_flag=True, help="With what is due later.")
@click.option("--owner", help="Of one owner: a name, a part of it, or the id.")
@click.option("--boat", help="Of one boat: a name, a part of it, or the id.")
@click.option("--engine", metavar="SERIAL", help="Of one engine: any part of its serial that is unique.")
@click.option("--item", help="Of one kind of item, such as belt.")
@format_option
@pass_desk
def due_command(
    desk: Desk,
    within_days: int,
    with_later: bool,
    owner: str | None,
    boat: str | None,
    engine: str | None,
    item: str | None,
    shape: str,
) -> None:
    """What falls due, for whom, and by when.

    \b
    Sorted by state:
      overdue          a limit in hours or by date has passed
      no record        nobody has recorded when it was last done
      needs a reading  its hours have probably run out; the meter will tell
      due              a limit is reached within the days asked for
      next access      renewed when it is next laid open
      later            all that comes after; shown with --all

    What came off an engine with nothing put on since, what was put off, and
    readings that are held are told below, whatever the state of the lines.
    """
    from fleetlog.usecases.due import (
        DueQuestion,
        due_list,
        has_engines,
        list_unscheduled,
        said_without_lines,
    )

    question = DueQuestion(within_days, with_later, owner, boat, engine, item, with_why=shape == "json")
    found = due_list(desk.log, desk.occasion, question)
    lines = found.lines
    nothing = nothing_due(within_days)
    if not lines and not has_engines(desk.log):
        nothing = "The log has no engine yet."
    elif not lines and engine is not None:
        nothing = said_without_lines(desk.log, desk.occasion, engine) or nothing
    due_table(lines, shape, nothing)
    if lines and shape == "table" and sys.stdout.isatty():
        click.echo(
            f'\nWhy a line stands there: fleetlog why {as_word(lines[0].serial)} "{lines[0].rule.title}"'
        )
    tell_of_unscheduled(list_unscheduled(desk.log, question))
    for told in found.told:
        remark(told)


def nothing_due(within_days: int) -> str:
    """What is said in the place of a due list without a line."""
    return f"Nothing is due within {counted(within_days, 'day')}."


def tell_of_unscheduled(serials: Sequence[str], near: str = "") -> None:
    """Remark that nothing can be said to be due on engines for which the log has no schedule.

    `near` is the offer of one that may be meant.
    """
    if serials:
        remark(
            f"no service schedule for {one_of(serials, 5)}, so nothing can be said to be due there:"
            " import a folder with schedules/ in it, or name one of fleetlog schedule list with"
            f" fleetlog engine change {as_word(serials[0])} --schedule NAME{near}"
        )


def due_table(lines: Sequence[ListedLine], shape: str, nothing: str) -> None:
    """Print due lines; in a table each has one row of what a person looks for."""
    from fleetlog.exchange.due_lines import due_objects

    rows = due_objects(lines)
    if shape == "table":
        rows = [{**row, **_due_cells(row, line)} for row, line in zip(rows, lines, strict=True)]
    columns = [
        ("state", "State"),
        ("likely_on", "Likely"),
        ("where", "Boat, engine"),
        ("work", "Work"),
        ("limit", "Limit"),
    ]
    show(rows, columns, shape, nothing)


def _due_cells(row: dict[str, Any], line: ListedLine) -> dict[str, Any]:
    off = f"off since {line.off_on.isoformat()}" if line.off_on else ""
    return {
        "likely_on": likely_cell(line.likely_on),
        "where": f"{row['boat'] or 'no boat'}, {row['serial']}",
        "work": with_position(row["title"], row["position"]),
        "limit": ", ".join(filter(None, (limit_text(row), off))),
    }


def limit_text(row: dict[str, Any]) -> str:
    """`483.0 h or 2025-10-13`, of a due line as a plain object; empty where it has no limit.

    `deferred` stands after them where one of them is what the line was put off to.
    """
    from fleetlog.domain.due import is_put_off_limit

    hours, on = row["due_hours"], row["due_on"]
    limits = [] if hours is None else [f"{hours} h"]
    limits += [] if on is None else [str(on)]
    is_put_off = is_put_off_limit((on, hours), (row["deferred_until"], row["deferred_until_hours"]))
    return " or ".join(limits) + (" deferred" if is_put_off else "")


@click.command(
    "why",
    epilog=examples('why 20417 "Replace timing belt"', "why 20417 timing-belt-replace", "why 20417"),
)
@click.argument("serial")
@click.argument("rule", required=False)
@printed_as("text", "json")
@pass_desk
def why_command(desk: Desk, serial: str, rule: str | None, shape: str) -> None:
    """Why a due line stands where it stands, in plain sentences.

    RULE is the work as the due list prints it, a part of that, or the key of a
    rule of the engine's schedule. Without it, all that is due is explained.
    """
    from fleetlog.domain.due import DEFAULT_WINDOW_DAYS
    from fleetlog.usecases.due import explain_lines, said_without_lines

    found = explain_lines(desk.log, desk.occasion, serial, rule)
    if shape == "json":
        from fleetlog.domain.kept import listed_line
        from fleetlog.exchange.due_lines import due_objects

        every = [e for explanations in found.values() for e in explanations]
        show(due_objects([listed_line(e.line, " ".join(e.sentences)) for e in every]), [], "json")
        return
    if not found:
        click.echo(said_without_lines(desk.log, desk.occasion, serial) or nothing_due(DEFAULT_WINDOW_DAYS))
    for place, (title, explanations) in enumerate(found.items()):
        click.echo(f"\n{title}" if place else title)
        if not explanations:
            said = said_without_lines(desk.log, desk.occasion, serial)
            click.echo(said or "There is no line: nothing is owed here, or the boat has no lay-up to go by.")
        for explanation in explanations:
            _tell_why(explanation)


def _tell_why(explanation: Explanation) -> None:
    from fleetlog.domain.explain import own_limits

    line = explanation.line
    place = f"{line.position}: " if line.position else ""
    click.echo(f"\n{place}{line.state}")
    own = own_limits(line)
    for sentence in (*explanation.sentences, *([own] if own else [])):
        click.echo(f"  {sentence}")


@click.command(
    "history", epilog=examples("history 20417", "history 20417 --rebuilds", "history 20417 --format json")
)
@click.argument("serial")
@click.option("--rebuilds", is_flag=True, help="Only the rebuilds, each with what was renewed and reused.")
@click.option("--with-voided", is_flag=True, help="With the entries that were taken back.")
@format_option
@pass_desk
def history_command(desk: Desk, serial: str, rebuilds: bool, with_voided: bool, shape: str) -> None:
    """What was done to an engine, the latest first.

    SERIAL may be any part of the serial that is unique, or the name of a boat
    with one engine.
    """
    from fleetlog.exchange.history_rows import history_object, history_rows
    from fleetlog.usecases.history import look_up_history

    history = look_up_history(desk.log, desk.occasion, serial, with_voided=with_voided)
    if shape == "json":
        show_json(history_object(history, rebuilds_only=rebuilds))
        return
    rows = history_rows(history, rebuilds_only=rebuilds)
    if shape == "table":
        for line in _headline(history):
            click.echo(line)
    nothing = "No rebuild is recorded." if rebuilds else "Nothing is recorded yet."
    show(rows, HISTORY_COLUMNS, shape, nothing)


def _headline(history: Any) -> list[str]:
    from fleetlog.domain.hours import hours_text

    engine, seen = history.seen.engine, history.seen
    facts = [engine.serial, engine.maker, engine.model, engine.family]
    lines = [", ".join(f for f in facts if f)]
    if seen.boat is not None:
        lines.append(f"on {seen.boat.name}" + (f", {seen.position}" if seen.position else ""))
    if seen.hours.last is not None:
        lines.append(f"{hours_text(seen.hours.last.tenths)} h read on {seen.hours.last.on.isoformat()}")
    elif not seen.hours.metered:
        lines.append("no hour meter")
    if seen.hours.held:
        lines.append(
            f"{counted(len(seen.hours.held), 'reading')} held: see fleetlog reading list"
            f" {as_word(engine.serial)}"
        )
    voided = history.ledger.voided_on(seen.today)
    if voided and not any(one.void for one in history.entries):
        lines.append(f"{counted(len(voided), 'entry', 'entries')} taken back: see --with-voided")
    lines += _off_lines(history)
    lines += [_assembly_line(age) for age in history.assemblies if age.fitted is not None or age.rebuilt]
    lines += [_term_line(term) for term in history.terms if not term.is_over]
    lines += [
        f"advised {a.first.on.isoformat()}: {a.first.what} ({a.answer or 'no answer yet'})"
        for a in history.advice
        if a.is_open
    ]
    return [*lines, ""]


def _off_lines(history: Any) -> list[str]:
    if not history.taken_off:
        return []
    from fleetlog.domain.taken_off import off_of, off_texts

    return off_texts(off_of(history.seen.engine.serial, history.taken_off))


def _assembly_line(age: Any) -> str:
    def told(tenths: Any, months: int | None, *, is_least: bool) -> str:
        from fleetlog.domain.hours import age_text

        known = [age_text(tenths, is_least=is_least)] if tenths is not None else []
        known += [counted(months, "month")] if months is not None else []
        return ", ".join(known) or "not known"

    said = f"{age.assembly}: since new {told(age.new_tenths, age.new_months, is_least=age.item.is_least)}"
    if age.rebuilt is not None:
        since = told(age.rebuild_tenths, age.rebuild_months, is_least=age.rebuild_is_least)
        said += f"; since rebuild {since}"
    return said


def _term_line(standing: Any) -> str:
    from fleetlog.domain.hours import hours_text

    term = standing.term
    ends = [standing.ends_on.isoformat()] if standing.ends_on else []
    ends += [f"at {hours_text(standing.ends_tenths)} h"] if standing.ends_tenths is not None else []
    title = f" ({term.title})" if term.title else ""
    return f"{term.kind} of the {term.item or 'engine'}{title} ends {' or '.join(ends) or '?'}"
