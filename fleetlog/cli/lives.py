"""The command that asks the records how long parts last: life."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fleetlog import __version__
from fleetlog.cli.desk import Desk, pass_desk
from fleetlog.cli.options import FOLDER, MARINA, Command, examples, format_option
from fleetlog.cli.output import show, show_json
from fleetlog.errors.life import NoLives

if TYPE_CHECKING:
    from fleetlog.life.answer import LifeAnswer

AGE = click.option(
    "--age",
    "unit",
    type=click.Choice(["hours", "months"]),
    default="hours",
    show_default=True,
    help="Ages in engine hours or in months.",
)


def _condition(ctx: click.Context, param: click.Parameter, values: tuple[str, ...]) -> list[tuple[str, str]]:
    pairs = []
    for value in values:
        name, equals, wanted = (text.strip() for text in value.partition("="))
        if not (name and equals and wanted):
            raise click.BadParameter(f"{value!r}: write NAME=VALUE, such as water=salt", ctx, param)
        pairs.append((name.lower(), wanted))
    return pairs


def where_option(
    of: str, names: str = "family, maker (of the part), part, water or use"
) -> Callable[[Command], Command]:
    """The option that chooses by conditions."""
    return click.option(
        "--where",
        multiple=True,
        metavar="NAME=VALUE",
        callback=_condition,
        help=f"Only {of}: NAME is {names}. May be repeated.",
    )


def say(text: str) -> None:
    """Print a paragraph, wrapped for a terminal."""
    click.echo(click.wrap_text(text, width=96))
    click.echo()


@click.command(
    "life",
    epilog=examples(
        "life",
        'life "water pump impeller" --where water=salt',
        'life "water pump impeller" --split water --format json',
        'life "timing belt" --age months --shape 3',
    ),
)
@click.argument("item", required=False)
@where_option("lives under these conditions")
@click.option(
    "--split",
    metavar="NAME[=VALUE]",
    help="Compare groups by a condition; with a value, those that have it against the others.",
)
@AGE
@click.option(
    "--shape", "stated_shape", type=float, help="State the Weibull shape, where failures are few (Weibayes)."
)
@click.option("--confidence", type=float, default=0.95, show_default=True, help="Of the limits, 0 to 1.")
@click.option("--out", type=FOLDER, help="Write the page with its plots here too.")
@MARINA
@format_option
@pass_desk
def life_command(
    desk: Desk,
    item: str | None,
    where: list[tuple[str, str]],
    split: str | None,
    unit: Any,
    stated_shape: float | None,
    confidence: float,
    out: Path | None,
    marina: str | None,
    shape: str,
) -> None:
    """How long parts last, by the shop's own records.

    Without ITEM the kinds of item are listed with how their lives ended. With
    ITEM a Weibull distribution is fitted to every life, those that still run
    and those that came off sound included. The maker's manual governs.
    """
    from fleetlog.usecases.lives.life import LifeQuestion, list_kinds, look_up_life

    if item is None:
        if split is not None or stated_shape is not None or out is not None:
            raise click.UsageError("--split, --shape and --out are for one ITEM; say which.")
        _list_kinds([asdict(kind) for kind in list_kinds(desk.log, desk.occasion, unit, where)], shape)
        return
    question = LifeQuestion(item, where, split, unit, stated_shape, confidence)
    answer = look_up_life(desk.log, desk.occasion, question)
    if answer.whole.fit is None and answer.whole.outlasted is None:
        raise answer.whole.refusal or NoLives()
    if out is not None:
        _write_page(desk, out, answer, marina)
    if shape == "table":
        from fleetlog.life.paragraphs import paragraphs

        for text in paragraphs(answer):
            say(text)
    else:
        from fleetlog.life.objects import answer_object

        found = answer_object(answer)
        if shape == "json":
            show_json(found)
        else:
            plain = {k: v for k, v in found.items() if not isinstance(v, (list, dict))}
            show([plain], [], "csv")


def _write_page(desk: Desk, out: Path, answer: LifeAnswer, marina: str | None) -> None:
    from fleetlog.reports.context import ReportContext
    from fleetlog.usecases.reporting import write_life_page

    page = write_life_page(out, answer, ReportContext(desk.signed_by(marina), __version__), desk.today)
    click.echo(f"{page} written", err=True)


def _list_kinds(rows: list[dict[str, Any]], shape: str) -> None:
    if shape == "table":
        rows = [{**row, "firm": "yes" if row["firm"] else ""} for row in rows]
    columns = [
        ("item", "Item"),
        ("lives", "Lives"),
        ("failed", "Failed"),
        ("found_worn", "Found worn"),
        ("sound", "Sound"),
        ("entered_with_age", "Came with age"),
        ("left_out", "Left out"),
        ("firm", "Firm answer"),
    ]
    show(rows, columns, shape, "No item has come off in this log yet.")
