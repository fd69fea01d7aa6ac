"""Commands about what was promised and told: term, advice."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import click

from fleetlog.cli.desk import Desk, pass_desk
from fleetlog.cli.options import (
    DAY,
    HOURS,
    HOURS_ABOVE_0,
    ID,
    MONTHS_ABOVE_0,
    NAME,
    OfWhom,
    examples,
    format_option,
)
from fleetlog.cli.output import likely_cell, remark, show
from fleetlog.domain.promises import ADVICE_WAYS, ANSWERS, TERM_KINDS
from fleetlog.domain.words import with_position

if TYPE_CHECKING:
    from fleetlog.domain.hour_record import AcceptedReading
    from fleetlog.domain.promises import Term


@click.group("term")
def term_command() -> None:
    """Terms of warranty and useful life, of an engine, a part or a repair."""


@term_command.command(
    "add",
    epilog=examples(
        "term add 20417 --on 2022-06-01 --months 48 --for-hours 250 --title 'emission parts'",
        "term add 20417 --entry ejjapv97t --months 12 --title 'our repair'",
        "term add 20417 --kind 'useful life' --on 2022-06-01 --months 120 --for-hours 350",
    ),
)
@click.argument("serial")
@click.option(
    "--kind", type=click.Choice(TERM_KINDS), default="warranty", show_default=True, help="What runs out."
)
@click.option("--on", "starts_on", type=DAY, help="The day it starts.  [default: the entry's, or today]")
@click.option("--months", type=MONTHS_ABOVE_0, help="How many months it runs.")
@click.option(
    "--for-hours", "tenths", type=HOURS_ABOVE_0, help="How many hours it runs; whichever comes first."
)
@click.option(
    "--at-hours", "starts_tenths", type=HOURS, help="Engine hours at its start, if no reading tells."
)
@click.option("--title", help="Whose it is and what it covers.")
@click.option("--item", help="The item it covers; without one, the engine.")
@click.option("--position", metavar="P", help="Where that item sits.")
@click.option("--entry", "entry_id", metavar="ID", help="The repair or the fitting it stands on.")
@click.option("--note", help="Anything worth knowing.")
@pass_desk
def term_add(desk: Desk, serial: str, **said: Any) -> None:
    """Record a term: months, hours or both, whichever comes first."""
    from fleetlog.usecases.terms import TermSaid, add_term

    added = add_term(desk.log_for_work, desk.occasion, serial, TermSaid(**said))
    term = added.term
    of = term.item or "the engine"
    click.echo(
        f"Recorded {term.term_id}: {term.kind} of {of}, {term.serial}, from {term.starts_on.isoformat()}."
    )
    if not added.is_start_known:
        _say_start_unknown(term, added.taken_from)


def _say_start_unknown(term: Term, taken_from: AcceptedReading | None) -> None:
    """Tell that no reading says the hours at the start of a term by hours."""
    from fleetlog.domain.hours import hours_text

    instead = "and with no reading it has no end by hours"
    if taken_from is not None:
        instead = (
            f"so those of the first reading count, {hours_text(taken_from.tenths)} h on"
            f" {taken_from.on.isoformat()}, and it may end sooner than told"
        )
    remark(
        f"the engine hours of {term.starts_on.isoformat()} are not known, {instead}; if they are:"
        f" fleetlog term withdraw {term.term_id} --reason ..., and record it again with --at-hours"
    )


@term_command.command("list", epilog=examples("term list", "term list 20417 --all --format json"))
@click.argument("serial", required=False)
@click.option("--all", "with_over", is_flag=True, help="With those that are over.")
@format_option
@pass_desk
def term_list(desk: Desk, serial: str | None, with_over: bool, shape: str) -> None:
    """The terms of an engine, or of all, the next to end first."""
    from fleetlog.usecases.terms import list_terms

    rows = list_terms(desk.log, desk.occasion, serial, with_over=with_over)
    if shape == "table":
        rows = [
            {
                **row,
                "promised": _promised(row),
                "ends": _ends(row),
                "likely_on": likely_cell(row["likely_on"]),
            }
            for row in rows
        ]
    columns = [
        ("state", "State"),
        ("serial", "Engine"),
        ("promised", "Term of"),
        ("ends", "Ends"),
        ("likely_on", "Likely"),
        ("owner", "Owner"),
        ("term_id", "Term"),
    ]
    show(rows, columns, shape, "No term runs.")


def _promised(row: dict[str, Any]) -> str:
    """`warranty, engine: emission parts`."""
    covers = with_position(row["item"], row["position"]) if row["item"] else "engine"
    return f"{row['kind']}, {covers}" + (f": {row['title']}" if row["title"] else "")


def _ends(row: dict[str, Any]) -> str:
    hours = f"{row['ends_at_hours']} h" if row["ends_at_hours"] is not None else None
    return " or ".join(str(end) for end in (row["ends_on"], hours) if end)


@term_command.command("withdraw", epilog=examples("term withdraw w7k2m9pqa --reason 'sold without it'"))
@click.argument("term_id", metavar="TERM")
@click.option("--reason", required=True, help="Why it holds no longer.")
@pass_desk
def term_withdraw(desk: Desk, term_id: str, reason: str) -> None:
    """A term holds no longer from today on. It was entered wrongly, or ended early."""
    from fleetlog.usecases.terms import withdraw_term

    term = withdraw_term(desk.log_for_work, desk.occasion, term_id, reason)
    click.echo(f"Withdrew {term.term_id}, {term.kind} of {term.item or 'the engine'}, {term.serial}.")


@click.group("advice")
def advice_command() -> None:
    """What owners were advised, and what they answered."""


@advice_command.command(
    "add",
    epilog=examples(
        "advice add 20417 'renew the anodes' --item anode --how 'by telephone' --answer declined",
        "advice add 20417 'belt before the season' --rule timing-belt-replace --how 'by e-mail'",
    ),
)
@click.argument("serial")
@click.argument("what")
@click.option("--on", type=DAY, help="The day.  [default: today]")
@click.option("--rule", help="The rule it is about: work recorded for it closes the advice.")
@click.option("--item", help="The item it is about, where there is no rule.")
@click.option("--position", metavar="P", help="Where that item sits.")
@click.option("--how", type=click.Choice(ADVICE_WAYS), help="How the owner was told.")
@click.option("--told-to", type=NAME, help="Who was told.  [default: the owner]")
@click.option("--answer", type=click.Choice(ANSWERS), help="What the answer was; it may come later.")
@click.option("--visit", "visit_id", type=ID, help="The visit it belongs to.")
@click.option("--note", help="Anything worth knowing, such as the reason.")
@click.option("--told-by", type=NAME, help="Who told, if not who enters it.")
@pass_desk
def advice_add(desk: Desk, serial: str, what: str, on: date | None, **said: Any) -> None:
    """Record what an owner was advised. Declined, it stands on the next page again."""
    from fleetlog.usecases.advice import AdviceSaid, advise

    advice = advise(desk.log_for_work, desk.occasion, serial, AdviceSaid(what, on or desk.today, **said))
    answer = advice.answer or "no answer yet"
    click.echo(f"Recorded {advice.advice_id}: {advice.serial}, {advice.what} ({answer}).")


@advice_command.command("answer", epilog=examples("advice answer n7k2m9pqa declined --how 'by telephone'"))
@click.argument("advice_id", metavar="ADVICE")
@click.argument("answer", type=click.Choice(ANSWERS))
@click.option("--on", type=DAY, help="The day.  [default: today]")
@click.option("--how", type=click.Choice(ADVICE_WAYS), help="How it was heard.")
@click.option("--note", help="Anything worth knowing, such as the reason.")
@pass_desk
def advice_answer(
    desk: Desk, advice_id: str, answer: str, on: date | None, how: str | None, note: str | None
) -> None:
    """Record what the owner answered later. Done or withdrawn closes the advice."""
    from fleetlog.usecases.advice import answer_advice

    heard = answer_advice(desk.log_for_work, desk.occasion, advice_id, answer, on or desk.today, how, note)
    click.echo(f"Recorded {heard.advice_id}: {heard.what} ({heard.answer}).")


@advice_command.command(
    "list", cls=OfWhom, epilog=examples("advice list", "advice list --owner Garstone --all")
)
@click.option("--engine", metavar="SERIAL", help="Of one engine.")
@click.option("--owner", help="Of one owner's engines.")
@click.option("--all", "with_closed", is_flag=True, help="With what is done or withdrawn.")
@format_option
@pass_desk
def advice_list(desk: Desk, engine: str | None, owner: str | None, with_closed: bool, shape: str) -> None:
    """What was advised and is open still, the newest first."""
    from fleetlog.usecases.advice import list_advice

    rows = list_advice(desk.log, desk.occasion, engine, owner, with_closed=with_closed)
    if shape == "table":
        rows = [
            {
                **row,
                "how": " to ".join(filter(None, (row["how"], row["told_to"]))),
                "answer": ", ".join(str(said) for said in (row["answer"], row["answered_on"]) if said),
            }
            for row in rows
        ]
    columns = [
        ("on", "Date"),
        ("serial", "Engine"),
        ("what", "Advised"),
        ("how", "How"),
        ("answer", "Answer"),
        ("by", "By"),
        ("advice_id", "Advice"),
    ]
    show(rows, columns, shape, "No advice is open.")
