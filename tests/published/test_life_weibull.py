"""Weibull fits against figures from outside.

- The handbook's units: NIST/SEMATECH e-Handbook of Statistical Methods, 8.2.2.1 (data) and 8.4.1.3 (printed
  estimates, which stop short of the optimum in the fourth decimal; the converged ones are computed).
- Turbine parts found cracked at inspections: W. Nelson, Applied Life Data Analysis (1982), p. 415 (data
  printed; estimates computed by two libraries).
- Four sets with every kind of evidence: turbine wheels each looked at once (`survival::turbine`), two medical
  sets with late entry (`KMsurv::psych`, `KMsurv::channing`), and the turbine parts with late entry imposed;
  references solved to 30 digits (computed; two libraries agree).
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from fleetlog.life.fit import WeibullFit, fit_weibull
from fleetlog.life.lives import Lives
from tests.files import table_rows
from tests.life.standard_errors import standard_errors

DATA = Path(__file__).parent / "data"


REFERENCES = table_rows(DATA / "life_reference.csv")


@pytest.fixture(scope="module")
def handbook_fit() -> WeibullFit:
    units = table_rows(DATA / "life_handbook_units.csv")
    low = [float(row["time_h"]) for row in units]
    high = [math.inf if row["censored"] == "1" else age for row, age in zip(units, low, strict=True)]
    return fit_weibull(Lives.from_arrays(low, high, weight=[float(row["count"]) for row in units]))


def test_the_handbooks_example_has_the_printed_estimates(handbook_fit: WeibullFit) -> None:
    """Printed."""
    weibull = handbook_fit.weibull
    assert weibull.characteristic_life == pytest.approx(606.5280, abs=1e-3)
    assert weibull.shape == pytest.approx(1.7208, abs=1e-4)
    assert abs(handbook_fit.log_likelihood) == pytest.approx(75.135, abs=5e-4)
    assert weibull.mean_life() == pytest.approx(540.737, abs=2e-3)
    of_these = stats.weibull_min(weibull.shape, scale=weibull.characteristic_life)
    assert of_these.std() == pytest.approx(323.806, abs=2e-3)


def test_the_handbooks_example_has_the_converged_estimates(handbook_fit: WeibullFit) -> None:
    """Computed."""
    weibull = handbook_fit.weibull
    assert weibull.characteristic_life == pytest.approx(606.52756, abs=1e-5)
    assert weibull.shape == pytest.approx(1.720797, abs=1e-6)
    assert handbook_fit.b10.value == pytest.approx(164.022, abs=1e-3)
    assert handbook_fit.b50.value == pytest.approx(490.174, abs=1e-3)
    assert 1 - float(weibull.chance_of_failure(300, 100)) == pytest.approx(0.826338, abs=1e-6)


def test_standard_errors_give_the_handbook_examples_wald_limits(handbook_fit: WeibullFit) -> None:
    """Computed: 95 % on the log scale."""
    se_shape, se_characteristic_life = standard_errors(handbook_fit)
    for value, se, low, high in (
        (handbook_fit.weibull.characteristic_life, se_characteristic_life, 405.0893, 908.1348),
        (handbook_fit.weibull.shape, se_shape, 0.971266, 3.048745),
    ):
        factor = math.exp(1.959963984540054 * se / value)
        assert value / factor == pytest.approx(low, rel=2e-6)
        assert value * factor == pytest.approx(high, rel=2e-6)


def test_cracks_found_at_inspections_have_the_computed_estimates() -> None:
    """Computed from printed data."""
    cracks = table_rows(DATA / "life_cracks.csv")
    low = [float(row["interval_start_months"]) for row in cracks]
    high = [float(row["interval_end_months"]) for row in cracks]
    counts = [float(row["found_cracked"]) for row in cracks]
    fit = fit_weibull(Lives.from_arrays(low, high, weight=counts, unit="months"))
    assert fit.weibull.characteristic_life == pytest.approx(71.69041, abs=1e-5)
    assert fit.weibull.shape == pytest.approx(1.485367, abs=1e-6)
    assert fit.log_likelihood == pytest.approx(-309.668409, abs=1e-6)
    se_shape, se_characteristic_life = standard_errors(fit)
    assert se_characteristic_life == pytest.approx(5.33349, abs=2e-5)
    assert se_shape == pytest.approx(0.146541, abs=1e-6)


@pytest.mark.parametrize("case", REFERENCES, ids=[row["case"] for row in REFERENCES])
def test_every_kind_of_evidence_meets_the_reference_to_a_millionth(case: dict[str, str]) -> None:
    """Computed to 30 digits."""
    table = np.genfromtxt(DATA / f"life_{case['case']}.csv", delimiter=",", skip_header=1)
    lives = Lives.from_arrays(*table.T)
    fit = fit_weibull(lives)
    se_shape, se_characteristic_life = standard_errors(fit)
    for found, column in (
        (fit.weibull.shape, "shape"),
        (fit.weibull.characteristic_life, "scale"),
        (fit.log_likelihood, "log_likelihood"),
        (se_shape, "se_shape"),
        (se_characteristic_life, "se_scale"),
        (fit.b10.value, "b10"),
    ):
        assert found == pytest.approx(float(case[column]), rel=1e-6), column
    tally = lives.tally()
    assert tally.lives == int(case["units"])
    assert tally.failed == int(case["exact"])
    assert tally.found_worn == int(case["left"]) + int(case["interval"])
    assert tally.sound == int(case["right"])
    assert tally.entered_with_age == int(case["truncated"])


def test_taking_the_inspection_for_the_failure_is_the_known_wrong_answer() -> None:
    """Computed: 1.89 and 2133 days in place of 1.48 and 2182 (months of 30.4375 days)."""
    cracks = table_rows(DATA / "life_cracks.csv")
    low = np.array([float(row["interval_start_months"]) for row in cracks]) * 30.4375
    high = np.array([float(row["interval_end_months"]) for row in cracks]) * 30.4375
    counts = np.array([float(row["found_cracked"]) for row in cracks])
    right = fit_weibull(Lives.from_arrays(low, high, weight=counts)).weibull
    mistaken = np.where(np.isfinite(high), high, low)
    wrong = fit_weibull(Lives.from_arrays(mistaken, high, weight=counts)).weibull
    assert (right.shape, right.characteristic_life) == pytest.approx((1.485, 2182), rel=1e-3)
    assert (wrong.shape, wrong.characteristic_life) == pytest.approx((1.89, 2133), rel=5e-3)


def test_forgetting_late_entry_gives_another_answer() -> None:
    table = np.genfromtxt(DATA / "life_residents_left_truncated.csv", delimiter=",", skip_header=1)
    low, high, entered_at, counts = table.T
    right = fit_weibull(Lives.from_arrays(low, high, entered_at, counts)).weibull
    forgetful = fit_weibull(Lives.from_arrays(low, high, weight=counts)).weibull
    assert right.shape == pytest.approx(6.28, abs=0.01)
    assert forgetful.shape > 1.5 * right.shape
