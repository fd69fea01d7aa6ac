"""The demo marina's evidence: wrenches, the work card of its rebuild, and a card that waits for a word.

All figures are invented; those of the cards come from the cards themselves.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

from fleetlog.domain.card import Card, Step
from fleetlog.domain.card_text import card_from_toml
from tests.demo.engines import SCHEDULES_FOLDER
from tests.demo.journal import Journal, Row
from tests.demo.simulation import Marina

ILSE, TOMASZ, FEMKE = "Ilse Darrow", "Tomasz Brinkel", "Femke Aldous"
BENCH, BIG, SMALL = "W-1", "W-2", "W-3"
CARDS_FOLDER = SCHEDULES_FOLDER.with_name("cards")


def add_tools(journal: Journal) -> None:
    """Three wrenches: one in calibration, one whose calibration had run out at the rebuild, a small one."""
    for tool_id, name, unit, low, high, since in (
        (BENCH, "Bench wrench", "lbf·ft", 10, 80, "2020-03-01"),
        (BIG, "Big wrench", "lbf·ft", 60, 250, "2019-05-01"),
        (SMALL, "Small wrench", "lbf·ft", 2, 15, "2022-01-10"),
    ):
        journal.add("tools", tool_id=tool_id, name=name, unit=unit, low=low, high=high, in_use_from_on=since)
    for tool_id, day, certificate in (
        (BENCH, "2023-11-20", "KC-2311"),
        (BENCH, "2024-11-12", "KC-2487"),
        (BENCH, "2025-11-14", "KC-2560"),
        (BIG, "2022-12-05", "KC-2266"),
        (BIG, "2024-02-26", "KC-2419"),
        (BIG, "2025-03-03", "KC-2502"),
        (SMALL, "2023-11-20", "KC-2312"),
        (SMALL, "2025-05-19", "KC-2523"),
    ):
        on, house = date.fromisoformat(day), "Quayside Metrology (invented)"
        journal.add("calibrations", tool_id=tool_id, on=on, certificate=certificate, by=house)


def add_rebuild_evidence(journal: Journal, visit: Row, serial: str, day: date) -> None:
    """What stands on the cards of the rebuild, and the measurements before and after."""
    engine = {"visit": visit, "serial": serial}
    bores = {"item": "cylinder bore", "position": "cylinder 3", "quantity": "diameter", "unit": "mm"}
    limits = {"low": "89", "high": "89.05"}
    for stage, value in (("found", "89.11"), ("left", "89.02")):
        journal.add("measurements", on=day, stage=stage, value=value, by=ILSE, **bores, **limits, **engine)
    for cylinder, found, left in zip(
        range(1, 7), (168, 171, 96, 172, 170, 173), (186, 185, 187, 186, 184, 186), strict=True
    ):
        for stage, value in (("found", found), ("left", left)):
            journal.add(
                "measurements", on=day, stage=stage, value=value, unit="psi", low=150, item="compression",
                position=f"cylinder {cylinder}", quantity="compression", by=ILSE, **engine,
            )  # fmt: skip
    figures: dict[str, Any] = {
        "sprocket-bank-1": ([49.5], BENCH), "sprocket-bank-2": ([49], BENCH), "tensioner": ([43], BENCH),
        "cover-bolts": ([3.5, 5.8], SMALL), "stator-bolts": ([8.6], SMALL), "flywheel-nut": ([174], BIG),
        "oil-pressure": ([410], None), "revolutions": ([5650], None), "voltage": ([14.2], None),
        "temperature": ([67], None), "grounds": ([6, 6], None),
    }  # fmt: skip
    remarks = {
        "cover-gasket": "both put back used, sealant at the four corners",
        "propeller": "15 1/4 by 17, three blades",
        "dowels": "eight dowels and two ring dowels from the old block",
    }
    rows = add_card(journal, "belt and flywheel refit", figures, remarks, engine, day, ILSE, FEMKE)
    journal.add(
        "answers", serial=serial, on=day, about=("torque_id", rows["stator-bolts"][-1]),
        outcome="put right", what="slackened, threadlocker renewed, drawn up to 7.5", by=ILSE,
    )  # fmt: skip


def plan_open_card(marina: Marina) -> None:
    """A lower unit serviced two days ago, whose case does not hold its pressure: its visit stays open."""

    def lower_unit(day: date) -> None:
        engine = marina.engine("VK6-20701")
        visit = marina.shop.visit(
            engine.boat, day, "booked service", closed_on=None, note="Lower unit, water pump and gear oil."
        )
        figures: dict[str, Any] = {
            "pump-bolts": ([4, 8], None), "pressure-held": ([52], None), "lower-unit-bolts": ([40], None),
        }  # fmt: skip
        add_card(
            marina.journal, "lower unit service", figures, {}, {"visit": visit, "serial": engine.serial}, day,
            TOMASZ, FEMKE, {"run": ("not done", "waits for the seal")},
        )  # fmt: skip

    marina.at("2026-04-13", lower_unit)


def add_card(
    journal: Journal,
    name: str,
    figures: dict[str, Any],
    remarks: dict[str, str],
    engine: dict[str, Any],
    day: date,
    by: str,
    seen_by: str,
    results: dict[str, tuple[str, str]] | None = None,
) -> dict[str, list[Row]]:
    """Every step of a card as done, unless said otherwise; gives the rows of each step."""
    rows: dict[str, list[Row]] = {}
    card = card_named(name)
    for step in card.steps:
        result, reason = (results or {}).get(step.key, ("done", remarks.get(step.key)))
        shared = {"on": day, "card": card.name, "step": step.key, "by": by, **engine}
        seen = seen_by if step.second else None
        read, tool = figures.get(step.key, ([], None))
        counted = {"counted": read[0], "out_of": read[1]} if step.count is not None else {}
        check = journal.add(
            "checks", card_revision=card.revision, title=step.title, result=result, reason=reason,
            checked_by=seen, **counted, **shared,
        )  # fmt: skip
        rows[step.key] = [check]
        if result == "done":
            rows[step.key] += _figures(journal, step, read, tool, seen, shared)
    return rows


def card_named(name: str) -> Card:
    """A card of the demo marina."""
    path: Path = CARDS_FOLDER / f"{name}.toml"
    card, problems = card_from_toml(name, path.read_text(encoding="utf-8"))
    assert card is not None, problems
    return card


def _figures(
    journal: Journal, step: Step, read: list[Any], tool: str | None, seen: str | None, shared: dict[str, Any]
) -> list[Row]:
    if step.torque is not None:
        wanted = step.torque
        return [
            journal.add(
                "torques", joint=wanted.joint, sequence_no=wanted.sequence_no, fasteners=wanted.fasteners,
                pass_no=number if len(wanted.passes) > 1 else None, target=one.target, low=one.low,
                high=one.high, applied=figure, unit=wanted.unit, threads=wanted.threads, tool_id=tool,
                checked_by=seen, **shared,
            )
            for number, (one, figure) in enumerate(zip(wanted.passes, read, strict=True), start=1)
        ]  # fmt: skip
    if step.measure is not None:
        asked = step.measure
        return [
            journal.add(
                "measurements", item=asked.item, position=place, quantity=asked.quantity, value=figure,
                unit=asked.unit, stage=asked.stage, low=asked.low, high=asked.high, **shared,
            )
            for place, figure in zip(asked.places(), read, strict=True)
        ]  # fmt: skip
    return []
