"""Learns how the fleet is used, and when to learn it anew.

A fit of the fleet is kept in the log and used for a month: it says how engines of a use run on average and
when in the year, which changes slowly. What an engine's own readings say is worked out each time.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from datetime import date, timedelta
from functools import lru_cache
from typing import TYPE_CHECKING

from fleetlog.domain.beyond import apart
from fleetlog.domain.satisfaction import seen_on
from fleetlog.store.kept.fits import KeptFit
from fleetlog.store.reader import Reader
from fleetlog.usecases.usage import usage_of

if TYPE_CHECKING:
    from fleetlog.forecast.evidence import EngineUsage
    from fleetlog.forecast.parameters import FleetParameters

FIT_SERVES_DAYS = 30
"""For so many days from its own on a fit is used; a day before its own never uses it."""

COUNTED_FIGURES = 6_000
"""Growth is looked at each time in a log of up to so many figures; a larger one is fitted by its age."""

GROWTH_SHARE, GROWTH_FIGURES = 0.2, 10
"""A fit is out of date when the figures of hour meters grew by a fifth, and by ten besides."""


FORM, FIT_FORM = "form", 14
"""The key under which a kept fit has its form, and the form of today.

Raise the number when the parameters of a fit get other fields or another meaning, and when what is kept of
engines (`KeptEngine`, `KeptLine`) changes: fits of another form count as not kept, and so do all lines that
were worked out with one.
"""


def known_use(reader: Reader, today: date, at_hand: Iterable[EngineUsage] = ()) -> FleetParameters:
    """What is known on a day of how the fleet is used: a kept fit that serves still, else a new one.

    A past day's list is made with a fit as of that day, so that nothing of what came later is in it.
    """
    kept = serving_fit(reader, today)
    return learn_use(reader, today, at_hand) if kept is None else parameters_of(kept)


@lru_cache(maxsize=8)
def parameters_of(fit: KeptFit) -> FleetParameters:
    """The parameters that a fit of the present form found out."""
    from fleetlog.forecast.parameters import FleetParameters

    stored = json.loads(fit.parameters)
    return FleetParameters.from_json({name: value for name, value in stored.items() if name != FORM})


@lru_cache(maxsize=8)
def fit_name(parameters: FleetParameters) -> str:
    """The name that says with which parameters, and of which form, a date was computed."""
    return f"{FIT_FORM}.{parameters.content_id}"


def serving_fit(reader: Reader, today: date) -> KeptFit | None:
    """The kept fit that serves on a day; None where the fleet is to be fitted anew."""
    kept = reader.kept.latest_fit(today - timedelta(days=FIT_SERVES_DAYS), today)
    return None if kept is None or not is_readable(kept) or _has_outgrown(reader, kept, today) else kept


@lru_cache(maxsize=8)
def is_readable(fit: KeptFit) -> bool:
    """Whether a kept fit is of the present form; one of another counts as not kept."""
    try:
        stored = json.loads(fit.parameters)
    except ValueError:
        return False
    return isinstance(stored, dict) and stored.get(FORM) == FIT_FORM


def learn_use(reader: Reader, today: date, at_hand: Iterable[EngineUsage] = ()) -> FleetParameters:
    """What the readings of the fleet up to a day tell of its use, fitted now and kept.

    Only the ledgers that a fit looks at are read: of a large fleet a part (`looked_at`), and none of an
    engine whose use as seen on that day is given in `at_hand`.
    """
    from fleetlog.forecast.evidence import FleetUsage
    from fleetlog.forecast.fit import fit_fleet, looked_at

    uses = reader.uses()
    serials = list(uses)
    wanted = [serials[place] for place in looked_at(list(uses.values()))]
    known = {usage.key: usage for usage in at_hand}
    for whole in reader.ledgers([serial for serial in wanted if serial not in known]):
        ledger, _ = apart(whole)
        known[ledger.engine.serial] = usage_of(ledger, seen_on(ledger, today))
    parameters = fit_fleet(FleetUsage.of(known[serial] for serial in wanted), today)
    stored = json.dumps({FORM: FIT_FORM, **parameters.to_json()}, separators=(",", ":"))
    reader.keep(KeptFit(fit_name(parameters), today, reader.kept.figures_until(today), stored))
    return parameters


def _has_outgrown(reader: Reader, kept: KeptFit, today: date) -> bool:
    enough = int(kept.figures * (1 + GROWTH_SHARE)) + GROWTH_FIGURES
    return enough <= COUNTED_FIGURES and reader.kept.figures_until(today, enough) >= enough
