"""Made-up batches for property tests: every kind of row, with texts that try to break a CSV file."""

from __future__ import annotations

from datetime import date, datetime

from hypothesis import strategies as st

from fleetlog.domain import words
from fleetlog.domain.batch import Batch
from fleetlog.domain.diary_records import ShopText
from fleetlog.domain.evidence import CardText
from fleetlog.domain.parts import Part
from fleetlog.domain.records import (
    Boat,
    Change,
    Correction,
    Deferral,
    Engine,
    Entry,
    Layup,
    LayupChange,
    Meter,
    Mount,
    Owner,
    Ownership,
    Reading,
    Visit,
    Void,
)
from fleetlog.domain.schedule import ScheduleText
from tests.exchange.diary_rows import add_diary
from tests.exchange.evidence_rows import add_evidence
from tests.exchange.folders import card_text, schedule_text, shop_text
from tests.exchange.paper_rows import add_papers
from tests.exchange.promise_rows import add_promises
from tests.exchange.values import days, earlier_days, keys, maybe, moments, months, names, some, tenths, texts


def _interval(draw: st.DrawFn) -> tuple[date, date | None]:
    start, end = draw(days), draw(maybe(days))
    return (start, end) if end is None or start <= end else (end, start)


@st.composite
def entries(draw: st.DrawFn, serial: str, visits: list[str], serials: list[str]) -> Entry:
    """An entry with those fields that its action allows."""
    action = draw(st.sampled_from(words.ACTIONS))
    is_fitted, is_rebuilt = action == "fitted", action == "rebuilt"
    looks_again = action not in ("removed", "reused")
    return Entry(
        entry_id=draw(keys),
        serial=serial,
        on=draw(days),
        action=action,
        visit_id=draw(maybe(st.sampled_from(visits))) if visits else None,
        meter_tenths=draw(maybe(tenths)),
        scope=draw(st.sampled_from(words.REBUILD_SCOPES)) if is_rebuilt else None,
        item=None if is_rebuilt else draw(names),
        position=draw(maybe(names)),
        part_number=draw(maybe(texts)),
        lot=draw(maybe(texts)),
        condition=draw(maybe(st.sampled_from(words.CONDITIONS))) if is_fitted else None,
        prior_tenths=draw(tenths) if is_fitted else None,
        prior_months=draw(months) if is_fitted else None,
        from_serial=draw(maybe(st.sampled_from(serials))) if is_fitted else None,
        reason=draw(maybe(st.sampled_from(words.REMOVAL_REASONS)))
        if action in ("fitted", "removed")
        else None,
        again_tenths=draw(maybe(st.integers(1, 9999))) if looks_again else None,
        again_months=draw(maybe(st.integers(1, 60))) if looks_again else None,
        measured=draw(maybe(texts)),
        unit=draw(maybe(texts)),
        note=draw(maybe(texts)),
        by=draw(maybe(texts)),
        checked_by=draw(maybe(texts)),
    )


@st.composite
def batches(draw: st.DrawFn) -> Batch:
    """A batch in which every row refers to what is in it, as a log could hold it."""
    batch = Batch()
    revisions = draw(st.lists(st.integers(1, 9), max_size=2, unique=True))
    batch.schedules = [ScheduleText("V6 'belt'", n, schedule_text(n)) for n in sorted(revisions)]
    batch.cards = [CardText("belt 'refit'", n, card_text(n)) for n in sorted(revisions)]
    batch.shop = [ShopText("shop", n, shop_text(n)) for n in sorted(revisions)]
    text, word = maybe(texts), st.sampled_from
    batch.owners = some(
        draw,
        st.builds(Owner, keys, texts, text, text, text, maybe(word(words.REMIND_BY))),
        lambda o: o.owner_id,
    )
    owner = word([o.owner_id for o in batch.owners]) if batch.owners else st.nothing()
    batch.boats = some(
        draw,
        st.builds(
            Boat, keys, maybe(owner), texts, text, maybe(word(words.WATERS)), maybe(word(words.USES)), text
        ),
        lambda b: b.boat_id,
    )
    boat = word([b.boat_id for b in batch.boats]) if batch.boats else st.nothing()
    schedule = word([s.name for s in batch.schedules]) if batch.schedules else st.nothing()
    batch.engines = some(
        draw,
        st.builds(
            Engine,
            keys,
            maker=text,
            model=text,
            family=text,
            model_year=maybe(st.integers(1950, 2030)),
            in_service_on=maybe(earlier_days),
            logged_from_new=st.booleans(),
            hour_meter=st.booleans(),
            schedule=maybe(schedule),
            boat_id=maybe(boat),
            position=maybe(names),
            state=word(words.ENGINE_STATES),
        ),
        lambda e: e.serial,
    )
    if batch.boats and batch.owners:
        batch.ownership = some(
            draw, st.builds(Ownership, boat, owner, days), lambda o: (o.boat_id, o.from_on)
        )
        batch.changes = some(
            draw,
            st.builds(
                Change, st.just("boats"), boat, st.just("name"), texts, days, moments, texts, reason=text
            ),
            lambda c: c.changed_at,
        )
    if batch.boats:
        stays = [(draw(boat), *_interval(draw)) for _ in range(draw(st.integers(0, 3)))]
        batch.layups = list({s[:2]: Layup(*s) for s in stays}.values())
        if batch.layups:
            layup = st.sampled_from(batch.layups)
            batch.layup_changes = some(
                draw, st.builds(_change_of, keys, layup, moments, texts, text), lambda c: c.change_id
            )
        batch.visits = some(
            draw,
            st.builds(Visit, keys, maybe(boat), days, st.none(), text, text, text, text, text, text),
            lambda v: v.visit_id,
        )
    if batch.engines:
        _add_ledger(draw, batch, boat)
    add_papers(draw, batch)
    add_diary(draw, batch)
    return batch


def _change_of(change_id: str, layup: Layup, at: datetime, by: str, reason: str | None) -> LayupChange:
    """Another end of a lay-up, its first day, or with a reason its withdrawal."""
    change, to_on = ("ends", layup.from_on) if reason is None else ("withdrawn", None)
    return LayupChange(change_id, layup.boat_id, layup.from_on, change, at, by, to_on, reason)


def _add_ledger(draw: st.DrawFn, batch: Batch, boat: st.SearchStrategy[str]) -> None:
    """Rows of the engines' ledgers. Each engine gets entries on one item a day, so that no rule is broken."""
    serials = [e.serial for e in batch.engines]
    serial, text = st.sampled_from(serials), maybe(texts)
    if batch.boats:
        stays = [(draw(serial), draw(boat), *_interval(draw)) for _ in range(draw(st.integers(0, 3)))]
        batch.corrections = some(
            draw,
            st.builds(
                Correction, keys, st.just("mounts"), serial, days, moments, texts,
                boat_id=maybe(boat), position=maybe(names), reason=text,
            ),
            lambda c: c.correction_id,
        )  # fmt: skip
        batch.mounts = list(
            {(s, on): Mount(s, b, on, draw(maybe(names)), end) for s, b, on, end in stays}.values()
        )
    batch.meters = some(
        draw, st.builds(Meter, serial, days, tenths, tenths, text), lambda m: (m.serial, m.fitted_on)
    )
    batch.readings = some(
        draw,
        st.builds(
            Reading, keys, serial, days, tenths, text, maybe(st.sampled_from(words.READING_STATUSES)), text
        ),
        lambda r: r.reading_id,
        8,
    )
    visits = [v.visit_id for v in batch.visits]
    made = some(draw, serial.flatmap(lambda s: entries(s, visits, serials)), lambda e: e.entry_id, 8)
    batch.entries = list({(e.serial, e.item): e for e in made}.values())
    if batch.entries:
        entry = st.sampled_from([e.entry_id for e in batch.entries])
        voids = some(draw, st.builds(Void, entry, moments, texts, texts), lambda v: v.entry_id, 2)
        batch.voids = voids
    batch.deferrals = some(
        draw,
        st.builds(
            Deferral, keys, serial, st.just("belt"), texts, moments, texts, st.none(), days, maybe(tenths)
        ),
        lambda d: d.deferral_id,
    )
    add_evidence(draw, batch)
    add_promises(draw, batch)
    text = maybe(texts)
    batch.parts = some(draw, st.builds(Part, keys, maybe(names), text, text, text), lambda p: p.part_number)
