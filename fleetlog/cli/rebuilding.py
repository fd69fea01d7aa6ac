"""The command that records a rebuild: from a form, or step by step in the terminal."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fleetlog.cli.asking import ask_text, ask_value, ask_word
from fleetlog.cli.desk import Desk, pass_desk, somebody_there
from fleetlog.cli.options import DAY, DECIMAL, FILE, HANDED_IN, HOURS, TORQUE_UNIT, examples
from fleetlog.domain.words import REBUILD_SCOPES, with_position
from fleetlog.errors import as_word, counted

if TYPE_CHECKING:
    from fleetlog.domain.rebuild import Noted, OutlinedItem, RebuildForm, RebuildItem
    from fleetlog.domain.records import Entry
    from fleetlog.usecases.rebuilding import RebuildOutline, RebuildRecorded


_ANY_DAY = date.min
"""Stands in rows that take the day of their form."""


@click.command(
    "rebuild",
    epilog=examples(
        "rebuild 20417 --scope powerhead --template rebuild.toml",
        "rebuild 20417 --from rebuild.toml --dry-run",
        "rebuild 20417 --from rebuild.toml",
        'rebuild 20417 --scope "lower unit"',
    ),
)
@click.argument("serial")
@click.option("--scope", type=click.Choice(REBUILD_SCOPES), help="What was rebuilt.")
@click.option("--from", "form_path", type=HANDED_IN, help="A filled-in form.")
@click.option(
    "--template",
    "template_path",
    type=FILE,
    help="Write the form to this file, with the engine's own items.",
)
@click.option("--dry-run", is_flag=True, help="Say what would be recorded, and record nothing.")
@pass_desk
def rebuild_command(
    desk: Desk,
    serial: str,
    scope: str | None,
    form_path: Path | None,
    template_path: Path | None,
    dry_run: bool,
) -> None:
    """Record a rebuild as one visit: what was renewed, reused, carried over and
    left, measurements, torques and checks.

    All of it is recorded or nothing, and nothing while an item whose rules the
    rebuild resets has no answer. Without --from you are asked step by step.
    """
    if form_path is not None and template_path is not None:
        raise click.UsageError("--from and --template exclude each other")
    if form_path is not None:
        from fleetlog.exchange.rebuild_form import read_rebuild_form

        _record(desk, serial, scope, read_rebuild_form(form_path, desk.today), dry_run)
        return
    if scope is None:
        raise click.UsageError(f"say --scope: {', '.join(REBUILD_SCOPES)}")
    from fleetlog.usecases.rebuilding import outline_rebuild

    outline = outline_rebuild(desk.log, desk.occasion, serial, scope)
    if template_path is not None:
        from fleetlog.exchange.new_file import write_new
        from fleetlog.exchange.rebuild_form import rebuild_template

        text = rebuild_template(outline.serial, scope, desk.today, outline.asked, outline.others)
        write_new(template_path, text.encode())
        click.echo(f"{template_path}: {counted(len(outline.asked), 'item')} to answer; then: ", nl=False)
        click.echo(f"fleetlog rebuild {as_word(outline.serial)} --from {as_word(str(template_path))}")
        return
    if not somebody_there():
        from fleetlog.errors.evidence import RebuildNeedsForm

        raise RebuildNeedsForm(outline.serial, scope)
    form = _ask_all(desk, outline)
    _record(desk, outline.serial, scope, form, dry_run=True)
    if dry_run:
        return
    click.confirm("Record it?", err=True, abort=True)
    _record(desk, outline.serial, scope, form, dry_run=False)


def _record(desk: Desk, serial: str, scope: str | None, form: RebuildForm, dry_run: bool) -> None:
    from fleetlog.usecases.rebuilding import record_rebuild

    recorded = record_rebuild(desk.log_for_work, desk.occasion, serial, scope, form, dry_run=dry_run)
    _say(recorded, dry_run)


def _say(recorded: RebuildRecorded, dry_run: bool) -> None:
    from fleetlog.cli.evidence import say_left
    from fleetlog.cli.hours import say_held

    batch = recorded.batch
    rebuilt = batch.entries[-1]
    verb = "Would record" if dry_run else "Recorded"
    click.echo(
        f"{verb} the {rebuilt.scope} rebuild of {rebuilt.serial} on {rebuilt.on.isoformat()}, "
        f"visit {recorded.visit.visit_id}:"
    )
    for label, action in (
        ("renewed", "fitted"),
        ("put back or carried over", "reused"),
        ("looked at", "inspected"),
        ("adjusted", "adjusted"),
        ("serviced", "serviced"),
    ):
        named = [_named(e) for e in batch.entries if e.action == action]
        if named:
            click.echo(f"  {label}: {'; '.join(dict.fromkeys(named))}")
    counts = (
        (len(batch.torques), "torque"),
        (len(batch.measurements), "measurement"),
        (len(batch.checks), "check"),
    )
    said = [counted(count, name) for count, name in counts if count]
    if said:
        click.echo(f"  {', '.join(said)}")
    back = None if dry_run else f"fleetlog visit void {as_word(recorded.visit.visit_id)} --reason ..."
    say_left(recorded.evidence, back, by_form=True)
    if recorded.is_closed:
        click.echo(f"  the visit {'would be' if dry_run else 'is'} closed")
    else:
        click.echo(
            f"  the visit stays open: fleetlog visit close {as_word(recorded.visit.visit_id)} when it is over"
        )
    say_held(rebuilt.serial, *recorded.held)


def _named(entry: Entry) -> str:
    return with_position(entry.item or "", entry.position)


# Step by step


def _ask_all(desk: Desk, outline: RebuildOutline) -> RebuildForm:
    from fleetlog.domain.rebuild import RebuildForm

    click.echo(f"{outline.scope.capitalize()} rebuild of {outline.serial}.", err=True)
    on = click.prompt("Finished on", type=DAY, default=desk.today.isoformat(), err=True)
    opened_on = click.prompt("The engine came in on", type=DAY, default=on.isoformat(), err=True)
    hours_tenths = ask_value("Hours the meter showed, nothing if not read", HOURS)
    facts = {name: ask_text(name.capitalize()) for name in ("complaint", "cause", "correction")}
    items = [_ask_item(item) for item in outline.asked]
    for item in outline.others:
        named = with_position(item.item, item.position)
        if click.confirm(f"Anything done to {named}?", default=False, err=True):
            items.append(_ask_item(item))
    evidence = (*_ask_torques(), *_ask_checks())
    is_off = any(noted.row.is_off and noted.outcome is None for noted in evidence)
    is_over = not is_off and click.confirm("Is the visit over?", default=False, err=True)
    return RebuildForm(
        outline.serial,
        outline.scope,
        on,
        opened_on=opened_on,
        closed_on=on if is_over else None,
        hours_tenths=hours_tenths,
        visit_facts=facts,
        items=tuple(items),
        evidence=evidence,
    )


def _ask_item(item: OutlinedItem) -> RebuildItem:
    from fleetlog.domain.rebuild import ANSWERS, RebuildItem
    from fleetlog.exchange.rebuild_form import known_of

    named = with_position(item.item, item.position)
    click.echo(f"\n{named}: {'; '.join(rule.title for rule in item.rules)}", err=True)
    click.echo(f"  {known_of(item)}", err=True)
    answer = ask_word("  What was done", ANSWERS)
    part = lot = None
    if answer == "renewed":
        part, lot = ask_text("  Part number"), ask_text("  Lot")
    note = click.prompt("  How it was put back", err=True) if answer == "reused" else ask_text("  Note")
    return RebuildItem(item.item, answer, item.position, part_number=part, lot=lot, note=note)


def _ask_torques() -> list[Noted]:
    from fleetlog.domain.evidence import Torque
    from fleetlog.domain.rebuild import Noted

    noted: list[Noted] = []
    while joint := ask_text("\nA torque: which joint, nothing when done"):
        unit = click.prompt("  Unit", type=TORQUE_UNIT, default="lbf·ft", err=True)
        figures: dict[str, Any] = {
            name: ask_value(f"  {name.capitalize()}", DECIMAL) for name in ("target", "low", "high")
        }
        applied = click.prompt("  Applied", type=DECIMAL, err=True)
        row = Torque(
            "",
            "",
            _ANY_DAY,
            joint,
            applied,
            unit,
            sequence_no=len(noted) + 1,
            threads=ask_text("  Threads (dry, oiled, threadlocker)"),
            tool_id=ask_text("  Tool"),
            checked_by=ask_text("  Seen by"),
            **figures,
        )
        noted.append(_answered(Noted(row)))
    return noted


def _ask_checks() -> list[Noted]:
    from fleetlog.domain.evidence import CHECK_RESULTS, Check
    from fleetlog.domain.rebuild import Noted

    noted = []
    while title := ask_text("\nA check, nothing when done"):
        result = ask_word("  Result", CHECK_RESULTS, "done")
        reason = click.prompt("  Why", err=True) if result == "not done" else ask_text("  Remark")
        row = Check("", "", _ANY_DAY, title, result, reason=reason, checked_by=ask_text("  Seen by"))
        noted.append(_answered(Noted(row)))
    return noted


def _answered(noted: Noted) -> Noted:
    from dataclasses import replace

    from fleetlog.domain.evidence_text import off_text
    from fleetlog.domain.words import ANSWER_OUTCOMES

    if not noted.row.is_off:
        return noted
    click.echo(f"  Off: {off_text(noted.row)}", err=True)
    what = ask_text("  What was done about it, nothing if it is still to be done")
    if what is None:
        return noted
    outcome = ask_word("  So it was", ANSWER_OUTCOMES, ANSWER_OUTCOMES[0])
    return replace(noted, outcome=outcome, what=what)
