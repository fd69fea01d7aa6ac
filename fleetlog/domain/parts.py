"""The register of parts: who makes a part number, and what it is called."""

from __future__ import annotations

from collections.abc import Iterable

from fleetlog.domain.values import value_class
from fleetlog.domain.words import name_key


@value_class(frozen=True, slots=True)
class Part:
    """A part number as its maker has it."""

    part_number: str
    maker: str | None = None
    name: str | None = None
    note: str | None = None
    by: str | None = None


def names_of(parts: Iterable[Part]) -> dict[str, str]:
    """What each part number is called, by the number without case; those without a name left out."""
    return {name_key(part.part_number): part.name for part in parts if part.name is not None}


def makers_of(parts: Iterable[Part]) -> dict[str, str]:
    """The maker of each part number, by the number without case; those without a maker left out."""
    return {name_key(part.part_number): part.maker for part in parts if part.maker is not None}
