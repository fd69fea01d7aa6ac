"""Refusals of units, cards and rebuilds."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from fleetlog.errors import FleetlogError, as_word, counted, lines_of, one_of


class UnitUnknown(FleetlogError):
    """A unit that is not known, or not of the quantity it stands with."""

    def __init__(self, unit: str, choices: Sequence[str]) -> None:
        super().__init__(f"unit {unit!r} is not known here: expected {one_of(choices)}")


class UnitsDoNotMatch(FleetlogError):
    """Two units of different quantities, between which nothing can be converted."""

    def __init__(self, unit: str, quantity: str, other: str, other_quantity: str) -> None:
        super().__init__(
            f"{unit} is a unit of {quantity} and {other} one of {other_quantity}; give both of one quantity"
        )


class RebuildStaysOpen(FleetlogError):
    """A rebuild whose form closes its visit with something off of which it does not say what was done."""

    def __init__(self, closed_on: date, off: Sequence[str]) -> None:
        on, are = closed_on.isoformat(), counted(len(off), "point is", "points are")
        why = (
            f"nothing was recorded: the visit cannot be closed on {on}, as {are} off; say in the form what"
            " was done about each, as outcome and what, or leave out closed_on, so that the visit stays open:"
        )
        super().__init__("\n".join([why, *off]))


class RebuildUnanswered(FleetlogError):
    """A rebuild that says nothing of some items whose rules it resets."""

    def __init__(self, scope: str, lines: Sequence[str]) -> None:
        super().__init__(
            "\n".join(
                [
                    f"the {scope} rebuild was not recorded, as it says nothing of"
                    f" {counted(len(lines), 'line')} that it resets; "
                    "say renewed, reused, carried over or left of each:",
                    *lines_of(lines, 20),
                ]
            )
        )


class RebuildNeedsForm(FleetlogError):
    """A rebuild asked for where nobody can be asked step by step."""

    def __init__(self, serial: str, scope: str) -> None:
        super().__init__(
            f"nobody is here to be asked; write a form with: fleetlog rebuild {as_word(serial)} --scope"
            f' "{scope}" --template FILE, fill it in, and record it with --from FILE'
        )


class ScopeResetsNothing(FleetlogError):
    """A rebuild of a scope that no rule of the schedule speaks of."""

    def __init__(self, schedule: str, scope: str, known: Sequence[str]) -> None:
        knows = f"it knows {', '.join(known)}" if known else "none of its rules has reset_by"
        super().__init__(f"schedule {schedule} has no rule that a {scope} rebuild resets; {knows}")


class CardInLogUnreadable(FleetlogError):
    """A work card in the log that this version cannot read."""

    def __init__(self, name: str, revision: int, problems: Sequence[str]) -> None:
        super().__init__(
            f"work card {name}, revision {revision}, of the log cannot be read: {problems[0]}; "
            "take in a newer revision of it"
        )


class CardRevisionUnknown(FleetlogError):
    """A form of a revision of a card that the log does not have."""

    def __init__(self, name: str, revision: int, newest: int) -> None:
        super().__init__(
            f"work card {name} has no revision {revision} in the log, the newest is {newest}; print it again"
        )


class CardTextUnusable(FleetlogError):
    """A work card with something wrong in it."""

    def __init__(self, name: str, problems: Sequence[str]) -> None:
        self.problems = list(problems)
        super().__init__("\n".join([f"{name} is no work card that can be taken in:", *lines_of(problems)]))
