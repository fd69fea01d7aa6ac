"""What the demo marina's shop writes down: visits, the work done at them, breakdowns and readings."""

from __future__ import annotations

from datetime import date
from typing import Any

from fleetlog.domain.schedule import Rule
from fleetlog.domain.words import DONE_AS
from tests.demo.engines import DemoEngine
from tests.demo.journal import Journal, Row, hours_cell
from tests.demo.marina import TECHNICIANS, boat_id

NOTES: dict[str, tuple[str, ...]] = {
    "engine oil and filter": ("level right after a run", "filter cut open, nothing in it", "", "", ""),
    "engine oil": ("", "", "level right, warm"),
    "gear oil": (
        "clean", "no water in it", "slightly milky, seals held pressure", "", "grey paste on the magnet",
    ),
    "water pump impeller": ("vanes whole, housing smooth", "new O-ring, greased", "wear plate turned"),
    "timing belt, replace": ("marks seen again after two turns by hand", "old one sound but at its limit"),
    "timing belt": ("no cracks, teeth sound, edges straight", "dry, no glazing", "tracks evenly"),
    "belt tensioner": ("turned freely, renewed with the belt", ""),
    "cam sprocket": ("teeth clean, bolt tight", "no wear to feel"),
    "flywheel": ("key and slot sharp, nut tight", ""),
    "spark plugs": ("gaps as they should be, colour even", "one a little sooty", ""),
    "fuel filter": ("clean", "a spoonful of water in the bowl", ""),
    "thermostat": ("opens in the pot at the right heat", "salt scraped off the seat"),
    "propeller shaft seals": ("shaft polished where the lip runs", "fishing line behind the propeller"),
    "steering linkage": ("greased, no play", "a little stiff, greased twice", ""),
    "starter rope": ("a few strands worn, shortened", "sound", ""),
    "cylinder fogging": ("", ""),
    "lay-up flush": ("ten minutes at idle, fresh water", "stabiliser by the tank's volume"),
    "winter treatment": ("", "tank drained, plugs oiled"),
    "launch check": ("tell-tale strong, kill cord stops it", "battery charged over night", "", ""),
    "valve clearance": ("two exhaust valves tight, set", "all within"),
}  # fmt: skip

BREAKDOWNS: tuple[tuple[str, str, str, str, str], ...] = (
    # item, complaint, cause, correction, families in which it happens
    ("fuel filter", "Engine dies above idle, starts again after a while. Towed in.",
     "Filter bowl full of water and rust from the tank.", "Filter renewed, tank drained, lines cleared.",
     "all"),
    ("spark plugs", "Runs rough, no power to plane.",
     "One plug's insulator cracked.", "Plugs renewed as a set.", "all"),
    ("thermostat", "Overheats at idle, cool when running.", "Thermostat stuck half open.",
     "Thermostat renewed, housing cleaned.", "belt-cam"),
    ("starter rope", "Cannot be started, rope came off in the hand.", "Rope chafed through at the guide.",
     "Rope renewed, guide smoothed.", "twin 20"),
    ("propeller shaft seals", "Milky gear oil seen at the dock.", "Fishing line had cut the outer seal.",
     "Seals renewed, gear oil flushed twice.", "all"),
    ("steering linkage", "Wheel hard to turn to port.", "Tilt tube dry and corroded.",
     "Linkage renewed and greased.", "belt-cam"),
)  # fmt: skip


LOOKED_OVER = ("timing belt", "belt tensioner", "steering linkage")
"""Work that a second person checks."""


class Shop:
    """Writes visits into a journal and keeps each engine's own memory in step with it."""

    def __init__(self, journal: Journal) -> None:
        self.journal = journal

    def visit(self, boat: int | None, opened_on: date, why: str, **cells: Any) -> Row:
        """Opens a visit, closed the same day unless said otherwise (`closed_on=None`: still open)."""
        cells.setdefault("closed_on", opened_on)
        return self.journal.add(
            "visits", boat_id=boat and boat_id(boat), opened_on=opened_on, why=why, **cells
        )

    def people(self, visit: Row, engine: DemoEngine) -> tuple[str, str]:
        """Who does the work of a visit, and who looks it over where somebody else has to."""
        if "people" not in visit:
            first = int(engine.chance.random() * len(TECHNICIANS))
            second = (first + 1 + int(engine.chance.random() * 2)) % len(TECHNICIANS)
            visit["people"] = TECHNICIANS[first], TECHNICIANS[second]
        one, other = visit["people"]
        return one, other

    def entry(
        self, visit: Row, engine: DemoEngine, on: date, action: str, item: str | None, **cells: Any
    ) -> Row:
        """One entry, with what the hour meter shows, and the engine's memory of it."""
        if "by" not in cells:
            cells["by"], other = self.people(visit, engine)
            if item in LOOKED_OVER:
                cells.setdefault("checked_by", other)
        meter = engine.meter()
        cells.setdefault("meter", None if meter is None else hours_cell(meter))
        row = self.journal.add(
            "entries", visit=visit, serial=engine.serial, on=on, action=action, item=item, **cells
        )
        if item is not None and cells.get("scope") is None:
            engine.record(action, item, cells.get("position"), on)
            if action == "fitted" and item == "water pump impeller":
                engine.fit_impeller()
        return row

    def do_rule(
        self, visit: Row, engine: DemoEngine, on: date, rule: Rule, position: str | None, **cells: Any
    ) -> Row:
        """The work of one rule at one position, as a technician writes it."""
        notes = NOTES.get(f"{rule.item}, {rule.action}") or NOTES.get(rule.item, ("",))
        cells.setdefault("note", notes[int(engine.chance.random() * len(notes))] or None)
        if position is not None:
            cells["position"] = position
        if rule.item == "anode":
            return self._anode(visit, engine, on, rule, position, cells)
        action = DONE_AS[rule.action]
        if action == "fitted":
            cells.setdefault("part_number", part_number(rule, on))
            cells.setdefault("lot", lot(rule, on))
            if rule.key == "impeller-replace" and "reason" not in cells and engine.impeller_worn:
                cells |= {"reason": "worn", "note": "vanes set and cracked at the root, renewed in time"}
        return self.entry(visit, engine, on, action, rule.item, **cells)

    def _anode(
        self, visit: Row, engine: DemoEngine, on: date, rule: Rule, position: str | None, cells: Row
    ) -> Row:
        last = engine.lines[rule.key, position].base_on or on
        yearly = {"salt": 24, "brackish": 17, "fresh": 9}[engine.water]
        left = engine.anode_left.get(position, 100.0)
        left -= yearly * (on - last).days / 365 * engine.chance.uniform(0.6, 1.4)
        left = max(left, 15.0)
        if left <= 52:
            engine.anode_left[position] = 100.0
            cells |= {"part_number": part_number(rule, on), "lot": lot(rule, on), "reason": "worn",
                      "note": f"about {5 * round(left / 5)} % of the old one left"}  # fmt: skip
            return self.entry(visit, engine, on, "fitted", rule.item, **cells)
        engine.anode_left[position] = left
        cells |= {"measured": 5 * round(left / 5), "unit": "% left", "note": None}
        return self.entry(visit, engine, on, "inspected", rule.item, **cells)

    def season(self, visit: Row, engines: list[DemoEngine], on: date, season: str) -> None:
        """What the schedule asks for before lay-up, or before launch."""
        for engine in engines:
            for rule in engine.schedule.rules:
                if rule.season == season:
                    self.do_rule(visit, engine, on, rule, None)

    def work(
        self,
        visit: Row,
        engines: list[DemoEngine],
        on: date,
        by: date,
        tenths_ahead: int,
        without: set[str] | None = None,
    ) -> int:
        """Everything that is owed by a day or within so many tenths of an hour; returns how many jobs."""
        jobs = 0
        for engine in engines:
            for rule, position in engine.owed(by, tenths_ahead, on):
                if without and rule.key in without:
                    continue
                line = engine.lines[rule.key, position]
                if line.base_on == on:  # done a moment ago by a job that renews it
                    continue
                self.do_rule(visit, engine, on, rule, position)
                jobs += 1
        return jobs

    def impeller_failed(self, boat: int, engine: DemoEngine, on: date) -> None:
        """A tow, because the water pump's impeller gave out."""
        sidewise = f" ({engine.position} engine)" if engine.position else ""
        visit = self.visit(
            boat, on, "breakdown",
            complaint=f"Overheat alarm, no water from the tell-tale{sidewise}. Towed in.",
            cause="Water pump impeller had lost its vanes.",
            correction="Impeller renewed, pieces flushed out of the cooling passages, run up to heat.",
        )  # fmt: skip
        rule = engine.schedule.rule("impeller-replace")
        assert rule is not None
        self.do_rule(
            visit, engine, on, rule, None, reason="failed", note="four vanes missing, all pieces found"
        )
        thermostat = engine.schedule.rule("thermostat-inspect")
        assert thermostat is not None
        for position in thermostat.lines():
            self.do_rule(visit, engine, on, thermostat, position, note="piece of vane taken out, opens right")

    def other_breakdown(self, boat: int, engine: DemoEngine, on: date) -> None:
        """One of the usual troubles, with what the owner said, what it was and what was done."""
        fitting = [b for b in BREAKDOWNS if b[4] == "all" or b[4] in engine.family]
        item, complaint, cause, correction, _ = fitting[int(engine.chance.random() * len(fitting))]
        visit = self.visit(boat, on, "breakdown", complaint=complaint, cause=cause, correction=correction)
        rule = next(engine.schedule.rules_for(item))
        position = rule.lines()[int(engine.chance.random() * len(rule.lines()))]
        place = {} if position is None else {"position": position}
        self.entry(visit, engine, on, "fitted", item, reason="failed", note=cause, **place,
                   part_number=part_number(rule, on), lot=lot(rule, on))  # fmt: skip
        if item == "propeller shaft seals":
            oil = engine.schedule.rule("gear-oil-replace")
            assert oil is not None
            self.do_rule(visit, engine, on, oil, None, note="flushed twice, clean after")

    def reading(self, engine: DemoEngine, on: date, source: str, by: str | None, **cells: Any) -> None:
        """What the meter showed, as somebody told it."""
        meter = engine.meter()
        if meter is not None:
            cells.setdefault("meter", hours_cell(meter))
            self.journal.add("readings", serial=engine.serial, on=on, source=source, by=by, **cells)


def part_number(rule: Rule, on: date) -> str | None:
    """The part that the job uses up; impellers had a number without the letter until the end of 2022."""
    if not rule.parts:
        return None
    number = rule.parts[-1 if "oil" in rule.item and "filter" in rule.item else 0].number
    return number.removesuffix("A") if rule.item == "water pump impeller" and on.year < 2023 else number


def lot(rule: Rule, on: date) -> str | None:
    """The lot that was on the shelf then: one each quarter for what comes in boxes."""
    if rule.item in ("water pump impeller", "timing belt", "belt tensioner", "anode", "thermostat"):
        return f"{on.year % 100:02d}Q{(on.month + 2) // 3}"
    return None
