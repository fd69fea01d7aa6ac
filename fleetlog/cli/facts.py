"""What the commands about owners, boats and engines say and ask alike."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from fleetlog.cli.output import remark
from fleetlog.errors import as_word, one_of

if TYPE_CHECKING:
    from fleetlog.store.log import Log

REASON = click.option("--reason", help="Why; kept with the change.")

BOAT_COLUMNS = [
    ("name", "Boat"),
    ("boat_id", "Id"),
    ("owner", "Owner"),
    ("water", "Water"),
    ("use", "Use"),
    ("berth", "Berth"),
    ("engines", "Engines"),
]

ENGINE_COLUMNS = [
    ("serial", "Engine"),
    ("family", "Family"),
    ("boat", "Boat"),
    ("position", "Position"),
    ("engine_hours", "Hours"),
    ("engine_hours_on", "Read on"),
    ("state", "State"),
]


def given(facts: dict[str, Any]) -> dict[str, Any]:
    """The facts that options were given for; what nobody said stays as it is."""
    return {name: value for name, value in facts.items() if value is not None}


def say_namesakes(log: Log, kind: str, key: str, name: str) -> None:
    """Remark that an owner or a boat that was added has the name of another one, or nearly so."""
    from fleetlog.usecases.register import namesakes

    others, alike = namesakes(log, f"{kind}s", key, name)
    if others:
        remark(
            f"{one_of(others, 5)} has that name too; the {kind} added is known by its id alone:"
            f" {as_word(key)}; if both are the same, go on with {as_word(others[0])}, and call this one"
            f" something else: fleetlog {kind} change {as_word(key)} --name NAME"
        )
    if alike:
        like = one_of([f"{theirs} ({other})" for other, theirs in alike.items()], 5)
        remark(
            f"so like {name!r} that it may be the same {kind} is {like}; if it is, go on with that one, and"
            f" call this one something else: fleetlog {kind} change {as_word(key)} --name NAME"
        )


def say_changed(what: str, changes: list[Any], now: Any) -> None:
    """Say what is so `now`, of a row that these changes led to, and what was."""
    from fleetlog.domain.records import fact_text

    for change in changes:
        is_now = fact_text(getattr(now, change.field)) or "not known"
        click.echo(f"Changed {what}: {change.field} {is_now}, was {change.was or 'not known'}.")
