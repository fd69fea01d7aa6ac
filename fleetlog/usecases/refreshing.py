"""Works out kept lines anew, on several processes, and compares what is kept with the ledgers."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields
from datetime import UTC, date, datetime
from functools import partial
from itertools import islice
from typing import TYPE_CHECKING

from fleetlog.domain.kept import KeptEngine, KeptLine
from fleetlog.errors.log import LostRace
from fleetlog.store.kept.lines import KeptRows, Seen, rows_to_keep
from fleetlog.store.log import Log
from fleetlog.store.opening import open_log
from fleetlog.store.reader import Reader
from fleetlog.usecases.collecting import many_values
from fleetlog.usecases.fleet import ENGINES_AT_ONCE
from fleetlog.usecases.learning import is_readable, known_use, learn_use, parameters_of
from fleetlog.usecases.processes import Advance, other_processes
from fleetlog.usecases.standing import worked_out

if TYPE_CHECKING:
    from fleetlog.forecast.evidence import EngineUsage
    from fleetlog.forecast.parameters import FleetParameters
    from fleetlog.store.kept.fits import KeptFit

    Learn = Callable[[Reader, date, Iterable[EngineUsage]], FleetParameters]
    Keep = Callable[[Log, Iterable[KeptFit], Sequence[KeptRows], Mapping[str, Seen]], int]

WORTH_A_PROCESS = 2_000
"""A fleet of fewer engines is worked out sooner than another process has begun."""


@dataclass(frozen=True, slots=True)
class Refreshed:
    """How many engines there are, and of how many lines were kept: not of those written to meanwhile, nor
    of those with a row beyond the bounds."""

    engines: int
    kept: int


@many_values()
def refresh_log(log: Log, today: date, *, processes: int = 2, advance: Advance | None = None) -> Refreshed:
    """Learns the fleet's use anew and works out the lines of every engine, as seen on a day.

    Raises what keeps the log from taking them: busy, full, read-only.
    """
    with log.reading() as reader:
        serials = reader.serials()
    kept = bring_up_to_date(
        log, today, serials, learn_use, _keep_unless_outrun, processes=processes, advance=advance
    )
    return Refreshed(len(serials), kept)


def _keep_unless_outrun(
    log: Log, fits: Iterable[KeptFit], engines: Sequence[KeptRows], seen: Mapping[str, Seen]
) -> int:
    try:
        return log.keep_or_refuse(fits, engines, seen)
    except LostRace:  # others wrote to these engines: they are left for the next list
        return 0


def bring_up_to_date(
    log: Log,
    today: date,
    serials: Sequence[str],
    learn: Learn = known_use,
    keep: Keep = Log.keep,
    *,
    processes: int = 2,
    advance: Advance | None = None,
) -> int:
    """Works out the lines of engines, as seen on a day, and keeps them; gives how many were kept.

    The memory in use does not grow with the fleet: engines come and go a thousand at a time. Where these are
    all that are asked for, the fleet's use is learnt from their ledgers as they are read for that.
    """
    chunks = [serials[at : at + ENGINES_AT_ONCE] for at in range(0, len(serials), ENGINES_AT_ONCE)]
    kept = done = 0
    for rows, seen in _parts(log, chunks, today, learn, processes):
        kept += keep(log, (), rows, seen)
        done += len(rows)
        if advance is not None:
            advance(done, len(serials))
    return kept


Part = tuple[list[KeptRows], dict[str, Seen]]


def _parts(
    log: Log, chunks: Sequence[Sequence[str]], today: date, learn: Learn, processes: int
) -> Iterable[Part]:
    if len(chunks) == 1:
        return [_part(log, chunks[0], today, learn)]
    with log.reading() as reader:
        learn(reader, today, ())
    if processes < 2 or sum(map(len, chunks)) < WORTH_A_PROCESS:
        return (_part(log, chunk, today, known_use) for chunk in chunks)
    return _elsewhere(log, chunks, today, processes)


@many_values()
def _part(log: Log, serials: Sequence[str], today: date, learn: Learn) -> Part:
    with log.reading() as reader:
        seen = reader.kept.seen(serials)
        engines = worked_out(reader, partial(learn, reader, today), today, serials)
    return [rows_to_keep(engine) for engine in engines], seen


def _elsewhere(log: Log, chunks: Sequence[Sequence[str]], today: date, processes: int) -> Iterator[Part]:
    """The parts as other processes work them out; at most two a process are under way at once."""
    url = log.place.url.render_as_string(hide_password=False)
    with other_processes(processes, _begin, url) as pool:
        left = iter(chunks)
        waiting = [pool.submit(_work, chunk, today) for chunk in islice(left, 2 * processes)]
        while waiting:
            yield waiting.pop(0).result()
            waiting += [pool.submit(_work, chunk, today) for chunk in islice(left, 1)]


_worker_log: list[Log] = []


def _begin(url: str) -> None:
    _worker_log.append(open_log(url, at=datetime.now(UTC), create=False))


def _work(serials: Sequence[str], today: date) -> Part:
    return _part(_worker_log[0], serials, today, known_use)


# Comparing


def kept_problems(reader: Reader, today: date) -> list[str]:
    """What is kept otherwise than the ledgers tell; engines that are out of date are no problem."""
    problems: list[str] = []
    left = iter(reader.serials())
    while chunk := list(islice(left, ENGINES_AT_ONCE)):
        together: dict[tuple[str, date], list[KeptEngine]] = defaultdict(list)
        for engine in reader.kept.engines(chunk).values():
            together[engine.fit, min(max(today, engine.first_on), engine.last_on)].append(engine)
        for (fit, day), engines in together.items():
            problems += _compared(reader, fit, day, engines)
    return problems


def _compared(reader: Reader, fit: str, day: date, engines: Sequence[KeptEngine]) -> Iterator[str]:
    kept_fit = reader.kept.fit(fit)
    if kept_fit is not None and not is_readable(kept_fit):
        return  # of another version: what rests on it is out of date
    if kept_fit is None:
        for engine in engines:
            yield f"engine {engine.serial}: its lines rest on a fit {fit} that is not kept; {_WHAT_TO_DO}"
        return
    fresh = worked_out(reader, lambda _: parameters_of(kept_fit), day, [engine.serial for engine in engines])
    found = {engine.serial: engine for engine in fresh}
    for engine in engines:
        if engine.serial not in found:  # it has a row beyond the bounds, which is named
            continue
        for difference in _differences(engine, found[engine.serial]):
            yield f"engine {engine.serial}, {difference}; {_WHAT_TO_DO}"


_WHAT_TO_DO = "`fleetlog refresh` works it out anew"


def _differences(kept: KeptEngine, fresh: KeptEngine) -> Iterator[str]:
    for name in (f.name for f in fields(KeptEngine) if f.name != "lines"):
        if getattr(kept, name) != getattr(fresh, name):
            yield f"{name}: {getattr(kept, name)} is kept, the ledger tells {getattr(fresh, name)}"
    ours = {(line.rule, line.position): line for line in kept.lines}
    theirs = {(line.rule, line.position): line for line in fresh.lines}
    for rule, position in {**ours, **theirs}:
        ours_here, theirs_here = ours.get((rule, position)), theirs.get((rule, position))
        place = f" at {position}" if position else ""
        if ours_here is None or theirs_here is None:
            which = "is kept, and the ledger has none" if ours_here else "is missing, and the ledger has it"
            yield f"a line of {rule}{place} {which}"
            continue
        for name in (f.name for f in fields(KeptLine)):
            kept_value, value = getattr(ours_here, name), getattr(theirs_here, name)
            if kept_value != value:
                yield f"{rule}{place}, {name}: {kept_value} is kept, the ledger tells {value}"
