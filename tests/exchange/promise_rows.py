"""Made-up terms, advice and superseded part numbers for the engines of a made-up batch."""

from __future__ import annotations

from hypothesis import strategies as st

from fleetlog.domain.batch import Batch
from fleetlog.domain.promises import ADVICE_WAYS, ANSWERS, TERM_KINDS, Advice, Term
from fleetlog.domain.superseded import Supersession
from fleetlog.domain.words import same_name
from tests.exchange.values import days, keys, maybe, names, some, tenths, texts


def add_promises(draw: st.DrawFn, batch: Batch) -> None:
    """Terms and advice on the batch's engines; part numbers that replaced each other."""
    text, word = maybe(texts), st.sampled_from
    numbers = some(draw, st.builds(Supersession, keys, keys, maybe(days), st.none(), text, text), lambda s: s)
    batch.supersessions = list(
        {
            (s.part_number, s.superseded_by): s
            for s in numbers
            if not same_name(s.part_number, s.superseded_by)
        }.values()
    )
    if not batch.engines:
        return
    serial = word([e.serial for e in batch.engines])
    entry = maybe(word([e.entry_id for e in batch.entries])) if batch.entries else st.none()
    visit = maybe(word([v.visit_id for v in batch.visits])) if batch.visits else st.none()
    batch.terms = some(
        draw,
        st.builds(
            Term,
            keys,
            serial,
            word(TERM_KINDS),
            days,
            st.integers(1, 240),
            maybe(st.integers(1, 9999)),
            maybe(tenths),
            text,
            names,
            maybe(names),
            entry,
            st.none(),
            text,
            text,
        ),
        lambda t: t.term_id,
    )
    batch.advice = some(
        draw,
        st.builds(
            Advice,
            keys,
            serial,
            days,
            texts,
            text,
            maybe(names),
            maybe(names),
            maybe(word(ADVICE_WAYS)),
            text,
            maybe(word(ANSWERS)),
            st.none(),
            visit,
            text,
            text,
        ),
        lambda a: a.advice_id,
    )
