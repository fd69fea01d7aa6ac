"""Which consequences are grave."""

from __future__ import annotations

import pytest

from fleetlog.domain.gravity import is_grave
from fleetlog.domain.schedule import Rule


@pytest.mark.parametrize(
    ("consequence", "grave"),
    [
        ("engine damage", True),
        ("loss of steering", True),
        ("Fire", True),
        ("a seized powerhead", True),
        ("overheating and a tow", False),
        ("corrosion", False),
        ("oil leak", False),
        (None, False),
    ],
)
def test_what_wrecks_an_engine_or_endangers_people_is_grave(consequence: str | None, grave: bool) -> None:
    assert is_grave(Rule("k", "T", "item", "replace", consequence=consequence)) is grave
