"""Hard cases of the demo marina that turn on an engine: how it joined, its meter, where it went."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

from fleetlog.domain.months import whole_months_between
from tests.demo.engines import DemoEngine
from tests.demo.journal import hours_cell
from tests.demo.marina import TWIN, V6, boat_id, owner_id
from tests.demo.simulation import Marina

ILSE, TOMASZ, FEMKE = "Ilse Darrow", "Tomasz Brinkel", "Femke Aldous"


def plan_engine_cases(marina: Marina) -> None:
    """Puts each of these cases on its day."""
    _joined_engines(marina)
    _used_parts(marina)
    _meters(marina)
    _readings_in_doubt(marina)
    _moves(marina)


def _joined_engines(marina: Marina) -> None:
    # VK6-19872 (Plan Bravo) joined used, without records and without an in-service date: what was not
    # done at joining has no record.
    unknown = marina.engine("VK6-19872")
    unknown.in_service_on = None
    for line in unknown.lines.values():
        line.base_on = None
    unknown.held_back = {
        "timing-belt-inspect",
        "timing-belt-replace",
        "belt-tensioner-replace",
        "cam-sprocket-inspect",
        "flywheel-inspect",
        "thermostat-inspect",
        "propeller-shaft-seals-replace",
    }
    # ML4-0031 (@ Anchor) joined used, in service since a known day: what ran past its limit has no record.
    marina.engine("ML4-0031").held_back = {"timing-belt-replace", "propeller-shaft-seals-replace"}
    # T2/0458 (Wet Paint's auxiliary) has no hour meter; nor have T2/0441 (Duckling), T2/0563 (Spare Rib).
    for engine in (
        marina.engine("T2/0458"),
        *marina.boat("Duckling").engines,
        *marina.boat("Spare Rib").engines,
    ):
        engine.metered = False
    # ML4-0207 (Quatre Marées) joined with 31 h more than its twin ML4-0206.
    marina.engine("ML4-0207").tenths = marina.engine("ML4-0206").tenths + 310
    # VK6-21266 (Second Wind IV) is of a family of its own and says which schedule holds.
    special = marina.engine("VK6-21266")
    special.named_schedule, special.family = V6, "V6 belt-cam, counter-rotating"


def _used_parts(marina: Marina) -> None:
    shop = marina.shop

    def used_belt(day: date) -> None:
        # ML4-0093 (Wet Paint): a belt fitted used, its age stated.
        engine = marina.engine("ML4-0093")
        visit = shop.visit(
            engine.boat,
            day,
            "breakdown",
            complaint="Rattle under the cowl after a rope was caught in the flywheel.",
            cause="Belt edge torn by a strand of rope.",
            correction="Good used belt fitted to get him home, marks checked over two full turns by hand.",
            advised="A new belt before next season: owner will think about it.",
        )
        shop.entry(
            visit,
            engine,
            day,
            "fitted",
            "timing belt",
            condition="used",
            prior_hours="310.0",
            prior_months=22,
            reason="failed",
            part_number="NV-3101",
            note="from the shelf, its papers say 310 h and 22 months",
            by=ILSE,
            checked_by=FEMKE,
        )

    def tensioner_of_unknown_age(day: date) -> None:
        # VK6-20391 (Nachtreiher): a used tensioner of which nobody knows the age.
        engine = marina.engine("VK6-20391")
        visit = shop.visit(
            engine.boat,
            day,
            "breakdown",
            complaint="Squeal when cold.",
            cause="Tensioner bearing dry.",
            correction="Used tensioner fitted, new one not to be had.",
        )
        shop.entry(
            visit,
            engine,
            day,
            "fitted",
            "belt tensioner",
            condition="used",
            reason="worn",
            note="out of the box of good used parts, age not known",
            by=TOMASZ,
            checked_by=ILSE,
        )
        engine.held_back.add("belt-tensioner-replace")

    def starter_comes_off(day: date) -> None:
        # VK6-18114: scrapped, its starter motor goes on to VK6-20417.
        donor = marina.engine("VK6-18114")
        visit = shop.visit(
            donor.boat, day, "booked service", note="Stripped for parts, then scrapped: bores scored."
        )
        shop.entry(visit, donor, day, "removed", "starter motor", reason="transferred", by=TOMASZ)

    def starter_goes_on(day: date) -> None:
        donor, engine = marina.engine("VK6-18114"), marina.engine("VK6-20417")
        assert donor.in_service_on is not None
        visit = shop.visit(
            engine.boat,
            day,
            "breakdown",
            complaint="Starter only clicks.",
            cause="Starter motor's brushes worn down.",
            correction="Starter motor of VK6-18114 fitted.",
        )
        shop.entry(
            visit,
            engine,
            day,
            "fitted",
            "starter motor",
            condition="used",
            from_serial=donor.serial,
            prior_hours=hours_cell(donor.tenths),
            reason="failed",
            by=TOMASZ,
            prior_months=whole_months_between(donor.in_service_on, date(2023, 3, 21)),
        )

    marina.at("2023-08-14", used_belt)
    marina.at("2024-07-09", tensioner_of_unknown_age)
    marina.at("2023-03-21", starter_comes_off)
    marina.at("2023-04-11", starter_goes_on)


def _meters(marina: Marina) -> None:
    def replaced(serial: str, reads: int, cause: str, reason: str, by: str) -> Callable[[date], None]:
        def happen(day: date) -> None:
            engine = marina.engine(serial)
            engine.meter_base = (engine.tenths, reads)
            marina.journal.add(
                "meters",
                serial=serial,
                fitted_on=day,
                meter_reads=hours_cell(reads),
                engine_hours=hours_cell(engine.tenths),
                reason=reason,
            )
            visit = marina.shop.visit(
                engine.boat, day, "breakdown", complaint="Hour meter dead.", cause=cause, correction=reason
            )
            marina.shop.entry(visit, engine, day, "fitted", "hour meter", reason="failed", note=reason, by=by)

        return happen

    # VK6-20733 (Skarvik Runa, port): a new hour meter that starts at 0.
    marina.at("2023-07-18", replaced("VK6-20733", 0, "Display blank.", "new meter, from 0", FEMKE))
    # ML4-0512 (Tidewren One): a second-hand meter that shows 61.2 h already.
    marina.at(
        "2024-05-23",
        replaced(
            "ML4-0512", 612, "Water in the gauge.", "used meter fitted, it shows 61.2 h already", TOMASZ
        ),
    )


def _readings_in_doubt(marina: Marina) -> None:
    def told(
        serial: str,
        figure: Callable[[int], int],
        source: str,
        by: str | None = None,
        status: str | None = None,
    ) -> Callable[[date], None]:
        def happen(day: date) -> None:
            engine = marina.engine(serial)
            meter = engine.meter()
            assert meter is not None
            marina.shop.reading(engine, day, source, by, meter=hours_cell(figure(meter)), status=status)

        return happen

    def swapped(day: date) -> None:
        # ML4-0206 and ML4-0207 (Quatre Marées): the owner named port and starboard the wrong way round.
        one, other = marina.engine("ML4-0206"), marina.engine("ML4-0207")
        for engine, figure in ((one, other.meter()), (other, one.meter())):
            assert figure is not None
            marina.shop.reading(
                engine, day, "owner, e-mail", FEMKE, meter=hours_cell(figure), status="withdrawn"
            )
            marina.shop.reading(engine, day, "owner, e-mail, asked again", FEMKE)

    # ML4-0513 (Tidewren Two): a digit was lost, the figure lies below the last one and is held.
    marina.at("2025-08-20", told("ML4-0513", lambda m: m // 100 * 10, "hire desk", "Tidewren desk"))
    # ML4-0512 (Tidewren One): the point was lost, the figure is more than 24 h a day and is held.
    marina.at("2026-04-09", told("ML4-0512", lambda m: m * 10, "hire desk", "Tidewren desk"))
    marina.at("2025-07-23", swapped)
    # VK6-21266 (Second Wind IV): too high by 30 h and withdrawn later; the next one was looked at twice
    # and confirmed.
    marina.at("2024-06-20", told("VK6-21266", lambda m: m + 300, "owner, phone", ILSE, "withdrawn"))
    marina.at("2024-07-04", told("VK6-21266", lambda m: m, "read at the berth, twice", ILSE, "confirmed"))


def _moves(marina: Marina) -> None:
    add = marina.journal.add

    def repower(day: date) -> None:
        # VK6-20388 goes from Marlinspike Hall to Old Argument, another boat of another owner, in place of
        # VK6-18114, which is scrapped; Marlinspike Hall gets VK6-21140, new.
        hall, argument = marina.boat("Marlinspike Hall"), marina.boat("Old Argument")
        moved, scrapped = hall.engines[0], argument.engines[0]
        add("mounts", serial=moved.serial, boat_id=boat_id(hall.number), from_on=hall.joined_on, to_on=day)
        add("mounts", serial=moved.serial, boat_id=boat_id(argument.number), from_on=day + timedelta(days=3))
        add(
            "mounts",
            serial=scrapped.serial,
            boat_id=boat_id(argument.number),
            from_on=argument.joined_on,
            to_on=day,
        )
        scrapped.boat, scrapped.state = None, "scrapped"
        moved.boat = argument.number
        argument.engines = [moved]
        visit = marina.shop.visit(
            argument.number,
            day,
            "booked service",
            closed_on=day + timedelta(days=4),
            note="Engine of Marlinspike Hall taken over, rigging and controls renewed.",
        )
        marina.shop.entry(
            visit,
            moved,
            day,
            "inspected",
            "steering linkage",
            note="new cable, checked lock to lock",
            by=ILSE,
            checked_by=TOMASZ,
        )
        new = DemoEngine(
            serial="VK6-21140",
            family=V6,
            schedule=marina.schedules[V6],
            in_service_on=day,
            from_new=True,
            joined_on=day,
            tenths=0,
            position=None,
            model="NV 250",
            model_year=2022,
            water="salt",
            boat=hall.number,
        )
        hall.engines = [new]
        marina.engines.append(new)
        marina.shop.reading(new, day, "handed over new", None)
        add("mounts", serial=new.serial, boat_id=boat_id(hall.number), from_on=day)

    def auxiliary_sold(day: date) -> None:
        # T2/0613 (Corvina's auxiliary) is sold out of the marina.
        corvina = marina.boat("Corvina")
        sold = corvina.engines.pop()
        add(
            "mounts",
            serial=sold.serial,
            boat_id=boat_id(corvina.number),
            position="auxiliary",
            from_on=corvina.joined_on,
            to_on=day,
        )
        sold.boat, sold.state, sold.position = None, "sold", None

    def shop_engine(day: date) -> None:
        # T2/0777: the shop's own, on the stand, of no boat: laid by.
        engine = DemoEngine(
            serial="T2/0777",
            family=TWIN,
            schedule=marina.schedules[TWIN],
            in_service_on=date(2020, 6, 15),
            from_new=False,
            joined_on=day,
            tenths=1430,
            position=None,
            model="P 20 S",
            model_year=2020,
            water="fresh",
            state="laid by",
        )
        marina.engines.append(engine)
        visit = marina.shop.visit(
            None, day, "booked service", note="Taken in part exchange, put on the stand."
        )
        marina.shop.work(visit, [engine], day, day + timedelta(days=400), 500)

    marina.at("2023-03-27", repower)
    marina.at("2025-09-30", auxiliary_sold)
    marina.at("2025-11-05", shop_engine)
    # Wet Paint (ML4-0093, T2/0458) was sold by its owner, who left, to another.
    wet_paint = marina.boat("Wet Paint")
    add("ownership", boat_id=boat_id(wet_paint.number), owner_id=owner_id(41), from_on=wet_paint.joined_on)
    add("ownership", boat_id=boat_id(wet_paint.number), owner_id=owner_id(14), from_on=date(2024, 6, 8))
