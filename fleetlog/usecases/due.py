"""The due list: which work falls due for whom, and why one line stands where it stands."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from fleetlog.domain.beyond import RowBeyond
from fleetlog.domain.due import DEFAULT_WINDOW_DAYS, DueLine, state_on
from fleetlog.domain.explain import explain, sentences
from fleetlog.domain.held_text import held_texts
from fleetlog.domain.kept import ListedLine, listed_in_order, listed_line
from fleetlog.domain.nearest import nearest, offer
from fleetlog.domain.out_of_service import WITHOUT_LINES, why_without_lines
from fleetlog.domain.put_off import put_off_texts
from fleetlog.domain.taken_off import off_texts
from fleetlog.domain.words import LATER, name_key, same_name
from fleetlog.errors.naming import NotKnown
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.usecases.collecting import many_values
from fleetlog.usecases.finding import (
    find_boat,
    find_owner,
    find_rules,
    find_serial,
    line_in_words,
    needed_schedule,
    refuse_empty,
)
from fleetlog.usecases.fleet import work_out
from fleetlog.usecases.learning import known_use, serving_fit
from fleetlog.usecases.lives.chances import chances_on
from fleetlog.usecases.occasion import Occasion
from fleetlog.usecases.refreshing import bring_up_to_date
from fleetlog.usecases.standing import lines_as_kept, lines_of_one, may_keep


@dataclass(frozen=True, slots=True)
class DueQuestion:
    """What of the due list is asked for; what is None is not filtered by."""

    within_days: int = DEFAULT_WINDOW_DAYS
    with_later: bool = False
    owner: str | None = None
    boat: str | None = None
    engine: str | None = None
    item: str | None = None
    with_why: bool = False


@dataclass(frozen=True, slots=True)
class DueList:
    """The lines of a due list in their order, and what is told below it.

    `told` are sentences on items that came off with nothing put on since, whatever state their lines are in,
    on lines left out since they were put off, on readings that are held, and on the rows of any engine that
    count for nothing.
    """

    lines: list[ListedLine]
    told: list[str]


def list_due(log: Log, occasion: Occasion, question: DueQuestion) -> list[ListedLine]:
    """The lines of the due list that is asked for, in its order."""
    return due_list(log, occasion, question).lines


@many_values()
def due_list(log: Log, occasion: Occasion, question: DueQuestion) -> DueList:
    """The due list that is asked for; reasons of its lines only where asked for.

    Lines that are kept serve where they hold. Engines out of date are worked out, and kept where the day is
    of use to others.
    """
    today = occasion.today
    with log.reading() as reader:
        asked = _Asked.of(reader, question)
        stale = _out_of_date(reader, today, asked)
        if not stale or not may_keep(reader, occasion):
            return _list(reader, today, question, asked, stale)
    bring_up_to_date(log, today, stale)
    with log.reading() as reader:
        return _list(reader, today, question, asked, _out_of_date(reader, today, asked))


def has_engines(log: Log) -> bool:
    """Whether the log has any engine, so that an empty list says something."""
    with log.reading() as reader:
        return reader.has_engines()


def list_unscheduled(log: Log, question: DueQuestion) -> list[str]:
    """The engines among those asked for that no due list speaks of, as the log has no schedule for them."""
    with log.reading() as reader:
        asked = _Asked.of(reader, question)
        return reader.unscheduled(asked.owner_id, asked.boat_id, asked.serial, states_aside=WITHOUT_LINES)


def schedule_offered(log: Log, name: str | None) -> str:
    """The schedules nearest to a name that the log has not, as a remark; also those that begin with it."""
    if name is None:
        return ""
    with log.reading() as reader:
        known = reader.schedules()
    longer = [one for one in known if name_key(one).startswith(name_key(name))]
    return f" (nearest: {', '.join(longer)})" if longer else offer(name, known)


def said_without_lines(log: Log, occasion: Occasion, engine: str) -> str | None:
    """Why an engine has no due lines, as a sentence; None where it has some, or could have."""
    with log.reading() as reader:
        ledger = reader.ledger(find_serial(reader, engine))
    why = why_without_lines(ledger.engine_on(occasion.today), occasion.today)
    return None if why is None else f"{ledger.engine.serial} {why}."


@dataclass(frozen=True, slots=True)
class _Asked:
    """The engine, the boat and the owner asked for, as the log knows them."""

    serial: str | None
    boat_id: str | None
    owner_id: str | None

    @classmethod
    def of(cls, reader: Reader, question: DueQuestion) -> _Asked:
        if question.item is not None:
            refuse_empty("kind of item", question.item)
        return cls(
            None if question.engine is None else find_serial(reader, question.engine),
            None if question.boat is None else find_boat(reader, question.boat).boat_id,
            None if question.owner is None else find_owner(reader, question.owner).owner_id,
        )


def _out_of_date(reader: Reader, today: date, asked: _Asked) -> list[str]:
    """The engines that have to be worked out: all where no fit of the fleet serves."""
    fit = serving_fit(reader, today)
    if fit is not None:
        return reader.kept.out_of_date(fit.content_id, today, asked.serial)
    return reader.serials() if asked.serial is None else [asked.serial]


def _list(reader: Reader, today: date, question: DueQuestion, asked: _Asked, stale: Sequence[str]) -> DueList:
    held: dict[str, int] = {}
    beyond: list[RowBeyond] = []
    found = list(_lines(reader, today, question, asked, frozenset(stale), held, beyond))
    off = off_texts((li.serial, li.rule.item, li.position, li.off_on) for li in found if li.off_on)
    lines = [line for line in found if question.with_later or line.state != LATER]
    if not found and question.item is not None:
        _refuse_unknown_item(reader, question.item)
    if question.with_why:
        lines = list(_with_reasons(reader, today, question.within_days, lines))
    put_off = [] if question.with_later else put_off_texts(found)
    return DueList(listed_in_order(lines), [*off, *put_off, *held_texts(held), *map(str, beyond)])


def lines_of_item(
    log: Log, occasion: Occasion, serial: str, item: str, position: str | None
) -> list[ListedLine]:
    """The lines of an engine on a kind of item, later ones too; of one position where it is named.

    A line without a position is of all of them.
    """
    every = list_due(log, occasion, DueQuestion(with_later=True, engine=serial))
    return [
        line
        for line in every
        if same_name(line.rule.item, item)
        and (None in (position, line.position) or same_name(line.position, position))
    ]


def _refuse_unknown_item(reader: Reader, typed: str) -> None:
    """Refuse a kind of item that no schedule knows: an empty list would say that nothing of it is due."""
    known = {rule.item for schedule in reader.schedules().values() for rule in schedule.rules}
    if known and not any(name_key(typed) in name_key(item) for item in known):
        raise NotKnown("kind of item", typed, nearest(typed, known, likeness=0.4))


def _lines(
    reader: Reader,
    today: date,
    question: DueQuestion,
    asked: _Asked,
    stale: Collection[str],
    held: dict[str, int],
    beyond: list[RowBeyond],
) -> Iterator[ListedLine]:
    """The lines asked for: those that are kept, and of engines out of date those that are worked out.

    Lines of what came off or was put off are among them whatever their state. How many readings are held is
    added to `held`, by engine. Those with a row beyond the bounds are never kept; what counts for nothing
    goes to `beyond`.
    """
    schedules, until_on = reader.schedules(), today + timedelta(days=question.within_days)
    wanted = "" if question.item is None else name_key(question.item)
    rows = reader.kept.lines_showing(
        None if question.with_later else until_on,
        owner_id=asked.owner_id,
        boat_id=asked.boat_id,
        serial=asked.serial,
    )
    for serial, boat, boat_id, owner, owner_id, named, family, key, position, always, *limits in rows:
        held_here = limits.pop()
        schedule = schedules.get(named or family)
        rule = None if schedule is None else schedule.rule(key)
        if held_here and serial not in stale:
            held[serial] = held_here
        if rule is None or serial in stale or (wanted and wanted not in name_key(rule.item)):
            continue
        state = state_on(today, until_on, always, limits[2], limits[6])
        yield ListedLine(serial, boat, boat_id, owner, owner_id, rule, position, state, *limits)
    if not stale:
        return
    worked = work_out(reader.ledgers(stale), schedules, known_use(reader, today), today, question.within_days)
    for one in worked:
        beyond += one.beyond
        boat, owner_id = one.limits.facts.boat, one.limits.facts.owner_id
        if asked.boat_id is not None and (boat is None or boat.boat_id != asked.boat_id):
            continue
        if asked.owner_id is not None and owner_id != asked.owner_id:
            continue
        if held_here := len(one.limits.seen.hours.held):
            held[one.ledger.engine.serial] = held_here
        for due in one.lines:
            is_listed = question.with_later or due.state != LATER
            if (is_listed or due.standing.off or due.deferral) and wanted in name_key(due.rule.item):
                yield listed_line(due, explain(due) if question.with_why and is_listed else "")


def _with_reasons(
    reader: Reader, today: date, within_days: int, lines: Iterable[ListedLine]
) -> Iterator[ListedLine]:
    """The lines with their reasons: each listed engine's ledger is read, and no other's."""
    bare: dict[str, dict[tuple[str, str | None], ListedLine]] = {}
    for line in lines:
        if line.why:
            yield line
        else:
            bare.setdefault(line.serial, {})[line.rule.key, line.position] = line
    schedules, kept = reader.schedules(), reader.kept.engines(list(bare))
    for ledger in reader.ledgers(list(bare)):
        serial = ledger.engine.serial
        for due in lines_as_kept(ledger, schedules, kept[serial], today, within_days):
            listed = bare[serial].get((due.rule.key, due.position))
            if listed is not None:
                yield listed._replace(why=explain(due))


@dataclass(frozen=True, slots=True)
class Explanation:
    """A due line and the sentences of its reason."""

    line: DueLine
    sentences: list[str]


def explain_lines(
    log: Log, occasion: Occasion, engine: str, typed: str | None
) -> dict[str, list[Explanation]]:
    """By the titles of rules of an engine, why each of their lines stands where it does, in plain sentences.

    `typed` is a rule's key, a part of titles, or the words of a due list, which may name one position;
    None asks for all that is due by now or within the usual days, and for what came off. A rule has no line
    where an item renewed when disturbed is not owed, or a boat has no lay-up.
    """
    with log.reading() as reader:
        serial = find_serial(reader, engine)
        schedule = needed_schedule(reader.ledger(serial), reader.schedules())
        lines = lines_of_engine(reader, occasion, serial)
        position = None
        if typed is None:
            rules = list(dict.fromkeys(li.rule for li in lines if li.state != LATER or li.standing.off))
        elif (meant := line_in_words(schedule, typed)) is not None:
            rules, position = [meant[0]], meant[1]
        else:
            rules = find_rules(schedule, typed)
        keys = {rule.key for rule in rules}
        lines = [li for li in lines if li.rule.key in keys and position in (None, li.position)]
        items = {line.rule.item for line in lines}
        item = items.pop() if len(items) == 1 else None
        chances = chances_on(reader, occasion.today, serial, item) if lines else {}
    found: dict[str, list[Explanation]] = {f"{serial}: {rule.title}": [] for rule in rules}
    for line in lines:
        line = replace(line, chance=chances.get((line.rule.key, line.position)))
        found[f"{serial}: {line.rule.title}"].append(Explanation(line, sentences(line)))
    return found


def lines_of_engine(reader: Reader, occasion: Occasion, serial: str) -> list[DueLine]:
    """Every line of one engine, in the order of its schedule."""
    return lines_of_one(reader, occasion.today, serial, DEFAULT_WINDOW_DAYS)
