"""Units against NIST Special Publication 811 (2008), Appendix B.8, and against torques as read in the trade.

The seven printed digits are second-hand, the full values computed from the definitions; both stand in
data/unit_factors.csv. The torques are common practice, with no source.
"""

from __future__ import annotations

import re
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest

from fleetlog.domain.units import UNITS, converted, newton_metres, rounded, unit_named
from tests.files import table_rows

FACTORS = Path(__file__).parent / "data" / "unit_factors.csv"
SPELLED = {
    "pound-force foot (lbf.ft)": "lbf·ft",
    "pound-force inch (lbf.in)": "lbf·in",
    "pound-force per square inch (psi)": "psi",
    "inch": "in",
    "gallon (U.S.)": "US gal",
    "quart (U.S. liquid)": "US qt",
    "pint (U.S. liquid)": "US pt",
    "ounce (U.S. fluid)": "US fl oz",
    "gallon (Imperial)": "imp gal",
    "kilogram-force metre": "kgf·m",
    "bar": "bar",
    "horsepower (550 ft.lbf/s)": "hp",
    "horsepower (metric)": "metric hp",
    "nautical mile": "nmi",
    "knot": "kn",
}
INTO = {"N.m": "N·m", "m": "m"}


@pytest.mark.parametrize("row", table_rows(FACTORS), ids=lambda row: row["from"])
def test_factors_agree_with_nist_sp_811(row: dict[str, str]) -> None:
    unit, into = SPELLED[row["from"]], INTO.get(row["to"], row["to"])
    factor = (
        unit_named(unit).factor if into == "m" else converted(Decimal(1), unit, into)
    )  # the nautical mile is given in metres, which is the SI unit itself
    full = Fraction(row["exact_or_full_value"])
    assert abs(factor - full) <= full * Fraction(1, 10**14)
    mantissa, exponent = re.match(r"([\d. ]+)(?:E([+-]\d+))?", row["nist_printed"]).groups()  # type: ignore[union-attr]
    printed = Fraction(mantissa.replace(" ", "")) * Fraction(10) ** int(exponent or 0)
    assert abs(factor - printed) <= printed * Fraction(1, 10**6)


def test_factors_that_are_exact_are_exact() -> None:
    exact = {
        row["from"]: Fraction(row["exact_or_full_value"])
        for row in table_rows(FACTORS)
        if row["nist_exact_flag"] == "yes"
    }
    assert exact
    for name, value in exact.items():
        row = next(r for r in table_rows(FACTORS) if r["from"] == name)
        into = INTO.get(row["to"], row["to"])
        unit = SPELLED[name]
        assert (unit_named(unit).factor if into == "m" else converted(Decimal(1), unit, into)) == value


def test_every_unit_of_the_publications_table_is_known() -> None:
    assert {row["from"] for row in table_rows(FACTORS)} == set(SPELLED)
    assert set(SPELLED.values()) <= {unit.name for unit in UNITS}


def test_units_of_the_si_are_powers_of_ten() -> None:
    powers = {"N·m": 0, "Pa": 0, "kPa": 3, "bar": 5, "mm": -3, "mL": -6, "L": -3, "W": 0, "kW": 3, "m/s": 0}
    assert {name: unit_named(name).factor for name in powers} == {
        name: Fraction(10) ** power for name, power in powers.items()
    }


@pytest.mark.parametrize(
    ("read", "newton_metres_read"), [("10", "13.5582"), ("25", "33.8954"), ("72", "97.6189")]
)
def test_torques_computed_from_the_definitions(read: str, newton_metres_read: str) -> None:
    assert newton_metres(Decimal(read), "lbf·ft") == Decimal(newton_metres_read)


@pytest.mark.parametrize(
    ("read", "newton_metres_read"),
    [("49", "66.4"), ("43", "58.3"), ("174", "235.9"), ("5.8", "7.9")],
    ids=["cam sprocket", "tensioner", "flywheel nut, threads oiled", "cover bolts, in two passes"],
)
def test_torques_as_read_in_the_trade(read: str, newton_metres_read: str) -> None:
    assert rounded(converted(Decimal(read), "lbf·ft", "N·m"), 1) == Decimal(newton_metres_read)
