"""Refusals of joining two records."""

from __future__ import annotations

from collections.abc import Sequence

from fleetlog.errors import FleetlogError, as_word, lines_of


class JoinAnswersUnusable(FleetlogError):
    """Answers about an engine's past that cannot be recorded, each with the line it is about."""

    def __init__(self, problems: Sequence[str]) -> None:
        if len(problems) == 1:
            super().__init__(f"{problems[0]}; nothing was recorded")
            return
        first = f"nothing was recorded, as {len(problems)} answers cannot be:"
        super().__init__("\n".join([first, *lines_of(problems)]))


class JoinNeedsForm(FleetlogError):
    """An engine's past that nobody is there to be asked about."""

    def __init__(self, serial: str) -> None:
        super().__init__(
            f"nobody is here to answer; fleetlog join {as_word(serial)} --template FILE writes a form,"
            f" and fleetlog join {as_word(serial)} --from FILE records it"
        )
