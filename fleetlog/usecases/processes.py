"""Work on several processes: begun anew rather than forked, so that it is the same on every system."""

from __future__ import annotations

import gc
import multiprocessing
import sys
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from functools import partial
from typing import Any

from fleetlog.errors.processes import ProcessLost

Advance = Callable[[int, int], None]
"""Told how much of how much work is done."""

_WAITS_FOR_THE_LOST = sys.version_info < (3, 11, 5)
"""Whether Python waits for ever until a process that was lost takes what is being handed to it.

Later ones close what it would be taken from, as is done here (https://github.com/python/cpython/issues/94777).
"""


@contextmanager
def other_processes(count: int, begin: Callable[..., None], *given: Any) -> Iterator[Executor]:
    """So many processes, each of which begins with a call, at once; nothing is left running after the block.

    Raises ProcessLost where one of them ends before its work is done.
    """
    spawn = multiprocessing.get_context("spawn")
    pool = ProcessPoolExecutor(count, mp_context=spawn, initializer=_begin, initargs=(begin, *given))
    if _WAITS_FOR_THE_LOST:
        _queue_of(pool)._ignore_epipe = True
    try:
        for _ in range(count):
            pool.submit(_awake)
        yield pool
    except BaseException as error:
        if _WAITS_FOR_THE_LOST:
            _queue_of(pool)._reader.close()
        if isinstance(error, BrokenProcessPool):
            raise ProcessLost() from error
        raise
    finally:
        pool.shutdown(cancel_futures=True)


def _queue_of(pool: ProcessPoolExecutor) -> Any:
    """That through which work is handed to processes."""
    return pool._call_queue  # type: ignore[attr-defined]


def _begin(begin: Callable[..., None], *given: Any) -> None:
    """Begins a process, which lets go of nothing that holds cycles: it ends with its work."""
    gc.disable()
    begin(*given)


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
