"""Refusals of joining two records."""

from __future__ import annotations

from fleetlog.errors import FleetlogError, as_word


class JoinAnswerUnusable(FleetlogError):
    """An answer about an engine's past that cannot be recorded."""

    def __init__(self, rule: str, position: str | None, why: str) -> None:
        where = f" at {position}" if position else ""
        super().__init__(f"{rule}{where}: {why}; nothing was recorded")


class JoinNeedsForm(FleetlogError):
    """An engine's past that nobody is there to be asked about."""

    def __init__(self, serial: str) -> None:
        super().__init__(
            f"nobody is here to answer; fleetlog join {as_word(serial)} --template FILE writes a form,"
            f" and fleetlog join {as_word(serial)} --from FILE records it"
        )
