"""A process that is lost while work is handed to it."""

from __future__ import annotations

import os
import threading

import pytest

from fleetlog.errors.processes import ProcessLost
from fleetlog.usecases.processes import other_processes


def _end(*_given: object) -> None:
    """What a process does that is ended from outside."""
    os._exit(9)


def test_what_a_lost_process_does_not_take_any_more_is_not_waited_for() -> None:
    said: list[type] = []

    def lose_one() -> None:
        try:
            with other_processes(1, len, ()) as pool:
                ended = pool.submit(_end)
                for _ in range(3):
                    pool.submit(len, b"x" * 5_000_000)  # more than a pipe holds
                ended.result()
        except ProcessLost:
            said.append(ProcessLost)

    losing = threading.Thread(target=lose_one, daemon=True)
    losing.start()
    losing.join(60)
    assert said == [ProcessLost], "it waits for ever" if losing.is_alive() else ""


def test_an_error_of_the_block_ends_the_processes_and_is_told_as_it_is() -> None:
    with pytest.raises(ZeroDivisionError), other_processes(1, len, ()) as pool:
        pool.submit(divmod, 1, 0).result()
