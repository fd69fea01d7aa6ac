"""Reads a work card from its TOML text, and says everything that is wrong with it at once."""

from __future__ import annotations

from decimal import Decimal

from fleetlog.domain.card import Card, CountStep, MeasureStep, Pass, Step, TorqueStep
from fleetlog.domain.evidence import STAGES
from fleetlog.domain.toml_table import TomlTable, read_toml
from fleetlog.domain.units import TORQUE_UNITS, torque_unit
from fleetlog.errors.evidence import UnitUnknown


def card_from_toml(name: str, text: str) -> tuple[Card | None, list[str]]:
    """The card that a TOML text describes, and what is wrong with it; with problems there is no card.

    `name` is the stem of the file.
    """
    top, problems = read_toml(text)
    if top is None:
        return None, problems
    title = top.text("name", needed=True)
    revision = top.whole("revision", 1, needed=True)
    card = Card(
        name,
        title or "",
        revision or 1,
        tuple(_steps(top)),
        top.texts("families"),
        top.text("assembly"),
        top.text("note"),
        top.texts("tools"),
        top.texts("consumables"),
        top.texts("cautions"),
    )
    top.refuse_the_rest()
    known: set[str] = set()
    for number, step in enumerate(card.steps, start=1):
        if step.key in known:
            problems.append(
                f"step {number} ({step.key}), key: each step has a key of its own; it stands twice"
            )
        known.add(step.key)
    return (None if problems else card), problems


def _steps(top: TomlTable) -> list[Step]:
    steps = []
    for number, table in enumerate(top.tables("step", needed=True), start=1):
        key = table.values.get("key")
        table.where = f"step {number} ({key})" if isinstance(key, str) else f"step {number}"
        steps.append(_step(table))
    return steps


def _step(table: TomlTable) -> Step:
    key = table.text("key", needed=True) or ""
    step = Step(
        key=key,
        title=table.text("title", needed=True) or key,
        part=table.text("part"),
        why=table.text("why"),
        second=table.flag("second"),
        tools=table.texts("tools"),
        consumables=table.texts("consumables"),
        cautions=table.texts("cautions"),
        torque=_torque(table.table("torque")),
        measure=_measure(table.table("measure")),
        count=_count(table.table("count")),
    )
    table.refuse_the_rest()
    if sum(way is not None for way in (step.torque, step.measure, step.count)) > 1:
        table.problems.append(
            f"{table.where}: torque, measure and count exclude each other; make a step of each"
        )
    return step


def _torque(table: TomlTable | None) -> TorqueStep | None:
    if table is None:
        return None
    passes = [_pass(one) for one in table.tables("passes", needed=True)]
    step = TorqueStep(
        joint=table.text("joint", needed=True) or "",
        unit=torque_unit_of(table),
        passes=tuple(passes),
        fasteners=table.whole("fasteners", 1),
        order=table.text("order"),
        threads=table.text("threads"),
        sequence_no=table.whole("sequence_no", 1),
    )
    table.refuse_the_rest()
    return step


def torque_unit_of(table: TomlTable) -> str:
    """The unit of torque that a table names, as it is written here.

    A table without one, or with one that is not known, is a problem; N·m stands in, so that the rest is read.
    """
    text = table.text("unit", needed=True)
    if text is None:
        return "N·m"
    try:
        return torque_unit(text)
    except UnitUnknown:
        table.wrong("unit", f"one of {', '.join(TORQUE_UNITS)}")
        return "N·m"


def _pass(table: TomlTable) -> Pass:
    target = table.number("target", "a torque above 0", lambda v: v > 0, needed=True)
    low, high = band_of(table)
    table.refuse_the_rest()
    return Pass(target or Decimal(1), low, high)


def band_of(table: TomlTable) -> tuple[Decimal | None, Decimal | None]:
    """The low and high limits that a table states, the low one not above the high one."""
    low = table.number("low", "a figure", lambda _: True)
    high = table.number("high", "a figure", lambda _: True)
    if low is not None and high is not None and low > high:
        table.wrong("high", f"{low} or more, as that is the low limit")
    return low, high


def _measure(table: TomlTable | None) -> MeasureStep | None:
    if table is None:
        return None
    low, high = band_of(table)
    step = MeasureStep(
        item=table.text("item", needed=True) or "",
        quantity=table.text("quantity", needed=True) or "",
        unit=table.text("unit"),
        positions=table.texts("positions"),
        low=low,
        high=high,
        stage=table.word("stage", STAGES),
    )
    table.refuse_the_rest()
    return step


def _count(table: TomlTable | None) -> CountStep | None:
    if table is None:
        return None
    step = CountStep(table.text("what", needed=True) or "", table.whole("out_of", 1))
    table.refuse_the_rest()
    return step
