"""Records hour meter readings, for one engine or for boats as owners send them, and rules on held ones."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from fleetlog.domain.batch import Batch
from fleetlog.domain.habit import times_above_habit
from fleetlog.domain.held_text import fall_text, ruling_command
from fleetlog.domain.hour_record import HeldReading, HourRecord, before_its_start, hour_record, newly_held
from fleetlog.domain.hours import hours_text
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.nearest import nearest_numbers
from fleetlog.domain.records import Boat, Engine, Meter, Reading
from fleetlog.domain.words import name_key
from fleetlog.errors import FleetlogError
from fleetlog.errors.naming import NotKnown
from fleetlog.errors.recording import (
    BoatNeedsPositions,
    CannotBeConfirmed,
    EngineSaidTwice,
    FiguresCrossed,
    HoursGoBack,
    HoursNotRead,
    NoEnginesAboard,
    NoHourMeter,
    NoSuchReading,
    OneADay,
    SeveralReadingsThatDay,
)
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.store.writer import Writer
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.asking import Ask, asked_between
from fleetlog.usecases.finding import find_boat, find_serial
from fleetlog.usecases.occasion import Occasion, new_id
from fleetlog.usecases.recording import (
    ask_if_far_above,
    meter_figure,
    new_falls,
    refuse_above_what_follows,
    refuse_problems,
)


@dataclass(frozen=True, slots=True)
class Figure:
    """Hours said of a boat (or of an engine, by serial) on a day: by position, or one without.

    `line` is where they stand in a text of several.
    """

    about: str
    on: date
    by_position: Mapping[str | None, int]
    line: int | None = None


@dataclass(frozen=True, slots=True)
class RecordedReading:
    """A reading as written; `held` says what it conflicts with, `above_habit` how many times its rate.

    `others_held` are figures that were accepted and are held now because of it, `starts_on` is the day on
    which a new engine starts at 0 h, where the reading is to be of an earlier one.
    """

    reading: Reading
    engine_tenths: int
    held: HeldReading | None
    above_habit: float | None = None
    others_held: tuple[HeldReading, ...] = ()
    starts_on: date | None = None


@dataclass(frozen=True, slots=True)
class _Planned:
    ledger: EngineLedger
    meter_tenths: int
    label: str


@dataclass(frozen=True, slots=True)
class HowRead:
    """How figures came: engine hours or as the meter shows, from where, and whether twins are swapped."""

    are_engine_hours: bool = False
    source: str | None = None
    crossed: bool | None = None


@asked_between
@again_if_lost
def record_hours(
    log: Log, occasion: Occasion, figures: Sequence[Figure], how: HowRead, *, ask: Ask
) -> list[RecordedReading]:
    """Write readings, all of them or none. Where nobody said whether twins are swapped, that is asked.

    A reading that conflicts with an accepted one is written and held; one far above the engine's habit
    is asked about, and accepted where nobody can answer. Raises AboveWhatFollows for one above the hours
    that a later change of meter begins with, and HoursNotRead with all figures of a text that mean no engine.
    """
    with log.writing(occasion.by, occasion.at) as writer:
        if len(figures) > 1:
            _refuse_unknown(writer, occasion, figures)
        return write_hours(writer, occasion, figures, how, ask)


def _refuse_unknown(reader: Reader, occasion: Occasion, figures: Sequence[Figure]) -> None:
    """Refuse, all at once, figures of boats, places and days that the log does not know."""
    problems = []
    for figure in figures:
        try:
            occasion.refuse_future("a reading", figure.on)
            engines_meant(reader, figure)
        except FleetlogError as error:
            problems.append(f"line {figure.line}: {error}")
    if problems:
        raise HoursNotRead(problems)


def write_hours(
    writer: Writer, occasion: Occasion, figures: Sequence[Figure], how: HowRead, ask: Ask
) -> list[RecordedReading]:
    """Write readings within a writing, as `record_hours` says."""
    recorded = []
    for figure in figures:
        occasion.refuse_future("a reading", figure.on)
        planned = _uncrossed(_planned(writer, figure, how.are_engine_hours), figure, ask, how.crossed)
        recorded += [_write(writer, occasion, plan, figure.on, how.source, ask) for plan in planned]
    return recorded


def _planned(reader: Reader, figure: Figure, are_engine_hours: bool) -> list[_Planned]:
    """The engines a figure speaks of, each with what its meter showed."""
    found = []
    for ledger, label, tenths in engines_meant(reader, figure):
        shown = meter_figure(ledger, figure.on, tenths, are_engine_hours)
        assert shown is not None
        found.append(_Planned(ledger, shown, label))
    return found


def engines_meant(reader: Reader, figure: Figure) -> list[tuple[EngineLedger, str, int]]:
    """The engines that hours are said of, each with its position, or its serial where none was said.

    Raises NotKnown, Ambiguous, NoEnginesAboard, BoatNeedsPositions, EngineSaidTwice.
    """
    if set(figure.by_position) == {None} and names_an_engine(reader, figure.about):
        serial = find_serial(reader, figure.about)
        return [(reader.ledger(serial), serial, figure.by_position[None])]
    boat = _boat_or_engine(reader, figure)
    aboard = engines_aboard(reader, boat, figure.on)
    if not aboard:
        raise NoEnginesAboard(boat.name)
    if set(figure.by_position) == {None}:
        if len(aboard) > 1:
            raise BoatNeedsPositions(boat.name, list(aboard))
        ((position, ledger),) = aboard.items()
        return [(ledger, position, figure.by_position[None])]
    meant: list[tuple[EngineLedger, str, int]] = []
    for typed, tenths in figure.by_position.items():
        matching = _fitting(typed or "", aboard)
        if len(matching) != 1:
            raise NotKnown(f"engine of {boat.name} at", typed or "", list(aboard), _NAME_PLACES)
        if matching[0] in [position for _, position, _ in meant]:
            raise EngineSaidTwice(f"{matching[0]} of {boat.name}")
        meant.append((aboard[matching[0]], matching[0], tenths))
    return meant


_NAME_PLACES = "fleetlog engine change SERIAL --position PLACE says where one stands"


def names_an_engine(reader: Reader, about: str) -> bool:
    """Whether it is a serial, in any case, or a part of one alone."""
    if reader.has_engine(about):
        return True
    serials = reader.serials_like(about)
    return len(serials) == 1 or name_key(about) in map(name_key, [*serials, *reader.former_serials()])


def _fitting(typed: str, aboard: Iterable[str]) -> list[str]:
    """The positions that begin like what was typed, or that it abbreviates, as stbd does starboard.

    A reminder's answer has `-` for a space.
    """
    wanted = name_key(typed).replace("-", " ")
    keys = {position: name_key(position).replace("-", " ") for position in aboard}
    exact = [p for p, key in keys.items() if key == wanted]
    begun = exact or [p for p, key in keys.items() if key.startswith(wanted)]
    return begun or [p for p, key in keys.items() if _abbreviates(wanted, key)]


def _abbreviates(short: str, word: str) -> bool:
    """Whether the letters stand in the word in their order, from its first on."""
    rest = iter(word)
    return short[:1] == word[:1] and all(letter in rest for letter in short)


def _boat_or_engine(reader: Reader, figure: Figure) -> Boat:
    """The boat; where the name fits neither boat nor serial, the refusal offers both."""
    try:
        return find_boat(reader, figure.about)
    except NotKnown:
        if set(figure.by_position) == {None} and reader.serials_like(figure.about):
            find_serial(reader, figure.about)
        if set(figure.by_position) == {None}:
            names = [*reader.serials(), *reader.names("boats").values()]
            raise NotKnown("engine or boat", figure.about, nearest_numbers(figure.about, names)) from None
        if names_an_engine(reader, figure.about):
            alone = "it is an engine: say its hours without a place"
            raise NotKnown("boat", figure.about, [], alone) from None
        raise


def engines_aboard(reader: Reader, boat: Boat, on: date) -> dict[str, EngineLedger]:
    """The engines on a boat on a day by position, those without one by serial."""
    found = {}
    for ledger in reader.ledgers(reader.serials_of_boat(boat.boat_id)):
        boat_ledger, position = ledger.place_on(on)
        if boat_ledger is not None and boat_ledger.boat.boat_id == boat.boat_id:
            found[position or ledger.engine.serial] = ledger
    return found


def _uncrossed(planned: list[_Planned], figure: Figure, ask: Ask, crossed: bool | None) -> list[_Planned]:
    """Twins whose figures fit the readings before them only the other way round are asked about."""
    if len(planned) != 2:
        return planned
    one, other = planned
    swapped = [replace(one, meter_tenths=other.meter_tenths), replace(other, meter_tenths=one.meter_tenths)]
    if crossed is not None:
        return swapped if crossed else planned
    if all(_fits(p, figure.on) for p in planned) or not all(_fits(p, figure.on) for p in swapped):
        return planned
    given, turned = _said(planned), _said(swapped)
    answer = ask(
        f"{figure.about}: {given} does not fit the readings before it, {turned} would. Record it so?"
    )
    if answer is None:
        raise FiguresCrossed(figure.about, given, turned)
    return swapped if answer else planned


def _said(planned: Sequence[_Planned]) -> str:
    return " ".join(f"{p.label}={hours_text(p.meter_tenths)}" for p in planned)


def _fits(plan: _Planned, on: date) -> bool:
    """Whether a figure would be accepted and is not far above the engine's habit."""
    reading = Reading("", plan.ledger.engine.serial, on, plan.meter_tenths, sequence=1 << 60)
    return (
        _record_with(plan.ledger, reading).held_figure(on, plan.meter_tenths) is None
        and times_above_habit(plan.ledger, on, plan.meter_tenths) is None
    )


def _with(ledger: EngineLedger, reading: Reading) -> EngineLedger:
    return replace(ledger, readings=(*ledger.readings, reading))


def _record_with(ledger: EngineLedger, reading: Reading) -> HourRecord:
    return hour_record(_with(ledger, reading), date.max)


def _write(
    writer: Writer, occasion: Occasion, plan: _Planned, on: date, source: str | None, ask: Ask
) -> RecordedReading:
    reading = Reading(
        new_id("r"), plan.ledger.engine.serial, on, plan.meter_tenths, source, None, occasion.by, 1 << 60
    )
    _refuse_early(plan.ledger.engine, readings=(reading,))
    refuse_above_what_follows(plan.ledger, _with(plan.ledger, reading))
    record = _record_with(plan.ledger, reading)
    held = record.held_figure(on, plan.meter_tenths)
    times = None if held is not None else times_above_habit(plan.ledger, on, plan.meter_tenths)
    ask_if_far_above(ask, f"{plan.label} {hours_text(plan.meter_tenths)} h on {on.isoformat()}", times)
    writer.add(Batch(readings=[reading]))
    others = tuple(one for one in newly_held(plan.ledger, record) if one is not held)
    starts_on = before_its_start(plan.ledger.engine, on, plan.meter_tenths)
    return RecordedReading(
        reading, record.engine_tenths(on, plan.meter_tenths), held, times, others, starts_on
    )


def _refuse_early(engine: Engine, readings: tuple[Reading, ...] = (), meters: tuple[Meter, ...] = ()) -> None:
    """Refuse rows that break a rule by themselves, whatever else the ledger holds."""
    bare = EngineLedger(engine)
    refuse_problems(bare, replace(bare, readings=readings, meters=meters), None)


@again_if_lost
def rule_on_reading(
    log: Log, occasion: Occasion, engine: str, on: date, hours_tenths: int | None, status: str, reason: str
) -> Reading:
    """Confirm or withdraw the reading of a day; with several on it, `hours_tenths` says which figure.

    One told twice is ruled on as one. A figure that came with an entry gets a reading row of its own that
    speaks for it. One below the last accepted reading cannot be confirmed: the refusal offers both ways out.
    """
    with log.writing(occasion.by, occasion.at) as writer:
        serial = find_serial(writer, engine)
        ledger = writer.ledger(serial)
        found = _row_of_day(ledger, on, hours_tenths)
        record = hour_record(ledger, date.max)
        if status == "confirmed":
            _refuse_below(record, found, serial)
        if found.reading_id:
            for row in _standing_rows(ledger, on):
                if row.meter_tenths == found.meter_tenths:
                    writer.rule_on_reading(row.reading_id, status, reason)
            return replace(found, status=status)
        spoken = replace(found, reading_id=new_id("r"), status=status, by=occasion.by)
        writer.add(Batch(readings=[spoken]))
        return spoken


def _figures_of_day(ledger: EngineLedger, on: date) -> dict[int, Reading]:
    """What stands of a day by the meter's figure; one that only an entry carries has no id."""
    rows = {r.meter_tenths: r for r in _standing_rows(ledger, on)}
    voided = {v.entry_id for v in ledger.voids}
    for entry in ledger.entries:
        if entry.on == on and entry.meter_tenths is not None and entry.entry_id not in voided:
            rows.setdefault(entry.meter_tenths, Reading("", ledger.engine.serial, on, entry.meter_tenths))
    return rows


def _standing_rows(ledger: EngineLedger, on: date | None = None) -> list[Reading]:
    """The readings that are not withdrawn, of a day or of all; one that was told twice is there twice."""
    return [r for r in ledger.readings if r.status != "withdrawn" and on in (None, r.on)]


def _row_of_day(ledger: EngineLedger, on: date, hours_tenths: int | None) -> Reading:
    serial, rows = ledger.engine.serial, _figures_of_day(ledger, on)
    matching = [r for r in rows.values() if hours_tenths in (None, r.meter_tenths)]
    if len(matching) == 1:
        return matching[0]
    if len(matching) > 1:
        raise SeveralReadingsThatDay(serial, on, [hours_text(r.meter_tenths) for r in matching])
    others = (*rows.values(), *_standing_rows(ledger)[-4:])
    near = [f"{r.on.isoformat()} {hours_text(r.meter_tenths)} h" for r in others]
    raise NoSuchReading(serial, on, list(dict.fromkeys(near)))


def _refuse_below(record: HourRecord, found: Reading, serial: str) -> None:
    for held in record.held:
        if held.on == found.on and held.meter_tenths == found.meter_tenths and held.is_below:
            earlier = held.against_meter_tenths
            raise CannotBeConfirmed(
                serial,
                hours_text(held.tenths),
                held.on,
                hours_text(held.against.tenths),
                held.against.on,
                None if earlier is None else ruling_command("withdraw", serial, held.against.on, earlier),
            )


@again_if_lost
def change_meter(
    log: Log,
    occasion: Occasion,
    engine: str,
    on: date,
    reads_tenths: int,
    engine_tenths: int | None,
    reason: str | None,
) -> tuple[Meter, list[int], tuple[HeldReading, ...]]:
    """Record a new, reset or rolled-over hour meter; engine hours run on from those of the day.

    Hours below an accepted figure are refused: what is overdue would look as if it were not. Below an earlier
    change of meter they put that one right.
    With it come the figures of that day, in tenths, which from now on count as the new meter's, and those of
    later days that are held now, as the new meter cannot have shown them.
    """
    with log.writing(occasion.by, occasion.at) as writer:
        serial = find_serial(writer, engine)
        ledger = writer.ledger(serial)
        if not ledger.engine.hour_meter:
            raise NoHourMeter(serial)
        occasion.refuse_future("a change of meter", on)
        if writer.existing("meters", [(serial, on)]):
            raise OneADay(f"{serial} has a change of meter", on)
        if engine_tenths is None:
            known = hour_record(ledger, on).tenths_on(on)
            engine_tenths = int(known) if known is not None else reads_tenths
        meter = Meter(serial, on, engine_tenths, reads_tenths, reason)
        _refuse_early(ledger.engine, meters=(meter,))
        _refuse_falls(ledger, meter)
        writer.add(Batch(meters=[meter]))
        held = newly_held(ledger, hour_record(_with_meter(ledger, meter), date.max))
        of_day = sorted(figure for figure in _figures_of_day(ledger, on) if figure != reads_tenths)
        return meter, of_day, tuple(one for one in held if one.on != on)


def _refuse_falls(ledger: EngineLedger, meter: Meter) -> None:
    for fall in new_falls(ledger, _with_meter(ledger, meter)):
        raise HoursGoBack(fall_text(meter.serial, fall))


def _with_meter(ledger: EngineLedger, meter: Meter) -> EngineLedger:
    return replace(ledger, meters=(*ledger.meters, replace(meter, sequence=1 << 60)))
