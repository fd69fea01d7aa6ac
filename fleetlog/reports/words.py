"""Dates, hours and work as a person reads them on a page."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date

from fleetlog import errors
from fleetlog.domain.due import EngineFacts
from fleetlog.domain.hours import Tenths, hours_text
from fleetlog.domain.records import Boat, Engine

MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)
NBSP = "\N{NO-BREAK SPACE}"
_ISO_DAY = re.compile(r"(?<![\w-])\d{4}-\d\d-\d\d(?![\w-])")


def day_text(day: date) -> str:
    """`2 June 2026`, kept on one line."""
    return f"{day.day}{NBSP}{MONTHS[day.month - 1]}{NBSP}{day.year}"


def days_told(text: str) -> str:
    """A sentence of the domain's with its dates as a page tells them: `on 2026-06-02` is `on 2 June 2026`."""
    return _ISO_DAY.sub(_day_told, text)


def _day_told(found: re.Match[str]) -> str:
    try:
        return day_text(date.fromisoformat(found[0]))
    except ValueError:
        return found[0]


def span_text(start: date, end: date, joint: str = "to") -> str:
    """`12 May to 30 June 2026`; one date where both are the same."""
    if start == end:
        return day_text(end)
    if start.year != end.year:
        return f"{day_text(start)} {joint} {day_text(end)}"
    if start.month == end.month:
        return f"{start.day} {joint} {day_text(end)}"
    return f"{start.day}{NBSP}{MONTHS[start.month - 1]} {joint} {day_text(end)}"


def hours_shown(tenths: Tenths) -> str:
    """`412.5 h`, kept on one line."""
    return f"{hours_text(tenths)}{NBSP}h"


def at_least(hours: str, *, is_least: bool) -> str:
    """An age in hours, with `at least` where a part of it was run before the first reading."""
    return f"at least{NBSP}{hours}" if is_least else hours


def hours_about(low: float, middle: float, high: float) -> str:
    """`about 430 h (415 to 450)`, an estimate in hours with its range where there is one."""
    shown = f"about {middle:.0f}{NBSP}h"
    return shown if round(low) == round(high) else f"{shown} ({low:.0f} to {high:.0f})"


def reckoned_shown(low: float, middle: float, high: float) -> str:
    """`about 430 h (415 to 450), an estimate`: engine hours that nobody has read."""
    return f"{hours_about(low, middle, high)}, an estimate"


def months_shown(months: int) -> str:
    """`1 month`, `18 months`, kept on one line."""
    return counted(months, "month")


def counted(count: int, one: str, many: str | None = None) -> str:
    """`1 engine`, `3 engines`, kept on one line."""
    return errors.counted(count, one, many).replace(" ", NBSP, 1)


def listed(texts: Sequence[str], joint: str = "and") -> str:
    """`a`, `a and b`, `a, b and c`."""
    if len(texts) < 2:
        return "".join(texts)
    return f"{', '.join(texts[:-1])} {joint} {texts[-1]}"


def shortlist(texts: Sequence[str], most: int) -> str:
    """As `listed`, of so many at most; of more, one fewer and how many there are besides."""
    if len(texts) <= most:
        return listed(texts)
    return f"{', '.join(texts[: most - 1])} and {len(texts) - most + 1} more"


def capital(text: str) -> str:
    """The text with a capital first letter, the rest as it is."""
    return text[:1].upper() + text[1:]


def sentence(text: str) -> str:
    """The text with a capital first letter and a full stop, where it has no other mark at its end."""
    text = text.strip()
    return capital(text) + ("" if text.endswith((".", "!", "?", "…")) else ".")


def part_text(number: str | None, lot: str | None) -> str:
    """`NV-3105 lot 23Q4`: a part number and its lot, as far as they are known."""
    return " ".join(text for text in (number, f"lot {lot}" if lot else "") if text)


def in_service_text(engine: Engine) -> str:
    """When an engine came into service, and whether it was new to the log then."""
    if engine.in_service_on is None:
        return "date not known"
    joined = "logged from new" if engine.logged_from_new else "joined the log used"
    return f"{day_text(engine.in_service_on)}, {joined}"


def family_text(engine: Engine) -> str:
    """`V6 belt-cam, 2021`: the family and the model year; nothing where no family is known."""
    return (engine.family or "") + (f", {engine.model_year}" if engine.family and engine.model_year else "")


def hours_read(facts: EngineFacts) -> str:
    """`412.5 h on 3 May 2026`: the hours of an engine at its last accepted reading, or why there are none."""
    if not facts.engine.hour_meter:
        return "no hour meter"
    last = facts.last_reading
    return "no reading yet" if last is None else f"{hours_shown(last.tenths)} on {day_text(last.on)}"


def engine_kind(engine: Engine) -> str:
    """Maker and model, or the family, or nothing."""
    return " ".join(part for part in (engine.maker, engine.model) if part) or (engine.family or "")


def boat_name(boat: Boat | None) -> str:
    """The boat's name, or that there is none."""
    return boat.name if boat is not None else "no boat"


def clauses(text: str, most: int) -> str:
    """As many whole clauses of a text, parted by semicolons, as make at most `most` characters."""
    kept = ""
    for clause in text.split("; "):
        longer = f"{kept}; {clause}" if kept else clause
        if len(longer) > most:
            break
        kept = longer
    return kept or shortened(text, most)


def shortened(text: str, most: int) -> str:
    """At most `most` characters, of whole words where there are any, and an ellipsis for the rest."""
    text = " ".join(text.split())
    if len(text) <= most:
        return text
    words, space, _ = text[:most].rpartition(" ")
    return (words if space else text[: most - 1]).rstrip(",;:") + "…"


def percent_text(share: float) -> str:
    """`64 %` of a share of 0.64, kept on one line."""
    return f"{100 * share:.0f}{NBSP}%"
