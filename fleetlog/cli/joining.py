"""The command for an engine just met: join walks through what is known of its past."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fleetlog.cli.asking import ask_text, ask_value, ask_word
from fleetlog.cli.desk import Desk, pass_desk, somebody_there
from fleetlog.cli.options import DAY, FILE, HANDED_IN, HOURS, examples
from fleetlog.cli.output import remark
from fleetlog.domain.joining import DONE, ORIGINAL, UNKNOWN
from fleetlog.domain.words import with_position
from fleetlog.errors import as_word, counted

if TYPE_CHECKING:
    from fleetlog.domain.joining import JoinAnswer
    from fleetlog.usecases.joining import JoinOutline


@click.command(
    "join",
    epilog=examples(
        "join 20417",
        "join 20417 --template past.toml",
        "join 20417 --from past.toml --dry-run",
        "join 20417 --from past.toml",
    ),
)
@click.argument("serial")
@click.option(
    "--template",
    "template_path",
    type=FILE,
    help="Write a form with the lines of its schedule to this file.",
)
@click.option("--from", "form_path", type=HANDED_IN, help="A filled-in form.")
@click.option("--source", help="Where the answers are from, such as 'the owner's papers'.")
@click.option("--dry-run", "is_tried", is_flag=True, help="Only say what would be recorded.")
@pass_desk
def join_command(
    desk: Desk,
    serial: str,
    template_path: Path | None,
    form_path: Path | None,
    source: str | None,
    is_tried: bool,
) -> None:
    """Walk through the schedule of an engine just met: done, original or unknown.

    What the owner or his papers tell is recorded as hearsay, all at once. Without
    --from you are asked line by line.
    """
    if template_path is not None and form_path is not None:
        raise click.UsageError("--from and --template exclude each other")
    if form_path is not None:
        from fleetlog.errors.files import FormOfAnotherEngine
        from fleetlog.exchange.join_form import read_join_form
        from fleetlog.usecases.joining import outline_join

        form = read_join_form(form_path, desk.today)
        engine = outline_join(desk.log, desk.occasion, serial).serial
        if form.serial.casefold() != engine.casefold():
            raise FormOfAnotherEngine(form.serial, engine)
        _record(desk, engine, form.answers, source or form.source, is_tried)
        return
    from fleetlog.usecases.joining import outline_join

    outline = outline_join(desk.log, desk.occasion, serial)
    if not outline.asked:
        click.echo(f"{outline.serial}: every line of its schedule has a record already.")
        return
    if template_path is not None:
        from fleetlog.exchange.join_form import join_template
        from fleetlog.exchange.new_file import write_new

        write_new(template_path, join_template(outline.serial, outline.asked).encode())
        click.echo(f"{template_path}: {counted(len(outline.asked), 'line')} to answer; then: ", nl=False)
        click.echo(f"fleetlog join {as_word(outline.serial)} --from {as_word(str(template_path))}")
        return
    if not somebody_there():
        from fleetlog.errors.joining import JoinNeedsForm

        raise JoinNeedsForm(outline.serial)
    source = source or click.prompt("Where are the answers from?", default="the owner's papers", err=True)
    answers = _ask(outline)
    _record(desk, outline.serial, answers, source, is_tried)


def _ask(outline: JoinOutline) -> list[JoinAnswer]:
    from fleetlog.domain.joining import JoinAnswer

    answers = []
    for place, line in enumerate(outline.asked, 1):
        work = with_position(line.rule.title, line.position)
        click.echo(f"\n{place} of {len(outline.asked)}: {work}, every {line.interval}", err=True)
        answer = ask_word("Known to be", outline.answers_to(line), UNKNOWN)
        on = meter = note = None
        if answer == DONE:
            on = click.prompt("On which day (an estimate will do)", type=DAY, err=True)
            if outline.hour_meter:
                meter = ask_value("What the meter showed, nothing if not known", HOURS)
            note = ask_text("Anything worth knowing")
        answers.append(JoinAnswer(line.rule.key, line.position, answer, on, meter, None, note))
    return answers


def _record(
    desk: Desk, serial: str, answers: Sequence[JoinAnswer], source: str | None, is_tried: bool
) -> None:
    from fleetlog.cli.hours import say_held
    from fleetlog.usecases.joining import record_join

    joined = record_join(desk.log_for_work, desk.occasion, serial, answers, source, is_tried=is_tried)
    verb = "Would record" if is_tried else "Recorded"
    entries = counted(len(joined.entries), "entry", "entries")
    click.echo(f"{verb} {entries} of {joined.serial} as hearsay{':' if joined.entries else '.'}")
    for entry in joined.entries:
        what = with_position(entry.item or "", entry.position)
        click.echo(f"  {entry.on.isoformat()}  {what} {entry.action}")
    told = ", ".join(f"{joined.counts[a]} {a}" for a in (DONE, ORIGINAL, UNKNOWN) if joined.counts[a])
    click.echo(f"Answers: {told or 'none'}.")
    say_held(joined.serial, *joined.held)
    if joined.first is not None:
        from fleetlog.domain.held_text import not_read_text

        remark(f"{not_read_text(joined.serial, joined.first)}, give them as hours")
