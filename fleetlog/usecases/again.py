"""Does a use case again that lost a race: another's writing came first, and nothing of its own was kept."""

from __future__ import annotations

import random
import time
from collections.abc import Callable
from functools import wraps
from typing import ParamSpec, TypeVar

from fleetlog.errors.log import LostRace

WAITS_SECONDS = (0.02, 0.1, 0.3, 1.0)
"""How long to wait before each further try, on average; after the last one the person is told."""

Given = ParamSpec("Given")
Answer = TypeVar("Answer")


def again_if_lost(use_case: Callable[Given, Answer]) -> Callable[Given, Answer]:
    """Marks a use case that writes once, as the last thing it does.

    It is called again where its writing was taken back whole, at most four times; then LostRace goes up.
    Only a log on PostgreSQL has such races: writers on a file stand in line.
    """

    @wraps(use_case)
    def doing(*given: Given.args, **named: Given.kwargs) -> Answer:
        for wait in WAITS_SECONDS:
            try:
                return use_case(*given, **named)
            except LostRace:
                time.sleep(wait * random.uniform(0.5, 1.5))
        return use_case(*given, **named)

    return doing
