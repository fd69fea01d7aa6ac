"""The register of parts: who makes a number, and what it is called."""

from __future__ import annotations

from datetime import date

from fleetlog.domain.batch import Batch
from fleetlog.domain.nearest import nearest
from fleetlog.domain.parts import Part
from fleetlog.domain.superseded import OrderNumbers, standing_on
from fleetlog.domain.words import same_name
from fleetlog.errors.parts import PartNeeded
from fleetlog.errors.recording import AlreadyThere
from fleetlog.store.log import Log
from fleetlog.store.reader import Reader
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.occasion import Occasion


def order_numbers(reader: Reader, today: date) -> OrderNumbers:
    """The numbers to order, spelled as the register has them, else the schedules, else what replaced them."""
    register = [part.part_number for part in reader.parts()]
    rules = [rule for schedule in reader.schedules().values() for rule in schedule.rules]
    needed = [part.number for rule in rules for part in rule.parts]
    replaced = standing_on(reader.supersessions(), today)
    renumbered = [number for row in replaced for number in (row.part_number, row.superseded_by)]
    return OrderNumbers(replaced, [*register, *needed, *renumbered])


@again_if_lost
def add_part(
    log: Log, occasion: Occasion, part_number: str, maker: str | None, name: str | None, note: str | None
) -> Part:
    """Write a part number down; raises PartNeeded without a number, AlreadyThere for one that is there."""
    number = part_number.strip()
    if not number:
        raise PartNeeded
    with log.writing(occasion.by, occasion.at) as writer:
        if any(same_name(part.part_number, number) for part in writer.parts()):
            raise AlreadyThere("part", number)
        part = Part(number, maker, name, note, occasion.by)
        writer.add(Batch(parts=[part]))
    return part


def list_parts(log: Log) -> list[Part]:
    """Every part of the register, by number."""
    with log.reading() as reader:
        return reader.parts()


def said_of_unknown(log: Log, occasion: Occasion, part_number: str) -> str | None:
    """What to say of a number that no register and no schedule has or had; None of one that is there."""
    with log.reading() as reader:
        numbers = order_numbers(reader, occasion.today)
    if numbers.knows(part_number):
        return None
    near = nearest(part_number, numbers.known)
    meant = f"did you mean {', '.join(near)}?" if near else "fleetlog part add writes it down"
    return f"no schedule and no register of parts has {part_number}, so no visit takes any; {meant}"
