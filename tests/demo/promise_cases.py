"""What the demo marina's owners were promised and told: warranties, advice, a superseded part number.

All of it is invented; the terms of the warranty are those of no maker.
"""

from __future__ import annotations

from datetime import date

from tests.demo.journal import Journal

ILSE, TOMASZ = "Ilse Darrow", "Tomasz Brinkel"


def add_promises(journal: Journal) -> None:
    """Warranties that end soon and late, advice declined and unanswered, a plug under its former number."""
    day = date.fromisoformat
    for number, (serial, kind, start, months, hours, title) in enumerate(
        (
            ("VK6-20999", "warranty", "2022-05-06", 48, 1500, "fuel and exhaust parts"),
            ("VK6-21266", "warranty", "2023-06-01", 36, None, "the maker's, all parts"),
            ("VK6-21266", "useful life", "2023-06-01", 120, 350, "fuel and exhaust parts"),
        ),
        start=1,
    ):
        journal.add(
            "terms", term_id=f"W-{number:05d}", serial=serial, kind=kind, starts_on=day(start), months=months,
            hours=hours, title=title, by=ILSE,
        )  # fmt: skip
    for number, (serial, on, what, item, how, answer, note) in enumerate(
        (
            ("VK6-20999", "2025-11-12", "new fuel hoses, they have gone hard", "fuel hose", "by telephone",
             "declined", "wants to sell the boat"),
            ("VK6-21266", "2026-03-20", "a second look at the lower unit", None, "by e-mail", None, None),
        ),
        start=1,
    ):  # fmt: skip
        journal.add(
            "advice", advice_id=f"N-{number:05d}", serial=serial, on=day(on), what=what, item=item, how=how,
            answer=answer, note=note, by=TOMASZ,
        )  # fmt: skip
    journal.add(
        "supersessions", part_number="NV-5004", superseded_by="NV-5006", from_on=day("2023-01-09"),
        note="the maker's list of January 2023 (invented)", by=ILSE,
    )  # fmt: skip
