"""Does things at the same time, as several people would."""

from __future__ import annotations

import threading
from collections.abc import Callable

from fleetlog.errors import FleetlogError


def together(tasks: list[Callable[[], object]]) -> list[object]:
    """Does things at the same time; gives what each answered or was refused with."""
    start, answers = threading.Barrier(len(tasks)), []

    def do(task: Callable[[], object]) -> None:
        start.wait()
        try:
            answers.append(task())
        except FleetlogError as error:
            answers.append(error)

    threads = [threading.Thread(target=do, args=(task,)) for task in tasks]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return answers
