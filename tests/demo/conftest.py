"""The committed files of the invented marina, as tests look at them."""

from __future__ import annotations

import csv

import pytest

from tests.demo.journal import COLUMNS
from tests.demo.make_demo_fleet import DEMO_FOLDER


@pytest.fixture(scope="session")
def fleet() -> dict[str, list[dict[str, str]]]:
    """The rows of every file of demo_fleet."""
    rows = {}
    for name in COLUMNS:
        with (DEMO_FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as file:
            rows[name] = list(csv.DictReader(file))
    return rows
