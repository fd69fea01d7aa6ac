"""Work on several processes: begun anew rather than forked, so that it is the same on every system."""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from functools import partial
from typing import Any

from fleetlog.errors.processes import ProcessLost

Advance = Callable[[int, int], None]
"""Told how much of how much work is done."""


@contextmanager
def other_processes(count: int, begin: Callable[..., None], *given: Any) -> Iterator[Executor]:
    """So many processes, each of which begins with a call, at once; nothing is left running after the block.

    Raises ProcessLost where one of them ends before its work is done.
    """
    spawn = multiprocessing.get_context("spawn")
    pool = ProcessPoolExecutor(count, mp_context=spawn, initializer=begin, initargs=given)
    try:
        for _ in range(count):
            pool.submit(_awake)
        yield pool
    except BrokenProcessPool as error:
        raise ProcessLost() from error
    finally:
        pool.shutdown(cancel_futures=True)


def _awake() -> None:
    """Does nothing: a process begins when something is submitted."""


class ThisProcess(Executor):
    """Does what is submitted here, when its result is asked for."""

    def submit(self, work: Callable[..., Any], /, *given: Any, **named: Any) -> Future[Any]:
        """Work to be done; ask for its result once."""
        return _Asked(partial(work, *given, **named))


class _Asked(Future[Any]):
    def __init__(self, work: Callable[[], Any]) -> None:
        super().__init__()
        self._work = work

    def result(self, timeout: float | None = None) -> Any:
        return self._work()
