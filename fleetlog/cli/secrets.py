"""Keeps passwords out of the words of a command, where every user of the machine can read them."""

from __future__ import annotations

import click
from click.core import ParameterSource


def without_password(ctx: click.Context, param: click.Parameter, value: str | None) -> str | None:
    """The address of a log as it was given; wrong usage where it was typed with a password in it."""
    if value is None or ctx.get_parameter_source(param.name or "") is not ParameterSource.COMMANDLINE:
        return value
    from fleetlog.store.place import has_password

    if has_password(value):
        whole = f", or set {param.envvar} to the whole address" if param.envvar else ""
        raise click.BadParameter(
            "others can read a password there: leave it out of the address and set PGPASSWORD or PGPASSFILE"
            f"{whole}"
        )
    return value
