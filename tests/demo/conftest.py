"""The committed files of the invented marina, as tests look at them."""

from __future__ import annotations

import pytest

from tests.demo.journal import COLUMNS
from tests.demo.make_demo_fleet import DEMO_FOLDER
from tests.files import table_rows


@pytest.fixture(scope="session")
def fleet() -> dict[str, list[dict[str, str]]]:
    """The rows of every file of demo_fleet."""
    return {name: table_rows(DEMO_FOLDER / f"{name}.csv") for name in COLUMNS}
