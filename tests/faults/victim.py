"""A program that does one thing to a log and kills itself at a chosen write point.

It loads what it needs once, then takes a line of JSON per order (what to do, and at which point to die)
and forks a child for each. The child says `done N` after each step that it was told is saved; the answer of
the program is a line of JSON: the steps said to be saved, the points that were passed, and whether it died.
"""

from __future__ import annotations

import contextlib
import io
import json
import os
import signal
import sys
from importlib import import_module
from pkgutil import walk_packages
from typing import Any

from sqlalchemy import Engine, event

import fleetlog
from fleetlog.cli.main import cli
from fleetlog.store import connecting, direct

_FILE_EVENTS = {"os.rename", "os.remove", "os.truncate", "os.link", "sqlite3.connect"}


class Points:
    """Counts write points: statements, commits, stretches of long statements, files opened or moved."""

    def __init__(self, die_at: int) -> None:
        self.passed, self._die_at = 0, die_at
        sys.addaudithook(self._audited)
        event.listen(Engine, "before_cursor_execute", self._statement)
        self._say, direct.say = direct.say, self._said
        event.listen(Engine, "commit", self._statement)
        event.listen(Engine, "connect", self._connected)

    def pass_one(self) -> None:
        self.passed += 1
        if self.passed == self._die_at:
            os.kill(os.getpid(), signal.SIGKILL)

    def _statement(self, *_: Any) -> None:
        self.pass_one()

    def _said(self, *given: Any) -> Any:
        self.pass_one()
        return self._say(*given)

    def _audited(self, name: str, given: tuple[Any, ...]) -> None:
        if name in _FILE_EVENTS or (name == "open" and given[2] is not None and given[2] & 3):
            self.pass_one()

    def _connected(self, dbapi_connection: Any, _record: Any) -> None:
        def within() -> int:
            self.pass_one()
            return 0

        if hasattr(dbapi_connection, "set_progress_handler"):  # SQLite's
            dbapi_connection.set_progress_handler(within, 2_000)


def _child(order: dict[str, Any], answer: int) -> None:
    connecting.SYNCHRONOUS = "OFF"  # what the system was given survives the death of a program
    points = Points(order["die_at"])
    for number, words in enumerate(order["steps"], start=1):
        said = io.StringIO()
        with contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
            try:
                cli.main(words, standalone_mode=False)
            except BaseException as error:
                os.write(answer, f"failed {error!r} {said.getvalue()!r}\n".encode())
                os._exit(1)
        os.write(answer, f"done {number}\n".encode())
    os.write(answer, f"points {points.passed}\n".encode())
    os._exit(0)


def main() -> None:
    """Answers orders until there are no more."""
    for name in (
        "alembic.command",
        *(module.name for module in walk_packages(fleetlog.__path__, "fleetlog.")),
    ):
        import_module(name)  # once, and not in each child
    for line in sys.stdin:
        order = json.loads(line)
        reading, writing = os.pipe()
        child = os.fork()
        if child == 0:
            os.close(reading)
            _child(order, writing)
        os.close(writing)
        with os.fdopen(reading) as stream:
            said = stream.read().splitlines()
        _, status = os.waitpid(child, 0)
        steps = sum(1 for one in said if one.startswith("done "))
        points = next((int(one.split()[1]) for one in said if one.startswith("points ")), None)
        failed = next((one for one in said if one.startswith("failed ")), None)
        killed = os.WIFSIGNALED(status)
        print(json.dumps({"steps": steps, "points": points, "killed": killed, "failed": failed}), flush=True)


if __name__ == "__main__":
    main()
