"""Reads the shop's set-up from its TOML text, and says everything that is wrong with it at once."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from fleetlog.diary.access import AccessTime
from fleetlog.diary.requests import USUAL_CONSEQUENCE_POINTS, RequestTerms
from fleetlog.diary.shop import AFLOAT, BAY, ClockSpan, Closure, Place, Shop, Technician, Week
from fleetlog.diary.work import DateSpan
from fleetlog.domain.bounds import MOST_DAYS, MOST_PLAN_DAYS
from fleetlog.domain.diary_records import WEEKDAYS, clock_from_text
from fleetlog.domain.toml_table import TomlTable, read_toml
from fleetlog.domain.words import USES, name_key

THE_NAME = "shop"
"""The one name that a shop's file has: a log is of one shop."""

REMIND_AGAIN_DAYS = 21
"""For how long nobody is told the same thing again, where the shop says no other time."""

SECURITIES = ("tls", "starttls", "none")


@dataclass(frozen=True, slots=True)
class YearlySeason:
    """A time of each year in which boats of a use earn, from a (month, day) to one, both included."""

    use: str
    starts: tuple[int, int]
    ends: tuple[int, int]

    def spans(self, from_on: date, to_on: date) -> tuple[DateSpan, ...]:
        """The seasons that touch the days asked for."""
        found = []
        for year in range(from_on.year - 1, to_on.year + 1):
            start, end = (year, *self.starts), (year + (self.ends < self.starts), *self.ends)
            span = DateSpan(date(*start), date(*end))
            if span.from_on <= to_on and span.to_on >= from_on:
                found.append(span)
        return tuple(found)


@dataclass(frozen=True, slots=True)
class MailSetup:
    """How reminders are sent; the password is no part of it."""

    sender: str
    host: str | None = None
    port: int = 587
    security: str = "starttls"
    user: str | None = None


@dataclass(frozen=True, slots=True)
class ShopSetup:
    """All that the shop says of itself in one revision.

    `marina` is the name that signs pages and mails.
    `rate_per_hour` and `prices` are in `currency`; without a rate there are no estimates.
    `time_zone` is that of the calendars.
    `usual_labour_tenths` stands in for jobs whose rule has no labour hours.
    """

    name: str
    revision: int
    shop: Shop
    terms: RequestTerms
    time_zone: str | None = None
    marina: str | None = None
    access_times: dict[str, AccessTime] = field(default_factory=dict)
    rate_per_hour: Decimal | None = None
    currency: str = ""
    prices: dict[str, Decimal] = field(default_factory=dict)
    lead_days: dict[str, int] = field(default_factory=dict)
    usual_lead_days: int = 7
    usual_labour_tenths: int = 5
    plan_days: int = 60
    ride_along_days: int = 90
    remind_again_days: int = REMIND_AGAIN_DAYS
    seasons: tuple[YearlySeason, ...] = ()
    mail: MailSetup | None = None


def shop_from_toml(name: str, text: str) -> tuple[ShopSetup | None, list[str]]:
    """The shop that a TOML text describes, and what is wrong with it; with problems there is no shop.

    `name` is the stem of the file, which is always `shop`.
    """
    top, problems = read_toml(text)
    if top is None:
        return None, problems
    if name != THE_NAME:
        problems.append(f"a log is of one shop: call its file {THE_NAME}.toml, not {name}.toml")
    week = _week(top) or _no_week()
    places = [_place(table, BAY, week) for table in top.tables("bay")]
    places += [_place(table, AFLOAT, week) for table in top.tables("berth")]
    technicians = _alike([_technician(table, week) for table in top.tables("technician")])
    accesses = top.tables("access")
    parts = top.tables("part")
    setup = ShopSetup(
        name=top.text("name", needed=True) or "",
        marina=top.text("marina"),
        revision=top.whole("revision", 1, needed=True) or 1,
        time_zone=_time_zone(top),
        shop=Shop(
            technicians=tuple(technicians),
            places=tuple(places),
            lifts_per_day=top.whole("lifts_per_day", 0),
            closures=tuple(_closure(table) for table in top.tables("closure")),
        ),
        terms=RequestTerms(
            consequence_points=_points(top.table("consequence_points")),
            usual_points=_or(top.whole("usual_consequence_points", 0), USUAL_CONSEQUENCE_POINTS),
            skills_by_item=_skills(top.tables("skill"), technicians),
            places_by_access=_places_by_access(accesses),
            lifts=_or(top.whole("lifts_per_visit", 0), 0),
        ),
        access_times=_access_times(accesses),
        rate_per_hour=top.number("rate_per_hour", "an amount of money, 0 or more", lambda v: v >= 0),
        currency=top.text("currency") or "",
        **_part_terms(parts),
        usual_lead_days=_or(top.whole("usual_lead_days", 0, MOST_DAYS), 7),
        usual_labour_tenths=_tenths(top, "usual_labour_hours") or 5,
        plan_days=_or(top.whole("plan_days", 1, MOST_PLAN_DAYS), 60),
        ride_along_days=_or(top.whole("ride_along_days", 0, MOST_DAYS), 90),
        remind_again_days=_or(top.whole("remind_again_days", 0, MOST_DAYS), REMIND_AGAIN_DAYS),
        seasons=tuple(_season(table) for table in top.tables("season")),
        mail=_mail(top.table("mail")),
    )
    for table in (*accesses, *parts):
        table.refuse_the_rest()
    top.refuse_the_rest()
    for what, names in (
        ("technician", [t.name for t in setup.shop.technicians]),
        ("bay or berth", [p.name for p in setup.shop.places]),
    ):
        for twice in sorted({n for n in names if n and names.count(n) > 1}):
            problems.append(f"{what} {twice!r}: each has a name of its own; it stands twice")
    return (None if problems else setup), problems


def _or(value: int | None, other: int) -> int:
    return other if value is None else value


def _no_week() -> Week:
    return (None,) * 7


def _time_zone(top: TomlTable) -> str | None:
    name = top.text("time_zone")
    if name is None:
        return None
    try:
        ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        top.wrong("time_zone", "a time zone of the IANA database, such as Etc/UTC")
    return name


def _week(table: TomlTable) -> Week | None:
    """Working time by weekday: `hours = { mon = "08:00-16:30", fri = "08:00-12:00" }`; None without."""
    hours = table.table("hours")
    if hours is None:
        return None
    week: list[ClockSpan | None] = []
    for weekday in WEEKDAYS:
        text = hours.text(weekday)
        span = None if text is None else _span(text)
        if text is not None and span is None:
            hours.wrong(weekday, 'times of a day such as "08:00-16:30"')
        week.append(span)
    hours.refuse_the_rest()
    return tuple(week)


def _span(text: str) -> ClockSpan | None:
    start, dash, end = text.partition("-")
    try:
        span = ClockSpan(clock_from_text(start), clock_from_text(end))
    except ValueError:
        return None
    return span if dash and span.from_tenths < span.to_tenths else None


def _dates(table: TomlTable) -> DateSpan:
    """The days from `from` to `to` (the same where it is missing), as TOML's own dates."""
    from_on, to_on = table.day("from"), table.day("to")
    if from_on is None:
        table.wrong("from", "a day, such as 2026-12-24, without quotes")
    if from_on is not None and to_on is not None and to_on < from_on:
        table.wrong("to", f"a day from {from_on} on")
    return DateSpan(from_on or date.min, to_on or from_on or date.min)


def _spans(tables: list[TomlTable]) -> tuple[DateSpan, ...]:
    found = []
    for table in tables:
        found.append(_dates(table))
        table.refuse_the_rest()
    return tuple(found)


def _technician(table: TomlTable, week: Week) -> Technician:
    technician = Technician(
        table.text("name", needed=True) or "",
        frozenset(table.texts("skills")),
        _week(table) or week,
        _spans(table.tables("away")),
    )
    table.refuse_the_rest()
    return technician


def _alike(technicians: list[Technician]) -> list[Technician]:
    """The technicians with each skill spelled in one way, however it is written."""
    spelled = {name_key(skill): skill for person in technicians for skill in sorted(person.skills)}
    return [replace(t, skills=frozenset(spelled[name_key(skill)] for skill in t.skills)) for t in technicians]


def _place(table: TomlTable, kind: str, week: Week) -> Place:
    place = Place(
        table.text("name", needed=True) or "",
        kind,
        _week(table) or week,
        _spans(table.tables("closed")),
    )
    table.refuse_the_rest()
    return place


def _closure(table: TomlTable) -> Closure:
    closure = Closure(_dates(table), table.text("why") or "closed")
    table.refuse_the_rest()
    return closure


def _points(table: TomlTable | None) -> dict[str, int]:
    return {} if table is None else {name_key(key): _or(table.whole(key, 0), 0) for key in table.values}


def _skills(tables: list[TomlTable], technicians: list[Technician]) -> dict[str, frozenset[str]]:
    """What jobs on an item need: `items` and the skills they `need`, spelled as the technicians have them."""
    spelled = {name_key(skill): skill for person in technicians for skill in person.skills}
    needed: dict[str, frozenset[str]] = {}
    for table in tables:
        skills = frozenset(spelled.get(name_key(skill), skill) for skill in table.texts("needs"))
        if not skills:
            table.wrong("needs", "the skills that the work needs")
        for item in table.texts("items"):
            needed[name_key(item)] = needed.get(name_key(item), frozenset()) | skills
        table.refuse_the_rest()
    return needed


def _places_by_access(tables: list[TomlTable]) -> dict[str | None, frozenset[str]]:
    """Where a strip-down can be done, where it is said: `at = ["bay", "afloat"]`; `none` is no access."""
    found: dict[str | None, frozenset[str]] = {}
    for table in tables:
        kinds = table.texts("at", (BAY, AFLOAT))
        name = table.values.get("name")
        if kinds and isinstance(name, str):
            found[name_key(name)] = frozenset(kinds)
            if name_key(name) == "none":
                found[None] = frozenset(kinds)
    return found


def _access_times(tables: list[TomlTable]) -> dict[str, AccessTime]:
    found = {}
    for table in tables:
        name = table.text("name", needed=True)
        time = AccessTime(_tenths(table, "hours") or 0, table.texts("includes"))
        if name is not None and name_key(name) != "none":
            found[name_key(name)] = time
    return found


def _tenths(table: TomlTable, key: str) -> int | None:
    hours = table.number(
        key, "hours with at most one decimal, 0 or more", lambda v: v >= 0 and v * 10 % 1 == 0
    )
    return None if hours is None else int(hours * 10)


def _part_terms(tables: list[TomlTable]) -> dict[str, Any]:
    """Prices and lead times by part number."""
    prices: dict[str, Decimal] = {}
    lead_days: dict[str, int] = {}
    for table in tables:
        number = table.text("number", needed=True) or ""
        price = table.number("price", "an amount of money, 0 or more", lambda v: v >= 0)
        if price is not None:
            prices[number] = Decimal(price)
        lead = table.whole("lead_days", 0, MOST_DAYS)
        if lead is not None:
            lead_days[number] = lead
    return {"prices": prices, "lead_days": lead_days}


def _season(table: TomlTable) -> YearlySeason:
    season = YearlySeason(
        table.word("use", USES, needed=True) or USES[0],
        _month_day(table, "from"),
        _month_day(table, "to"),
    )
    table.refuse_the_rest()
    return season


def _month_day(table: TomlTable, key: str) -> tuple[int, int]:
    text = table.text(key, needed=True)
    try:
        day = date.fromisoformat(f"2001-{text}")  # a year without 29 February: it must be there every year
    except ValueError:
        if text is not None:
            table.wrong(key, 'a month and day of every year, such as "05-15"')
        return 1, 1
    return day.month, day.day


def _mail(table: TomlTable | None) -> MailSetup | None:
    if table is None:
        return None
    if "password" in table.values:
        table.problems.append(
            f"{table.place('password')}: no secret stands here; put it into FLEETLOG_SMTP_PASSWORD"
        )
        table.values = {key: value for key, value in table.values.items() if key != "password"}
    sender = table.text("from", needed=True) or ""
    if sender and ("@" not in sender or not sender.isascii() or any(c.isspace() for c in sender)):
        table.wrong("from", "an e-mail address")
    setup = MailSetup(
        sender,
        table.text("smtp_host"),
        _or(table.whole("smtp_port", 1), 587),
        table.word("security", SECURITIES) or "starttls",
        table.text("user"),
    )
    table.refuse_the_rest()
    return setup
