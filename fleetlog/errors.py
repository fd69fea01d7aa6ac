"""Every refusal, in one place: one base, one class a cause, the wording in the class.

A refusal is what the person did or the data say, never a bug: it becomes one line on standard
error and exit status 1. Odd but usable data are findings, which are returned, not raised.
"""

from __future__ import annotations


class FleetlogError(Exception):
    """Base of every refusal; its text says what is wrong, where, and what to do."""


# Usage forecast


class UsageArraysDisagree(FleetlogError):
    """Arrays of a fleet's use whose sizes or order cannot belong together."""

    def __init__(self, name: str, engines: int, rows: int) -> None:
        super().__init__(
            f"usage of {engines} engines: {name} does not fit {rows} rows; give one more offset than engines,"
            " from 0 to the number of rows, and rows sorted by day within each engine"
        )
