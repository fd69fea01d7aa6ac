"""Refusals of looking things up and of words that are not understood."""

from __future__ import annotations

from collections.abc import Sequence

from fleetlog.errors import FleetlogError, as_word, one_of


class NotKnown(FleetlogError):
    """A name that means nothing here; the nearest ones are offered."""

    def __init__(self, kind: str, typed: str, near: Sequence[str], else_do: str = "") -> None:
        offered = f"; nearest: {one_of(near)}" if near else f"; the log has no {kind} of a name like it"
        super().__init__(f"no {kind} {typed!r}{offered}{'; ' + else_do if else_do else ''}")


class NotInSchedule(NotKnown):
    """Work that the schedule of an engine has no rule for, of a name like it; another schedule may have."""

    def __init__(self, typed: str, schedule: str) -> None:
        FleetlogError.__init__(
            self,
            f"no rule {typed!r} in {schedule}, the schedule of the engine: fleetlog schedule show"
            f" {as_word(schedule)} lists its rules; work that it does not ask for is recorded with fleetlog"
            " fit, inspect, adjust or service",
        )


class NotNamed(FleetlogError):
    """A name that is empty."""

    def __init__(self, kind: str) -> None:
        super().__init__(f"no {kind} is named: what was given is empty; say which {kind}")


class Ambiguous(FleetlogError):
    """What was typed fits several."""

    def __init__(self, kind: str, typed: str, fitting: Sequence[str], then: str = "type more of it") -> None:
        super().__init__(f"which {kind}? {typed!r} fits {one_of(fitting)}; {then}")


class NoSchedule(FleetlogError):
    """An engine for which the log has no service schedule."""

    def __init__(self, serial: str, name: str | None, known: Sequence[str]) -> None:
        named = f"its schedule {name!r} is not in the log" if name else "it names no schedule and no family"
        has = (
            f"the log has {one_of(known)}"
            if known
            else "the log has none yet: import a folder with schedules/"
        )
        super().__init__(f"engine {serial} has no service schedule: {named}; {has}")


class PositionNeeded(FleetlogError):
    """An item that the schedule has at several places, and no place was said."""

    def __init__(self, item: str, places: Sequence[str]) -> None:
        self.item, self.places = item, list(places)
        super().__init__(
            f"which {item}? the schedule has it at {', '.join(places)}: say --position, or --position all"
        )


class BadChoice(FleetlogError):
    """A word that is none of those it can be."""

    def __init__(self, what: str, value: str, choices: Sequence[str]) -> None:
        super().__init__(f"{what} {value!r}: expected one of {', '.join(choices)}")


class ReasonNeeded(FleetlogError):
    """Something that has to say why."""

    def __init__(self, what: str) -> None:
        super().__init__(f"{what} needs a reason: say --reason")

    @classmethod
    def unless(cls, reason: str, what: str) -> None:
        """Raises it where a reason is blank."""
        if not reason.strip():
            raise cls(what)


class RangeReversed(FleetlogError):
    """A range of a tool whose ends do not make one."""

    def __init__(self, low: str, high: str, unit: str) -> None:
        super().__init__(f"a range from {low} to {high} {unit} is none; give the lower end first, 0 or more")


class OwnerUnknown(FleetlogError):
    """An engine whose owner is asked for and not known."""

    def __init__(self, serial: str) -> None:
        super().__init__(
            f"the owner of engine {serial} is not known; leave out --with-owner, or record them first"
        )
