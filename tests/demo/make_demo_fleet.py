"""Writes the demo marina into demo_fleet/: run `python -m tests.demo.make_demo_fleet`.

Nothing in it is real, and the same files come out every time. The schedules are written by hand and stand
in demo_fleet/schedules.
"""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

from tests.demo.diary_cases import SHOP_FOLDER, add_diary
from tests.demo.engine_cases import plan_engine_cases
from tests.demo.engines import SCHEDULES_FOLDER
from tests.demo.evidence import CARDS_FOLDER, add_tools, plan_open_card
from tests.demo.journal import Journal
from tests.demo.marina import BOATS, MAKERS, OWNERS, STREETS, TOWNS, boat_id, owner_id
from tests.demo.part_cases import add_parts
from tests.demo.promise_cases import add_promises
from tests.demo.rebuild import plan_rebuild
from tests.demo.simulation import Marina
from tests.demo.swap_case import plan_swap
from tests.demo.work_cases import open_winters, plan_work_cases

DEMO_FOLDER = SCHEDULES_FOLDER.parent


def build() -> Journal:
    """The demo marina's rows, numbered and in order."""
    marina = Marina()
    plan_engine_cases(marina)
    plan_rebuild(marina)
    plan_work_cases(marina)
    plan_swap(marina)
    plan_open_card(marina)
    marina.run()
    open_winters(marina)
    _facts(marina)
    add_tools(marina.journal)
    add_promises(marina.journal)
    add_parts(marina.journal)
    add_diary(marina.journal)
    marina.journal.number()
    return marina.journal


def _facts(marina: Marina) -> None:
    add = marina.journal.add
    for number, (name, remind_by, email) in enumerate(OWNERS, start=1):
        add(
            "owners",
            owner_id=owner_id(number),
            name=name,
            email=email or None,
            phone=f"+00 555-01{number:02d}" if number % 8 == 3 else f"555-01{number:02d}",
            address=f"{3 + 7 * number % 60} {STREETS[number % 6]}, {TOWNS[number % 4]}",
            remind_by=remind_by,
        )
    for number, plan in enumerate(BOATS, start=1):
        berth = f"{'ABCDE'[number % 5]}{1 + number * 3 % 28}" if plan.water != "fresh" else "trailer yard"
        add(
            "boats",
            boat_id=boat_id(number),
            owner_id=owner_id(plan.owner),
            name=plan.name,
            registration=f"QH {1000 + 37 * number}" if number % 9 else None,
            water=plan.water,
            use=plan.use,
            berth=berth,
        )
    for engine in sorted(marina.engines, key=lambda e: e.serial):
        family = engine.named_schedule or engine.family
        add(
            "engines",
            serial=engine.serial,
            maker=MAKERS[family],
            model=engine.model,
            family=engine.family,
            model_year=engine.model_year,
            in_service_on=engine.in_service_on,
            logged_from_new="yes" if engine.from_new else "no",
            hour_meter="yes" if engine.metered else "no",
            schedule=engine.named_schedule,
            boat_id=engine.boat and boat_id(engine.boat),
            position=engine.position,
            state=engine.state,
        )


def write(folder: Path) -> None:
    """Writes the whole exchange folder, the schedules included."""
    build().write(folder)
    if folder.resolve() != DEMO_FOLDER.resolve():
        shutil.copytree(SCHEDULES_FOLDER, folder / "schedules", dirs_exist_ok=True)
        shutil.copytree(CARDS_FOLDER, folder / "cards", dirs_exist_ok=True)
        shutil.copytree(SHOP_FOLDER, folder / "shop", dirs_exist_ok=True)


if __name__ == "__main__":
    target = Path(sys.argv[1]) if len(sys.argv) > 1 else DEMO_FOLDER
    write(target)
    print(f"wrote {target}")
