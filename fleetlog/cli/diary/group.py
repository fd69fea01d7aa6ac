"""The group of the diary's commands; each is in a module that is loaded when it is called."""

from __future__ import annotations

from importlib import import_module

import click

MODULES = {
    "plan": "plan",
    "show": "plan",
    "book": "booking",
    "move": "booking",
    "release": "booking",
    "done": "booking",
    "shop": "shop",
    "wish": "shop",
    "load": "outlook",
    "fit-out": "outlook",
    "parts": "parts",
    "estimate": "parts",
    "calendar": "out",
    "pages": "out",
}
"""Each command of the diary and the module of `fleetlog.cli.diary` that holds it."""


class DiaryCommands(click.Group):
    """The diary's commands by name."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(MODULES)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in MODULES:
            return None
        module = import_module(f"fleetlog.cli.diary.{MODULES[cmd_name]}")
        command: click.Command = getattr(module, f"{cmd_name.replace('-', '_')}_command")
        return command


@click.group("diary", cls=DiaryCommands)
def diary_command() -> None:
    """The shop's diary: work bundled into visits, visits put on days."""
