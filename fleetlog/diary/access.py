"""Labour that is not counted twice: jobs on one engine that share an access open it once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from fleetlog.diary.work import OwedWork
from fleetlog.domain.words import name_key


@dataclass(frozen=True, slots=True)
class AccessTime:
    """How long one strip-down takes to open and close by itself, and which others it opens as well.

    `tenths` (of an hour) leave out the included ones: flywheel off, which includes cowl off, has the time
    from there on.
    """

    tenths: int
    includes: tuple[str, ...] = ()


AccessTimes = Mapping[str, AccessTime]
"""By the access without case (`name_key`), as schedules and the shop may spell it differently."""


def opened_by(access: str | None, times: AccessTimes) -> frozenset[str]:
    """The access itself and all that it includes, in turn, each by its `name_key`."""
    opened: set[str] = set()
    waiting = [access] if access else []
    while waiting:
        name = name_key(waiting.pop())
        if name not in opened:
            opened.add(name)
            waiting += times[name].includes if name in times else ()
    return frozenset(opened)


def strip_downs(work: OwedWork, times: AccessTimes) -> frozenset[tuple[str, str]]:
    """What a job opens, as pairs of the engine's serial and the access: jobs that share one open it once."""
    return frozenset((work.serial, access) for access in opened_by(work.access, times))


def labour_tenths(work: Iterable[OwedWork], times: AccessTimes) -> int:
    """Tenths of an hour for jobs done together, each strip-down counted once an engine.

    A job's own labour includes its access. What is left of it without the access (never below 0) is added
    up, and the time of each strip-down opened on an engine is added once. The sum never exceeds that of
    the jobs done apart. A strip-down without a stated time saves nothing.
    """
    total = 0
    by_engine: dict[str, list[OwedWork]] = {}
    for line in work:
        by_engine.setdefault(line.serial, []).append(line)
    for lines in by_engine.values():
        apart = sum(line.labour_tenths for line in lines)
        opened: set[str] = set()
        bare = 0
        for line in lines:
            own = opened_by(line.access, times)
            opened |= own
            bare += max(0, line.labour_tenths - _tenths_of(own, times))
        longest = max(line.labour_tenths for line in lines)
        total += min(apart, max(longest, bare + _tenths_of(opened, times)))
    return total


def _tenths_of(accesses: Iterable[str], times: AccessTimes) -> int:
    return sum(times[name].tenths for name in accesses if name in times)
