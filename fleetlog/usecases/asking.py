"""Questions of a use case to a person: asked while nothing is held, so that nobody waits for the answer."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any, ParamSpec, TypeVar

Ask = Callable[[str], bool | None]
"""Asks a person yes or no; None where nobody can answer."""

Given = ParamSpec("Given")
Answer = TypeVar("Answer")


class _Unanswered(Exception):
    """Leaves a use case, and takes back what it wrote, for a question that has no answer yet."""

    def __init__(self, question: str) -> None:
        super().__init__(question)
        self.question = question


def asked_between(use_case: Callable[Given, Answer]) -> Callable[Given, Answer]:
    """Marks a use case that writes once and may ask by its keyword `ask`.

    At a question it is left, with its writing taken back; the person is asked, and it is done again with all
    that was answered: what others wrote meanwhile is seen, and may lead to another question.
    """

    @wraps(use_case)
    def doing(*given: Given.args, **named: Given.kwargs) -> Answer:
        asked: Any = named["ask"]
        answers: dict[str, bool | None] = {}

        def known(question: str) -> bool | None:
            if question not in answers:
                raise _Unanswered(question)
            return answers[question]

        named["ask"] = known
        while True:
            try:
                return use_case(*given, **named)
            except _Unanswered as left:
                question = left.question
            answers[question] = asked(question)

    return doing
