"""What a command prints with `--format json` is JSON, with `--format csv` CSV, and nothing else."""

from __future__ import annotations

import csv
import json
import shlex
from collections.abc import Iterator

import click
import pytest

from fleetlog.usecases.mailing import SentMails
from tests.cli.conftest import Fleetlog
from tests.cli.test_help_examples import COMMANDS_BY_NAME, FIRST, RUNNABLE

INSTEAD = {
    "backtest": ["--every 200 --stand-on 2025-05-01"],
    "diary plan": ["--work-limit quick", "--work-limit quick --try 'hours +1'"],
}
"""Words for commands whose examples run for long."""
OF_A_BOOKING = "diary done"
"""The command that takes the id of a booking."""


@pytest.fixture
def store() -> str:
    """The database plays no part in how an answer is printed."""
    return "sqlite"


def shapes_of(command: click.Command) -> list[str]:
    """The formats of a command that programs read."""
    return [
        shape
        for option in command.params
        if "--format" in option.opts and isinstance(option.type, click.Choice)
        for shape in option.type.choices
        if shape in ("json", "csv")
    ]


def examples_of(name: str) -> list[list[str]]:
    """The words after a command's name in its examples, without a format."""
    lines = INSTEAD.get(name) or [line.removeprefix(f"fleetlog {name}") for line in RUNNABLE[name]]
    return [shlex.split(line.partition("--format")[0]) for line in lines]


def ways_of(name: str) -> Iterator[list[str]]:
    """The first example of a command with each of its flags, with and without a folder to write to."""
    options = [option for option in COMMANDS_BY_NAME[name].params if isinstance(option, click.Option)]
    flags = [[], *([option.opts[0]] for option in options if option.is_flag)]
    has_folder = any("--out" in option.opts for option in options)
    for number, flag in enumerate(flags):
        yield [*examples_of(name)[0], *flag]
        if has_folder:
            yield [*examples_of(name)[0], *flag, "--out", f"made-{number}"]


def is_in(shape: str, text: str) -> bool:
    """Whether a text is in a format, with nothing before or after it."""
    if shape == "json":
        try:
            json.loads(text)
        except ValueError:
            return False
        return True
    heading, *rows = csv.reader(text.splitlines(), strict=True)
    return all(key.isidentifier() for key in heading) and {len(row) for row in rows} <= {len(heading)}


@pytest.mark.parametrize(
    "name", [n for n, c in COMMANDS_BY_NAME.items() if shapes_of(c) and n != OF_A_BOOKING]
)
def test_a_format_is_all_that_a_command_prints(marina: Fleetlog, name: str) -> None:
    if name in FIRST:
        marina(*FIRST[name].split())
    calls = {shape: examples_of(name) for shape in shapes_of(COMMANDS_BY_NAME[name])}
    calls["json"] = [*examples_of(name)[1:], *ways_of(name)]
    answered = 0
    for shape, lines in calls.items():
        for words in lines:
            said = marina(*name.split(), *words, "--format", shape)
            answered += said.status == 0
            assert is_in(shape, said.out) if said.out else said.status, (shape, words, said)
    assert answered


def test_so_is_what_is_said_of_a_booking_that_is_done(marina: Fleetlog) -> None:
    marina("diary", "plan", "--work-limit", "quick")
    booking = marina("diary", "book", "Byssus").out.split()[1].rstrip(":")
    marina("visit", "open", "Byssus", "--id", "J-1")
    done = marina("diary", "done", booking, "--nothing", "--format", "json")
    assert (done.status, "outside visit J-1" in done.err) == (0, True)
    assert is_in("json", done.out)


def test_mails_that_a_server_took_and_refused_are_told_in_a_format(
    marina: Fleetlog, monkeypatch: pytest.MonkeyPatch
) -> None:
    sent = SentMails(["Quill Marsh"], [("Arden Reed", "550 no such user")], [])
    monkeypatch.setattr("fleetlog.usecases.mailing.send_mails", lambda *_: sent)
    said = marina("remind", "--send", "--no-dry-run", "--format", "json")
    assert (said.status, [(row["owner"], row["sent"], row["why_not"]) for row in json.loads(said.out)]) == (
        1,
        [("Quill Marsh", True, None), ("Arden Reed", False, "550 no such user")],
    )
