"""Names that look like what was typed are offered, the likeliest slip of the hand first."""

from __future__ import annotations

import pytest

from fleetlog.domain.nearest import nearest, nearest_numbers

NUMBERS = ["VK6-20417", "VK6-20713", "VK6-20701", "VK6-20641", "ML4-0408", "T2/0751", "T2/0541"]


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("20471", "VK6-20417"),
        ("VK6-20471", "VK6-20417"),
        ("2417", "VK6-20417"),
        ("204417", "VK6-20417"),
        ("vk620417", "VK6-20417"),
        ("4080", "ML4-0408"),
    ],
)
def test_a_slip_in_any_part_of_a_number_offers_the_one_that_was_meant_first(typed: str, meant: str) -> None:
    assert nearest_numbers(typed, NUMBERS)[0] == meant


def test_a_number_is_offered_once_and_no_more_than_asked_for() -> None:
    assert nearest_numbers("VK6-20417", NUMBERS, most=2) == ["VK6-20417", "VK6-20641"]
    assert nearest_numbers("zzz", NUMBERS) == []


def test_of_names_as_like_the_one_of_fewer_slips_comes_first() -> None:
    assert nearest("timing bletl", ["timing belts", "timing belt"]) == ["timing belt", "timing belts"]
    assert nearest("impellre", ["impeller", "propeller"], most=1) == ["impeller"]
