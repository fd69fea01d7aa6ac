"""Made-up rows of the diary for the boats and owners of a made-up batch."""

from __future__ import annotations

from hypothesis import strategies as st

from fleetlog.domain.batch import Batch
from fleetlog.domain.diary_records import (
    ATTEMPT_OUTCOMES,
    MAIL_WAYS,
    Booking,
    DiaryPlan,
    DiaryVisit,
    Job,
    Mail,
    MailAttempt,
    PartMove,
    Wish,
    jobs_text,
    things_text,
)
from tests.exchange.values import days, figures, keys, maybe, moments, some, tenths, texts

clocks = st.integers(0, 240)
counts = st.integers(0, 99)
jobs = st.lists(st.builds(Job, texts, texts, maybe(texts), texts, st.booleans()), max_size=3).map(jobs_text)


def add_diary(draw: st.DrawFn, batch: Batch) -> None:
    """Wishes, bookings, plans, parts that move and mails."""
    text = maybe(texts)
    boat = st.sampled_from([b.boat_id for b in batch.boats]) if batch.boats else st.nothing()
    if batch.boats:
        batch.wishes = some(
            draw,
            st.builds(
                Wish,
                keys,
                st.none(),
                boat,
                not_before_on=maybe(days),
                not_in_from_on=maybe(days),
                weekdays=maybe(st.just("mon thu")),
                note=text,
                by=text,
            ),
            lambda w: w.wish_id,
        )
        visit = maybe(st.sampled_from([v.visit_id for v in batch.visits])) if batch.visits else st.none()
        batch.bookings = some(
            draw,
            st.builds(
                Booking,
                keys,
                keys,
                st.just("booked"),
                moments,
                texts,
                boat,
                days,
                maybe(clocks),
                tenths.map(lambda t: t + 1),
                texts,
                texts,
                maybe(counts),
                jobs,
                visit,
                text,
            ),
            lambda b: b.change_id,
        )
        whole = st.integers(0, 999_999_999)
        day = draw(days)
        batch.plans = some(
            draw,
            st.builds(
                DiaryPlan,
                keys,
                moments,
                texts,
                st.just(day),
                st.just(day),
                st.integers(1, 9),
                counts,
                whole,
                whole,
                st.booleans(),
            ),
            lambda p: p.plan_id,
            2,
        )
        if batch.plans:
            batch.plan_visits = some(
                draw,
                st.builds(
                    DiaryVisit,
                    st.sampled_from([p.plan_id for p in batch.plans]),
                    keys,
                    boat,
                    tenths,
                    maybe(days),
                    maybe(clocks),
                    why_not=text,
                    jobs=jobs,
                ),
                lambda v: (v.plan_id, v.visit),
            )
    batch.part_moves = some(
        draw,
        st.builds(
            PartMove,
            keys,
            texts,
            st.sampled_from(["ordered", "arrived"]),
            figures.map(lambda f: f + 1),
            days,
            maybe(days),
            maybe(keys),
            note=text,
            by=text,
        ),
        lambda m: m.move_id,
    )
    if batch.owners:
        owner = st.sampled_from([o.owner_id for o in batch.owners])
        things = st.lists(texts, max_size=3).map(things_text)
        batch.mails = some(
            draw,
            st.builds(Mail, keys, owner, moments, texts, things, st.sampled_from(MAIL_WAYS), texts),
            lambda m: m.mail_id,
        )
        batch.mail_attempts = some(
            draw,
            st.builds(
                MailAttempt, keys, st.sampled_from(ATTEMPT_OUTCOMES), owner, moments, maybe(things), texts
            ),
            lambda m: (m.mail_id, m.outcome),
        )
