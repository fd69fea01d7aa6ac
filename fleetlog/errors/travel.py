"""Refusals of items that travel between engines."""

from __future__ import annotations

from datetime import date

from fleetlog.errors import FleetlogError, as_word


class NothingToTake(FleetlogError):
    """An item to be moved that is neither fitted on the engine nor on its shelf."""

    def __init__(self, serial: str, item: str, position: str | None, off_on: date | None) -> None:
        where = f" at {position}" if position else ""
        since = f": it came off on {off_on} and went elsewhere" if off_on is not None else ""
        super().__init__(
            f"engine {serial} has no {item}{where} to give{since};"
            f" fleetlog item {as_word(serial)} {as_word(item)} --all shows what was on it"
        )


class NeverCameOff(FleetlogError):
    """An assembly to be taken from a shelf, of an engine that it never came off."""

    def __init__(self, serial: str, assembly: str) -> None:
        super().__init__(
            f"no {assembly} ever came off engine {serial}, as far as the log knows; leave --shelved out to"
            f" take the one that is on it, or record when it came off: fleetlog remove {as_word(serial)}"
            f" {as_word(assembly)}"
        )


class SameEngineTwice(FleetlogError):
    """A part that is to go from an engine to itself."""

    def __init__(self, serial: str) -> None:
        super().__init__(
            f"engine {serial} is both the one that gives and the one that takes; name two engines"
        )


class NothingRecordedOf(FleetlogError):
    """An item of which an engine's ledger says nothing."""

    def __init__(self, serial: str, item: str) -> None:
        super().__init__(
            f"nothing is recorded of a {item} on engine {serial}, so it has no stints to show;"
            " it is the original as far as the log knows"
        )


class NotThereToCarryOver(FleetlogError):
    """Something to be carried over that is not on the engine."""

    def __init__(self, serial: str, item: str, position: str | None, off_on: date | None) -> None:
        where = f" at {position}" if position else ""
        since = f" since {off_on}" if off_on is not None else ""
        super().__init__(
            f"engine {serial} has had no {item}{where} on it{since}, so it cannot be carried over;"
            " record what is fitted with fleetlog fit first, or leave it out"
        )


class NothingIsOff(FleetlogError):
    """An answer about something that is in order or answered already."""

    def __init__(self, about: str) -> None:
        super().__init__(
            f"{about} is within its band and not failed, so there is nothing to answer; "
            "if it was entered wrong, say --outcome 'entered wrong'"
        )
