"""Recurrent repairs against figures from outside.

- Valve seats of 41 diesel engines: W. Nelson & N. Doganaksoy (1989); W. Nelson, Technometrics 37 (1995)
  147-157 (data printed; mean cumulative function, robust standard errors and power law computed, two
  libraries agree).
- One repairable system: NIST/SEMATECH e-Handbook of Statistical Methods, 8.2.2.3 (data) and 8.4.5.2
  (printed); trend figures computed by the definitions in 8.2.3.4.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from fleetlog.life.mean_cumulative import mean_cumulative_function
from fleetlog.life.recurrence import (
    Repairs,
    fit_power_law,
    repair_trend,
    time_between_repairs,
)
from tests.files import table_rows

DATA = Path(__file__).parent / "data"
HANDBOOK_AGES = [5.0, 40.0, 43.0, 175.0, 389.0, 712.0, 747.0, 795.0, 1299.0, 1478.0]
HANDBOOK_END = 1500.0


@pytest.fixture(scope="module")
def valve_seats() -> Repairs:
    engines = table_rows(DATA / "life_valve_seats.csv")
    ages = [[float(age) for age in row["replacement_ages_days"].split()] for row in engines]
    return Repairs.of_engines(ages, [float(row["end_age_days"]) for row in engines])


def test_valve_seats_have_the_known_mean_cumulative_function(valve_seats: Repairs) -> None:
    """Computed from printed data, to the six decimals given."""
    table = table_rows(DATA / "life_valve_seats_mcf.csv")
    found = mean_cumulative_function(valve_seats)
    assert found.age == pytest.approx(np.array([float(row["age_days"]) for row in table]))
    assert found.at_risk.tolist() == [int(row["engines_at_risk"]) for row in table]
    assert found.repairs.tolist() == [int(row["replacements"]) for row in table]
    assert found.mean == pytest.approx(np.array([float(row["MCF"]) for row in table]), abs=1e-6)
    assert found.se == pytest.approx(np.array([float(row["se_robust"]) for row in table]), abs=1e-6)


def test_valve_seats_follow_the_known_power_law(valve_seats: Repairs) -> None:
    """Computed, two libraries."""
    law = fit_power_law(valve_seats)
    assert law.scale == pytest.approx(553.6430, abs=1e-4)
    assert law.power == pytest.approx(1.399579, abs=1e-6)
    assert law.repairs == 48


def test_the_handbooks_system_has_the_printed_modified_estimate() -> None:
    """Printed, with 80 % limits."""
    found = time_between_repairs(HANDBOOK_AGES, HANDBOOK_END, confidence=0.8)
    assert found.growth_slope == pytest.approx(0.516494, abs=1e-6)
    assert found.mean_time.value == pytest.approx(310.234, abs=1e-3)
    assert found.mean_time.low == pytest.approx(157.7138, abs=1e-3)
    assert found.mean_time.high == pytest.approx(548.5566, abs=1e-3)


def test_the_handbooks_system_has_the_computed_power_and_trend() -> None:
    """Computed."""
    system = Repairs.of_engines([HANDBOOK_AGES], [HANDBOOK_END])
    assert fit_power_law(system).power == pytest.approx(0.5372289, abs=1e-7)
    trend = repair_trend(system)
    assert trend.laplace == pytest.approx(-1.32695, abs=1e-5)
    assert trend.chi_square == pytest.approx(37.2281, abs=1e-4)
    assert trend.degrees == 20
    between = time_between_repairs(HANDBOOK_AGES, HANDBOOK_END)
    assert (between.lengthening, between.pairs) == (33, 45)
