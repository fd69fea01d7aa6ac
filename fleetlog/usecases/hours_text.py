"""Reads hours from text as owners send them: a boat a line, an engine a figure."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from fleetlog.domain.bounds import day_from_text
from fleetlog.domain.hours import tenths_from_text
from fleetlog.errors.recording import HoursNotRead, not_read
from fleetlog.usecases.pasted_mail import MOST_IN_A_LINE, mail_lines, without_ways_to_reach
from fleetlog.usecases.whose_hours import Figure

_NUMBER = r"\d{1,7}(?:[.,]\d)?"
_PLACED = re.compile(
    rf"(?P<place>[^\W\d_][\w -]*?)\s*[=:]?\s*(?P<hours>{_NUMBER})\s*(?:h|hrs?|hours?)?(?=[\s,;]|$)", re.I
)
_DAY = re.compile(r"(?:\bon\s+)?\b(\d{4}-\d{2}-\d{2})\b", re.I)
_OTHER_DAY = re.compile(r"\b\d{1,4}([./-])\d{1,2}\1\d{1,4}\b|(?<=\bon )\s*\S.*\d.*$", re.I)
_OPEN_DAY = re.compile(r"\bon[\s_]*$", re.I)
_OPEN = re.compile(r"[^\W\d_][\w-]*\s*=[\s_]*(?=[,;]|$|[^\W\d_][\w-]*\s*=)")
_LONE = {"hours", "hour", "h", "meter"}
_EXPECTED = "a boat and hours, such as 'Sea Spray: port 412, starboard 415.5' or 'Sea Spray 412'"


@dataclass(frozen=True, slots=True)
class HoursText:
    """The figures that a text holds, and what of it has none, each with the number of its line."""

    figures: list[Figure]
    without: list[tuple[int, str]]


def figures_from_text(lines: Iterable[str], default_on: date) -> HoursText:
    """The figures that a pasted text holds, quoted by a mail program or not.

    Empty lines and those beginning with # are passed over. A day in a line (YYYY-MM-DD) is its own. A line
    without a figure is told: a greeting, a signature, quoted text, a telephone number, or what was left open
    in the line that a reminder asks for. Raises HoursNotRead, with every line that has a figure and cannot be
    taken.
    """
    read, problems = HoursText([], []), []
    for line in mail_lines(lines):
        text, apart = without_ways_to_reach(line.text)
        if not line.is_said or (apart and not re.search(r"\d", text)):
            read.without.append((line.number, line.text))
            continue
        try:
            figure, left_open = _figure(text, default_on, line.number)
        except ValueError as error:
            problems.append(f"line {line.number}: {not_read(line.text, str(error))}")
            continue
        if figure is not None:
            read.figures.append(figure)
        read.without.extend((line.number, part) for part in (*left_open, *apart))
    if problems:
        raise HoursNotRead(problems)
    return read


def figure_from_words(about: str, words: Iterable[str], default_on: date) -> Figure:
    """The figure that the words of a command say of an engine or a boat. Raises HoursNotRead."""
    text = f"{about}: {', '.join(words)}"
    try:
        figure, left_open = _figure(text, default_on, None)
        if figure is None or left_open:
            raise ValueError(_expected(text))
    except ValueError as error:
        raise HoursNotRead([not_read(text, str(error))]) from error
    return figure


def _figure(text: str, on: date, line: int | None) -> tuple[Figure | None, list[str]]:
    """What a line says, and what stands in it without a figure; raises ValueError with what was expected."""
    if len(text) > MOST_IN_A_LINE:
        raise ValueError(f"at most {MOST_IN_A_LINE:,} characters in a line")
    said = text
    if day := _DAY.search(text):
        try:
            on = day_from_text(day.group(1))
        except ValueError as error:
            raise ValueError(f"a day that exists, not {day.group(1)}") from error
        text = (text[: day.start()] + text[day.end() :]).strip()
    text = _OPEN_DAY.sub("", text).strip()
    about, colon, rest = text.partition(":")
    if not colon or "=" in about or not (re.search(r"\d", rest) or _OPEN.search(rest)):
        about, rest = _split_name(text)
    left_open = [found.group().strip() for found in _OPEN.finditer(rest)]
    rest = _OPEN.sub("", rest).strip(" ,;")
    if not re.search(r"\d", rest if about else text):
        return None, [said]
    if not about or not rest:
        raise ValueError(_expected(text))
    return Figure(about.strip(), on, _by_position(rest), line), left_open


def _by_position(rest: str) -> dict[str | None, int]:
    """The hours that stand behind the name; raises ValueError."""
    alone = re.fullmatch(rf"\s*({_NUMBER})\s*(?:h|hrs?|hours?)?\s*", rest, re.I)
    if alone:
        return {None: _tenths(alone.group(1))}
    by_position: dict[str | None, int] = {}
    end = 0
    for found in _PLACED.finditer(rest):
        if rest[end : found.start()].strip(" ,;"):
            raise ValueError(_expected(rest))
        place = found.group("place").strip()
        position = None if place.casefold() in _LONE else place
        if position in by_position:
            raise ValueError(f"one figure for {place}")
        by_position[position] = _tenths(found.group("hours"))
        end = found.end()
    if not by_position or rest[end:].strip(" ,;."):
        raise ValueError(_expected(rest))
    return by_position


def _expected(text: str) -> str:
    """What was expected, by the figure or the day that stands there in another form."""
    if day := _OTHER_DAY.search(text):
        return f"the day as YYYY-MM-DD, not {day.group()}"
    for figure in re.findall(r"\d[\d.,]*", text):
        if not re.fullmatch(_NUMBER, figure.rstrip(".,")):
            return f"hours with at most one decimal, below ten million, such as 1234.5, not {figure}"
    return _EXPECTED


def _split_name(text: str) -> tuple[str, str]:
    """A line without a colon: the name goes up to the first position=hours, or to the last number."""
    placed = re.search(r"\S+\s*=", text)
    if placed:
        return text[: placed.start()], text[placed.start() :]
    last = re.search(rf"\s({_NUMBER})\s*(?:h|hrs?|hours?)?$", text, re.I)
    return (text[: last.start()], text[last.start() :]) if last else ("", "")


def _tenths(text: str) -> int:
    return tenths_from_text(text.replace(",", "."))
