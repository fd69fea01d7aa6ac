"""Reads hours from text as owners send them: a boat a line, an engine a figure."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from datetime import date

from fleetlog.domain.bounds import day_from_text
from fleetlog.domain.hours import tenths_from_text
from fleetlog.errors.recording import HoursNotRead
from fleetlog.usecases.hours import Figure

_NUMBER = r"\d{1,7}(?:[.,]\d)?"
_PLACED = re.compile(
    rf"(?P<place>[^\W\d_][\w -]*?)\s*[=:]?\s*(?P<hours>{_NUMBER})\s*(?:h|hrs?|hours?)?(?=[\s,;]|$)", re.I
)
_DAY = re.compile(r"(?:\bon\s+)?\b(\d{4}-\d{2}-\d{2})\b", re.I)
_LONE = {"hours", "hour", "h", "meter"}
_EXPECTED = "a boat and hours, such as 'Sea Spray: port 412, starboard 415.5' or 'Sea Spray 412'"


def figures_from_text(lines: Iterable[str], default_on: date) -> Iterator[Figure]:
    """The figures that a pasted text holds; empty lines and those beginning with # are passed over.

    A day in a line (YYYY-MM-DD) is its own; `hours=` is the figure of a lone engine.
    Raises HoursNotRead, with the line, for anything else.
    """
    for number, raw in enumerate(lines, 1):
        text = raw.strip().lstrip("\ufeff")
        if not text or text.startswith("#"):
            continue
        on = default_on
        if day := _DAY.search(text):
            try:
                on = day_from_text(day.group(1))
            except ValueError as error:
                raise HoursNotRead(number, text, f"a day that exists, not {day.group(1)}") from error
            text = (text[: day.start()] + text[day.end() :]).strip()
        yield _figure(number, text, on)


def _figure(number: int, text: str, on: date) -> Figure:
    about, colon, rest = text.partition(":")
    if not colon or not re.search(r"\d", rest) or "=" in about:
        about, rest = _split_name(text)
    if not about or not rest:
        raise HoursNotRead(number, text, _EXPECTED)
    by_position: dict[str | None, int] = {}
    alone = re.fullmatch(rf"\s*({_NUMBER})\s*(?:h|hrs?|hours?)?\s*", rest, re.I)
    if alone:
        by_position[None] = _tenths(alone.group(1))
    else:
        end = 0
        for found in _PLACED.finditer(rest):
            if rest[end : found.start()].strip(" ,;"):
                raise HoursNotRead(number, text, _EXPECTED)
            place = found.group("place").strip()
            position = None if place.casefold() in _LONE else place
            if position in by_position:
                raise HoursNotRead(number, text, f"one figure for {place}")
            by_position[position] = _tenths(found.group("hours"))
            end = found.end()
        if not by_position or rest[end:].strip(" ,;."):
            raise HoursNotRead(number, text, _EXPECTED)
    return Figure(about.strip(), on, by_position)


def _split_name(text: str) -> tuple[str, str]:
    """A line without a colon: the name goes up to the first position=hours, or to the last number."""
    placed = re.search(r"\S+\s*=", text)
    if placed:
        return text[: placed.start()], text[placed.start() :]
    last = re.search(rf"\s({_NUMBER})\s*(?:h|hrs?|hours?)?$", text, re.I)
    return (text[: last.start()], text[last.start() :]) if last else ("", "")


def _tenths(text: str) -> int:
    return tenths_from_text(text.replace(",", "."))
