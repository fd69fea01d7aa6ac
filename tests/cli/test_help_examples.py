"""The examples at the end of each command's help are commands that work, on the invented marina."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator

import click
import pytest

from fleetlog.cli.main import COMMANDS, cli
from fleetlog.cli.options import HandedIn, HandedInText, OnDisk
from tests.cli.conftest import Fleetlog

OF_ONES_OWN = re.compile(
    r"\b(?:[a-z]|[bow]k)(?=[0-9a-z]*[0-9])[0-9a-z]{7,8}\b"  # an id that a log gave
    r"|:12:note|--head"
    r"|\S\.(?:toml|jpg|json|csv|db|ods|xlsx|txt)\b|my-marina|/media|postgresql| > "
    r"|\b(?:BACKUP|OLD-LOG|DAMAGED-LOG)\b"
)
"""What a reader puts in of their own: ids of their log, their files, their server."""
NOT_RUN = {"demo", "backtest", "refresh"}
"""Run for long, or on another log; they have tests of their own."""
NOT_SO = {
    "fleetlog owner forget O-036",
    'fleetlog rebuild 20417 --scope "lower unit"',
    "fleetlog remind --send --no-dry-run",
    'fleetlog diary book "Lady Garstone" --on 2026-04-22 --at 09:00',
}
"""Where a person has to answer, to give a password, or says this instead of the example before it."""
FIRST = {
    "diary book": "diary plan",
    "diary calendar": "diary plan",
    "visit close": "visit open 'Lady Garstone' --on 2026-04-14",
}
"""What has to be done before."""


@pytest.fixture
def store() -> str:
    """The database plays no part in what the help says."""
    return "sqlite"


def leaves(command: click.Command, path: tuple[str, ...] = ()) -> Iterator[tuple[str, click.Command]]:
    """The commands below one, by name."""
    if isinstance(command, click.Group):
        context = click.Context(command)
        for name in command.list_commands(context):
            below = command.get_command(context, name)
            assert below is not None
            yield from leaves(below, (*path, name))
    else:
        yield " ".join(path), command


COMMANDS_BY_NAME = dict(leaves(cli))
EXAMPLES = {
    name: [line.strip() for line in (command.epilog or "").splitlines() if line.startswith("  fleetlog ")]
    for name, command in COMMANDS_BY_NAME.items()
}
"""The examples of each command's help."""
RUNNABLE = {
    name: [e for e in examples if e not in NOT_SO and not OF_ONES_OWN.search(e)]
    for name, examples in EXAMPLES.items()
    if name.split()[0] not in NOT_RUN
}


def test_every_command_has_examples_and_most_can_be_run() -> None:
    assert [name for name, examples in EXAMPLES.items() if not examples] == []
    assert {name.split()[0] for name in EXAMPLES} == set(COMMANDS)
    assert sum(map(len, RUNNABLE.values())) > 110


def groups(command: click.Command) -> Iterator[click.Group]:
    """A command and those below it that have commands of their own."""
    if isinstance(command, click.Group):
        yield command
        for name in command.list_commands(click.Context(command)):
            yield from groups(command.get_command(click.Context(command), name) or click.Command(name))


@pytest.mark.parametrize("group", list(groups(cli)), ids=lambda group: group.name)
def test_no_line_of_a_list_of_commands_is_cut(group: click.Group) -> None:
    _, *lines = group.get_help(click.Context(group, max_content_width=80)).splitlines()
    assert [line for line in lines if line.endswith("...")] == []


@pytest.mark.parametrize("name", [name for name, examples in RUNNABLE.items() if examples])
def test_the_examples_of_a_help_page_do_what_they_say(marina: Fleetlog, name: str) -> None:
    if name in FIRST:
        marina(*shlex.split(FIRST[name]))
    for example in RUNNABLE[name]:
        done = marina(*shlex.split(example)[1:])
        assert done.status == 0, f"{example}: {done.err}"
        assert "is held, it is" not in done.err


def test_every_option_says_what_it_is_for() -> None:
    options = [
        (name, option.opts, option.help)
        for name, command in COMMANDS_BY_NAME.items()
        for option in command.params
        if isinstance(option, click.Option)
    ]
    assert len(options) > 300
    assert [(name, words) for name, words, said in options if not said] == []


def test_no_file_or_folder_has_an_empty_name() -> None:
    named = [
        (name, parameter)
        for name, command in COMMANDS_BY_NAME.items()
        for parameter in command.params
        if isinstance(parameter.type, (click.Path, OnDisk))
    ]
    assert len(named) > 25
    for _, parameter in named:
        with pytest.raises(click.BadParameter, match="it is empty"):
            parameter.type.convert("", parameter, None)


WRITTEN_TO = {"--template", "--out", "--to", "export", "paper restore", "--verify"}
"""Parameters of paths from which nothing is recorded, and commands all of whose paths are such."""


def test_what_a_command_records_from_belongs_to_its_key() -> None:
    recorded_from = 0
    for name, command in COMMANDS_BY_NAME.items():
        for parameter in command.params:
            if isinstance(parameter.type, (HandedIn, HandedInText)):
                recorded_from += 1
            elif isinstance(parameter.type, (click.Path, click.File)):
                assert not WRITTEN_TO.isdisjoint((name, *parameter.opts)), (name, parameter.opts)
    assert recorded_from == 10
