"""Commands that draw conclusions from how long parts last: repairs, renew, demand."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

import click

from fleetlog.cli.desk import Desk, pass_desk
from fleetlog.cli.lives import AGE, say, where_option
from fleetlog.cli.options import WINDOW, examples, format_option
from fleetlog.cli.output import show, show_json
from fleetlog.errors import counted
from fleetlog.errors.life import OpenCostMissing

if TYPE_CHECKING:
    from fleetlog.usecases.lives.repairs import RepairsAnswer, RepairsOfGroup

_MOST_ROWS = 12


@click.command(
    "repairs",
    epilog=examples(
        "repairs",
        "repairs --split use",
        "repairs --engine 20417",
        'repairs --item "steering linkage" --where water=salt --format json',
    ),
)
@click.option("--item", help="Only failures of one kind of item; else breakdowns and failures of any.")
@click.option("--engine", help="Only of one engine, by its serial or a part of it.")
@where_option("engines under these conditions", "family, water or use")
@click.option("--split", metavar="NAME", help="By group: family, water or use.")
@AGE
@click.option("--confidence", type=float, default=0.95, show_default=True, help="Of the limits, 0 to 1.")
@format_option
@pass_desk
def repairs_command(
    desk: Desk,
    item: str | None,
    engine: str | None,
    where: list[tuple[str, str]],
    split: str | None,
    unit: Any,
    confidence: float,
    shape: str,
) -> None:
    """Repairs per engine by age, with limits, and whether they become more
    frequent.

    A repair is a visit for which the engine came in broken down, or on which
    an item came off failed. Engines that had none count too.
    """
    from fleetlog.usecases.lives.repairs import RepairsQuestion, look_up_repairs

    question = RepairsQuestion(
        item, engine, where, None if split is None else split.strip().lower(), unit, confidence
    )
    answer = look_up_repairs(desk.log, desk.occasion, question)
    if shape == "json":
        show_json(_repairs_object(answer))
        return
    groups = list(answer.groups) or [answer.whole]
    if shape == "table":
        for group in [answer.whole, *answer.groups]:
            say(_repairs_said(answer, group))
    rows = []
    for group in groups:
        every = _mean_rows(group)
        step = max(1, -(-len(every) // _MOST_ROWS)) if shape == "table" else 1
        rows += [{"group": group.name, **row} for row in every[::-step][::-1]]
    if shape == "table":
        rows = [{**row, "age": f"{row['age']:.1f}", **_two_decimals(row)} for row in rows]
    columns = [
        ("group", "Engines"),
        ("age", f"Age, {unit}"),
        ("at_risk", "Under watch"),
        ("mean", "Repairs per engine"),
        ("low", "From"),
        ("high", "To"),
    ]
    show(rows, columns, shape)


def _two_decimals(row: dict[str, Any]) -> dict[str, str]:
    found = {name: row[name] for name in ("mean", "low", "high")}
    return {name: "" if value is None else f"{value:.2f}" for name, value in found.items()}


def _mean_rows(group: RepairsOfGroup) -> list[dict[str, Any]]:
    from fleetlog.life.objects import mean_rows

    return [] if group.mean is None else mean_rows(group.mean)


def _repairs_said(answer: RepairsAnswer, group: RepairsOfGroup) -> str:
    from fleetlog.life.words import age_in_words, between_in_words, trend_in_words

    text = (
        f"{group.name[:1].upper()}{group.name[1:]}: {counted(group.engines, 'engine')}, watched over"
        f" {group.watched:.0f} {answer.unit} in all, had {counted(group.repairs, 'repair')} ({answer.work})"
    )
    if group.repairs:
        text += f", one in {age_in_words(group.watched / group.repairs, answer.unit)}"
    text += "."
    if group.left_out:
        text += f" {group.left_out} left out: their age in {answer.unit} is not known."
    if group.trend is not None and group.law is not None:
        text += f" {trend_in_words(answer.work, group.trend, group.law)}"
    elif group.repairs:
        text += " Too few to say whether they become more frequent."
    if group.between is not None:
        text += f" {between_in_words(group.between, answer.unit)}"
    return text


def _repairs_object(answer: RepairsAnswer) -> dict[str, Any]:
    def of_group(group: RepairsOfGroup) -> dict[str, Any]:
        from fleetlog.life.objects import trend_object

        return {
            "engines": group.engines,
            "repairs": group.repairs,
            f"watched_{answer.unit}": group.watched,
            "left_out": group.left_out,
            **trend_object(group.trend, group.law, group.between),
            "mean_cumulative": _mean_rows(group),
        }

    found = {"work": answer.work, "unit": answer.unit, **of_group(answer.whole)}
    if answer.split_by:
        found["split_by"] = answer.split_by
        found["groups"] = [{"group": group.name, **of_group(group)} for group in answer.groups]
    return found


@click.command(
    "renew",
    epilog=examples(
        'renew "water pump impeller" --planned 180 --failure 240 --tow 350 --lost-day 600',
        'renew "water pump impeller" --planned 180 --failure 900 --while-open 60 --where water=salt',
    ),
)
@click.argument("item")
@click.option("--planned", type=float, required=True, help="Cost of a planned renewal.")
@click.option("--failure", type=float, required=True, help="Cost of the renewal after a failure.")
@click.option("--tow", type=click.FloatRange(0), default=0.0, help="What the tow costs then.")
@click.option(
    "--lost-day", type=click.FloatRange(0), default=0.0, help="What the lost charter or hire costs then."
)
@click.option(
    "--wreck", type=click.FloatRange(0), default=0.0, help="What the engine costs that a failure wrecks."
)
@click.option("--while-open", type=float, help="Cost of renewing while the access is open anyway.")
@click.option("--open-every", type=float, help="How far apart the access is open; else by the schedule.")
@click.option("--interval", type=float, help="The maker's, where no schedule names a shorter one.")
@where_option("lives under these conditions")
@AGE
@click.option("--shape", "stated_shape", type=float, help="State the Weibull shape (Weibayes).")
@format_option
@pass_desk
def renew_command(
    desk: Desk,
    item: str,
    planned: float,
    failure: float,
    tow: float,
    lost_day: float,
    wreck: float,
    while_open: float | None,
    open_every: float | None,
    interval: float | None,
    where: list[tuple[str, str]],
    unit: Any,
    stated_shape: float | None,
    shape: str,
) -> None:
    """When to renew an item, by the shop's own records and costs.

    The age of least cost, how flat it is, and the risk carried till the
    maker's interval, which is never gone beyond: the maker's manual governs.
    Costs are in one currency.
    """
    from fleetlog.life.objects import advice_object
    from fleetlog.life.words import advice_in_words, life_in_words
    from fleetlog.usecases.lives.life import LifeQuestion
    from fleetlog.usecases.lives.renewing import Costs, advise_on_renewal

    if open_every is not None and while_open is None:
        raise OpenCostMissing
    costs = Costs(planned, failure + tow + lost_day + wreck, while_open, open_every)
    question = LifeQuestion(item, where, None, unit, stated_shape)
    answer = advise_on_renewal(desk.log, desk.occasion, question, costs, interval)
    life = answer.life
    rows = [
        {
            "schedule": r.interval.schedule,
            "shortened": dict(r.interval.shortened),
            "open_every": r.open_every,
            **advice_object(r.advice),
        }
        for r in answer.renewing
    ]
    if shape == "json":
        whole = {
            "item": life.item,
            "unit": life.unit,
            "where": life.about or None,
            "planned_cost": costs.planned,
            "failure_cost": costs.failure,
            "while_open_cost": costs.while_open,
            "firm": life.fit.is_firm,
            "advice": rows,
        }
        show_json(whole)
    elif shape == "csv":
        show([{k: v for k, v in row.items() if not isinstance(v, dict)} for row in rows], [], "csv")
    else:
        say(life_in_words(life.named, life.whole.tally, life.fit))
        for one in answer.renewing:
            say(f"{one.interval.schedule}: {advice_in_words(life.item, one.advice, one.interval, life.unit)}")
            if while_open is not None and one.open_every is None:
                say("Nothing says how far apart that access is open: give --open-every.")


@click.command("demand", epilog=examples("demand", "demand --days 30d --days 90d --level 0.95 --format csv"))
@click.option(
    "--days",
    "horizons",
    type=WINDOW,
    multiple=True,
    default=("30d", "90d", "365d"),
    show_default=True,
    help="How far ahead; may be repeated.",
)
@click.option("--level", type=float, default=0.9, show_default=True, help="Enough with this chance, 0 to 1.")
@click.option("--to-order", is_flag=True, help="Only what is missing.")
@format_option
@pass_desk
def demand_command(desk: Desk, horizons: tuple[int, ...], level: float, to_order: bool, shape: str) -> None:
    """How many of each part the coming weeks will take, and what to order.

    From the due windows, and from the chances of failure of kinds of item
    whose records give a firm answer. What lies on the shelf and is on order
    is taken off.
    """
    from fleetlog.usecases.demand import part_demands

    found = part_demands(desk.log, desk.occasion, sorted(set(horizons)), level)
    rows = [asdict(part) for part in found if not to_order or part.to_order > 0]
    if shape == "table":
        rows = [
            {
                **row,
                "part": " ".join(filter(None, (row["part_number"], row["name"], row["maker"]))),
                "expected": f"{row['expected']:.1f}",
                "enough": f"{row['enough']:g}",
                "on_shelf": "not counted" if row["on_shelf"] is None else f"{row['on_shelf']:g}",
                "on_order": f"{row['on_order']:g}",
                "to_order": f"{row['to_order']:g}",
            }
            for row in rows
        ]
    columns = [
        ("part", "Part"),
        ("days", "Days"),
        ("expected", "Expected"),
        ("enough", f"Enough ({100 * level:g} %)"),
        ("on_shelf", "On the shelf"),
        ("on_order", "On order"),
        ("to_order", "To order"),
    ]
    show(rows, columns, shape, "No part is needed within that time.")
