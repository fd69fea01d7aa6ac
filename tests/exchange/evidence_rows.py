"""Made-up evidence for the engines of a made-up batch."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import strategies as st

from fleetlog.domain.batch import Batch
from fleetlog.domain.evidence import (
    CHECK_RESULTS,
    STAGES,
    Answer,
    Calibration,
    Check,
    Measurement,
    Tool,
    Torque,
)
from fleetlog.domain.units import TORQUE_UNITS
from fleetlog.domain.words import ANSWER_OUTCOMES
from tests.exchange.values import days, figures, keys, maybe, names, some, texts

counts = maybe(st.integers(1, 9))


def add_evidence(draw: st.DrawFn, batch: Batch) -> None:
    """Tools, and torques, measurements, checks and answers on the batch's engines."""
    text, unit = maybe(texts), st.sampled_from(TORQUE_UNITS)
    tools = some(
        draw,
        st.builds(Tool, keys, texts, unit, figures, figures, maybe(days), st.none()),
        lambda t: t.tool_id,
    )
    batch.tools = [replace(t, low=min(t.low, t.high), high=max(t.low, t.high) + 1) for t in tools]
    tool = maybe(st.sampled_from([t.tool_id for t in tools])) if tools else st.none()
    if tools:
        batch.calibrations = some(
            draw,
            st.builds(Calibration, keys, st.sampled_from([t.tool_id for t in tools]), days, text, text),
            lambda c: c.calibration_id,
        )
    serial = st.sampled_from([e.serial for e in batch.engines])
    visit = maybe(st.sampled_from([v.visit_id for v in batch.visits])) if batch.visits else st.none()
    entry = maybe(st.sampled_from([e.entry_id for e in batch.entries])) if batch.entries else st.none()
    step = {"card": text, "step": text, "by": text, "visit_id": visit}
    batch.torques = some(
        draw,
        st.builds(
            Torque,
            keys,
            serial,
            days,
            texts,
            figures,
            unit,
            entry_id=entry,
            sequence_no=counts,
            pass_no=counts,
            fasteners=counts,
            target=maybe(figures),
            low=maybe(figures),
            target_nm=st.none(),
            applied_nm=st.none(),
            threads=text,
            tool_id=tool,
            note=text,
            checked_by=text,
            **step,
        ),
        lambda t: t.torque_id,
    )
    batch.measurements = some(
        draw,
        st.builds(
            Measurement,
            keys,
            serial,
            days,
            names,
            texts,
            figures.map(lambda f: -f),
            text,
            maybe(st.sampled_from(STAGES)),
            entry_id=entry,
            position=maybe(names),
            high=maybe(figures),
            note=text,
            **step,
        ),
        lambda m: m.measurement_id,
    )
    batch.checks = some(
        draw,
        st.builds(
            Check,
            keys,
            serial,
            days,
            texts,
            st.sampled_from(CHECK_RESULTS),
            card_revision=counts,
            counted=counts,
            reason=texts,
            checked_by=text,
            **step,
        ),
        lambda c: c.check_id,
    )
    of_entry = {e.entry_id: e.serial for e in batch.entries}
    for kind in ("torques", "measurements"):
        rows = getattr(batch, kind)
        own = [r if of_entry.get(r.entry_id) == r.serial else replace(r, entry_id=None) for r in rows]
        setattr(batch, kind, own)
    of_torque = {t.torque_id: t.serial for t in batch.torques}
    if of_torque:
        answers = some(
            draw,
            st.builds(
                Answer,
                keys,
                serial,
                days,
                st.sampled_from(ANSWER_OUTCOMES),
                texts,
                texts,
                torque_id=st.sampled_from(list(of_torque)),
            ),
            lambda a: a.answer_id,
        )
        batch.answers = [replace(a, serial=of_torque[a.torque_id or ""]) for a in answers]
