"""Refusals of work on several processes."""

from __future__ import annotations

from fleetlog.errors import FleetlogError


class ProcessLost(FleetlogError):
    """A process that did part of the work was ended from outside."""

    def __init__(self) -> None:
        super().__init__(
            "a process that did part of the work was ended from outside, as happens where memory runs out;"
            " the work is not done: run it again, with --processes 1 where it happens again"
        )
