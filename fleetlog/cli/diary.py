"""The group of the diary's commands; each is in a module that is loaded when it is called."""

from __future__ import annotations

from importlib import import_module

import click

MODULES = {
    "plan": "diary_plan",
    "show": "diary_plan",
    "book": "diary_booking",
    "move": "diary_booking",
    "release": "diary_booking",
    "done": "diary_booking",
    "shop": "diary_shop",
    "wish": "diary_shop",
    "load": "diary_outlook",
    "fit-out": "diary_outlook",
    "parts": "diary_parts",
    "estimate": "diary_parts",
    "calendar": "diary_out",
    "pages": "diary_out",
}
"""Each command of the diary and the module of `fleetlog.cli` that holds it."""


class DiaryCommands(click.Group):
    """The diary's commands by name."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(MODULES)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in MODULES:
            return None
        module = import_module(f"fleetlog.cli.{MODULES[cmd_name]}")
        command: click.Command = getattr(module, f"{cmd_name.replace('-', '_')}_command")
        return command


@click.group("diary", cls=DiaryCommands)
def diary_command() -> None:
    """The shop's diary: work bundled into visits, visits put on days."""
