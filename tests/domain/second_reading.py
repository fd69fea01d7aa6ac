"""A second, literal reading of the rules of service intervals: naive, slow, sharing no code with the first.

It answers for every rule and position what is certain on a day (dates, hours, limits, and whether the line
is overdue, without record, waiting for the next access, or open), and which readings are held. It knows
nothing of forecasts. Hours are exact fractions of an hour; comments give the rule that the code beside reads.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from dateutil.relativedelta import relativedelta

from fleetlog.domain.ledger import BoatLedger, EngineLedger
from fleetlog.domain.records import Deferral, Entry
from fleetlog.domain.schedule import Rule, Schedule
from tests.domain.second_reading_hours import Hours, HoursOfDay, hours_of

SATISFYING_ACTIONS = {
    "replace": ["fitted"],
    "inspect": ["inspected", "adjusted", "serviced", "fitted"],
    "adjust": ["adjusted", "fitted"],
    "service": ["serviced", "fitted"],
}
ORDER_OF_A_DAY = ["inspected", "removed", "fitted", "reused", "adjusted", "serviced", "rebuilt"]
OWN, BY_RENEWAL, BY_REBUILD = "own", "renewal", "rebuild"


@dataclass(frozen=True)
class Facts:
    """What is certain of one line on a day; hours are exact."""

    last_done_on: date | None
    last_done_hours: Hours | None
    due_on: date | None
    due_hours: Hours | None
    deferred_until: date | None
    deferred_until_hours: Hours | None
    state: str
    says_no_entry: bool


@dataclass(frozen=True)
class SecondReading:
    """All lines by rule and position, the last accepted reading, and the held ones (date, meter figure)."""

    lines: dict[tuple[str, str | None], Facts]
    engine_hours: Hours | None
    engine_hours_on: date | None
    held: list[tuple[date, Hours]]


def read_again(ledger: EngineLedger, schedule: Schedule, today: date) -> SecondReading:
    """The due lines' certain facts, worked out a second way."""
    return _Day(ledger, schedule, today).answer()


def alike(one: str | None, other: str | None) -> bool:
    """Names of items and positions compare without case."""
    if one is None or other is None:
        return one is other
    return one.strip().casefold() == other.strip().casefold()


def months_after(day: date, months: int) -> date:
    """Keeps the day, or takes the month's last day where that month is shorter."""
    return day + relativedelta(months=months)


class _Day(HoursOfDay):
    def __init__(self, ledger: EngineLedger, schedule: Schedule, today: date) -> None:
        super().__init__(ledger, today)
        self.schedule = schedule
        self.place_in_file = {e.entry_id: n for n, e in enumerate(ledger.entries)}
        self.boat = self.boat_today()

    # ---------------------------------------------------------------- where it stands

    def boat_today(self) -> BoatLedger | None:
        # A mount that covers the day wins (its end is exclusive); else the engine's own row holds.
        boat_id = self.engine.boat_id
        begun = None
        for mount in self.ledger.mounts:
            covers = mount.from_on <= self.today and (mount.to_on is None or self.today < mount.to_on)
            if covers and (begun is None or mount.from_on > begun):
                boat_id, begun = mount.boat_id, mount.from_on
        return None if boat_id is None else self.ledger.boats.get(boat_id)

    # ---------------------------------------------------------------- what satisfies a rule

    def covers(self, entry: Entry, position: str | None) -> bool:
        # Without a position it counts for every one; a rule without positions is satisfied at any.
        return entry.position is None or position is None or alike(entry.position, position)

    def same_visit(self, one: Entry, other: Entry) -> bool:
        # Same visit; where either has none, the same date makes them one.
        if one.visit_id is not None and other.visit_id is not None:
            return one.visit_id == other.visit_id
        return one.on == other.on

    def does_itself(self, entry: Entry, rule: Rule, position: str | None) -> bool:
        return (
            alike(entry.item, rule.item)
            and entry.action in SATISFYING_ACTIONS[rule.action]
            and self.covers(entry, position)
        )

    def resets(self, entry: Entry, rule: Rule) -> bool:
        return entry.action == "rebuilt" and entry.scope is not None and entry.scope in rule.reset_by

    def on_the_item(self, action: str, rule: Rule, position: str | None) -> list[Entry]:
        return [
            e
            for e in self.entries
            if e.action == action and alike(e.item, rule.item) and self.covers(e, position)
        ]

    def put_back(self, rule: Rule, position: str | None) -> list[Entry]:
        # Reused; or removed for access with neither fitted nor reused there in the same visit.
        reused = self.on_the_item("reused", rule, position)
        fitted = self.on_the_item("fitted", rule, position)
        only_removed = [
            e
            for e in self.on_the_item("removed", rule, position)
            if e.reason == "access"
            and not any(self.same_visit(e, o) and self.covers(o, e.position) for o in reused + fitted)
        ]
        return reused + only_removed

    def outranked_by(self, rebuild: Entry, rule: Rule, position: str | None) -> str | None:
        # Within a rebuild's visit, for rules that replace, fitted or reused there outranks it.
        if rule.action != "replace":
            return None
        if any(self.same_visit(rebuild, e) for e in self.on_the_item("fitted", rule, position)):
            return "fitted"
        if any(self.same_visit(rebuild, e) for e in self.put_back(rule, position)):
            return "reused"
        return None

    def satisfying(self, rule: Rule, position: str | None) -> list[tuple[Entry, str]]:
        """The entries that satisfy the rule there and in what manner, the latest at the end."""
        found: list[tuple[Entry, str]] = []
        for entry in self.entries:
            if self.does_itself(entry, rule, position):
                found.append((entry, OWN))
            elif self.resets(entry, rule):
                if self.outranked_by(entry, rule, position) is None:
                    found.append((entry, BY_REBUILD))
            elif self.covers(entry, position):
                # It also satisfies the rules which one that it satisfies renews, not theirs in turn.
                for renewer in self.schedule.rules:
                    if rule.key in renewer.renews and any(
                        self.does_itself(entry, renewer, p) for p in (renewer.positions or (None,))
                    ):
                        found.append((entry, BY_RENEWAL))
                        break
        found.sort(key=self.place_in_time)
        return found

    def place_in_time(self, done: tuple[Entry, str]) -> tuple[date, int, int, int]:
        # On one date a rule's own entry outranks one that renews it, either a rebuild; then the order of
        # a day; then the order of the file.
        entry, manner = done
        rank = [BY_REBUILD, BY_RENEWAL, OWN].index(manner)
        return entry.on, rank, ORDER_OF_A_DAY.index(entry.action), self.place_in_file[entry.entry_id]

    # ---------------------------------------------------------------- intervals

    def severe_factor(self, rule: Rule) -> Fraction:
        # The boat's water and use of today; the smallest factor alone; no boat, no severe use.
        if self.boat is None:
            return Fraction(1)
        boat = self.boat.boat_on(self.today)
        factors = [Fraction(f) for word, f in rule.severe if word in (boat.water, boat.use)]
        return min(factors, default=Fraction(1))

    def running_in(self, rule: Rule, position: str | None, done: list[tuple[Entry, str]]) -> bool:
        # Entries on or before the in-service date never end it.
        since = self.engine.in_service_on
        enders = [e for e, _ in done if since is None or e.on > since]
        # A rebuild outranked by reused leaves the interval where it stood; by fitted it still starts it.
        rebuilds = [
            e
            for e in self.entries
            if self.resets(e, rule) and self.outranked_by(e, rule, position) != "reused"
        ]
        if rebuilds:
            latest = max(rebuilds, key=lambda e: (e.on, self.place_in_file[e.entry_id]))
            # Since a rebuild: dated after it and not of its visit.
            return not any(e.on > latest.on and not self.same_visit(e, latest) for e in enders)
        return self.engine.logged_from_new and not enders

    def interval(self, rule: Rule, first: bool) -> tuple[Hours | None, int | None]:
        # Severe use shortens the regular interval; months down to whole ones, at least one.
        factor = self.severe_factor(rule)
        hours = None if rule.every.tenths is None else hours_of(rule.every.tenths) * factor
        months = None if rule.every.months is None else max(1, int(rule.every.months * factor))
        # A limit that `first` does not name is the regular one's, severe use included.
        if first and rule.first is not None:
            if rule.first.tenths is not None:
                hours = hours_of(rule.first.tenths)
            if rule.first.months is not None:
                months = rule.first.months
        return hours, months

    # ---------------------------------------------------------------- one line

    def passed(self, due_on: date | None, due_hours: Hours | None) -> bool:
        # Today is after the date, or the last accepted reading above the hours.
        last = self.last_reading()
        by_date = due_on is not None and self.today > due_on
        by_hours = due_hours is not None and last is not None and last.hours > due_hours
        return by_date or by_hours

    def line(self, rule: Rule, position: str | None) -> Facts | None:
        done = self.satisfying(rule, position)
        last, manner = done[-1] if done else (None, None)
        last_on = None if last is None else last.on
        last_hours = None if last is None else self.hours_at(last)
        says_no_entry = manner == BY_REBUILD and not any(
            self.same_visit(e, last) and alike(e.item, rule.item) for e in self.entries
        )

        def without_limits(state: str) -> Facts:
            return Facts(last_on, last_hours, None, None, None, None, state, says_no_entry)

        if rule.renew_when_disturbed:
            return without_limits("next access") if self.awaits_access(rule, position) else None

        due_hours: Hours | None = None
        if rule.once:
            # Not before it was issued; after it was done once since, there is no line.
            if rule.issued_on is not None and self.today < rule.issued_on:
                return None
            if any(rule.issued_on is None or e.on >= rule.issued_on for e, _ in done):
                return None
            # Work from before it was issued is not its work.
            done, last_on, last_hours, says_no_entry = [], None, None, False
            due_on = rule.by.on
            if rule.by.tenths is not None and self.engine.hour_meter:
                due_hours = hours_of(rule.by.tenths)
            # Hours that no meter shows and no in-service date lets reckon are no record.
            if due_on is None and due_hours is None and self.engine.in_service_on is None:
                return without_limits("no record")
        elif rule.season is not None:
            due_on = self.season_date(rule.season, last_on)
            if due_on is None:
                return None
        else:
            first = self.running_in(rule, position, done)
            prior_hours, prior_months = Fraction(0), 0
            base_hours = last_hours
            if last is not None:
                base_on = last.on
                if manner == OWN and rule.action == "replace":
                    # A used item with neither hours nor months stated is no record.
                    if last.condition == "used" and last.prior_tenths is None and last.prior_months is None:
                        return without_limits("no record")
                    prior_hours = hours_of(last.prior_tenths or 0)
                    prior_months = last.prior_months or 0
            else:
                # Never done: from 0 h on the in-service date; without it no record.
                if self.engine.in_service_on is None:
                    return without_limits("no record")
                base_on = self.engine.in_service_on
                base_hours = Fraction(0)
            hours, months = self.interval(rule, first)
            due_on = None if months is None else months_after(months_after(base_on, -prior_months), months)
            if hours is not None and base_hours is not None and self.engine.hour_meter:
                due_hours = base_hours - prior_hours + hours
            # One that joined used becomes no record once either limit has passed, before any deferral.
            if last is None and not self.engine.logged_from_new and self.passed(due_on, due_hours):
                return without_limits("no record")

        for found in self.findings(done):
            # The nearer of the finding's limit and the rule's; it makes one where the rule has none.
            if found.again_months is not None:
                again_on = months_after(found.on, found.again_months)
                due_on = again_on if due_on is None else min(due_on, again_on)
            found_hours = self.hours_at(found)
            if found.again_tenths is not None and found_hours is not None:
                again_hours = found_hours + hours_of(found.again_tenths)
                due_hours = again_hours if due_hours is None else min(due_hours, again_hours)

        until_on, until_hours = None, None
        deferral = self.deferral(rule, position, done)
        if deferral is not None:
            # Never brings a limit nearer, leaves alone what it does not name, makes none.
            until_on = deferral.until_on
            until_hours = None if deferral.until_tenths is None else hours_of(deferral.until_tenths)
            if due_on is not None and until_on is not None:
                due_on = max(due_on, until_on)
            if due_hours is not None and until_hours is not None:
                due_hours = max(due_hours, until_hours)

        state = "overdue" if self.passed(due_on, due_hours) else "open"
        return Facts(last_on, last_hours, due_on, due_hours, until_on, until_hours, state, says_no_entry)

    def findings(self, done: list[tuple[Entry, str]]) -> list[Entry]:
        # On the lines its own entry satisfies; ends with the next satisfying entry of another visit.
        standing = []
        for n, (entry, manner) in enumerate(done):
            named = entry.again_tenths is not None or entry.again_months is not None
            ended = any(not self.same_visit(entry, later) for later, _ in done[n + 1 :])
            if manner == OWN and named and not ended:
                standing.append(entry)
        return standing

    def deferral(self, rule: Rule, position: str | None, done: list[tuple[Entry, str]]) -> Deferral | None:
        # Seen from the date of `at`; the latest counts; without a position it holds for all.
        latest = None
        for deferral in self.ledger.deferrals:
            if (
                deferral.rule == rule.key
                and deferral.at.date() <= self.today
                and (deferral.position is None or alike(deferral.position, position))
                and (latest is None or deferral.at >= latest.at)
            ):
                latest = deferral
        # It ends with a satisfying entry dated after `at`.
        if latest is not None and any(e.on > latest.at.date() for e, _ in done):
            return None
        return latest

    def awaits_access(self, rule: Rule, position: str | None) -> bool:
        # From the moment it is put back until one is fitted there, or a later rebuild resets it (one that
        # nothing of its visit outranks). An access removal stands, in the order of a day, where reused does,
        # and so after fitted.
        fitted = self.on_the_item("fitted", rule, position)
        rebuilds = [
            e for e in self.entries if self.resets(e, rule) and self.outranked_by(e, rule, position) is None
        ]
        return any(all(e.on <= back.on for e in fitted + rebuilds) for back in self.put_back(rule, position))

    def season_date(self, season: str, last_on: date | None) -> date | None:
        # The recorded starts or ends, plans included; where none is ahead, anniversaries of the latest.
        if self.boat is None:
            return None
        if season == "before lay-up":
            recorded = {lay.from_on for lay in self.boat.layups}
        else:
            recorded = {lay.to_on for lay in self.boat.layups if lay.to_on is not None}
        if not recorded:
            return None
        dates = sorted(recorded)
        for years in range(1, 60):
            dates.append(months_after(max(recorded), 12 * years))
        # Never done: the first on or after today. Done: the one after the one nearest to the work.
        if last_on is None:
            return next(d for d in dates if d >= self.today)
        nearest = min(dates, key=lambda d: (abs((d - last_on).days), d))
        return next(d for d in dates if d > nearest)

    def answer(self) -> SecondReading:
        last = self.last_reading()
        lines: dict[tuple[str, str | None], Facts] = {}
        # Sold, scrapped or not yet in service: no lines.
        in_service = self.engine.in_service_on is None or self.engine.in_service_on <= self.today
        if in_service and self.engine.state not in ("sold", "scrapped"):
            for rule in self.schedule.rules:
                # A rule with serial numbers holds for engines of these alone.
                if rule.serials and not any(r.covers(self.engine.serial) for r in rule.serials):
                    continue
                for position in rule.positions or (None,):
                    facts = self.line(rule, position)
                    if facts is not None:
                        lines[rule.key, position] = facts
        return SecondReading(
            lines, None if last is None else last.hours, None if last is None else last.on, self.held
        )
