"""A small marina made by hand, standing on one day, for tests of pages: facts that can be looked up below."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from fleetlog.domain.due import engine_limits
from fleetlog.domain.fleet import EngineState, FleetState
from fleetlog.domain.ledger import BoatLedger, EngineLedger
from fleetlog.domain.records import (
    Boat,
    Deferral,
    Engine,
    Entry,
    Layup,
    Meter,
    Mount,
    Owner,
    Ownership,
    Reading,
    Visit,
    Void,
)
from fleetlog.domain.satisfaction import seen_on
from fleetlog.domain.schedule import Schedule
from fleetlog.domain.schedule_text import schedule_from_toml
from fleetlog.domain.usage import DateWindow, HoursTarget, YearAhead
from fleetlog.life.answer import LifeAnswer
from fleetlog.reports.context import ReportContext
from fleetlog.reports.rendering import paths_in_order, render_front, render_lives, render_part
from fleetlog.reports.writing import set_down, staging, write_reports
from tests.domain.lines import due_lines

TODAY = date(2026, 4, 15)
CONTEXT = ReportContext("Quarry Pool Boatyard", "9.9.9", "hours@quarrypool.example", "at the counter")

TOML = """
name = "Two-bank four-stroke"
revision = 4
note = "Invented figures."

[[rule]]
key = "belt"
title = "Replace timing belt"
item = "timing belt"
action = "replace"
every = { hours = 1000, months = 60 }
severe = { salt = 0.8 }
reset_by = ["powerhead"]
assembly = "powerhead"
access = "flywheel off"
consequence = "engine damage"

[[rule]]
key = "oil"
title = "Change engine oil"
item = "engine oil"
action = "replace"
every = { hours = 100, months = 12 }
consequence = "engine damage"

[[rule]]
key = "impeller"
title = "Replace water pump impeller"
item = "water pump impeller"
action = "replace"
every = { hours = 200 }
consequence = "overheating and a tow"

[[rule]]
key = "gasket"
title = "Renew cam cover gasket"
item = "cam cover gasket"
action = "replace"
positions = ["bank 1", "bank 2"]
renew_when_disturbed = true

[[rule]]
key = "launch"
title = "Check before launch"
item = "launch check"
action = "inspect"
season = "before launch"
"""


def schedule(toml: str = TOML) -> Schedule:
    """The schedule of a TOML text."""
    made, problems = schedule_from_toml("two-bank", toml)
    assert made is not None, problems
    return made


@dataclass(frozen=True)
class SteadyUse:
    """A forecast that runs so many tenths of an hour each day; early and late lie `spread` days about it."""

    start: date
    shown_tenths: int
    tenths_a_day: int = 5
    spread_days: int = 20

    def windows(self, targets: Sequence[HoursTarget]) -> list[DateWindow]:
        return [self._window(target) for target in targets]

    def _window(self, target: HoursTarget) -> DateWindow:
        from_on, base = (target.since, 0) if target.since else (self.start, self.shown_tenths)
        days = -(-int(target.tenths - base) // self.tenths_a_day)
        likely = from_on + timedelta(days=max(days, 1))
        spread = timedelta(days=self.spread_days)
        return DateWindow(max(likely - spread, from_on), likely, likely + spread)

    def ahead(self) -> YearAhead:
        """Of today, of twelve months, and of thirty levels up to 900 h."""
        today = self.shown_tenths + self.tenths_a_day * (TODAY - self.start).days
        levels = [self.shown_tenths + 10 * n * n for n in range(1, 31)]
        windows = self.windows([HoursTarget(tenths) for tenths in levels])
        return YearAhead(
            (today - 20, today, today + 20),
            [(date(2026 + (3 + n) // 12, (3 + n) % 12 + 1, 1), 15.0) for n in range(12)],
            list(zip(levels, windows, strict=True)),
        )

    def basis(self) -> str:
        return "readings made by hand"


def engine_state(
    ledger: EngineLedger, rules: Schedule | None, *, tenths_a_day: int = 5, spread_days: int = 20
) -> EngineState:
    """An engine's state on the day."""
    seen = seen_on(ledger, TODAY)
    last = seen.hours.last
    start, shown = (last.on, last.tenths) if last else (TODAY, 0)
    forecast = SteadyUse(start, shown, tenths_a_day, spread_days)
    lines = due_lines(ledger, rules, TODAY, forecast) if rules else []
    facts = engine_limits(ledger, rules, TODAY).resting_on(forecast.basis()).facts
    ahead = forecast.ahead() if last else YearAhead(months=forecast.ahead().months)
    return EngineState(ledger, rules, seen, facts, lines, forecast, ahead)


def reading(serial: str, on: date, tenths: int, **more: str | None) -> Reading:
    """A reading with an id of its own."""
    return Reading(f"r-{serial}-{on}-{tenths}", serial, on, tenths, **more)  # type: ignore[arg-type]


def entry(serial: str, on: date, action: str, item: str | None = None, **more: object) -> Entry:
    """An entry with an id of its own."""
    ident = f"e-{serial}-{on}-{action}-{item}-{more.get('position')}"
    return Entry(ident, serial, on, action, item=item, **more)  # type: ignore[arg-type]


def work_at(serial: str, on: date, tenths: int | None) -> list[Entry]:
    """Belt, oil and impeller fitted on a day."""
    items = ("timing belt", "engine oil", "water pump impeller")
    return [entry(serial, on, "fitted", item, meter_tenths=tenths, by="Ida Brook") for item in items]


ADA = Owner("ada", "Ada Lindquist", "ada@lindquist.example", "555-0101", "4 Sluice Row; Quarry Pool", "email")
OTHER_ADA = Owner("ada-2", "Ada Lindquist", remind_by="post")
SILENT = Owner("silent", "Bram Teller", remind_by="none")
FORMER = Owner("former", "Zacharias Formerly", remind_by="post")
WANDA = Boat("wanda", "ada", "Wanda", water="salt", use="private")


def twin_ledger(serial: str, position: str) -> EngineLedger:
    """An engine of the twin: belt and oil of May 2023 at 150 h, last read 240.0 h in March 2026."""
    layups = (Layup("wanda", date(2025, 10, 20), date(2026, 4, 25)),)
    owned = (Ownership("wanda", "former", date(2021, 1, 1)), Ownership("wanda", "ada", date(2023, 1, 1)))
    return EngineLedger(
        Engine(
            serial,
            "Penhale",
            "TB 200",
            "two-bank",
            2021,
            date(2021, 5, 3),
            True,
            boat_id="wanda",
            position=position,
        ),
        entries=tuple(work_at(serial, date(2023, 5, 10), 1500)),
        readings=(
            reading(serial, date(2022, 8, 1), 1000, source="call", by="Zacharias Formerly"),
            reading(serial, date(2026, 3, 20), 2400, source="mail"),
        ),
        mounts=(Mount(serial, "wanda", date(2021, 5, 3), position),),
        boats={"wanda": BoatLedger(WANDA, owned, layups)},
        owners={"ada": ADA, "former": FORMER},
    )


def storied_ledger() -> EngineLedger:
    """An engine with a rebuild, a meter change, a held reading, a voided entry, a deferral, and two boats."""
    serial, boat = "TB-0007", Boat("teal", "silent", "Teal", water="fresh", use="hire")
    earlier = Boat("coot", "former", "Coot", water="fresh")
    wrong = entry(
        serial,
        date(2024, 6, 1),
        "fitted",
        "engine oil",
        meter_tenths=4000,
        by="Ida Brook",
        part_number="OIL-WRONG",
        note="wrong engine",
    )
    right = entry(serial, date(2024, 6, 2), "fitted", "engine oil", meter_tenths=4005, by="Ida Brook")
    rebuild = [
        entry(
            serial,
            date(2025, 2, 3),
            "rebuilt",
            scope="powerhead",
            visit_id="v1",
            by="Ida Brook",
            checked_by="Jon Alder",
        ),
        entry(
            serial,
            date(2025, 2, 4),
            "fitted",
            "timing belt",
            visit_id="v1",
            part_number="TB-55",
            lot="24Q4",
            by="Ida Brook",
            checked_by="Jon Alder",
        ),
        entry(
            serial,
            date(2025, 2, 4),
            "reused",
            "cam cover gasket",
            position="bank 1",
            visit_id="v1",
            note="sealant at the corners",
            by="Ida Brook",
        ),
        entry(
            serial,
            date(2025, 2, 4),
            "inspected",
            "compression",
            visit_id="v1",
            measured="11.8",
            unit="bar",
            by="Ida Brook",
        ),
    ]
    starter = entry(
        serial,
        date(2023, 3, 1),
        "fitted",
        "starter motor",
        condition="used",
        prior_tenths=5000,
        prior_months=40,
        from_serial="TB-0001",
        by="Jon Alder",
    )
    return EngineLedger(
        Engine(serial, "Penhale", "TB 150", "two-bank", 2020, date(2020, 5, 1), False, boat_id="teal"),
        entries=(starter, wrong, right, *rebuild),
        readings=(
            reading(serial, date(2023, 6, 1), 3500),
            reading(serial, date(2025, 9, 1), 500, source="counter"),
            reading(serial, date(2025, 10, 1), 90000, source="call"),
            reading(serial, date(2026, 4, 1), 900),
        ),
        meters=(Meter(serial, date(2025, 2, 10), 4500, 0, "display dead"),),
        mounts=(
            Mount(serial, "coot", date(2020, 5, 1), None, date(2022, 1, 1)),
            Mount(serial, "teal", date(2022, 1, 1)),
        ),
        voids=(
            Void(
                wrong.entry_id,
                datetime(2024, 6, 2, 9, tzinfo=UTC),
                "Jon Alder",
                "typed on the wrong one",
                right.entry_id,
            ),
        ),
        deferrals=(
            Deferral(
                "d1",
                serial,
                "oil",
                "Jon Alder",
                datetime(2026, 3, 1, 8, tzinfo=UTC),
                "in use until the regatta",
                until_on=date(2026, 5, 20),
            ),
        ),
        visits={
            "v1": Visit(
                "v1",
                "teal",
                date(2025, 2, 1),
                date(2025, 2, 6),
                "breakdown",
                "knocks",
                "bearing",
                "rebuilt powerhead",
                "new propeller",
                "carried the dowels over",
            )
        },
        boats={"teal": BoatLedger(boat), "coot": BoatLedger(earlier)},
        owners={"silent": SILENT, "former": FORMER},
    )


def small_fleet() -> FleetState:
    """Twins of one owner, an engine with a story, one without a meter, one without a schedule, one sold."""
    rules = schedule()
    dinghy = Boat("dinghy", "ada-2", "Mite", water="fresh", use="private")
    meterless = EngineLedger(
        Engine(
            "TB-0020",
            in_service_on=date(2022, 5, 1),
            logged_from_new=True,
            hour_meter=False,
            boat_id="dinghy",
        ),
        boats={"dinghy": BoatLedger(dinghy)},
        owners={"ada-2": OTHER_ADA},
    )
    bare = EngineLedger(Engine("tb/21: β", boat_id=None))
    sold = replace(meterless, engine=replace(meterless.engine, serial="TB-0022", state="sold"))
    return FleetState(
        TODAY,
        [
            engine_state(twin_ledger("TB-0010", "port"), rules),
            engine_state(twin_ledger("TB-0011", "starboard"), rules),
            engine_state(storied_ledger(), rules),
            engine_state(meterless, rules),
            engine_state(bare, None),
            engine_state(sold, rules),
        ],
    )


def write_fleet(fleet: FleetState, out: Path) -> list[Path]:
    """Writes the pages of a fleet, as one part."""
    part = render_part(fleet, CONTEXT)
    with staging(out) as folder:
        set_down(part.pages, folder)
        return write_reports([part], folder, out, CONTEXT, [], {})


def render_pages(
    fleet: FleetState,
    context: ReportContext,
    lives: Sequence[LifeAnswer] = (),
    *,
    has_backtest: bool = False,
) -> dict[str, str]:
    """Every page of a fleet that is one part, in their order."""
    part = render_part(fleet, context)
    return {
        **render_front([part], context, lives, has_backtest=has_backtest),
        **{path: part.pages[path] for path in paths_in_order([part])},
        **render_lives(lives, context, fleet.today),
    }
