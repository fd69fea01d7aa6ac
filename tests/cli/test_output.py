"""Where the output cannot go, a command says so in a line, or ends without one where nobody reads on."""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
from collections.abc import Callable
from contextlib import redirect_stdout
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

import fleetlog.cli
from fleetlog.cli.output import show
from fleetlog.errors import as_word
from tests.cli.conftest import Fleetlog, Stream

Shell = Callable[[str], "subprocess.CompletedProcess[str]"]

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="what a shell of Linux has")


@pytest.fixture(params=["", "1"], ids=["buffered", "unbuffered"])
def shell(demo_log: Path, tmp_path: Path, request: pytest.FixtureRequest) -> Shell:
    """Runs a line of bash in which $fleetlog is the program, on a copy of the invented marina's log."""
    shutil.copy(demo_log, tmp_path / "log.db")
    env = {
        **os.environ,
        "fleetlog": f"{sys.executable} -m fleetlog",
        "FLEETLOG_LOG": str(tmp_path / "log.db"),
        "FLEETLOG_TODAY": "2026-04-15",
        "XDG_STATE_HOME": str(tmp_path / "state"),
        "PYTHONUNBUFFERED": request.param,
    }

    def run(line: str) -> subprocess.CompletedProcess[str]:
        words = ["bash", "-o", "pipefail", "-c", line]
        done = subprocess.run(words, env=env, capture_output=True, text=True, check=False)
        assert not (tmp_path / "state").exists()
        return done

    return run


def test_what_is_said_beside_an_answer_begins_as_one_place_has_it() -> None:
    """`remark` for what is worth knowing, `fault` for what is wrong; main alone tells how a run ended."""
    commands = Path(fleetlog.cli.__path__[0])
    others = {path for path in commands.rglob("*.py") if re.search(r'"fleetlog: ', path.read_text("utf-8"))}
    assert others == {commands / "main.py", commands / "output.py"}


@pytest.mark.parametrize("words", ["due", "due --format csv", "--help"])
def test_a_full_disk_is_said_and_is_no_bug(shell: Shell, words: str) -> None:
    done = shell(f"$fleetlog {words} > /dev/full")
    assert done.returncode == 1
    assert done.stderr.startswith("fleetlog: the output could not be written (No space left on device);")
    assert done.stderr.count("\n") == 1


@pytest.mark.parametrize("words", ["due --all", "due --all --format csv"])
def test_a_closed_pipe_ends_a_command_without_a_word(shell: Shell, words: str) -> None:
    done = shell(f"$fleetlog {words} | true")
    assert (done.returncode, done.stderr) == (141, "")


@pytest.mark.parametrize("closed", ["<&-", ">&-", "2>&-", "<&- >&- 2>&-"])
def test_a_stream_that_is_closed_is_no_bug(shell: Shell, closed: str) -> None:
    """As a program has them that a timer begins."""
    assert shell(f"$fleetlog due {closed}").returncode == 0
    assert shell(f"$fleetlog fit 20391 anode --on 2026-04-14 {closed}").returncode == 1
    assert shell(f"$fleetlog fit 20391 anode --position all --on 2026-04-14 {closed}").returncode == 0
    assert "2026-04-14" in shell("$fleetlog history 20391").stdout


@pytest.mark.parametrize("width", [20, 40, 60, 200])
def test_a_terminal_however_narrow_shows_whole_words(monkeypatch: pytest.MonkeyPatch, width: int) -> None:
    monkeypatch.setattr(Stream, "isatty", lambda _self: True)
    monkeypatch.setenv("COLUMNS", str(width))
    out = Stream()
    rows = [{"state": "overdue", "on": "2025-10-13", "what": "Inspect timing belt", "more": None}]
    columns = [("state", "State"), ("on", "Likely"), ("what", "Work"), ("more", "More")]
    with redirect_stdout(out):
        show(rows, columns, "table")
    shown = re.sub(r"\x1b\[\d+m", "", out.text())
    assert {"overdue", "2025-10-13", "Inspect", "timing", "belt"} <= set(shown.split())
    assert max(map(len, shown.splitlines())) <= width


def test_a_terminal_too_narrow_for_whole_words_breaks_them_at_hyphens_first(monkeypatch) -> None:
    monkeypatch.setattr(Stream, "isatty", lambda _self: True)
    monkeypatch.setenv("COLUMNS", "31")
    out = Stream()
    rows = [
        {"serial": "VK6-20417", "family": "counter-rotating twin", "on": "2025-10-13"},
        {"serial": "VK6-20418", "family": "belt-cam", "on": None},
    ]
    with redirect_stdout(out):
        show(rows, [("serial", "Engine"), ("family", "Family"), ("on", "Read on")], "table")
    shown = re.sub(r"\x1b\[\d+m", "", out.text())
    assert [line.rstrip() for line in shown.splitlines()] == [
        "Engine     Family    Read on",
        "VK6-20417  counter-  2025-10-13",
        "           rotating",
        "           twin",
        "VK6-20418  belt-cam",
    ]


@pytest.mark.parametrize(
    "words", [("owner", "add", "\udcc4rger"), ("history", "\udcc4"), ("--by", "\udcc4", "owner", "add", "A")]
)
def test_what_is_no_text_is_refused_in_a_line(twins: Fleetlog, words: tuple[str, ...]) -> None:
    said = twins(*words)
    assert (said.status, said.out) == (1, "")
    assert said.err.startswith("fleetlog: '\\udcc4")
    assert "is not text in UTF-8" in said.err
    assert said.err.count("\n") == 1


@pytest.mark.parametrize("words", [("due", "--today"), ("diary", "show", "--by"), ("diary", "--once")])
def test_an_option_of_the_program_behind_the_command_says_where_it_stands(
    twins: Fleetlog, words: tuple[str, ...]
) -> None:
    said = twins(*words, "2026-04-15")
    assert said.status == 2
    assert f"No such option '{words[-1]}'. It stands before the command: fleetlog {words[-1]} ..." in said.err
    assert "'--engine'" in twins("due", "--engnie", "TT-0017").err


def test_a_figure_below_0_is_told_as_such_and_not_as_an_option(twins: Fleetlog) -> None:
    said = twins("hours", "TT-0017", "-12.5")
    told = "fleetlog: A figure that begins with '-1' is below 0, and none here can be; "
    assert (said.status, said.err) == (2, f"{told}fleetlog hours --help shows how\n")


@pytest.mark.parametrize(
    ("words", "ways"),
    [
        (("due",), ("--owner", "--boat", "--engine")),
        (("remind",), ("--owner",)),
        (("visit", "list"), ("--boat",)),
        (("advice", "list"), ("--engine", "--owner")),
        (("diary", "parts", "list"), ("--boat",)),
    ],
)
def test_a_name_without_its_option_is_refused_with_the_words_that_work(
    twins: Fleetlog, words: tuple[str, ...], ways: tuple[str, ...]
) -> None:
    said = twins(*words, "Lady", "Garstone")
    offered = [f"fleetlog {' '.join(words)} {way} 'Lady Garstone'" for way in ways]
    assert (said.status, said.out) == (2, "")
    assert said.err.endswith(f"say whose or what it is: {' or '.join(offered)}\n")


@pytest.mark.parametrize(
    ("words", "stands"),
    [
        (("reading", "list", "--engine", "TT-0017"), "SERIAL"),
        (("history", "--serial", "TT-0017"), "SERIAL"),
        (("owner", "show", "--owner", "Garstone"), "OWNER"),
        (("boat", "show", "--boat", "Lady"), "BOAT"),
    ],
)
def test_an_option_for_what_stands_by_itself_says_so(
    twins: Fleetlog, words: tuple[str, ...], stands: str
) -> None:
    said = twins(*words)
    assert (said.status, said.out) == (2, "")
    assert said.err.endswith(f"{stands} stands by itself; fleetlog {' '.join(words[:-2])} --help shows how\n")


@pytest.mark.parametrize("shape", ["table", "csv", "json"])
def test_a_day_is_printed_as_iso_text_in_every_shape(capsys: pytest.CaptureFixture[str], shape: str) -> None:
    show([{"on": date(2026, 4, 15)}], [("on", "Date")], shape)
    assert re.search(r"(?m)^\s*(\"on\": \")?2026-04-15\"?$", capsys.readouterr().out)


def test_what_no_row_should_hold_is_not_printed_as_something_else() -> None:
    with pytest.raises(TypeError, match="no value of a row"):
        show([{"at": datetime(2026, 4, 15, tzinfo=UTC)}], [("at", "At")], "json")


def test_a_word_of_a_command_that_is_offered_is_quoted_as_its_shell_wants_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    names = ["20417", "Lady Garstone", "Salt&Pepper", "O'Hare", 'the "Gnat"']
    assert [shlex.split(as_word(name)) for name in names] == [[name] for name in names]
    with monkeypatch.context() as windows:
        windows.setattr(os, "name", "nt")
        words = [as_word(name) for name in names]
    assert words == ["20417", '"Lady Garstone"', '"Salt&Pepper"', '"O\'Hare"', '"the \\"Gnat\\""']
