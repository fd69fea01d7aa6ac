"""The work card: the steps of a job on a family, in order, with their torques, measurements and checks.

Reading a card from its TOML text is in `card_text`.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from fleetlog.domain.evidence import band_text
from fleetlog.domain.units import torque_shown
from fleetlog.domain.values import value_class
from fleetlog.domain.words import same_name


@value_class(frozen=True, slots=True)
class Pass:
    """One pass over the fasteners of a joint: the torque wanted and the band around it."""

    target: Decimal
    low: Decimal | None = None
    high: Decimal | None = None


@value_class(frozen=True, slots=True)
class TorqueStep:
    """A joint to draw up: how many fasteners, in which order, on which threads, in which passes."""

    joint: str
    unit: str
    passes: tuple[Pass, ...]
    fasteners: int | None = None
    order: str | None = None
    threads: str | None = None
    sequence_no: int | None = None

    def wanted(self) -> list[str]:
        """Each pass in words: `pass 1: 5 lbf·ft (6.8 N·m), band 4.5 to 5.5`."""
        several = len(self.passes) > 1
        return [
            (f"pass {number}: " if several else "")
            + torque_shown(one.target, self.unit)
            + (f", band {band_text(one.low, one.high)}" if band_text(one.low, one.high) else "")
            for number, one in enumerate(self.passes, start=1)
        ]


@value_class(frozen=True, slots=True)
class MeasureStep:
    """Figures to measure, one for each position, with their limits."""

    item: str
    quantity: str
    unit: str | None = None
    positions: tuple[str, ...] = ()
    low: Decimal | None = None
    high: Decimal | None = None
    stage: str | None = None

    def places(self) -> tuple[str | None, ...]:
        """The positions that get a figure each; one figure without position where there are none."""
        return self.positions or (None,)


@value_class(frozen=True, slots=True)
class CountStep:
    """Things to count, and how many there are, where the card knows."""

    what: str
    out_of: int | None = None


@value_class(frozen=True, slots=True)
class Step:
    """One step: a check that it was done, with at most one torque, measurement or count.

    `part` is the heading it stands under; `second` asks for a second person who sees it.
    """

    key: str
    title: str
    part: str | None = None
    why: str | None = None
    second: bool = False
    tools: tuple[str, ...] = ()
    consumables: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    torque: TorqueStep | None = None
    measure: MeasureStep | None = None
    count: CountStep | None = None

    def figures(self) -> list[str]:
        """What is to be read and written down at the step, one text a figure."""
        if self.torque is not None:
            return self.torque.wanted()
        if self.measure is not None:
            limits = band_text(self.measure.low, self.measure.high)
            unit = self.measure.unit or ""
            about = f"{self.measure.quantity}{f', {unit}' if unit else ''}{f', {limits}' if limits else ''}"
            return [f"{place}: {about}" if place else about for place in self.measure.places()]
        if self.count is not None:
            of = "" if self.count.out_of is None else f" of {self.count.out_of}"
            return [f"{self.count.what} counted{of}"]
        return []


@value_class(frozen=True, slots=True)
class Card:
    """A named, revised work card; `name` is the stem of its file, `title` what it calls itself."""

    name: str
    title: str
    revision: int
    steps: tuple[Step, ...]
    families: tuple[str, ...] = ()
    assembly: str | None = None
    note: str | None = None
    tools: tuple[str, ...] = ()
    consumables: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()

    def step(self, key: str) -> Step | None:
        """The step of that key, if there is one."""
        return next((s for s in self.steps if s.key == key), None)

    def is_for(self, family: str | None) -> bool:
        """Whether it is for engines of a family; a card that names none is for all."""
        return not self.families or any(same_name(family, f) for f in self.families)

    def parts(self) -> Iterator[tuple[str | None, list[tuple[int, Step]]]]:
        """The steps under their headings, each with its number on the card, from 1."""
        gathered: list[tuple[int, Step]] = []
        for number, step in enumerate(self.steps, start=1):
            if gathered and gathered[-1][1].part != step.part:
                yield gathered[0][1].part, gathered
                gathered = []
            gathered.append((number, step))
        if gathered:
            yield gathered[0][1].part, gathered
