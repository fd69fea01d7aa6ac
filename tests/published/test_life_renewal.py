"""Ages at renewal against figures from outside.

R. E. Barlow & L. Hunter, Operations Research 8 (1960) 90-100. The published optimum of Weibull 2.5 / 1000 h
with costs 1 and 5 is a grid's best point, 493.19 h at 0.0035 an hour (second-hand); the rest is computed,
checked by integration.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from fleetlog.life.renewal import RenewalCosts, renew_by_age
from fleetlog.life.weibull import Weibull
from tests.files import table_rows

TABLE = Path(__file__).parent / "data" / "life_age_replacement.csv"
CASES = [tuple(float(cell) for cell in row.values()) for row in table_rows(TABLE)]


def test_the_published_optimum_is_met_within_its_grid() -> None:
    """Second-hand."""
    found = renew_by_age(Weibull(2.5, 1000), RenewalCosts(planned=1, failure=5))
    assert found.least.age == pytest.approx(493.19, abs=0.2)
    assert found.least.cost_rate == pytest.approx(0.0035, abs=5e-5)


@pytest.mark.parametrize("case", CASES, ids=lambda case: "-".join(f"{figure:g}" for figure in case[:4]))
def test_the_table_of_optima_is_met(case: tuple[float, ...]) -> None:
    """Computed."""
    shape, scale, planned, failure, age, cost_rate, run_to_failure = case
    found = renew_by_age(Weibull(shape, scale), RenewalCosts(planned, failure))
    assert found.least.age == pytest.approx(age, abs=1e-6)
    assert found.least.cost_rate == pytest.approx(cost_rate, abs=5e-10)
    assert found.run_to_failure_cost_rate == pytest.approx(run_to_failure, abs=5e-10)


@pytest.mark.parametrize(
    ("shape", "scale", "planned", "failure", "age"),
    [(2, 1000, 1, 10, 336.451191), (4, 2000, 100, 700, 972.330393)],
)
def test_two_more_optima_are_met(
    shape: float, scale: float, planned: float, failure: float, age: float
) -> None:
    """Computed."""
    found = renew_by_age(Weibull(shape, scale), RenewalCosts(planned, failure))
    assert found.least.age == pytest.approx(age, abs=1e-6)
