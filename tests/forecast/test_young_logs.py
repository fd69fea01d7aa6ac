"""Windows of a shop that has only just begun its log, before a year has come round."""

from __future__ import annotations

from datetime import date

import pytest

from fleetlog.forecast.scoring import scored
from tests.forecast.judging import began_on, next_services
from tests.forecast.simulator import FIRST, REGIMES, simulate

SPRING, AUTUMN = FIRST + 3 * 365 + 60, FIRST + 3 * 365 + 270


@pytest.mark.parametrize("name", ["charter coast", "steady workboats"])
@pytest.mark.parametrize("first_day", [SPRING, AUTUMN], ids=["from spring on", "from autumn on"])
def test_windows_of_a_log_of_half_a_year_hold_and_beat_a_constant_rate(name: str, first_day: int) -> None:
    # From autumn on nothing was read in season: a season that is none once made half of the windows late.
    marina = began_on(simulate(REGIMES[name], 300, 31), first_day)
    cases = next_services(marina, [date.fromordinal(first_day + days) for days in (120, 200)])
    score = scored(cases, marina.usage.uses).scores[0]
    assert score.cases > 250
    assert 0.65 < score.coverage_share < 0.92
    assert score.pinball_ratio < 0.75
