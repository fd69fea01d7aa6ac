"""Tells what of a pasted mail may say hours, and what is signature, quoted text or a number to call."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

_QUOTED = re.compile(r"[\ufeff\s>]*")
_ORIGINAL = re.compile(r"[-_]{5,}")
_CLOSING = re.compile(
    r"((kind|kindest|best|warm|many|with)\s+)*"
    r"(regards|wishes|greetings|thanks|thank you|cheers|yours|sincerely)\b[^\d:=]*",
    re.I,
)
_OPENING = re.compile(
    r"(hi|hello|hey|dear|good\s+(morning|day|afternoon|evening))\b[^\d:=]*|(from|subject|date):.*", re.I
)
_REMINDERS_LINE = re.compile(r"[^:=]+:\s*[^\W\d_][\w -]*=")
_DAY = re.compile(
    r"(?<![\d./-])(?:\d{4}([./-])\d{1,2}\1\d{1,2}|\d{1,2}([./-])\d{1,2}\2(?:\d{4}|\d{2}))(?![./-]?\d)"
)
_HOURS = re.compile(r"\d{1,7}(?:[.]\d)?")
_ADDRESS = re.compile(r"\S+@\S+|(?:https?://|www\.)\S+", re.I)
_TO_CALL = re.compile(
    r"(?<![\w.,-])(?P<word>(?:tel(?:ephone)?|phone|mob(?:ile)?|cell|fax|call|ring)\b\.?"
    r"(?:\s+(?:no|me|us|at|on|number)\b\.?)*\s*[:=]?\s*)?"
    r"(?P<number>(?<![\w.,-])[+(]{0,2}\d[\d ()/.-]*\d)(?![\w,])",
    re.I,
)
_FEWEST_AFTER_A_WORD, _FEWEST = 6, 7
"""How many digits a number to call has at least, after a word that says what it is, and without one."""

_SERIAL_WITH_HOURS = re.compile(r"[\d/.-]{7,}\s+\d{1,5}")
"""A serial of digits and its hours: no number to call has so long a first part and so short a last one."""

MOST_IN_A_LINE = 1_000
"""A longer line is not searched, as that would take minutes of a page that was pasted as one line."""


@dataclass(frozen=True, slots=True)
class MailLine:
    """A line of a mail that says something, without the signs of quoting."""

    number: int
    text: str
    is_said: bool
    """Whether it may say hours; else it is signature or quoted."""


def mail_lines(lines: Iterable[str]) -> Iterator[MailLine]:
    """The lines of a pasted text, but for empty ones and those that begin with #.

    Quoted is what has more signs of it than the rest, what stands below a dividing line, and the line that
    says who wrote what follows. A signature begins at `--`, or at a closing word once a line with a figure is
    past, and ends where the next mail begins. Of both a reminder's own line may be said, filled in:
    `Sea Spray: port=412`.
    """
    told = list(_lines(lines))
    least = min((depth for _, depth, _ in told), default=0)
    is_signature = is_below = has_figures = False
    for place, (number, depth, text) in enumerate(told):
        is_below = is_below or (depth == least and _ORIGINAL.match(text) is not None)
        quoted = is_below or depth > least
        if not quoted and (text == "--" or (has_figures and _CLOSING.fullmatch(text))):
            is_signature = True
        elif is_signature and not quoted and _OPENING.fullmatch(text):
            is_signature = has_figures = False
        if quoted or is_signature:
            is_said = _REMINDERS_LINE.match(text) is not None
        else:
            is_said = not _says_who_wrote(told[place : place + 3], least)
            has_figures = has_figures or (is_said and _holds_a_digit(without_ways_to_reach(text)[0]))
        yield MailLine(number, text, is_said)


def _holds_a_digit(text: str) -> bool:
    return re.search(r"\d", text) is not None


def _lines(lines: Iterable[str]) -> Iterator[tuple[int, int, str]]:
    """The number of each line, how deep it is quoted, and what it says."""
    for number, raw in enumerate(lines, 1):
        signs = _QUOTED.match(raw)
        assert signs is not None
        text = raw[signs.end() :].strip()
        if text and not text.startswith("#"):
            yield number, signs.group().count(">"), text


def _says_who_wrote(following: list[tuple[int, int, str]], least: int) -> bool:
    """Whether the first of some lines says who wrote the quoted text below: it ends in a colon right above
    that, or begins with "On" where the next one does."""
    (_, _, text), *rest = following
    if not rest:
        return False
    if rest[0][1] > least:
        return text.endswith(":")
    is_above = len(rest) > 1 and rest[1][1] > least and rest[0][2].endswith(":")
    return is_above and text.lower().startswith("on ")


def without_ways_to_reach(text: str) -> tuple[str, list[str]]:
    """A line without the numbers to call, addresses of mail and of pages that stand in it, and these.

    A number at its beginning stays where figures follow it: an engine's serial may look like one. A line that
    is too long to be taken stays as it is.
    """
    if len(text) > MOST_IN_A_LINE:
        return text, []
    masked = _DAY.sub(lambda day: "x" * len(day.group()), text)
    found = [(m.start(), m.end()) for m in _ADDRESS.finditer(masked)]
    found += [(m.start(), m.end()) for m in _TO_CALL.finditer(masked) if _is_to_call(m)]
    found = sorted(span for span in found if not any(one[0] < span[0] < one[1] for one in found))
    if found and found[0][0] == 0 and text[:1].isdigit():
        is_serial = _SERIAL_WITH_HOURS.fullmatch(text[: found[0][1]]) is not None
        if is_serial or _holds_a_digit(_cut(masked, found)):
            del found[0]
    return _cut(text, found), [text[start:end].strip() for start, end in found]


def _is_to_call(found: re.Match[str]) -> bool:
    number = found.group("number")
    digits = sum(map(str.isdigit, number))
    if number[-2:-1] == ".":  # a decimal, as of hours
        return False
    if found.group("word"):
        return digits >= _FEWEST_AFTER_A_WORD
    if _HOURS.fullmatch(number) or digits < _FEWEST:
        return False
    return number[0] in "+(0" or "-" in number


def _cut(text: str, spans: list[tuple[int, int]]) -> str:
    kept, end = [], 0
    for start, stop in spans:
        kept.append(text[end:start])
        end = stop
    return " ".join([*kept, text[end:]]).strip(" ,;/|()-") if spans else text
