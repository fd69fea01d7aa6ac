"""Commands about parts: where-fitted, superseded."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fleetlog import __version__
from fleetlog.cli.desk import Desk, pass_desk
from fleetlog.cli.options import DAY, FOLDER, ID, MARINA, REPLY_BY, REPLY_EMAIL, examples, format_option
from fleetlog.cli.output import remark, show
from fleetlog.domain.words import with_position
from fleetlog.errors import counted

if TYPE_CHECKING:
    from fleetlog.domain.part_search import Sighting


@click.command(
    "where-fitted",
    epilog=examples(
        "where-fitted --part TB-118",
        'where-fitted --part TB-118 --lot "24-07" --format csv',
        'where-fitted --part TB-118 --lot "24-07" --out notices --message "Please do not run the engine."',
    ),
)
@click.option("--part", "part_number", metavar="N", required=True, help="Part number.")
@click.option("--lot", metavar="L", help="Lot or batch.")
@click.option("--exact", "is_exact", is_flag=True, help="This number only, not those it replaced.")
@click.option("--now", "only_now", is_flag=True, help="Only where it is now.")
@click.option(
    "--out",
    type=FOLDER,
    help="Write a page for each owner who has it now into this folder, one of its own.",
)
@click.option("--message", help="What the pages ask of the owners, in your words.")
@MARINA
@REPLY_EMAIL
@REPLY_BY
@format_option
@pass_desk
def where_fitted_command(
    desk: Desk,
    part_number: str,
    lot: str | None,
    is_exact: bool,
    only_now: bool,
    out: Path | None,
    message: str | None,
    marina: str | None,
    reply_email: str | None,
    reply_by: str | None,
    shape: str,
) -> None:
    """Every engine, boat and owner that has a part now, or had it.

    Parts are followed from engine to engine, those that were put back used or
    carried over too. Numbers that replaced each other are one part, unless
    --exact is said.
    """
    from fleetlog.usecases.part_search import find_part

    found = find_part(desk.log, desk.occasion, part_number, lot, is_exact=is_exact)
    rows = [_sighting(s) for s in found.sightings if s.is_now or not only_now]
    if shape == "table":
        rows = [{**row, "state": _state(row), "whose": _whose(row)} for row in rows]
    if shape == "table" and len(found.numbers) > 1:
        click.echo(f"Looked for {', '.join(found.numbers)}; to be ordered as {found.order_number}.\n")
    columns = [
        ("state", "State"),
        ("serial", "Engine"),
        ("where", "Item"),
        ("part", "Part"),
        ("from_on", "From"),
        ("whose", "Boat, owner"),
    ]
    show(rows, columns, shape, "No engine of this log has it or had it.")
    if found.lot_not_known:
        engines = ", ".join(found.lot_not_known)
        no_page = ", and no page tells their owners" if out is not None else ""
        remark(f"nobody wrote down of which lot it is on {engines}: it may be this one{no_page}")
    if out is not None:
        from fleetlog.reports.context import ReportContext
        from fleetlog.reports.part_notice import PartNotice
        from fleetlog.usecases.part_search import write_part_notices

        context = ReportContext(desk.signed_by(marina), __version__, reply_email, reply_by)
        notice = PartNotice(part_number, lot, message)
        pages, unwritten = write_part_notices(found, notice, out, context, desk.today)
        click.echo(f"{counted(len(pages), 'page')} in {out}", err=True)
        nobodys = sorted({s.serial for s in found.sightings if s.is_now and s.owner is None})
        if nobodys:
            remark(f"the log knows no owner to be told of {', '.join(nobodys)}")
        if unwritten:
            remark(f"they want no reminders, so tell them yourself: {', '.join(unwritten)}")


def _state(row: dict[str, Any]) -> str:
    """`has it now`, or `had it until 2026-05-01, transferred`."""
    if row["state"] == "now":
        return "has it now"
    why = f", {row['why_off']}" if row["why_off"] else ""
    return f"had it until {row['to_on']}{why}"


def _whose(row: dict[str, Any]) -> str:
    return f"{row['boat'] or 'no boat'}, {row['owner'] or 'no owner'}"


def _sighting(sighting: Sighting) -> dict[str, Any]:
    item, stint, named = sighting.leg.item, sighting.leg.stint, sighting.named
    lot = f" lot {named.lot}" if named.lot else ""
    return {
        "state": "now" if sighting.is_now else "had",
        "serial": sighting.serial,
        "item": item.item,
        "position": item.position,
        "where": with_position(item.item, item.position),
        "part": f"{named.part_number}{lot}",
        "part_number": named.part_number,
        "lot": named.lot,
        "from_on": stint.from_on,
        "to_on": stint.to_on,
        "why_off": stint.why_off,
        "boat": sighting.boat.name if sighting.boat else None,
        "boat_id": sighting.boat.boat_id if sighting.boat else None,
        "owner": sighting.owner.name if sighting.owner else None,
        "owner_id": sighting.owner_id,
        "entry_id": named.entry_id,
    }


@click.group("superseded")
def superseded_command() -> None:
    """Part numbers that others replaced."""


@superseded_command.command("add", epilog=examples("superseded add TB-117 TB-118 --from 2025-03-01"))
@click.argument("part_number", type=ID, metavar="OLD")
@click.argument("by_number", type=ID, metavar="NEW")
@click.option("--from", "from_on", type=DAY, help="Since when.")
@click.option("--note", help="Anything worth knowing, such as where it is said.")
@pass_desk
def superseded_add(
    desk: Desk, part_number: str, by_number: str, from_on: date | None, note: str | None
) -> None:
    """Part number OLD was replaced by NEW. Both are found by either, and NEW is ordered."""
    from fleetlog.usecases.part_search import supersede

    row = supersede(desk.log_or_new, desk.occasion, part_number, by_number, from_on, note)
    click.echo(f"{row.part_number} is superseded by {row.superseded_by}.")


@superseded_command.command("list", epilog=examples("superseded list"))
@format_option
@pass_desk
def superseded_list(desk: Desk, shape: str) -> None:
    """Which number replaced which."""
    from fleetlog.usecases.part_search import list_supersessions

    rows = [
        {
            "part_number": s.part_number,
            "superseded_by": s.superseded_by,
            "from_on": s.from_on,
            "note": s.note,
            "by": s.by,
        }
        for s in list_supersessions(desk.log, desk.today)
    ]
    columns = [
        ("part_number", "Part"),
        ("superseded_by", "Superseded by"),
        ("from_on", "From"),
        ("note", "Note"),
    ]
    show(rows, columns, shape, "No part number is superseded.")


@superseded_command.command(
    "withdraw", epilog=examples("superseded withdraw NV-5004 NV-5006 --reason 'another family'")
)
@click.argument("part_number", type=ID, metavar="OLD")
@click.argument("by_number", type=ID, metavar="NEW")
@click.option("--reason", required=True, help="Why it did not.")
@pass_desk
def superseded_withdraw(desk: Desk, part_number: str, by_number: str, reason: str) -> None:
    """NEW did not replace OLD after all."""
    from fleetlog.usecases.part_search import withdraw_supersession

    row = withdraw_supersession(desk.log, desk.occasion, part_number, by_number, reason)
    click.echo(f"{row.part_number} counts as superseded by {row.superseded_by} no longer.")
