"""Refusals of extracts and of what is kept about a person."""

from __future__ import annotations

from fleetlog.errors import FleetlogError


class HeadTooShort(FleetlogError):
    """A head of the log given by too few of its characters."""

    def __init__(self, given: str, least: int) -> None:
        super().__init__(
            f"{given!r} is too little of a head to go by; give at least {least} characters of it"
        )


class NothingToExtract(FleetlogError):
    """An extract asked for without an engine, a file to write, or a file to check."""

    def __init__(self) -> None:
        super().__init__(
            "say which engine and where to: fleetlog extract SERIAL --out FILE, or --verify FILE"
        )


class CellNotListed(FleetlogError):
    """A text or a paper to be erased that is not among those listed for the person."""

    def __init__(self, name: str) -> None:
        super().__init__(
            f"{name!r} is none of the texts and papers listed; see `fleetlog owner forget OWNER --review`"
        )
