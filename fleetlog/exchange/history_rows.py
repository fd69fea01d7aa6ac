"""An engine's history as rows for a list and as one plain object for scripts."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime
from operator import itemgetter
from typing import TYPE_CHECKING, Any

from fleetlog.domain.hours import age_words, hours_number
from fleetlog.domain.words import with_position

if TYPE_CHECKING:
    from fleetlog.domain.advice import AdviceStanding
    from fleetlog.domain.assemblies import AssemblyAge
    from fleetlog.domain.history import EngineHistory, HistoryEntry
    from fleetlog.domain.records import Change, Entry
    from fleetlog.domain.stints import TrackedItem
    from fleetlog.domain.terms import TermStanding


def history_rows(history: EngineHistory, *, rebuilds_only: bool) -> list[dict[str, Any]]:
    """One row an entry, the latest first; of rebuilds, each with the entries of its visit under it.

    The evidence of a visit, and what stands out in it, is one row more, and so are each photo or paper and
    each fact of the engine that was changed, and each move that was taken back.
    """
    evidence = [*_evidence_of_visits(history), *_papers(history)]
    if not rebuilds_only:
        changes = [_change_row(history, c) for c in reversed(history.ledger.changes_on(history.seen.today))]
        moves = [_taken_back_row(move) for move in _moves_taken_back(history)]
        rows = [*(_row(h) for h in history.entries), *evidence, *changes, *moves]
        return sorted(rows, key=itemgetter("on"), reverse=True)
    return [
        row
        for rebuild in history.rebuilds
        for row in (
            *(_row(h) for h in (rebuild.rebuilt, *rebuild.entries)),
            *(row for row in evidence if _is_of(row, rebuild.rebuilt.entry)),
        )
    ]


def visit_rows(histories: Iterable[EngineHistory], visit_id: str) -> list[dict[str, Any]]:
    """What was done in a visit, engine by engine, in the order in which it was done; papers aside."""
    found = []
    for history in histories:
        rows = [row for row in history_rows(history, rebuilds_only=False) if row["visit_id"] == visit_id]
        rows = [row for row in reversed(rows) if row["action"] != "paper"]
        rows.sort(key=lambda row: (row["on"], row["action"] == "evidence"))
        found += [{"serial": history.seen.engine.serial, **row} for row in rows]
    return found


# Most engines have neither evidence nor papers: what shows them is loaded where there are some.


def _evidence_of_visits(history: EngineHistory) -> list[dict[str, Any]]:
    if not any(history.ledger.evidence.rows()):
        return []
    from fleetlog.exchange.evidence_rows import evidence_by_visit

    return [_evidence_row(row) for row in evidence_by_visit(history.ledger.evidence, history.seen.today)]


def _papers(history: EngineHistory) -> list[dict[str, Any]]:
    if not history.papers:
        return []
    from fleetlog.exchange.paper_rows import paper_told

    return [
        _told(
            one.paper.taken_on,
            "paper",
            *paper_told(one),
            one.paper.by,
            one.paper.visit_id,
            one.paper.paper_id,
        )
        for one in history.papers
    ]


def _told(
    on: date,
    action: str,
    what: str,
    how: Iterable[str],
    by: str | None = None,
    visit_id: str | None = None,
    entry_id: str | None = None,
) -> dict[str, Any]:
    """A row of what is no entry."""
    return {
        "on": on,
        "hours": None,
        "action": action,
        "what": what,
        "how": "; ".join(how) or None,
        "entry_id": entry_id,
        "visit_id": visit_id,
        "by": by,
        "checked_by": None,
        "written_by": None,
        "written_at": None,
    }


def _evidence_row(row: dict[str, Any]) -> dict[str, Any]:
    return _told(row["on"], "evidence", row["what"], row["flags"], visit_id=row["visit_id"])


def _change_row(history: EngineHistory, change: Change) -> dict[str, Any]:
    why = [change.reason] if change.reason else []
    field, was = change.field.replace("_", " "), change.was
    if change.field == "boat_id":
        boat = history.ledger.boats.get(was or "")
        field, was = "boat", boat.boat.name if boat is not None else was
    how = [f"was {was or 'not known'}", *why, f"written down by {change.by}"]
    return _told(change.until_on, "changed", field, how, change.by)


def _moves_taken_back(history: EngineHistory) -> list[dict[str, Any]]:
    """The moves of an engine that were recorded and were not so."""
    boats = history.ledger.boats
    return [
        {
            "on": mount.from_on,
            "boat": boat.boat.name if (boat := boats.get(mount.boat_id or "")) else mount.boat_id,
            "reason": word.reason,
            "by": word.by,
            "at": _moment(word.at),
        }
        for mount, word in history.ledger.not_moved
        if word.takes_back
    ]


def _taken_back_row(move: dict[str, Any]) -> dict[str, Any]:
    how = [f"it was not so: {move['reason']}", f"written down by {move['by']}"]
    return _told(move["on"], "taken back", f"move to {move['boat']}", how, move["by"])


def _change_object(change: Change) -> dict[str, Any]:
    return {
        "until_on": change.until_on,
        "field": change.field,
        "was": change.was,
        "reason": change.reason,
        "by": change.by,
        "at": _moment(change.changed_at),
    }


def _is_of(row: dict[str, Any], entry: Entry) -> bool:
    """Whether a row of evidence or a paper belongs to an entry's visit, or its day where there is none."""
    if row["visit_id"] is not None and entry.visit_id is not None:
        return bool(row["visit_id"] == entry.visit_id)
    return bool(row["on"] == entry.on)


def _row(shown: HistoryEntry) -> dict[str, Any]:
    entry = shown.entry
    what = entry.item or f"{entry.scope} rebuild"
    return {
        "on": entry.on,
        "hours": hours_number(shown.engine_tenths),
        "action": entry.action + (" used" if entry.condition == "used" else ""),
        "what": with_position(what, entry.position),
        "how": "; ".join(_how(shown)) or None,
        "entry_id": entry.entry_id,
        "visit_id": entry.visit_id,
        "by": entry.by,
        "checked_by": entry.checked_by,
        "written_by": shown.written_by,
        "written_at": _moment(shown.written_at),
    }


def _how(shown: HistoryEntry) -> list[str]:
    entry = shown.entry
    said = []
    if shown.void is not None:
        said.append(
            f"VOIDED on {shown.void.voided_at.date().isoformat()} by {shown.void.by}: {shown.void.reason}"
        )
    if entry.reason:
        said.append(f"old one off: {entry.reason}" if entry.action == "fitted" else entry.reason)
    for label, value in (("part", entry.part_number), ("lot", entry.lot), ("from", entry.from_serial)):
        if value:
            said.append(f"{label} {value}")
    prior = age_words(entry.prior_tenths, entry.prior_months, is_least=entry.prior_is_least)
    if prior:
        said.append(f"with {prior} on it")
    if entry.measured:
        said.append(f"measured {entry.measured}{' ' + entry.unit if entry.unit else ''}")
    if entry.note:
        said.append(entry.note)
    people = [f"by {entry.by}"] if entry.by else []
    people += [f"checked by {entry.checked_by}"] if entry.checked_by else []
    if shown.written_by and shown.written_by != entry.by:
        people.append(f"written down by {shown.written_by}")
    return said + ([", ".join(people)] if people else [])


def history_object(history: EngineHistory, *, rebuilds_only: bool) -> dict[str, Any]:
    """The history as one object: the engine, its rebuilds, and (unless only those) entries and items."""
    from fleetlog.exchange.evidence_rows import evidence_rows
    from fleetlog.exchange.paper_rows import paper_object

    engine, seen = history.seen.engine, history.seen
    last = seen.hours.last
    evidence = evidence_rows(history.ledger.evidence, seen.today)
    found: dict[str, Any] = {
        "serial": engine.serial,
        "maker": engine.maker,
        "model": engine.model,
        "family": engine.family,
        "boat": seen.boat.name if seen.boat else None,
        "position": seen.position,
        "engine_hours": None if last is None else hours_number(last.tenths),
        "engine_hours_on": None if last is None else last.on,
        "rebuilds": [
            {
                **_entry_object(r.rebuilt),
                "entries": [_entry_object(h) for h in r.entries],
                "evidence": [row for row in evidence if _is_of(row, r.rebuilt.entry)],
                "papers": [
                    paper_object(one)
                    for one in history.papers
                    if one.paper.visit_id == r.rebuilt.entry.visit_id
                ],
            }
            for r in history.rebuilds
        ],
    }
    if not rebuilds_only:
        found["entries"] = [_entry_object(h) for h in history.entries]
        found["evidence"] = evidence
        found["papers"] = [paper_object(one) for one in history.papers]
        found["changes"] = [_change_object(c) for c in history.ledger.changes_on(seen.today)]
        found["moves_taken_back"] = _moves_taken_back(history)
        found["items"] = [_item_object(history, item) for item in history.items]
        found["taken_off"] = [_off_object(item) for item in history.taken_off]
        found["assemblies"] = [_assembly_object(age) for age in history.assemblies]
        found["terms"] = [_term_object(term) for term in history.terms]
        found["advice"] = [_advice_object(advice) for advice in history.advice]
        found["held_readings"] = [
            {"on": h.on, "meter": hours_number(h.meter_tenths)} for h in seen.hours.held
        ]
    return found


def _entry_object(shown: HistoryEntry) -> dict[str, Any]:
    entry: Entry = shown.entry
    return {
        "entry_id": entry.entry_id,
        "visit_id": entry.visit_id,
        "on": entry.on,
        "engine_hours": hours_number(shown.engine_tenths),
        "action": entry.action,
        "scope": entry.scope,
        "item": entry.item,
        "position": entry.position,
        "part_number": entry.part_number,
        "lot": entry.lot,
        "condition": entry.condition,
        "prior_hours": hours_number(entry.prior_tenths),
        "prior_hours_are_least": entry.prior_is_least,
        "prior_months": entry.prior_months,
        "from_serial": entry.from_serial,
        "reason": entry.reason,
        "measured": entry.measured,
        "unit": entry.unit,
        "note": entry.note,
        "by": entry.by,
        "checked_by": entry.checked_by,
        "written_by": shown.written_by,
        "written_at": _moment(shown.written_at),
        "voided": None
        if shown.void is None
        else {
            "at": _moment(shown.void.voided_at),
            "by": shown.void.by,
            "reason": shown.void.reason,
            "replaced_by": shown.void.replaced_by,
        },
    }


def _item_object(history: EngineHistory, item: TrackedItem) -> dict[str, Any]:
    seen = history.seen
    now = seen.hours.last.tenths if seen.hours.last else None
    return {
        "item": item.item,
        "position": item.position,
        "fitted_on": item.fitted.on if item.fitted else None,
        "age_hours": hours_number(item.age_tenths(now)),
        "age_hours_are_least": item.is_least,
        "age_months": item.age_months(seen.today),
    }


def _off_object(item: TrackedItem) -> dict[str, Any]:
    """An item that came off, with nothing put on since on record."""
    stint = item.stints[-1]
    return {"item": item.item, "position": item.position, "off_on": stint.to_on, "reason": stint.why_off}


def _assembly_object(age: AssemblyAge) -> dict[str, Any]:
    fitted, rebuilt, off_on = age.fitted, age.rebuilt, age.item.stints[-1].to_on
    return {
        "assembly": age.assembly,
        "fitted_on": fitted.on if fitted else None,
        "from_serial": fitted.from_serial if fitted else None,
        "off_on": off_on,
        "hours_since_new": hours_number(age.new_tenths),
        "hours_since_new_are_least": age.item.is_least,
        "months_since_new": age.new_months,
        "rebuilt_on": rebuilt.on if rebuilt else None,
        "rebuilt_on_engine": age.rebuilt_on_serial,
        "hours_since_rebuild": hours_number(age.rebuild_tenths),
        "hours_since_rebuild_are_least": age.rebuild_is_least,
        "months_since_rebuild": age.rebuild_months,
    }


def _term_object(standing: TermStanding) -> dict[str, Any]:
    term = standing.term
    return {
        "term_id": term.term_id,
        "kind": term.kind,
        "title": term.title,
        "item": term.item,
        "position": term.position,
        "starts_on": term.starts_on,
        "ends_on": standing.ends_on,
        "ends_at_hours": hours_number(standing.ends_tenths),
        "over": standing.is_over,
        "by": term.by,
    }


def _advice_object(standing: AdviceStanding) -> dict[str, Any]:
    first = standing.first
    return {
        "advice_id": first.advice_id,
        "on": first.on,
        "what": first.what,
        "how": first.how,
        "told_to": first.told_to,
        "answer": standing.answer,
        "open": standing.is_open,
        "done_on": standing.done_by.on if standing.done_by else None,
        "by": first.by,
    }


def _moment(moment: datetime | None) -> str | None:
    return None if moment is None else moment.isoformat(timespec="seconds")
