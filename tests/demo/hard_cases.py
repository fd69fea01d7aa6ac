"""The cases of the demo marina that are not everyday, each on an engine that its comment names."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

from fleetlog.domain.months import whole_months_between
from tests.demo.engines import DemoEngine
from tests.demo.journal import hours_cell
from tests.demo.marina import TWIN, V6, boat_id, owner_id
from tests.demo.rebuild import plan_rebuild
from tests.demo.simulation import Marina

ILSE, TOMASZ, FEMKE = "Ilse Darrow", "Tomasz Brinkel", "Femke Aldous"


def plan_hard_cases(marina: Marina) -> None:
    """Puts every hard case on its day."""
    _joined_engines(marina)
    plan_rebuild(marina)
    _used_parts(marina)
    _meters(marina)
    _readings_in_doubt(marina)
    _moves(marina)
    _second_thoughts(marina)
    _findings(marina)
    _winters(marina)


def _joined_engines(marina: Marina) -> None:
    # VK6-19872 (Plan Bravo) joined used, without records and without an in-service date: what was not
    # done at joining has no record.
    unknown = marina.engine("VK6-19872")
    unknown.in_service_on = None
    for line in unknown.lines.values():
        line.base_on = None
    unknown.held_back = {
        "timing-belt-inspect", "timing-belt-replace", "belt-tensioner-replace", "cam-sprocket-inspect",
        "flywheel-inspect", "thermostat-inspect", "propeller-shaft-seals-replace",
    }  # fmt: skip
    # ML4-0031 (@ Anchor) joined used, in service since a known day: what has run past its limit has no record.
    marina.engine("ML4-0031").held_back = {"timing-belt-replace", "propeller-shaft-seals-replace"}
    # T2/0458 (Wet Paint's auxiliary) has no hour meter; nor have those of Duckling and Spare Rib.
    for engine in (
        marina.engine("T2/0458"),
        *marina.boat("Duckling").engines,
        *marina.boat("Spare Rib").engines,
    ):
        engine.metered = False
    # ML4-0207 (Quatre Saisons) joined with 31 h more than its twin ML4-0206.
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
            engine.boat, day, "breakdown", complaint="Rattle under the cowl after a rope was caught in the flywheel.",
            cause="Belt edge torn by a strand of rope.",
            correction="Good used belt fitted to get him home, marks checked over two full turns by hand.",
            advised="A new belt before next season: owner will think about it.",
        )  # fmt: skip
        shop.entry(visit, engine, day, "fitted", "timing belt", condition="used", prior_hours="310.0", prior_months=22,
                   reason="failed", part_number="NV-3101", note="from the shelf, its papers say 310 h and 22 months",
                   by=ILSE, checked_by=FEMKE)  # fmt: skip

    def tensioner_of_unknown_age(day: date) -> None:
        # VK6-20391 (Nachtreiher): a used tensioner of which nobody knows the age.
        engine = marina.engine("VK6-20391")
        visit = shop.visit(engine.boat, day, "breakdown", complaint="Squeal when cold.",
                           cause="Tensioner bearing dry.", correction="Used tensioner fitted, new one not to be had.")  # fmt: skip
        shop.entry(visit, engine, day, "fitted", "belt tensioner", condition="used", reason="worn",
                   note="out of the box of good used parts, age not known", by=TOMASZ, checked_by=ILSE)  # fmt: skip
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
        visit = shop.visit(engine.boat, day, "breakdown", complaint="Starter only clicks.",
                           cause="Starter motor's brushes worn down.", correction="Starter motor of VK6-18114 fitted.")  # fmt: skip
        shop.entry(visit, engine, day, "fitted", "starter motor", condition="used", from_serial=donor.serial,
                   prior_hours=hours_cell(donor.tenths), reason="failed", by=TOMASZ,
                   prior_months=whole_months_between(donor.in_service_on, date(2023, 3, 21)))  # fmt: skip

    marina.at("2023-08-14", used_belt)
    marina.at("2024-07-09", tensioner_of_unknown_age)
    marina.at("2023-03-21", starter_comes_off)
    marina.at("2023-04-11", starter_goes_on)


def _meters(marina: Marina) -> None:
    def replaced(serial: str, reads: int, reason: str, by: str) -> Callable[[date], None]:
        def happen(day: date) -> None:
            engine = marina.engine(serial)
            engine.meter_base = (engine.tenths, reads)
            marina.journal.add("meters", serial=serial, fitted_on=day, meter_reads=hours_cell(reads),
                               engine_hours=hours_cell(engine.tenths), reason=reason)  # fmt: skip
            visit = marina.shop.visit(
                engine.boat, day, "breakdown", complaint="Hour meter dead.", correction=reason
            )
            marina.shop.entry(visit, engine, day, "fitted", "hour meter", reason="failed", note=reason, by=by)

        return happen

    # VK6-20733 (Skarvik Runa, port): a new hour meter that starts at 0.
    marina.at("2023-07-18", replaced("VK6-20733", 0, "display blank, new meter from 0", FEMKE))
    # ML4-0512 (Tidewren One): a second-hand meter that shows 61.2 h already.
    marina.at("2024-05-23", replaced("ML4-0512", 612, "water in the gauge, used meter fitted", TOMASZ))


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
        # ML4-0206 and ML4-0207 (Quatre Saisons): the owner named port and starboard the wrong way round.
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
        visit = marina.shop.visit(argument.number, day, "booked service", closed_on=day + timedelta(days=4),
                                  note="Engine of Marlinspike Hall taken over, rigging and controls renewed.")  # fmt: skip
        marina.shop.entry(visit, moved, day, "inspected", "steering linkage", note="new cable, checked lock to lock",
                          by=ILSE, checked_by=TOMASZ)  # fmt: skip
        new = DemoEngine(serial="VK6-21140", family=V6, schedule=marina.schedules[V6], in_service_on=day, from_new=True,
                         joined_on=day, tenths=0, position=None, model="NV 250", model_year=2022, water="salt",
                         boat=hall.number)  # fmt: skip
        hall.engines = [new]
        marina.engines.append(new)
        marina.shop.reading(new, day, "handed over new", None)
        add("mounts", serial=new.serial, boat_id=boat_id(hall.number), from_on=day)

    def auxiliary_sold(day: date) -> None:
        # Corvina's auxiliary is sold out of the marina.
        corvina = marina.boat("Corvina")
        sold = corvina.engines.pop()
        add("mounts", serial=sold.serial, boat_id=boat_id(corvina.number), position="auxiliary",
            from_on=corvina.joined_on, to_on=day)  # fmt: skip
        sold.boat, sold.state, sold.position = None, "sold", None

    def shop_engine(day: date) -> None:
        # T2/0777: the shop's own, on the stand, of no boat: laid by.
        engine = DemoEngine(serial="T2/0777", family=TWIN, schedule=marina.schedules[TWIN],
                            in_service_on=date(2020, 6, 15), from_new=False, joined_on=day, tenths=1430, position=None,
                            model="P 20 S", model_year=2020, water="fresh", state="laid by")  # fmt: skip
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


def _second_thoughts(marina: Marina) -> None:
    shop, add = marina.shop, marina.journal.add

    def wrong_entry(day: date) -> None:
        # ML4-0266 (Maré Mansa): written as a new belt where it was only looked at; voided and replaced.
        engine = marina.engine("ML4-0266")
        visit = shop.visit(engine.boat, day, "survey", note="Looked over for the insurer.")
        meter = engine.meter()
        assert meter is not None
        wrong = add("entries", visit=visit, serial=engine.serial, on=day, meter=hours_cell(meter), action="fitted",
                    item="timing belt", part_number="NV-3101", by=TOMASZ)  # fmt: skip
        right = shop.entry(visit, engine, day, "inspected", "timing belt", note="no cracks, teeth sound", by=TOMASZ,
                           checked_by=FEMKE)  # fmt: skip
        add("voids", entry_id=wrong, voided_at="2024-06-19T07:52:00Z", by=FEMKE, replaced_by=right,
            reason="belt was inspected, not renewed; no belt left the shelf that week")  # fmt: skip

    def deferred(day: date) -> None:
        # Bel Indugio's port engine: the belt put off to the autumn, with the reason.
        engine = marina.boat("Bel Indugio").engines[0]
        add("deferrals", deferral_id="D-00001", serial=engine.serial, rule="timing-belt-replace",
            until_on=date(2026, 10, 31), by=ILSE, at=f"{day}T09:30:00Z",
            reason="seen and sound at 1 bar of sunlight, few hours; owner abroad until October")  # fmt: skip
        engine.held_back.add("timing-belt-replace")

    def deferred_by_hours(day: date) -> None:
        # Tidewren Six: valve clearances put off by hours until the fleet is ashore.
        engine = marina.boat("Tidewren Six").engines[0]
        add("deferrals", deferral_id="D-00002", serial=engine.serial, rule="spark-plugs-replace", by=FEMKE,
            until_hours=hours_cell(engine.tenths + 2500), until_on=date(2026, 11, 15), at=f"{day}T15:05:00Z",
            reason="plugs looked at, gaps good; together with the belt in November")  # fmt: skip
        engine.held_back.add("spark-plugs-replace")

    marina.at("2024-06-18", wrong_entry)
    marina.at("2026-03-24", deferred)
    marina.at("2026-04-02", deferred_by_hours)


def _findings(marina: Marina) -> None:
    shop = marina.shop

    def frayed(day: date) -> None:
        # VK6-20902 (Contrapunto, port): the next look at the belt is brought closer.
        engine = marina.engine("VK6-20902")
        visit = shop.visit(engine.boat, day, "booked service", closed_on=day + timedelta(days=1),
                           note="Both belts looked at, at the owner's wish.")  # fmt: skip
        shop.entry(visit, engine, day, "inspected", "timing belt", again_hours="25.0", by=ILSE, checked_by=TOMASZ,
                   note="lower edge frayed over 2 mm, pulley edge smoothed; look again in 25 h")  # fmt: skip
        engine.held_back.add("timing-belt-inspect")
        twin = marina.engine("VK6-20903")
        shop.entry(
            visit, twin, day, "inspected", "timing belt", note="edges straight", by=ILSE, checked_by=TOMASZ
        )

    def declined(day: date) -> None:
        # Pilgrim's Excuse: advised and declined.
        boat = marina.boat("Pilgrim's Excuse")
        visit = shop.visit(
            boat.number, day, "survey", note="Looked over before the insurance was renewed.",
            advised="Steering cable should be renewed before next season. Owner told on the phone, declined.",
        )  # fmt: skip
        shop.entry(visit, boat.engines[0], day, "inspected", "steering linkage", again_months=9, by=FEMKE,
                   note="cable stiff near full lock, still safe", checked_by=ILSE)  # fmt: skip

    def bulletin(day: date) -> None:
        # The Skarvik boats: a one-time look at a clamp.
        for name in ("Skarvik Runa", "Skarvik Tora", "Skarvik Liv"):
            boat = marina.boat(name)
            visit = shop.visit(
                boat.number, day, "bulletin", note="Bulletin 24-03: clamp of the fuel rail's return hose."
            )
            for engine in boat.engines:
                shop.entry(
                    visit,
                    engine,
                    day,
                    "inspected",
                    "fuel hose clamp",
                    note="the right kind, tight",
                    by=TOMASZ,
                )

    def compression(day: date) -> None:
        # Fjellrev: compression measured for a buyer who then did not buy.
        boat = marina.boat("Fjellrev")
        visit = shop.visit(boat.number, day, "survey", note="For a buyer.")
        for engine, low in zip(boat.engines, (176, 181), strict=True):
            shop.entry(visit, engine, day, "inspected", "compression", measured=low, unit="psi", by=ILSE,
                       note=f"lowest of six, spread {184 - low} psi, throttle open, warm")  # fmt: skip

    def cover_gasket(day: date) -> None:
        # Tidewren Five's cam cover came off for a leak and its gasket went back on with sealant; the thermostat
        # cover gasket of Pinch of Thyme was put back as well.
        for name, item, note in (
            (
                "Tidewren Five",
                "cam cover gasket",
                "put back with sealant at the corners, no new one on the shelf",
            ),
            ("Pinch of Thyme", "thermostat cover gasket", "put back with a smear of sealant"),
        ):
            engine = marina.boat(name).engines[0]
            visit = shop.visit(engine.boat, day, "breakdown", complaint="Oil or water on the cowl's inside.",
                               cause="Cover bolts loose.", correction="Cover off, faces cleaned, bolts in two passes.")  # fmt: skip
            shop.entry(visit, engine, day, "reused", item, note=note, by=FEMKE)

    def still_open(day: date) -> None:
        # Gnat is in the shop: its visit is not closed.
        boat = marina.boat("Gnat")
        visit = shop.visit(boat.number, day, "breakdown", closed_on=None, complaint="Idles badly, smells of petrol.",
                           note="Carburettor off, waiting for a float needle.")  # fmt: skip
        shop.entry(
            visit, boat.engines[0], day, "inspected", "spark plugs", note="both wet and black", by=TOMASZ
        )

    def left_undone(boat: str, place: int, *rules: str) -> Callable[[date], None]:
        def happen(_: date) -> None:
            marina.boat(boat).engines[place].held_back |= set(rules)

        return happen

    # Single jobs that were forgotten or left: Maré Mansa's fuel filter (ML4-0266), an impeller of Third
    # Opinion, the oil of Tidewren Seven at lay-up, Silfra's spark plugs.
    marina.at("2023-09-01", left_undone("Maré Mansa", 0, "fuel-filter-replace"))
    marina.at("2024-03-01", left_undone("Third Opinion", 1, "impeller-replace"))
    marina.at("2025-08-02", left_undone("Tidewren Seven", 0, "engine-oil-replace", "gear-oil-replace"))
    marina.at("2022-08-01", left_undone("Silfra", 0, "spark-plugs-replace"))
    marina.at("2025-10-02", frayed)
    marina.at("2025-09-16", declined)
    marina.at("2024-03-05", bulletin)
    marina.at("2025-06-17", compression)
    marina.at("2025-08-26", cover_gasket)
    marina.at("2026-04-13", still_open)


def _winters(marina: Marina) -> None:
    # Bramble Ann's owner was abroad: laid up from one autumn to the spring after the next.
    boat = marina.boat("Bramble Ann")
    kept = [w for w in boat.layups if w[0].year not in (2023, 2024)]
    boat.layups = sorted([*kept, (date(2023, 10, 7), date(2025, 5, 10))])
    # Pinch of Thyme and Iskra have no lay-up on record.
    for name in ("Pinch of Thyme", "Iskra"):
        marina.boat(name).layups = []


def open_winters(marina: Marina) -> None:
    """Lay-ups as they are written down: one without an end, and three planned for the next winter."""
    for boat in marina.boats:
        for start, end in boat.layups:
            # Duckling is laid up until further notice.
            unknown = boat.plan.name == "Duckling" and start.year == 2025
            marina.journal.add(
                "layups", boat_id=boat_id(boat.number), **{"from": start, "to": None if unknown else end}
            )
    for name, start in (
        ("Ravenna's Delay", "2026-10-10"),
        ("Havkat", "2026-10-17"),
        ("Tidewren One", "2026-11-02"),
    ):
        marina.journal.add(
            "layups", boat_id=boat_id(marina.boat(name).number), **{"from": date.fromisoformat(start)}
        )
