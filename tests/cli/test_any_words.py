"""Whatever words a command is given, it answers with a status and a line, and has no bug."""

from __future__ import annotations

import os
import re
import sys
from contextlib import suppress
from pathlib import Path
from threading import Thread

import click
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import fleetlog
from fleetlog.cli.main import COMMANDS, cli
from tests.cli.conftest import Fleetlog

WORDS = st.one_of(
    st.sampled_from(
        ["TT-0017", "timing belt", "Plain Twins", "O-T1", "2026-04-15", "350.5", "0", "-1", "port=350", "all"]
    ),
    st.sampled_from(
        ["--on", "--hours", "--position", "--format", "json", "--all", "--within", "--yes", "--", ""]
    ),
    st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=12),
    st.from_regex(r"[0-9]{1,12}(\.[0-9]{1,4})?|[0-9]{4,6}-[0-9]{2}-[0-9]{2}", fullmatch=True),
)
NOT_ALONE = {"demo", "report", "refresh", "backtest"}
"""Commands that write pages or learn for a while: their arguments are options only, tried elsewhere."""


@pytest.fixture
def store() -> str:
    """Arguments are read before any database is."""
    return "sqlite"


@settings(max_examples=60, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
@given(command=st.sampled_from(sorted(set(COMMANDS) - NOT_ALONE)), words=st.lists(WORDS, max_size=5))
def test_no_words_make_a_command_fall_over(twins: Fleetlog, command: str, words: list[str]) -> None:
    done = twins(command, *words)
    assert done.status in (0, 1, 2)
    assert "Traceback" not in done.err
    assert done.status == 0 or done.err.strip() or command == "check"


@pytest.mark.skipif(sys.platform == "win32", reason="no such pipes there")
@pytest.mark.parametrize(
    ("limit", "words"),
    [
        ("fleetlog.exchange.telemetry._MOST_BYTES", ("telemetry", "pipe", "--map", "port=TT-0017")),
        ("fleetlog.exchange.form_text._MOST_BYTES", ("import-sheet", "log.db", "--mapping", "pipe")),
        ("fleetlog.cli.options._MOST_LETTERS", ("hours", "--from", "pipe")),
        (None, ("extract", "--verify", "pipe")),
    ],
)
def test_what_may_never_end_is_not_read_to_its_end(
    twins: Fleetlog,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    limit: str | None,
    words: tuple[str, ...],
) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    if limit is not None:
        monkeypatch.setattr(limit, 1000)

    def feed() -> None:
        with suppress(BrokenPipeError), pipe.open("wb", buffering=0) as stream:
            stream.write(b"a" * 1001)

    feeding = Thread(target=feed)
    feeding.start()
    done = twins(*words)
    other_end = os.open(pipe, os.O_RDONLY | os.O_NONBLOCK)  # lets go who feeds a pipe that nobody opened
    feeding.join()
    os.close(other_end)
    assert done.status != 0
    assert re.search("larger than|has more than|a pipe or a device", done.err), done.err


EMPTY = (
    "due --item|kind of item",
    "history|engine",
    "visit list --boat|boat",
    "advice list --owner|owner",
    "fit TT-0017|item",
    "fit TT-0017 anode --position|position of the anode",
    "measure TT-0017 bolt --quantity length --value 9 --unit mm --position|position of the bolt",
    "why TT-0017|rule",
    "defer TT-0017 anode-inspect --until 2027-06-01 --reason away --position|position",
    "schedule show|schedule",
    "bulletin show|bulletin",
    "life|kind of item",
    "renew --planned 180 --failure 240|kind of item",
    "repairs --item|kind of item",
    "where-fitted --part TB-118 --lot|lot",
    "diary wish add --not-before 2026-05-04|boat",
    "diary wish add --not-before 2026-05-04 --owner|owner",
    "diary parts order NV-3105 2 --boat|boat",
    "diary calendar --out shop.ics --for technician|technician",
)
"""Commands that want a name last, and what of."""


@pytest.mark.parametrize("words_of", EMPTY)
def test_an_empty_name_names_nothing_and_not_everything(
    twins: Fleetlog, tmp_path: Path, words_of: str
) -> None:
    words, kind = words_of.split("|")
    (tmp_path / "mine/shop").mkdir(parents=True)
    (tmp_path / "mine/shop/shop.toml").write_text(twins("diary", "shop", "--template").out, encoding="utf-8")
    assert twins("import", "mine").status == 0
    for nothing in ("", " "):
        done = twins(*words.split(), nothing)
        said = f"fleetlog: no {kind} is named: what was given is empty; say which {kind}\n"
        assert (done.status, done.err) == (1, said)


LONG = "x" * 300


@pytest.mark.parametrize(
    "words",
    [
        ("restore", LONG, "new.db"),
        ("restore", "log.db", LONG),
        ("rescue", LONG, "out"),
        ("import", LONG),
        ("report", "--out", LONG),
        ("backup", "--to", LONG),
        ("extract", "TT-0017", "--out", LONG),
        ("remind", "--out", LONG),
        ("diary", "pages", "--out", LONG),
    ],
)
def test_a_name_that_no_file_can_have_is_wrong_usage(twins: Fleetlog, words: tuple[str, ...]) -> None:
    done = twins(*words)
    assert (done.status, done.out) == (2, "")
    assert "is too long a name" in done.err


def test_a_command_that_a_message_or_page_names_is_there() -> None:
    context = click.Context(cli)
    package = Path(fleetlog.__path__[0])
    wrong, seen = [], 0
    for path in (*package.rglob("*.py"), *package.rglob("*.html")):
        for words in re.findall(r"fleetlog ((?:[a-z][a-z-]+ ?){1,3})", path.read_text(encoding="utf-8")):
            command: click.Command | None = cli
            for word in words.split():
                if not isinstance(command, click.Group):
                    break
                there = command.list_commands(context)
                if word not in there and command is cli:
                    break  # a sentence about the program
                seen += 1
                command = command.get_command(context, word) if word in there else None
            if command is None:
                wrong.append(f"{path.name}: fleetlog {words}")
    assert seen > 100
    assert wrong == []
