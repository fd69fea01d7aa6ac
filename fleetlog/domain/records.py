"""The rows of the log as plain values: who owns what, what stands where, and what was done.

Empty means unknown and is None. Hours are whole tenths. `sequence` is a row's place in the ledger: the
order in which rows were written.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime

from fleetlog.domain.values import value_class
from fleetlog.domain.words import RAN_AT_LEAST

FORGOTTEN_NAME = "Forgotten owner"
"""What an owner is called whose data were erased."""


@value_class(frozen=True, slots=True)
class Owner:
    """A customer, and how reminders reach them (`email`, `post`, `none`; None is not said)."""

    owner_id: str
    name: str
    email: str | None = None
    phone: str | None = None
    address: str | None = None
    remind_by: str | None = None

    @property
    def is_forgotten(self) -> bool:
        """Whether all that was known of them was erased."""
        return self.name == FORGOTTEN_NAME


@value_class(frozen=True, slots=True)
class Boat:
    """A vessel, the water it lies in and the use it is put to."""

    boat_id: str
    owner_id: str | None
    name: str
    registration: str | None = None
    water: str | None = None
    use: str | None = None
    berth: str | None = None


@value_class(frozen=True, slots=True)
class Engine:
    """One outboard, known by its serial number. `boat_id` and `position` are today's."""

    serial: str
    maker: str | None = None
    model: str | None = None
    family: str | None = None
    model_year: int | None = None
    in_service_on: date | None = None
    logged_from_new: bool = False
    hour_meter: bool = True
    schedule: str | None = None
    boat_id: str | None = None
    position: str | None = None
    state: str = "in service"

    @property
    def schedule_name(self) -> str | None:
        """The service schedule it follows: its own, or the one named like its family."""
        return self.schedule or self.family


@value_class(frozen=True, slots=True)
class Change:
    """A fact about an owner, a boat or an engine that was replaced: until `until_on` it was `was`."""

    kind: str
    key: str
    field: str
    was: str | None
    until_on: date
    changed_at: datetime
    by: str
    sequence: int = 0
    reason: str | None = None


@value_class(frozen=True, slots=True)
class Mount:
    """An engine's stay on a boat; `to_on` is the first day it was there no longer.

    It is on none (None) where that was corrected.
    """

    serial: str
    boat_id: str | None
    from_on: date
    position: str | None = None
    to_on: date | None = None


@value_class(frozen=True, slots=True)
class Ownership:
    """From a day on a boat belongs to an owner; whose it is is not known (None) where that was corrected."""

    boat_id: str
    owner_id: str | None
    from_on: date


@value_class(frozen=True, slots=True)
class Correction:
    """A sale (`ownership`) or a move (`mounts`) of a day that was recorded and was not so, and what was.

    `key` is the boat's id or the engine's serial. The boat was its owner's, or the engine on the boat, named.
    """

    correction_id: str
    kind: str
    key: str
    from_on: date
    at: datetime
    by: str
    owner_id: str | None = None
    boat_id: str | None = None
    position: str | None = None
    reason: str | None = None

    @property
    def takes_back(self) -> bool:
        """Whether it takes the row back; one without a reason says it anew."""
        return self.reason is not None


@value_class(frozen=True, slots=True)
class Meter:
    """A change of hour meter: what the new one read, and the engine hours then, in tenths."""

    serial: str
    fitted_on: date
    engine_tenths: int
    meter_reads_tenths: int = 0
    reason: str | None = None
    sequence: int = 0


@value_class(frozen=True, slots=True)
class Reading:
    """What an hour meter showed on a date; `status` is a person's ruling: confirmed or withdrawn."""

    reading_id: str
    serial: str
    on: date
    meter_tenths: int
    source: str | None = None
    status: str | None = None
    by: str | None = None
    sequence: int = 0


@value_class(frozen=True, slots=True)
class Layup:
    """A time in which a boat is stored and not run; without `to_on` its end is not known."""

    boat_id: str
    from_on: date
    to_on: date | None = None


@value_class(frozen=True, slots=True)
class LayupChange:
    """A later word on the lay-up of a boat that begins on a day: the end it has now, or that it is withdrawn.

    Of several on one lay-up the last counts.
    """

    change_id: str
    boat_id: str
    from_on: date
    change: str
    at: datetime
    by: str
    to_on: date | None = None
    reason: str | None = None


@value_class(frozen=True, slots=True)
class Visit:
    """Entries made together: why the boat came, what was complained of, found and done."""

    visit_id: str
    boat_id: str | None = None
    opened_on: date | None = None
    closed_on: date | None = None
    why: str | None = None
    complaint: str | None = None
    cause: str | None = None
    correction: str | None = None
    advised: str | None = None
    note: str | None = None


@value_class(frozen=True, slots=True)
class Entry:
    """One thing done or found on a date. It is never edited; a wrong one is voided."""

    entry_id: str
    serial: str
    on: date
    action: str
    visit_id: str | None = None
    meter_tenths: int | None = None
    scope: str | None = None
    item: str | None = None
    position: str | None = None
    part_number: str | None = None
    lot: str | None = None
    condition: str | None = None
    prior_tenths: int | None = None
    prior_months: int | None = None
    from_serial: str | None = None
    reason: str | None = None
    again_tenths: int | None = None
    again_months: int | None = None
    measured: str | None = None
    unit: str | None = None
    note: str | None = None
    by: str | None = None
    checked_by: str | None = None
    sequence: int = 0

    @property
    def has_prior_age(self) -> bool:
        """Whether it says for how long, in hours or months, what was fitted had been in use before."""
        return self.prior_tenths is not None or self.prior_months is not None

    @property
    def prior_is_least(self) -> bool:
        """Whether the hours that it had before are what it ran at least, as its note ends by saying."""
        return self.prior_tenths is not None and (self.note or "").endswith(RAN_AT_LEAST)


@value_class(frozen=True, slots=True)
class Void:
    """An entry taken back, by whom and why, and the one that stands in its place."""

    entry_id: str
    voided_at: datetime
    by: str
    reason: str
    replaced_by: str | None = None


@value_class(frozen=True, slots=True)
class Deferral:
    """A line's limits moved out by a person, to a day, to engine hours, or to both."""

    deferral_id: str
    serial: str
    rule: str
    by: str
    at: datetime
    reason: str
    position: str | None = None
    until_on: date | None = None
    until_tenths: int | None = None
    sequence: int = 0


def name_of(rows: Mapping[str, Owner] | Mapping[str, Boat], key: str) -> str:
    """The name of an owner or a boat; the id where nothing is known of it."""
    return rows[key].name if key in rows else key


def fact_text(value: object) -> str | None:
    """A fact of an owner, a boat or an engine as the text a `Change` keeps."""
    if value is None:
        return None
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value.isoformat() if isinstance(value, date) else str(value)


def fact_from_text(field: str, text: str | None) -> object:
    """The fact that a `Change` of `field` keeps as text."""
    if field in ("logged_from_new", "hour_meter"):
        return text == "yes"
    if text is None:
        return None
    if field == "in_service_on":
        return date.fromisoformat(text)
    return int(text) if field == "model_year" else text
