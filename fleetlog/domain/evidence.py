"""How the log knows that work was done: torques, measurements and checks, with the tools they were made with.

Figures are exact decimals in the unit they were read in; a torque has its N·m beside them. What a row says
is never edited: an `Answer` says what was done about it, or that it was entered wrong.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from fleetlog.domain.units import figure_text, newton_metres, torque_shown
from fleetlog.domain.values import value_class
from fleetlog.domain.words import same_name

CardStep = tuple[str | None, int | None, str | None]
"""A card by its name, its revision, and the key of a step of it."""

CHECK_RESULTS = ("done", "failed", "not done", "not applicable")
STAGES = ("found", "left")


@value_class(frozen=True, slots=True)
class Tool:
    """A torque wrench: the range and unit on its scale, and the shop's own terms of calibration, if any."""

    tool_id: str
    name: str
    unit: str
    low: Decimal
    high: Decimal
    in_use_from_on: date | None = None
    retired_on: date | None = None
    calibrate_months: int | None = None
    calibrate_cycles: int | None = None
    retired_reason: str | None = None


@value_class(frozen=True, slots=True)
class Calibration:
    """A tool was calibrated, as its certificate says."""

    calibration_id: str
    tool_id: str
    on: date
    certificate: str | None = None
    by: str | None = None


@value_class(frozen=True, slots=True)
class Torque:
    """A joint drawn up: what was wanted and what the wrench showed, in the unit of its scale.

    `sequence_no` is the joint's place in the order of tightening, `fasteners` how many were drawn up;
    `low` and `high` are the band it has to lie in. The figures in N·m are worked out where not given.
    """

    torque_id: str
    serial: str
    on: date
    joint: str
    applied: Decimal
    unit: str
    visit_id: str | None = None
    entry_id: str | None = None
    sequence_no: int | None = None
    pass_no: int | None = None
    fasteners: int | None = None
    target: Decimal | None = None
    low: Decimal | None = None
    high: Decimal | None = None
    target_nm: Decimal | None = None
    applied_nm: Decimal | None = None
    threads: str | None = None
    tool_id: str | None = None
    card: str | None = None
    step: str | None = None
    note: str | None = None
    by: str | None = None
    checked_by: str | None = None
    sequence: int = 0

    def __post_init__(self) -> None:
        if self.applied_nm is None:
            object.__setattr__(self, "applied_nm", newton_metres(self.applied, self.unit))
        if self.target is not None and self.target_nm is None:
            object.__setattr__(self, "target_nm", newton_metres(self.target, self.unit))

    @property
    def is_off(self) -> bool:
        """Whether what was applied lies outside its band."""
        return is_outside(self.applied, self.low, self.high)

    @property
    def shown(self) -> str:
        """What was applied, as read and in N·m."""
        return torque_shown(self.applied, self.unit)


@value_class(frozen=True, slots=True)
class Measurement:
    """A figure measured on an engine, as it was found or as it was left, with its limits."""

    measurement_id: str
    serial: str
    on: date
    item: str
    quantity: str
    value: Decimal
    unit: str | None = None
    stage: str | None = None
    visit_id: str | None = None
    entry_id: str | None = None
    position: str | None = None
    low: Decimal | None = None
    high: Decimal | None = None
    card: str | None = None
    step: str | None = None
    note: str | None = None
    by: str | None = None
    sequence: int = 0

    @property
    def is_outside(self) -> bool:
        """Whether the figure lies outside its limits."""
        return is_outside(self.value, self.low, self.high)

    @property
    def is_off(self) -> bool:
        """Whether the engine was left so, outside the limits; as found, it is what the work is for."""
        return self.is_outside and self.stage != "found"

    @property
    def shown(self) -> str:
        """The figure with its unit."""
        return figure_text(self.value) + (f" {self.unit}" if self.unit else "")


@value_class(frozen=True, slots=True)
class Check:
    """A step seen: done, failed, not done (with the reason) or not applicable; `counted` of `out_of`."""

    check_id: str
    serial: str
    on: date
    title: str
    result: str
    visit_id: str | None = None
    card: str | None = None
    card_revision: int | None = None
    step: str | None = None
    counted: int | None = None
    out_of: int | None = None
    reason: str | None = None
    by: str | None = None
    checked_by: str | None = None
    sequence: int = 0

    @property
    def is_off(self) -> bool:
        """Whether it failed, or fewer were counted than there are."""
        if self.result == "failed":
            return True
        return (
            self.result == "done"
            and self.counted is not None
            and self.out_of is not None
            and self.counted != self.out_of
        )

    @property
    def is_seen_by_one(self) -> bool:
        """Whether it was done, and nobody but who did it is named as having seen it."""
        return self.result in ("done", "failed") and (
            self.checked_by is None or same_name(self.checked_by, self.by)
        )

    @property
    def of_step(self) -> CardStep:
        """The step of a card that it is about, empty where it is of none."""
        return self.card, self.card_revision, self.step

    @property
    def shown(self) -> str:
        """The result, with the count where there is one."""
        if self.counted is None:
            return self.result
        return f"{self.result}, {self.counted} of {self.out_of if self.out_of is not None else '?'}"


@value_class(frozen=True, slots=True)
class Answer:
    """What was done about a torque, a measurement or a check that was off, or that it was entered wrong."""

    answer_id: str
    serial: str
    on: date
    outcome: str
    what: str
    by: str
    torque_id: str | None = None
    measurement_id: str | None = None
    check_id: str | None = None
    sequence: int = 0

    @property
    def about(self) -> str | None:
        """The id of the row it speaks of."""
        return self.torque_id or self.measurement_id or self.check_id


@value_class(frozen=True, slots=True)
class CardText:
    """One revision of a work card as it was handed in: the stem of its file, and its TOML text."""

    name: str
    revision: int
    text: str


@value_class(frozen=True, slots=True)
class Use:
    """A day on which a tool drew up so many fasteners."""

    on: date
    fasteners: int


@value_class(frozen=True, slots=True)
class ToolLedger:
    """A tool with its calibrations and what the log knows of its use, both by date."""

    tool: Tool
    calibrations: tuple[Calibration, ...] = ()
    uses: tuple[Use, ...] = ()


def band_text(low: Decimal | None, high: Decimal | None) -> str:
    """A band: `47 to 51`, `at least 47`, `at most 51`; empty where there is none."""
    if low is not None and high is not None:
        return f"{figure_text(low)} to {figure_text(high)}"
    if low is not None:
        return f"at least {figure_text(low)}"
    return f"at most {figure_text(high)}" if high is not None else ""


def is_outside(value: Decimal, low: Decimal | None, high: Decimal | None) -> bool:
    """Whether a figure lies below its low or above its high limit; both ends belong to the band."""
    return (low is not None and value < low) or (high is not None and value > high)
