"""The evidence on an engine as rows for a list: what, how, what speaks against it, and what was answered."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import date
from operator import itemgetter
from typing import Any

from fleetlog.domain.calibration import calibration_state
from fleetlog.domain.evidence import Check, Measurement, ToolLedger, Torque, band_text
from fleetlog.domain.evidence_text import Row, flags_of, standing_out, tool_text, what_text
from fleetlog.domain.ledger import Evidence
from fleetlog.domain.units import figure_text, torque_shown
from fleetlog.errors import counted


def evidence_rows(
    evidence: Evidence, today: date, visit_id: str | None = None, *, is_table: bool = False
) -> list[dict[str, Any]]:
    """One row a torque, measurement or check seen on a day, by date and in the order of the ledger.

    In a table the flag of one that is off says no more than that: what was read stands beside it.
    """
    rows = [
        _row(evidence, about, row, today, is_table)
        for about, row in evidence.rows(visit_id)
        if row.on <= today
    ]
    return sorted(rows, key=itemgetter("on"))


def _row(evidence: Evidence, about: str, row: Row, today: date, is_table: bool) -> dict[str, Any]:
    answers = [
        f"{a.outcome}: {a.what} ({a.by}, {a.on.isoformat()})" for a in evidence.answers_to(about, today)
    ]
    return {
        "id": about,
        "kind": type(row).__name__.lower(),
        "on": row.on,
        "visit_id": row.visit_id,
        "what": what_text(row),
        "how": "; ".join(_how(row, evidence)),
        "off": row.is_off and not evidence.is_withdrawn(about, today),
        "flags": "; ".join(flags_of(row, evidence, beside_it=is_table)) or None,
        "answer": "; ".join(answers) or None,
        "card": row.card,
        "step": row.step,
        "by": row.by,
        "checked_by": None if isinstance(row, Measurement) else row.checked_by,
        **_figures(row),
    }


def _figures(row: Row) -> dict[str, Any]:
    """The figures of a row as numbers, the same keys for every kind."""
    figures: dict[str, Any] = {
        "value": None, "unit": None, "target": None, "low": None, "high": None,
        "newton_metres": None, "counted": None, "out_of": None,
    }  # fmt: skip
    if isinstance(row, Check):
        figures |= {"counted": row.counted, "out_of": row.out_of}
        return figures
    value = row.applied if isinstance(row, Torque) else row.value
    figures |= {"value": float(value), "unit": row.unit}
    figures |= {name: None if (f := getattr(row, name)) is None else float(f) for name in ("low", "high")}
    if isinstance(row, Torque):
        figures["target"] = None if row.target is None else float(row.target)
        figures["newton_metres"] = None if row.applied_nm is None else float(row.applied_nm)
    return figures


def _how(row: Row, evidence: Evidence) -> Iterator[str]:
    if isinstance(row, Check):
        yield row.shown
        if row.reason:
            yield row.reason
        return
    yield f"{row.stage} {row.shown}" if isinstance(row, Measurement) and row.stage else row.shown
    if isinstance(row, Torque) and row.target is not None:
        yield f"target {torque_shown(row.target, row.unit)}"
    band = band_text(row.low, row.high)
    if band:
        yield f"{'band' if isinstance(row, Torque) else 'limits'} {band}"
    if isinstance(row, Torque):
        if row.threads:
            yield row.threads
        tool = evidence.tools.get(row.tool_id or "")
        if tool is not None:
            yield tool_text(tool, row.on)
    if row.note:
        yield row.note


def evidence_by_visit(evidence: Evidence, today: date) -> list[dict[str, Any]]:
    """One row a visit, or a day where there is none: how much evidence there is, and what stands out."""
    groups: dict[tuple[str | None, date | None], list[tuple[str, Row]]] = {}
    for about, row in evidence.rows():
        if row.on <= today:
            key = (row.visit_id, None if row.visit_id else row.on)
            groups.setdefault(key, []).append((about, row))
    return [
        {
            "on": max(row.on for _, row in rows),
            "visit_id": visit_id,
            "what": _counted(rows),
            "flags": list(standing_out(rows, evidence, today)),
        }
        for (visit_id, _), rows in groups.items()
    ]


def _counted(rows: list[tuple[str, Row]]) -> str:
    kinds = Counter(type(row).__name__.lower() for _, row in rows)
    return ", ".join(counted(count, kind) for kind, count in kinds.items())


def tool_rows(tools: dict[str, ToolLedger], today: date) -> list[dict[str, Any]]:
    """One row a tool, by when it falls due: range, last calibration, cycles since, and why it is due."""
    rows = []
    for tool_id, ledger in tools.items():
        tool, state = ledger.tool, calibration_state(ledger, today)
        retired = tool.retired_on is not None and tool.retired_on <= today
        last = [c for c in ledger.calibrations if c.on == state.calibrated_on]
        rows.append(
            {
                "tool_id": tool_id,
                "name": tool.name,
                "range": f"{figure_text(tool.low)} to {figure_text(tool.high)} {tool.unit}",
                "in_use_from_on": tool.in_use_from_on,
                "calibrated_on": state.calibrated_on,
                "certificate": last[-1].certificate if last else None,
                "due_on": state.due_on,
                "cycles": state.cycles,
                "most_cycles": state.most_cycles,
                "state": "retired" if retired else "due" if state.is_due else "in calibration",
                "why": tool.retired_reason if retired else state.why or None,
            }
        )
    return sorted(rows, key=lambda r: (r["state"] == "retired", r["due_on"] or date.min, r["tool_id"]))
