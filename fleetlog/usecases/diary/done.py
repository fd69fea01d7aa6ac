"""A booked visit is done: its visit, an entry for each job that was done, and its work cards."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from fleetlog.domain.batch import Batch
from fleetlog.domain.diary_records import DONE, Booking, Job, JobKey
from fleetlog.domain.records import Engine, Visit
from fleetlog.domain.schedule import Rule
from fleetlog.domain.words import name_key, with_position
from fleetlog.errors.naming import NotKnown
from fleetlog.errors.recording import EngineSaidTwice, JobSaidTwice
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.store.writer import Writer
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.asking import Ask, asked_between
from fleetlog.usecases.diary.booking import needed_booking
from fleetlog.usecases.diary.cards import cards_for, cards_of_log, rule_of_job
from fleetlog.usecases.finding import find_serial
from fleetlog.usecases.occasion import Occasion, new_id
from fleetlog.usecases.recording import Recorded
from fleetlog.usecases.servicing import as_asked, write_works
from fleetlog.usecases.visit_of_work import add_visit, visit_left_out


@dataclass(frozen=True, slots=True)
class Said:
    """What a person says of a visit that is done; what is not said stays unknown.

    `not_done` holds names of jobs, each with the reason; `nothing` says that no work is to be recorded.
    `meters` is by engine (any part of its serial) what its meter showed, in tenths of an hour; `parts` and
    `lots` are by name of the job. A job's name is its rule, after a serial or before a position if need be,
    as in `20417:timing-belt-replace` or `anode-inspect:bank 1`.
    """

    on: date | None = None
    visit_id: str | None = None
    not_done: Sequence[tuple[str, str]] = ()
    nothing: bool = False
    meters: Sequence[tuple[str, int]] = ()
    parts: Sequence[tuple[str, str]] = ()
    lots: Sequence[tuple[str, str]] = ()
    done_by: str | None = None
    checked_by: str | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True)
class JobOfVisit:
    """A job of a visit with its rule, None where the engine's schedule no longer has it."""

    job: Job
    rule: Rule | None

    @property
    def title(self) -> str:
        """What the job is called, with its place on the engine."""
        title = self.rule.title if self.rule else self.job.rule
        return with_position(title, self.job.position)


@dataclass(frozen=True, slots=True)
class DoneVisit:
    """What became of a booking: its visit, the entries written, the jobs left, and the cards to fill in.

    `left` has, with each job that was not recorded, the reason; it stays due. `outside` is a visit of the
    boat that was open already, where none was named.
    """

    visit: Visit
    on: date
    recorded: Sequence[tuple[JobOfVisit, Recorded]]
    left: Sequence[tuple[JobOfVisit, str]]
    cards: Sequence[tuple[str, str]]
    outside: Visit | None


@dataclass(frozen=True, slots=True)
class OpenVisit:
    """A booking that is still to be done: its jobs, and those of its engines whose meter can be read."""

    jobs: Sequence[JobOfVisit]
    metered: Sequence[str]


def jobs_to_do(log: Log, occasion: Occasion, booking: str) -> OpenVisit:
    """What a booking holds, to ask a person about. Raises what `needed_booking` raises."""
    with log.reading() as reader:
        state = needed_booking(reader, occasion, booking)
        engines = reader.existing("engines", [job.serial for job in state.jobs])
        serials = dict.fromkeys(job.serial for job in state.jobs)
        jobs = _jobs(reader, state.jobs, engines)
        return OpenVisit(jobs, [serial for serial in serials if engines[serial].hour_meter])


@asked_between
@again_if_lost
def booking_done(log: Log, occasion: Occasion, booking: str, said: Said, *, ask: Ask) -> DoneVisit:
    """Write the entries of the jobs that were done into a visit, and end the booking: all or nothing.

    The visit is made, unless one of the boat that is open is named.

    An entry says only what was said: fitted, inspected, adjusted or serviced by the rule's action, the part
    number of the rule unless another was named, no figure that was not given. Two jobs that the same work
    does get one entry. Raises NotKnown, BookingEnded, NotInTheFuture, VisitIsClosed,
    VisitOfAnotherBoat, JobSaidTwice, EngineSaidTwice, and what `write_entry` raises.
    """
    with log.writing(occasion.by, occasion.at) as writer:
        writer.alone_with("bookings")
        state = needed_booking(writer, occasion, booking)
        on = said.on or min(state.on, occasion.today)
        occasion.refuse_future("a visit", on)
        outside = visit_left_out(writer, said.visit_id, on, lambda _: state.boat_id)
        batch, named = Batch(), Visit(said.visit_id or new_id("v"), None, on, why="booked service")
        visit = add_visit(writer, batch, named, on, lambda _: state.boat_id)
        engines = writer.existing("engines", [job.serial for job in state.jobs])
        jobs = _jobs(writer, state.jobs, engines)
        left = _left(jobs, said)
        writer.add(batch)
        to_record = [one for one in jobs if one.job.key not in left]
        recorded = _recorded(writer, occasion, visit.visit_id, on, to_record, said, ask)
        reasons = "; ".join(f"{one.title} of {one.job.serial} not done: {why}" for one, why in left.values())
        row = Booking(
            new_id("c"), state.booking_id, DONE, occasion.said_at, occasion.by, visit_id=visit.visit_id,
            reason=reasons or None,
        )  # fmt: skip
        writer.add(Batch(bookings=[row]))
        done = [one.job for one in to_record or jobs]
        cards = cards_for(done, engines, writer.schedules(), cards_of_log(writer))
        return DoneVisit(visit, on, recorded, list(left.values()), cards, outside)


def _jobs(reader: Reader, jobs: Iterable[Job], engines: Mapping[str, Engine]) -> list[JobOfVisit]:
    schedules = reader.schedules()
    return [JobOfVisit(job, rule_of_job(job, engines, schedules)) for job in jobs]


def _left(jobs: Sequence[JobOfVisit], said: Said) -> dict[JobKey, tuple[JobOfVisit, str]]:
    """The jobs that are not recorded, by key, each with the reason."""
    left = {one.job.key: (one, "nothing was recorded") for one in jobs if said.nothing}
    left |= {one.job.key: (one, "its schedule no longer has it") for one in jobs if one.rule is None}
    for typed, why in said.not_done:
        left |= {one.job.key: (one, why) for one in jobs_named(jobs, typed)}
    return left


def jobs_named(jobs: Sequence[JobOfVisit], typed: str) -> list[JobOfVisit]:
    """The jobs of a name: of a rule, its title or item, with a serial or a position beside it after a colon.

    A part of a name will do where none is whole. Raises NotKnown where a visit has none of it.
    """
    parts = [name_key(part) for part in typed.split(":") if part.strip()]
    for is_meant in (_is_name, _is_in_name):
        found = [one for one in jobs if parts and all(is_meant(one, part) for part in parts)]
        if found:
            return found
    raise NotKnown("job of this visit", typed, list(dict.fromkeys(one.job.rule for one in jobs)))


def _is_name(one: JobOfVisit, part: str) -> bool:
    return part in _names(one) or part in name_key(one.job.serial)


def _is_in_name(one: JobOfVisit, part: str) -> bool:
    return any(part in name for name in _names(one)) or part in name_key(one.job.serial)


def _names(one: JobOfVisit) -> list[str]:
    names = [one.job.rule, one.job.position or ""]
    if one.rule is not None:
        names += [one.rule.title, one.rule.item]
    return [name_key(name) for name in names if name]


def _recorded(
    writer: Writer,
    occasion: Occasion,
    visit_id: str,
    on: date,
    jobs: Sequence[JobOfVisit],
    said: Said,
    ask: Ask,
) -> list[tuple[JobOfVisit, Recorded]]:
    """The entries of the jobs that were done, written one after another into the open transaction."""
    meters = _by_serial(writer, jobs, said.meters)
    parts, lots = _by_job(jobs, said.parts), _by_job(jobs, said.lots)
    of_all = {
        "visit_id": visit_id,
        "note": said.note,
        "done_by": said.done_by,
        "checked_by": said.checked_by,
    }
    works = []
    for one in jobs:
        assert one.rule is not None
        part, lot = parts.get(one.job.key), lots.get(one.job.key)
        facts = {**of_all, "hours_tenths": meters.get(one.job.serial)}
        works.append((one.job.serial, as_asked(one.rule, one.job.position, on, part, lot, facts)))
    ledgers = writer.ledgers(one.job.serial for one in jobs)
    recorded = write_works(writer, occasion, works, ledgers, ask)
    return [(one, done) for one, done in zip(jobs, recorded, strict=True) if done is not None]


def _by_serial(
    reader: Reader, jobs: Sequence[JobOfVisit], meters: Iterable[tuple[str, int]]
) -> dict[str, int]:
    """What the meters showed, by serial; an engine of the visit may be named by any part of its serial."""
    serials = sorted({one.job.serial for one in jobs})
    found: dict[str, int] = {}
    for typed, tenths in meters:
        own = [serial for serial in serials if name_key(typed) in name_key(serial)]
        serial = own[0] if len(own) == 1 else find_serial(reader, typed)
        if serial not in serials:
            raise NotKnown("engine with work done in this visit", typed, serials)
        if found.setdefault(serial, tenths) != tenths:
            raise EngineSaidTwice(serial)
    return found


def _by_job(jobs: Sequence[JobOfVisit], said: Iterable[tuple[str, str]]) -> dict[JobKey, str]:
    found: dict[JobKey, str] = {}
    for typed, value in said:
        for one in jobs_named(jobs, typed):
            if found.setdefault(one.job.key, value) != value:
                raise JobSaidTwice(one.title, found[one.job.key], value)
    return found
