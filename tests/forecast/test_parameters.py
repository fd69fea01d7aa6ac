"""A fit of the fleet is a value: it can be stored, named and repeated."""

from __future__ import annotations

import json
from collections import Counter
from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from fleetlog.errors.forecast import UsageArraysDisagree
from fleetlog.forecast import FleetParameters, FleetUsage, fit_fleet
from fleetlog.forecast.evidence import NEVER
from fleetlog.forecast.fit import LOOKED_AT, looked_at
from tests.forecast.simulator import FIRST, REGIMES, simulate

TODAY = date.fromordinal(FIRST + 900)


@pytest.fixture(scope="module")
def usage() -> FleetUsage:
    return simulate(REGIMES["rarely read"], 60, 2).usage


def test_parameters_come_back_from_json_as_they_were(usage: FleetUsage) -> None:
    fitted = fit_fleet(usage, TODAY)
    stored = json.loads(json.dumps(fitted.to_json()))
    assert FleetParameters.from_json(stored) == fitted
    assert FleetParameters.from_json(stored).content_id == fitted.content_id


def test_of_a_large_fleet_a_fit_looks_at_an_even_share_of_each_use_and_more_of_a_rare_one() -> None:
    assert looked_at([None, "private"] * (LOOKED_AT // 2)) == list(range(LOOKED_AT))
    uses = ["rescue" if n % 400 == 0 else "hire" if n % 3 == 0 else "private" for n in range(40_000)]
    places = looked_at(uses)
    assert LOOKED_AT <= len(places) < 1.05 * LOOKED_AT
    assert places == sorted(set(places))
    found, known = Counter(uses[place] for place in places), Counter(uses)
    assert found["rescue"] == 100
    assert found["private"] / found["hire"] == pytest.approx(known["private"] / known["hire"], 0.01)
    assert max(np.diff(places)) < 40


def test_the_same_readings_give_the_same_parameters_and_others_another_name(usage: FleetUsage) -> None:
    fitted = fit_fleet(usage, TODAY)
    assert fit_fleet(usage, TODAY).content_id == fitted.content_id
    assert replace(fitted, step_spread=fitted.step_spread * 2).content_id != fitted.content_id


def test_a_fit_says_when_it_was_made_and_from_how_much(usage: FleetUsage) -> None:
    fitted = fit_fleet(usage, TODAY)
    assert fitted.fitted_on == TODAY
    assert fitted.engines == len(usage)
    assert fitted.readings == int((usage.reading_day <= TODAY.toordinal()).sum())


def test_what_is_read_after_today_does_not_move_a_fit(usage: FleetUsage) -> None:
    earlier = usage.read_until(TODAY.toordinal())
    assert fit_fleet(usage, TODAY).log_centres == fit_fleet(earlier, TODAY).log_centres


def test_a_past_day_knows_no_later_reading_layup_or_change(usage: FleetUsage) -> None:
    day = TODAY.replace(month=1, day=15).toordinal()  # when many boats are stored
    known = usage.as_known_on(day)
    assert known.reading_day.max() <= day
    assert known.layup_from.max() <= day
    ended = known.layup_to <= day
    assert ended.any()
    assert set(known.layup_to[~ended]) == {NEVER}
    assert known.changed_day.max() <= day
    assert len(known) == len(usage)


def test_a_choice_of_engines_keeps_their_readings_and_layups(usage: FleetUsage) -> None:
    chosen = usage.chosen(np.array([7, 3]))
    for place, engine in enumerate((7, 3)):
        mine, theirs = (
            fleet.reading_hours[fleet.reading_offsets[i] : fleet.reading_offsets[i + 1]]
            for fleet, i in ((chosen, place), (usage, engine))
        )
        assert mine.tolist() == theirs.tolist()
    assert np.diff(chosen.layup_offsets).tolist() == np.diff(usage.layup_offsets)[[7, 3]].tolist()


@pytest.mark.parametrize(
    "wrong",
    [
        {"reading_offsets": np.array([0, 1])},
        {"reading_hours": np.array([1.0])},
        {"reading_day": np.array([9, 8])},
        {"layup_from": np.array([3])},
    ],
)
def test_arrays_that_cannot_belong_together_are_refused(wrong: dict[str, np.ndarray]) -> None:
    arrays = {
        "uses": ("private",),
        "use_code": np.zeros(1, dtype=np.int64),
        "reading_offsets": np.array([0, 2]),
        "reading_day": np.array([8, 9]),
        "reading_hours": np.array([1.0, 2.0]),
    }
    assert len(FleetUsage.from_arrays(**arrays)) == 1
    with pytest.raises(UsageArraysDisagree, match="does not fit"):
        FleetUsage.from_arrays(**{**arrays, **wrong})
