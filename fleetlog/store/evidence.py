"""Reads what the evidence on engines needs: torque tools with their calibrations and uses, steps of cards."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from sqlalchemy import Connection, select

from fleetlog.domain.card_text import card_from_toml
from fleetlog.domain.evidence import Calibration, CardStep, Check, Tool, ToolLedger, Use
from fleetlog.store.among import among
from fleetlog.store.shapes import SHAPES


def tool_ledgers_of(connection: Connection, tool_ids: Iterable[str] | None) -> dict[str, ToolLedger]:
    """The tools of these ids (None: all) by their ids, with calibrations and uses by date."""
    wanted = None if tool_ids is None else sorted(set(tool_ids))
    if wanted == []:
        return {}
    asked = {} if wanted is None else {"keys": wanted}
    tools, calibrations, torques = SHAPES["tools"], SHAPES["calibrations"], SHAPES["torques"].table.c
    tool_query = tools.select.order_by(tools.table.c.tool_no)
    calibration_query = calibrations.select.order_by(
        calibrations.table.c.calibrated_on, calibrations.table.c.calibration_no
    )
    use_query = (
        select(torques.tool_id, torques.done_on, torques.fasteners)
        .where(torques.tool_id.is_not(None))
        .order_by(torques.done_on)
    )
    if wanted is not None:
        tool_query = tool_query.where(among(tools.table.c.tool_id))
        calibration_query = calibration_query.where(among(calibrations.table.c.tool_id))
        use_query = use_query.where(among(torques.tool_id))
    calibrated: dict[str, list[Calibration]] = defaultdict(list)
    for row in connection.execute(calibration_query, asked):
        calibration = Calibration(*row)
        calibrated[calibration.tool_id].append(calibration)
    used: dict[str, list[Use]] = defaultdict(list)
    for tool_id, done_on, fasteners in connection.execute(use_query, asked):
        used[tool_id].append(Use(done_on, fasteners or 1))
    found = [Tool(*row) for row in connection.execute(tool_query, asked)]
    return {t.tool_id: ToolLedger(t, tuple(calibrated[t.tool_id]), tuple(used[t.tool_id])) for t in found}


def steps_for_two(connection: Connection, checks: Iterable[Check]) -> frozenset[CardStep]:
    """The steps of cards that ask for a second person, of cards with checks that one person alone saw."""
    wanted = {(check.card, check.card_revision) for check in checks if check.card and check.is_seen_by_one}
    if not wanted:
        return frozenset()
    found: set[CardStep] = set()
    names = sorted({name for name, _ in wanted if name})
    for name, revision, text in SHAPES["cards"].by_key.rows(connection, keys=names):
        card = card_from_toml(name, text)[0] if (name, revision) in wanted else None
        found.update((name, revision, step.key) for step in (card.steps if card else ()) if step.second)
    return frozenset(found)
