"""Questions to a person at a terminal; what cannot be the answer is said, and asked for again."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import click


class _Word(click.Choice):  # type: ignore[type-arg]  # generic in newer clicks only
    """One of a few words; as much of it as no other begins with will do."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        begun = str(value).strip().casefold()
        fitting = [word for word in self.choices if word.casefold().startswith(begun)]
        return super().convert(fitting[0] if len(fitting) == 1 else value, param, ctx)


def ask_word(question: str, words: Sequence[str], default: str | None = None) -> str:
    """One of these words; the default where nothing is typed."""
    word: str = click.prompt(question, type=_Word(words, case_sensitive=False), default=default, err=True)
    return word


def ask_text(question: str) -> str | None:
    """A text; None where nothing is typed."""
    answer: str = click.prompt(question, default="", show_default=False, err=True)
    return answer.strip() or None


def ask_value(question: str, kind: click.ParamType[Any]) -> Any:
    """A value of a kind, such as hours; None where nothing is typed."""
    while text := ask_text(question):
        try:
            return kind.convert(text, None, None)
        except click.BadParameter as error:
            click.echo(f"Error: {error.message}", err=True)
    return None
