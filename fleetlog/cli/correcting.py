"""Commands that correct without editing: void, defer."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

import click

from fleetlog.cli.desk import Desk, pass_desk
from fleetlog.cli.options import DAY, HOURS, examples
from fleetlog.cli.output import remark
from fleetlog.domain.words import with_position
from fleetlog.errors import one_of

if TYPE_CHECKING:
    from fleetlog.domain.records import Entry


@click.command("void", epilog=examples("void e4k7m2p9x --reason 'wrong engine' --replaced-by e8h3n5q2w"))
@click.argument("entry_id", metavar="ENTRY")
@click.option("--reason", required=True, help="Why it is wrong.")
@click.option("--replaced-by", metavar="ENTRY", help="The entry that stands in its place.")
@pass_desk
def void_command(desk: Desk, entry_id: str, reason: str, replaced_by: str | None) -> None:
    """Take back a wrong entry.

    It is kept and shown as voided, with who and why; its figure of hours is
    withdrawn with it, unless another entry of the visit carries it. All entries
    of a visit are taken back together by visit void.
    """
    from fleetlog.usecases.correcting import void_entry

    entry, unsaid = void_entry(desk.log_for_work, desk.occasion, entry_id, reason, replaced_by)
    click.echo(f"Voided {entry_text(entry)}.")
    rebuilt = unsaid[0].last.entry if unsaid and unsaid[0].last is not None else None
    if rebuilt is not None:
        work = one_of([with_position(one.rule.title, one.position) for one in unsaid])
        remark(
            f"counts as renewed with the {rebuilt.scope} rebuild of {rebuilt.on.isoformat()}, though no entry"
            f" says so any more: {work}; record what was done with it (fleetlog fit, reuse, inspect …), or"
            f" take the rebuild back: fleetlog void {rebuilt.entry_id} --reason ..."
        )


def entry_text(entry: Entry) -> str:
    """An entry in a line: its id, its engine, what was done and when."""
    what = entry.item or f"{entry.scope} rebuild"
    return f"{entry.entry_id}: {entry.serial}, {what} {entry.action} on {entry.on.isoformat()}"


@click.command(
    "defer", epilog=examples("defer 20417 anode-inspect --until 2026-06-01 --reason 'at the next haul-out'")
)
@click.argument("serial")
@click.argument("rule")
@click.option("--position", metavar="P|all", help="One position of the rule.  [default: all of them]")
@click.option("--until", "until_on", type=DAY, help="The day it is put off to.")
@click.option("--until-hours", "until_tenths", type=HOURS, help="The engine hours it is put off to.")
@click.option("--reason", required=True, help="Why it can wait.")
@pass_desk
def defer_command(
    desk: Desk,
    serial: str,
    rule: str,
    position: str | None,
    until_on: date | None,
    until_tenths: int | None,
    reason: str,
) -> None:
    """Move a due line out, with a reason.

    RULE is the work as the due list prints it, a part of that, or a rule's key.
    A deferral is the shop's word, not the engine maker's: the line goes on
    saying that it is deferred, by whom and why, and the maker's limit stands in
    the manual. It ends when the work is done.
    """
    from fleetlog.domain.explain import own_limits
    from fleetlog.domain.words import OVERDUE
    from fleetlog.usecases.correcting import defer_line
    from fleetlog.usecases.due import explain_lines

    deferral = defer_line(
        desk.log_for_work,
        desk.occasion,
        serial,
        rule,
        position=position,
        until_on=until_on,
        until_tenths=until_tenths,
        reason=reason,
    )
    click.echo(f"Deferred {deferral.deferral_id}: {deferral.serial}, {deferral.rule}.")
    [explanations] = explain_lines(desk.log, desk.occasion, deferral.serial, deferral.rule).values()
    lines = [e.line for e in explanations if deferral.position in (None, e.line.position)]
    if not lines:
        remark("nothing is moved by this: there is no line of it now")
    for line in lines:
        own = own_limits(line)
        place = f"{line.position}: " if line.position else ""
        if line.deferral is None:
            remark(f"{place}nothing is moved by this: a line of '{line.state}' has no limit to put off")
        elif own is not None:
            click.echo(f"{place}{line.state}. {own}")
            if not line.standing.is_moved_out:
                remark(f"{place}nothing is put off by this: no limit of the line comes before that")
            if line.state == OVERDUE:
                remark("it is overdue all the same; --until-hours puts off the hours, --until the day")
    remark("the engine maker's limit is not changed by this; its manual governs")
