"""Commands for evidence: torque, measure, evidence, answer."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import click

from fleetlog.cli.desk import Desk, pass_desk
from fleetlog.cli.options import (
    COUNT_ABOVE_0,
    DAY,
    DECIMAL,
    ID,
    NAME,
    NEW_ITEM,
    TORQUE_UNIT,
    examples,
    format_option,
    with_options,
)
from fleetlog.cli.output import remark, show
from fleetlog.cli.visits import say_outside
from fleetlog.domain.words import ANSWER_OUTCOMES, with_position
from fleetlog.errors import as_word

if TYPE_CHECKING:
    from fleetlog.usecases.evidence import WrittenEvidence

_BAND = (
    click.option("--low", type=DECIMAL, help="The least that is in order."),
    click.option("--high", type=DECIMAL, help="The most that is in order."),
)
_WHEN = (
    click.option("--on", "on", type=DAY, help="The day it was done.  [default: today]"),
    click.option("--visit", "visit_id", type=ID, help="The visit it belongs to."),
    click.option("--note", help="Anything worth knowing."),
    click.option("--done-by", "done_by", type=NAME, help="Who did it, if not who enters it."),
)


def say_left(evidence: WrittenEvidence, back: str | None, *, by_form: bool = False) -> None:
    """Say what speaks against tools that were used, which figures no limit judges, what is off and waits for
    an answer, and which open visit was left out, as `say_outside` does.
    """
    for flag in evidence.flags:
        remark(f"flagged: {flag}")
    for told in evidence.not_judged:
        remark(told)
    for point in evidence.open:
        remark(f'off: {point.text}; say what was done: fleetlog answer {as_word(point.about)} "..."')
    say_outside(evidence.outside, back, by_form=by_form)


@click.command(
    "torque",
    epilog=examples(
        'torque 20417 "cam sprocket bolt" --applied 49 --unit lbf.ft --low 47 --high 51 --tool W-1',
        'torque 20417 "cam cover bolts" --applied 5.8 --unit lbf.ft --pass 2 --fasteners 8 --visit V-1',
    ),
)
@click.argument("serial")
@click.argument("joint")
@with_options(
    click.option("--applied", type=DECIMAL, required=True, help="What the wrench showed."),
    click.option(
        "--unit", type=TORQUE_UNIT, required=True, help="The unit of its scale, such as lbf·ft or N·m."
    ),
    click.option("--target", type=DECIMAL, help="What was wanted."),
    *_BAND,
    click.option("--pass", "pass_no", type=COUNT_ABOVE_0, help="The pass over the fasteners."),
    click.option("--sequence", "sequence_no", type=COUNT_ABOVE_0, help="Its place in the order."),
    click.option("--fasteners", type=COUNT_ABOVE_0, help="How many were drawn up.  [default: 1]"),
    click.option("--threads", help="Dry, oiled, or the grade of threadlocker."),
    click.option("--tool", "tool_id", metavar="TOOL", help="The wrench: its id, or a part of its name."),
    *_WHEN,
    click.option("--checked-by", type=NAME, help="Who saw it."),
)
@pass_desk
def torque_command(
    desk: Desk, serial: str, joint: str, on: date | None, done_by: str | None, **said: Any
) -> None:
    """Record a torque, as read and in N·m.

    One outside its band, or with a wrench out of calibration or out of range, is
    recorded and flagged.
    """
    from fleetlog.domain.evidence import Torque
    from fleetlog.usecases.evidence import record_evidence

    row = Torque("", "", on or desk.today, joint, by=done_by, **said)
    torque, evidence = record_evidence(desk.log_for_work, desk.occasion, serial, row)
    click.echo(f"Recorded {torque.torque_id}: {torque.serial}, {torque.joint}, {torque.shown}.")
    say_left(evidence, _taken_back(torque.torque_id))


@click.command(
    "measure",
    epilog=examples(
        'measure 20417 anode --quantity "mass left" --value 62 --unit "% left" --low 50',
        'measure 20417 cylinder --position "cylinder 3" --quantity compression --value 184 --unit psi',
    ),
)
@click.argument("serial")
@click.argument("item")
@with_options(
    click.option("--value", type=DECIMAL, required=True, help="The figure."),
    click.option("--quantity", required=True, help="What was measured."),
    click.option("--unit", help="Its unit."),
    click.option("--position", help="Where on the engine."),
    NEW_ITEM,
    click.option("--stage", type=click.Choice(("found", "left")), help="Before the work or after it."),
    *_BAND,
    *_WHEN,
)
@pass_desk
def measure_command(
    desk: Desk,
    serial: str,
    item: str,
    is_new_kind: bool,
    on: date | None,
    done_by: str | None,
    **said: Any,
) -> None:
    """Record a figure measured on an engine, as found or as left.

    One that was left outside its limits keeps its visit open until answered.
    """
    from fleetlog.domain.evidence import Measurement
    from fleetlog.usecases.evidence import record_evidence

    row = Measurement("", "", on or desk.today, item, by=done_by, **said)
    measurement, evidence = record_evidence(
        desk.log_for_work, desk.occasion, serial, row, is_new_kind=is_new_kind
    )
    measured = with_position(measurement.item, measurement.position)
    click.echo(
        f"Recorded {measurement.measurement_id}: {measurement.serial}, {measured}, "
        f"{measurement.quantity} {measurement.shown}."
    )
    say_left(evidence, _taken_back(measurement.measurement_id))


def _taken_back(about: str) -> str:
    return f'fleetlog answer {as_word(about)} --outcome "entered wrong" "..."'


@click.command("evidence", epilog=examples("evidence 20417", "evidence 20417 --visit V-1 --format csv"))
@click.argument("serial")
@click.option("--visit", "visit_id", type=ID, help="Of one visit.")
@click.option("--flagged", is_flag=True, help="Only what is off or made with a tool that is flagged.")
@format_option
@pass_desk
def evidence_command(desk: Desk, serial: str, visit_id: str | None, flagged: bool, shape: str) -> None:
    """The torques, measurements and checks of an engine, and what stands out."""
    from fleetlog.exchange.evidence_rows import evidence_rows
    from fleetlog.usecases.history import look_up_history

    ledger = look_up_history(desk.log, desk.occasion, serial).ledger
    rows = evidence_rows(ledger.evidence, desk.today, visit_id, is_table=shape == "table")
    if flagged:
        rows = [row for row in rows if row["flags"]]
    if shape == "table":
        rows = [
            {**row, "how": "; ".join(filter(None, (row["how"], row["flags"], row["answer"])))} for row in rows
        ]
    columns = [("on", "Date"), ("what", "What"), ("how", "How"), ("checked_by", "Seen by"), ("id", "Id")]
    show(rows, columns, shape, "Nothing is flagged." if flagged else "No evidence is recorded.")


@click.command(
    "answer",
    epilog=examples(
        'answer t2345678 "drawn up again with the bench wrench, 49 lbf·ft"',
        'answer c2345678 "ground cleaned, 6 of 6" --outcome "put right"',
    ),
)
@click.argument("about", metavar="ID")
@click.argument("what")
@click.option(
    "--outcome",
    type=click.Choice(ANSWER_OUTCOMES),
    default="put right",
    show_default=True,
    help="How it ended.",
)
@click.option("--on", "on", type=DAY, help="The day it was done.  [default: today]")
@pass_desk
def answer_command(desk: Desk, about: str, what: str, outcome: str, on: date | None) -> None:
    """Say what was done about a torque outside its band, a figure left outside
    its limits, a check that failed, or one that nobody else saw.
    """
    from fleetlog.usecases.evidence import answer_off

    answer = answer_off(desk.log_for_work, desk.occasion, about, outcome, what, on or desk.today)
    click.echo(f"Answered {answer.about} of {answer.serial}: {answer.outcome}, {answer.what}.")
