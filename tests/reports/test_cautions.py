"""Cautions: chosen by the work shown, always beneath the manual, never missing where work can hurt."""

from __future__ import annotations

import pytest

from fleetlog.domain.schedule import Rule
from fleetlog.reports.cautions import ABOVE_ALL, CAUTIONS, cautions_for
from tests.reports.marina import CONTEXT, render_pages, small_fleet
from tests.reports.pages import text_of


def titles(**rule: str) -> set[str]:
    made = Rule("k", rule.pop("title", "Look at it"), rule.pop("item", "bracket"), "inspect", **rule)  # type: ignore[arg-type]
    return {caution.title for caution in cautions_for([made])}


def test_any_work_begins_with_stopping_it_from_starting() -> None:
    assert titles() == {"Stop it from starting"}
    assert "kill cord" in CAUTIONS[0].text
    assert "Battery off" in CAUTIONS[0].text


@pytest.mark.parametrize(
    ("words", "caution"),
    [
        ({"item": "timing belt"}, "Turn it by hand only"),
        ({"item": "fuel filter"}, "Fuel vapour"),
        ({"item": "water pump impeller"}, "Run it only with cooling water"),
        ({"title": "Flush with fresh water"}, "Run it only with cooling water"),
        ({"access": "flywheel off"}, "Lifting"),
        ({"assembly": "powerhead"}, "Lifting"),
        ({"item": "propeller shaft seals"}, "Propeller"),
        ({"item": "Engine oil"}, "Hot and under pressure"),
    ],
)
def test_work_brings_the_cautions_of_its_own_dangers(words: dict[str, str], caution: str) -> None:
    assert caution in titles(**words)


def test_words_about_belts_stand_on_belt_jobs_alone() -> None:
    assert "Turn it by hand only" not in titles(item="fuel filter", access="cowl off")


def test_no_work_needs_no_cautions() -> None:
    assert cautions_for([]) == []


def test_pages_of_the_shop_put_the_makers_manual_above_all() -> None:
    pages = render_pages(small_fleet(), CONTEXT)
    for path in ("due.html", "engines/TB-0010.html"):
        assert ABOVE_ALL in text_of(pages[path])
    assert "manual and local rules come first" in ABOVE_ALL
    assert "qualified technician" in ABOVE_ALL
