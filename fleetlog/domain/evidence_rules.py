"""The rules that the evidence on one engine has to keep; what breaks one is returned, not raised."""

from __future__ import annotations

from collections.abc import Iterator

from fleetlog.domain.evidence import Torque
from fleetlog.domain.ledger import EngineLedger
from fleetlog.domain.problems import LedgerProblem
from fleetlog.domain.row_rules import newton_metres_problems


def evidence_problems(ledger: EngineLedger) -> Iterator[LedgerProblem]:
    """What is wrong with the evidence on an engine.

    The N·m kept beside a torque have to be what the figure as read comes to; a row that belongs to an entry
    belongs to one of the same engine, and an answer to a row of the same engine.
    """
    evidence, serial = ledger.evidence, ledger.engine.serial
    entries = {entry.entry_id for entry in ledger.entries}
    rows = dict(evidence.rows())
    for torque in evidence.torques:
        for name, expected in newton_metres_problems(torque):
            yield LedgerProblem("torques", torque.torque_id, name, str(getattr(torque, name)), expected)
    for kind, found in (("torques", evidence.torques), ("measurements", evidence.measurements)):
        for row in found:
            if row.entry_id is not None and row.entry_id not in entries:
                about = row.torque_id if isinstance(row, Torque) else row.measurement_id
                yield LedgerProblem(kind, about, "entry_id", row.entry_id, f"an entry of engine {serial}")
    for answer in evidence.answers:
        if answer.about not in rows:
            fields = ("torque_id", "measurement_id", "check_id")
            field = next((f for f in fields if getattr(answer, f) is not None), "torque_id")
            expected = f"a torque, measurement or check of engine {serial}"
            yield LedgerProblem("answers", answer.answer_id, field, answer.about or "", expected)
