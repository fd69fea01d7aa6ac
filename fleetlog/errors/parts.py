"""Refusals of parts, terms and advice."""

from __future__ import annotations

from fleetlog.errors import FleetlogError


class PartNeeded(FleetlogError):
    """A search for a part without its number."""

    def __init__(self) -> None:
        super().__init__("say which part: its number, as --part TB-118")


class SupersededByItself(FleetlogError):
    """Part numbers that would replace each other in a circle."""

    def __init__(self, part_number: str, superseded_by: str) -> None:
        super().__init__(
            f"{superseded_by} was itself replaced, in the end by {part_number}, so it cannot replace it;"
            " fleetlog superseded list shows which number replaced which"
        )


class TermWithoutEnd(FleetlogError):
    """A term without months or hours."""

    def __init__(self) -> None:
        super().__init__("a term runs for months, hours or both: say --months, --hours or both")


class AdviceClosed(FleetlogError):
    """An answer to advice that is done or withdrawn already."""

    def __init__(self, advice_id: str, answer: str) -> None:
        super().__init__(
            f"advice {advice_id} is {answer} already; record new advice with fleetlog advice add"
        )


class NothingAdvised(FleetlogError):
    """Advice without words."""

    def __init__(self) -> None:
        super().__init__("say what was advised, in a few words")
