"""Marinas that pages have trouble with: texts made to break out of them, more work than a page holds."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

from fleetlog.domain.fleet import FleetState
from fleetlog.domain.ledger import BoatLedger, EngineLedger
from fleetlog.domain.records import Boat, Deferral, Engine, Entry, Meter, Mount, Owner, Visit, Void
from tests.reports.marina import (
    ADA,
    TODAY,
    TOML,
    WANDA,
    engine_state,
    entry,
    reading,
    schedule,
    twin_ledger,
)

HOSTILE = "<script>alert(1)</script>\"'&amp;{{ 7*7 }}{% raw %}<!-- ]]> \u202eabc\x00"
"""A name that nobody has, and that must come out as text wherever names come out."""


def hostile_fleet(name: str = HOSTILE) -> FleetState:
    """A fleet in which every text that a person can write is `name`."""
    owner = Owner("o" + name, name, f"{name}@example.org", name, f"{name}\n{name}", "email")
    boat = Boat("b" + name, owner.owner_id, name, name, "salt", "private", name)
    serial, ident = "S" + name, boat.boat_id
    toml = TOML
    for text in ("Replace timing belt", "engine damage", "flywheel off", "Two-bank four-stroke"):
        toml = toml.replace(text, _toml_text(name))
    fitted = entry(
        serial,
        date(2019, 5, 1),
        "fitted",
        "timing belt",
        note=name,
        by=name,
        checked_by=name,
        part_number=name,
        lot=name,
        measured=name,
        unit=name,
        from_serial=name,
        visit_id="v",
    )
    voided = replace(fitted, entry_id="void", item="engine oil")
    reused = entry(serial, date(2023, 5, 1), "reused", "cam cover gasket", position="bank 1", note=name)
    odd = entry(serial, date(2023, 6, 1), "fitted", name, position=name)
    at = datetime(2024, 6, 2, 9, tzinfo=UTC)
    ledger = EngineLedger(
        Engine(serial, name, name, name, 2021, date(2018, 5, 3), True, boat_id=ident, position=name),
        entries=(fitted, voided, reused, odd),
        readings=(
            reading(serial, date(2022, 8, 1), 1000, source=name, by=name),
            reading(serial, date(2022, 8, 2), 90000, source=name),
        ),
        mounts=(Mount(serial, ident, date(2018, 5, 3), name),),
        voids=(Void("void", at, name, name, fitted.entry_id),),
        deferrals=(
            Deferral("d", serial, "impeller", name, at, name, until_on=date(2027, 1, 1)),
            Deferral("d2", serial, "oil", name, at, name, until_on=date(2027, 1, 1)),
        ),
        visits={"v": Visit("v", ident, None, None, name, name, name, name, name, name)},
        boats={ident: BoatLedger(boat)},
        owners={owner.owner_id: owner},
    )
    return FleetState(TODAY, [engine_state(ledger, schedule(toml))])


def _toml_text(text: str) -> str:
    """A text inside the quotes of TOML, which holds neither nothing nor halves of characters."""
    whole = text.encode("utf-8", "replace").decode("utf-8").replace("\x00", "")
    return json.dumps(whole if whole.strip() else "-", ensure_ascii=False)[1:-1]


def crowded_fleet(engines: int, words: str = "of the outboard’s lower unit") -> FleetState:
    """One owner with so many engines, each with far more due and overdue than a page holds, in long words."""
    rules = (
        "\n".join(
            f'[[rule]]\nkey = "r{n}"\ntitle = "Inspect and renew part {n} {words}"\nitem = "part {n}"\n'
            f'action = "replace"\nevery = {{ hours = {90 + n}, months = {10 + n} }}\n'
            f"severe = {{ salt = 0.9 }}\n"
            f'consequence = "loss of power and a long tow home with {n} others aboard, at night"\n'
            for n in range(1, 15)
        )
        + TOML[TOML.index('[[rule]]\nkey = "gasket"') :]
    )
    made = schedule(f'name = "crowded"\nrevision = 1\n{rules}')
    return FleetState(TODAY, [engine_state(_crowded(n, engines), made) for n in range(engines)])


def _crowded(number: int, engines: int) -> EngineLedger:
    serial = f"TB-01{number:02d}"
    base = twin_ledger(serial, ("port", "starboard", "centre", "auxiliary")[number % 4])
    address = "Quay House; 4 Sluice Row; Quarry Pool; QP4 7XY; A Country"
    owner = replace(
        ADA, name="Ada Lindquist and the heirs of the late Bartholomew Lindquist", address=address
    )
    boat = replace(WANDA, name=f"Wanda of the Upper Quarry Pool {number // 2 if engines > 2 else ''}".strip())
    fitted: Iterable[Entry] = (
        entry(serial, date(2025, 6, 1) - timedelta(days=20 * n), "fitted", f"part {n}", meter_tenths=None)
        for n in range(1, 15)
    )
    reused = [
        entry(serial, date(2025, 6, 1), "reused", "cam cover gasket", position=f"bank {n}") for n in (1, 2)
    ]
    at = datetime(2026, 3, 1, tzinfo=UTC)
    reason = "the owner is abroad until the summer and asked us to wait with it"
    return replace(
        base,
        entries=(*fitted, *reused),
        deferrals=(
            Deferral(
                "d", serial, "r1", "Jon Alder", at, reason, until_on=date(2026, 5, 1), until_tenths=2600
            ),
        ),
        meters=(Meter(serial, date(2026, 1, 2), 2300, 0),),
        readings=(*base.readings[:1], reading(serial, date(2026, 3, 20), 100)),
        boats={"wanda": replace(base.boats["wanda"], boat=boat)},
        owners={"ada": owner},
    )
