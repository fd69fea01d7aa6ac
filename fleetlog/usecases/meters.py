"""Rules on what hour meters showed, and records a meter that is new, was reset or rolled over."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from fleetlog.domain.batch import Batch
from fleetlog.domain.held_text import fall_text, ruling_command
from fleetlog.domain.hour_record import HeldReading, HourRecord, hour_record, most_run, newly_held
from fleetlog.domain.hours import hours_text
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.records import Meter, Reading
from fleetlog.errors.recording import (
    CannotBeConfirmed,
    EngineHoursNotKnown,
    HoursGoBack,
    HoursLeap,
    NoHourMeter,
    NoSuchReading,
    OneADay,
    SeveralReadingsThatDay,
)
from fleetlog.store.log import Log
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.finding import find_serial
from fleetlog.usecases.occasion import Occasion, new_id
from fleetlog.usecases.recording import new_falls, refuse_problems


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
    for entry in ledger.entries_on(date.max):
        if entry.on == on and entry.meter_tenths is not None:
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
) -> tuple[Meter, date | None, list[int], tuple[HeldReading, ...]]:
    """Record a new, reset or rolled-over hour meter; engine hours run on from those last read.

    Where they are not given, the day on which they were read comes along. Raises EngineHoursNotKnown where
    none were.

    Hours below an accepted figure are refused: what is overdue would look as if it were not. Below an earlier
    change of meter they put that one right. So are hours that nobody can have run since those last read.
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
        last = hour_record(ledger, on).last if engine_tenths is None else None
        meter = Meter(serial, on, engine_tenths or (last.tenths if last else 0), reads_tenths, reason)
        bare = EngineLedger(ledger.engine)  # the rules of a meter by itself, whatever else the ledger holds
        refuse_problems(bare, replace(bare, meters=(meter,)), None)
        if engine_tenths is None and last is None:
            raise EngineHoursNotKnown(serial, on)
        _refuse_falls(ledger, meter)
        _refuse_leap(ledger, meter)
        writer.add(Batch(meters=[meter]))
        held = newly_held(ledger, hour_record(_with_meter(ledger, meter), date.max))
        of_day = sorted(figure for figure in _figures_of_day(ledger, on) if figure != reads_tenths)
        return meter, last.on if last else None, of_day, tuple(one for one in held if one.on != on)


def _refuse_falls(ledger: EngineLedger, meter: Meter) -> None:
    for fall in new_falls(ledger, _with_meter(ledger, meter)):
        raise HoursGoBack(fall_text(meter.serial, fall))


def _refuse_leap(ledger: EngineLedger, meter: Meter) -> None:
    last = hour_record(ledger, meter.fitted_on).last
    if last is not None and meter.engine_tenths - last.tenths > most_run(last.on, meter.fitted_on):
        hours, before = hours_text(meter.engine_tenths), hours_text(last.tenths)
        raise HoursLeap(meter.serial, hours, meter.fitted_on, before, last.on)


def _with_meter(ledger: EngineLedger, meter: Meter) -> EngineLedger:
    return replace(ledger, meters=(*ledger.meters, replace(meter, sequence=1 << 60)))
