"""The shop's set-up as it is shown, and a file to begin one with."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from fleetlog.diary.access import opened_by
from fleetlog.diary.shop import Week
from fleetlog.diary.shop_text import ShopSetup
from fleetlog.domain.diary_records import WEEKDAYS, clock_text
from fleetlog.domain.nearest import nearest
from fleetlog.domain.schedule import Schedule
from fleetlog.domain.words import name_key
from fleetlog.errors import counted
from fleetlog.errors.diary import ShopInLogUnreadable
from fleetlog.store.log import Log
from fleetlog.usecases.diary.work import known_shop, needed_shop

NAMELESS = "The marina"
"""What signs where no name is said."""


def shop_template() -> str:
    """The text of a shop.toml that says what each field is for."""
    return Path(__file__).with_name("shop_template.toml").read_text(encoding="utf-8")


def shop_facts(log: Log) -> dict[str, Any]:
    """What the log knows of the shop, in words. Raises NoShop or ShopInLogUnreadable."""
    with log.reading() as reader:
        setup = needed_shop(reader)
        schedules = reader.schedules()
    shop = setup.shop
    return {
        "shop": setup.name,
        "marina": setup.marina,
        "revision": setup.revision,
        "time zone": setup.time_zone,
        "technicians": [
            f"{t.name}: {week_text(t.week)}" + (f"; {', '.join(sorted(t.skills))}" if t.skills else "")
            for t in shop.technicians
        ],
        "places": [f"{p.name} ({p.kind}): {week_text(p.week)}" for p in shop.places],
        "lifts per day": shop.lifts_per_day,
        "closed": [f"{c.span.from_on} to {c.span.to_on}: {c.why}" for c in shop.closures],
        "rate per hour": None if setup.rate_per_hour is None else f"{setup.rate_per_hour} {setup.currency}",
        "plans ahead": counted(setup.plan_days, "day"),
        "reminds again after": counted(setup.remind_again_days, "day"),
        "mails from": setup.mail.sender if setup.mail else None,
        "to be looked at": unknown_to_schedules(setup, schedules),
    }


def unknown_to_schedules(setup: ShopSetup, schedules: Mapping[str, Schedule]) -> list[str]:
    """A sentence for each item, access and consequence that the shop speaks of and no schedule has.

    An access that one of a schedule's includes is opened with it.
    """
    rules = [rule for schedule in schedules.values() for rule in schedule.rules]
    terms, times = setup.terms, setup.access_times
    included = {name_key(name) for time in times.values() for name in time.includes}
    accesses = {*times, *filter(None, terms.places_by_access), *included} - {"none"}
    opens = {rule.opens for rule in rules if rule.opens}
    opens |= {name for access in opens for name in opened_by(access, times) if name in times}
    found = []
    for kind, words, known in (
        ("item of a skill", terms.skills_by_item, {rule.item for rule in rules}),
        ("access", accesses, opens),
        ("consequence", terms.consequence_points, {rule.consequence for rule in rules if rule.consequence}),
    ):
        keys = {name_key(word) for word in known}
        for word in sorted(set(words) - keys):
            near = nearest(word, sorted(known))
            meant = f" (did you mean {near[0]}?)" if near else ""
            found.append(
                f"shop.toml, revision {setup.revision}: no schedule has the {kind} {word!r}{meant},"
                " so what is said of it does nothing"
            )
    return found


def marina_of(log: Log) -> str:
    """The name that signs the pages and mails of a log: its shop's marina, where it says one."""
    with log.reading() as reader:
        try:
            shop = known_shop(reader)
        except ShopInLogUnreadable:
            return NAMELESS
    return (shop and shop.marina) or NAMELESS


def week_text(week: Week) -> str:
    """Working hours in words: `mon 08:00-16:30, fri 08:00-12:00`."""
    days = [
        f"{name} {clock_text(span.from_tenths)}-{clock_text(span.to_tenths)}"
        for name, span in zip(WEEKDAYS, week, strict=True)
        if span is not None
    ]
    return ", ".join(days) or "no hours"
