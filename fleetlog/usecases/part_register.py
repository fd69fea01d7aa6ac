"""The register of parts: who makes a number, and what it is called."""

from __future__ import annotations

from fleetlog.domain.batch import Batch
from fleetlog.domain.parts import Part
from fleetlog.domain.words import same_name
from fleetlog.errors.parts import PartNeeded
from fleetlog.errors.recording import AlreadyThere
from fleetlog.store.log import Log
from fleetlog.usecases.again import again_if_lost
from fleetlog.usecases.occasion import Occasion


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
