"""Made-up photos and papers on the visits of a made-up batch, and the contents of their files."""

from __future__ import annotations

from hypothesis import strategies as st

from fleetlog.domain.batch import Batch
from fleetlog.domain.papers import (
    ENDINGS,
    WITHDRAWAL_OUTCOMES,
    Paper,
    PaperWithdrawal,
    content_hash,
    plain_name,
)
from tests.exchange.values import days, keys, maybe, moments, some, texts

HEADS = {
    "image/jpeg": b"\xff\xd8\xff\xe0",
    "image/png": b"\x89PNG\r\n\x1a\n",
    "image/webp": b"RIFF\x10\0\0\0WEBP",
    "image/heic": b"\0\0\0\x18ftypheic",
    "application/pdf": b"%PDF-1.7",
    "text/plain": b"Measured by hand: ",
}
"""How a file of each kind begins."""

MADE = [(kind, head + b"%d" % number) for kind, head in HEADS.items() for number in range(3)]
CONTENTS = {f"{content_hash(content)}.{ENDINGS[kind]}": content for kind, content in MADE}
"""The contents of every made-up paper, by the name of its file."""

file_names = texts.map(lambda text: plain_name(text, "image/jpeg"))


def add_papers(draw: st.DrawFn, batch: Batch) -> None:
    """Papers on visits, some taken back."""
    if not batch.visits:
        return
    serial = maybe(st.sampled_from([e.serial for e in batch.engines])) if batch.engines else st.none()
    visit = st.sampled_from([v.visit_id for v in batch.visits])

    def paper(paper_id: str, made: tuple[str, bytes], *rest: object) -> Paper:
        kind, content = made
        return Paper(paper_id, draw(visit), content_hash(content), kind, len(content), *rest)  # type: ignore[arg-type]

    batch.papers = some(
        draw,
        st.builds(paper, keys, st.sampled_from(MADE), file_names, days, serial, maybe(texts), maybe(texts)),
        lambda p: p.paper_id,
    )
    if batch.papers:
        ids = st.sampled_from([p.paper_id for p in batch.papers])
        batch.paper_withdrawals = some(
            draw,
            st.builds(PaperWithdrawal, ids, st.sampled_from(WITHDRAWAL_OUTCOMES), moments, texts, texts),
            lambda w: (w.paper_id, w.outcome),
        )
