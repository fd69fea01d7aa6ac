"""What the commands about owners, boats and engines say and ask alike."""

from __future__ import annotations

from typing import Any

import click

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
    return {name: value for name, value in facts.items() if value is not None}


def say_changed(what: str, changes: list[Any], now: Any) -> None:
    """Say what is so `now`, of a row that these changes led to, and what was."""
    from fleetlog.domain.records import fact_text

    for change in changes:
        is_now = fact_text(getattr(now, change.field)) or "not known"
        click.echo(f"Changed {what}: {change.field} {is_now}, was {change.was or 'not known'}.")
