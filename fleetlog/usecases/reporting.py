"""Writes the HTML pages of the marina: due list, owners' reminders, engines' histories.

The fleet is taken in parts, a large one on several processes. First each part is worked out and tells how
long its items lasted; then, with the fits that all parts give together, its pages are laid out and set down.
When all are there, they are put in their places.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import Executor, Future
from contextlib import ExitStack
from dataclasses import dataclass, replace
from datetime import date, datetime
from itertools import chain, cycle
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from fleetlog.domain.beyond import RowBeyond
from fleetlog.domain.fleet import FleetState
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.lives import ItemLife, lives_of
from fleetlog.domain.papers import Paper
from fleetlog.domain.parts import makers_of
from fleetlog.domain.schedule import Schedule
from fleetlog.errors.reports import ReportFolderUnwritable
from fleetlog.reports.context import ReportContext
from fleetlog.reports.paper_views import papers_seen
from fleetlog.reports.rendering import PagesOfPart, render_lives, render_part
from fleetlog.reports.standing_by import homes_in
from fleetlog.reports.writing import set_down, staging, write_pages, write_reports
from fleetlog.store.log import Log
from fleetlog.usecases.collecting import many_values
from fleetlog.usecases.fleet import states_of
from fleetlog.usecases.learning import known_use
from fleetlog.usecases.lives.chances import FirmFits, Kind, firm_fits, with_chances
from fleetlog.usecases.lives.gathering import RecordedLives
from fleetlog.usecases.lives.life import answers_for_pages
from fleetlog.usecases.occasion import Occasion
from fleetlog.usecases.processes import Advance, ThisProcess, other_processes

if TYPE_CHECKING:
    from fleetlog.forecast.parameters import FleetParameters
    from fleetlog.life.answer import LifeAnswer
    from fleetlog.life.fit import WeibullFit

WORTH_A_PROCESS = 400
"""The pages of fewer engines are written sooner than another process has begun."""

ENGINES_OF_A_PART = 250

Found = TypeVar("Found")


@many_values()
def make_reports(
    log: Log,
    occasion: Occasion,
    out: Path,
    context: ReportContext,
    *,
    processes: int = 2,
    advance: Advance | None = None,
    tell: Callable[[str], object] = lambda _: None,
) -> list[Path]:
    """Write every page into a folder, with copies of the photos and papers that the pages show.

    Returns the pages' paths, the index first. Everything is read at once, so that all pages tell of the same
    moment. `advance` is told of steps, two an engine: that it is worked out, and that its pages are laid out.
    `tell` is told of rows beyond the bounds, which count for nothing. Raises ProcessLost and what
    `write_reports` raises.
    """
    today = occasion.today
    done = 0

    def results(futures: Sequence[Future[Found]]) -> Iterator[Found]:
        nonlocal done
        for part, future in zip(parts, futures, strict=True):
            yield future.result()
            done += len(part)
            if advance is not None:
                advance(done, 2 * len(ledgers))

    with ExitStack() as begun:
        with log.reading() as reader:
            engines = len(reader.serials())
            more = min(processes, -(-engines // ENGINES_OF_A_PART)) - 1 if engines >= WORTH_A_PROCESS else 0
            others = [begun.enter_context(other_processes(1, _load)) for _ in range(more)]
            ledgers = list(reader.ledgers())
            marina = Marina(today, context.within_days, reader.schedules(), known_use(reader, today))
            makers, written_down = makers_of(reader.parts()), reader.written_down()
            context = replace(context, head=reader.head() if context.tells_head else None)
        folder = begun.enter_context(staging(out))
        parts = parts_of(ledgers, today)
        pools: list[Executor] = [ThisProcess(), *others]
        _begin(marina)
        for other in others:
            other.submit(_begin, marina)
        placed = list(zip(range(len(parts)), parts, cycle(pools), strict=False))
        worked = [
            pool.submit(_work_out, number, part, _of_part(part, written_down))
            for number, part, pool in placed
        ]
        told = list(results(worked))
        for row in chain.from_iterable(one.beyond for one in told):
            tell(str(row))
        by_serial = {serial: lives for one in told for serial, lives in one.lives.items()}
        lives = list(chain.from_iterable(by_serial[ledger.engine.serial] for ledger in ledgers))
        papers = _papers_to_show(log, [paper for one in told for paper in one.papers])
        context = replace(context, papers=frozenset(papers))
        fits = firm_fits(lives)
        answers = answers_for_pages(RecordedLives(lives, marina.schedules, makers))
        laid_out = [pool.submit(_lay_out, number, fits, context, folder) for number, _, pool in placed]
        try:
            pages = list(results(laid_out))
        except OSError as error:
            raise ReportFolderUnwritable(out, error.strerror or str(error)) from error
        return write_reports(pages, folder, out, context, answers, papers)


def parts_of(ledgers: Sequence[EngineLedger], today: date) -> list[list[EngineLedger]]:
    """The fleet in parts of about as many engines; at least one part.

    All engines of an owner, and all that items went between, are in one, as their pages tell of each other.
    """
    leader: dict[tuple[str, str], tuple[str, str]] = {}

    def leader_of(one: tuple[str, str]) -> tuple[str, str]:
        while (above := leader.setdefault(one, one)) != one:
            leader[one] = one = leader[above]
        return one

    for ledger in ledgers:
        own = leader_of(("engine", ledger.engine.serial))
        owner_id = ledger.owner_id_on(today)
        if owner_id is not None:
            leader[own] = own = leader_of(("owner", owner_id))
        for giver in {entry.from_serial for entry in ledger.entries} - {None}:
            leader[own] = own = leader_of(("engine", str(giver)))
    together: dict[tuple[str, str], list[EngineLedger]] = {}
    for ledger in ledgers:
        together.setdefault(leader_of(("engine", ledger.engine.serial)), []).append(ledger)
    parts: list[list[EngineLedger]] = [[]]
    for group in together.values():
        if len(parts[-1]) >= ENGINES_OF_A_PART:
            parts.append([])
        parts[-1] += group
    return parts


def _of_part(
    part: Sequence[EngineLedger], written_down: Mapping[str, tuple[str, datetime]]
) -> Mapping[str, tuple[str, datetime]]:
    return {entry.entry_id: written_down[entry.entry_id] for ledger in part for entry in ledger.entries}


def _papers_shown(fleet: FleetState) -> list[Paper]:
    """The papers that pages show: those that stand."""
    return [one.paper for engine in fleet.engines for one in papers_seen(engine) if one.taken_back is None]


def _papers_to_show(log: Log, shown: Sequence[Paper]) -> dict[str, Path]:
    """The files of the papers that pages show, by name: those that are there.

    Of a log in a database whose papers' folder was not named, none.
    """
    if not shown or not log.papers.is_known:
        return {}
    faulty = {fault.paper.sha256 for fault in log.papers.faults(shown, thoroughly=False)}
    return {p.file_name: log.papers.path_of(p) for p in shown if p.sha256 not in faulty}


def write_life_page(out: Path, answer: LifeAnswer, context: ReportContext, today: date) -> Path:
    """Write the page of one kind of item, beside whatever pages are there; returns its path."""
    [written] = write_pages(render_lives([answer], context, today), out, is_whole=False)
    return written


# What is done with a part, here or on another process


@dataclass(frozen=True, slots=True)
class Marina:
    """What every part of a fleet is worked out with."""

    today: date
    within_days: int
    schedules: Mapping[str, Schedule]
    parameters: FleetParameters


@dataclass(frozen=True, slots=True)
class _Told:
    """What a part tells for the whole: the lives of items by engine, the papers that its pages show, and the
    rows that count for nothing."""

    lives: Mapping[str, Sequence[ItemLife]]
    papers: Sequence[Paper]
    beyond: Sequence[RowBeyond]


def _load() -> None:
    """Loads what takes long, while the main process reads the fleet."""
    import fleetlog.forecast.many
    import fleetlog.life.fit  # noqa: F401


_marina: list[Marina] = []
_kept: dict[int, tuple[FleetState, Sequence[ItemLife]]] = {}


def _begin(marina: Marina) -> None:
    _marina[:] = [marina]
    _kept.clear()


def _work_out(
    number: int, ledgers: Sequence[EngineLedger], written_down: Mapping[str, tuple[str, datetime]]
) -> _Told:
    marina = _marina[0]
    state = states_of(
        ledgers, marina.schedules, marina.parameters, marina.today, marina.within_days, year_ahead=True
    )
    state = replace(state, engines=[replace(one, written_down=written_down) for one in state.engines])
    homes = homes_in(state.engines, marina.today)
    lives = {one.serial: list(lives_of(homes, [one.serial])) for one in state.engines}
    _kept[number] = state, list(chain.from_iterable(lives.values()))
    return _Told(lives, _papers_shown(state), [row for one in state.engines for row in one.beyond])


def _lay_out(
    number: int, fits: Mapping[Kind, WeibullFit], context: ReportContext, folder: Path
) -> PagesOfPart:
    state, lives = _kept.pop(number)
    part = render_part(with_chances(state, FirmFits(fits, lives)), context)
    set_down(part.pages, folder)
    return replace(part, pages={})
