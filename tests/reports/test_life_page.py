"""The page of a kind of item: valid, told in words and figures, drawn with what the records hold."""

from __future__ import annotations

import numpy as np
import pytest

from fleetlog.life.answer import LifeAnswer, MakerInterval, answer_life
from fleetlog.life.lives import GatheredLives, Life, Unit, gather_lives
from fleetlog.reports.rendering import life_rows, render_lives
from tests.reports.marina import CONTEXT, TODAY, render_pages, small_fleet
from tests.reports.pages import faults, rows_under, text_of


def lives(seed: int, count: int, scale: float = 400, unit: Unit = "hours") -> GatheredLives:
    """Lives of which some failed, some were found worn, some came with age, and one is left out."""
    rng = np.random.default_rng(seed)
    ages, seen = rng.weibull(2.5, count) * scale, rng.uniform(scale / 8, 1.5 * scale, count)
    found = []
    for n, (age, end) in enumerate(zip(ages, seen, strict=True)):
        ended = "sound" if age > end else "found worn" if n % 3 == 0 else "failed"
        last = float(min(age, end))
        found.append(Life(ended, last, 0.6 * last, 0.3 * last if n % 7 == 0 else 0.0, f"life {n}"))
    return gather_lives([*found, Life("failed", float("nan"), label="the <old> one")], unit)


def answer(item: str = "water pump impeller", **more: object) -> LifeAnswer:
    parts = {"fresh": lives(2, 50), "salt": lives(3, 50, 300), "brackish": lives(4, 50, 350)}
    intervals = [MakerInterval("V6", 200.0, False), MakerInterval("I4", 250.0, False)]
    said: dict[str, object] = {"intervals": intervals, "split_by": "water", "parts": parts, **more}
    return answer_life(item, lives(1, 90), **said)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "told",
    [
        answer(),
        answer("Kühlwasser-<pumpe>", about='maker "Ada" & Sons'),
        answer_life("anode", lives(5, 12, 36, "months"), intervals=[MakerInterval("V6", 24.0, True)]),
        answer_life("belt", lives(6, 8), shape=3.0),
        answer_life("thermostat", lives(7, 3000)),
    ],
    ids=["groups", "hostile", "months", "stated", "many"],
)
def test_the_page_is_valid_and_defers_to_the_maker(told: LifeAnswer) -> None:
    [(path, page)] = render_lives([told], CONTEXT, TODAY).items()
    assert faults(page) == []
    assert path.startswith("life/")
    text = text_of(page)
    for part in ("ended in failure", "The maker's manual governs", "one in ten"):
        assert part in text.replace("One in ten", "one in ten"), part
    assert len(page) < 120_000


def test_what_was_left_out_is_named_and_what_is_drawn_is_told() -> None:
    [page] = render_lives([answer()], CONTEXT, TODAY).values()
    text = text_of(page)
    assert "the <old> one: its age is not known" in text
    assert "by the 200 hours of V6" in text
    assert "Salt water: 50 lives" in text
    rows = rows_under(page, "figures")
    assert [row[0] for row in rows] == ["Lives", "all", "fresh", "salt", "brackish"]


def test_pages_of_two_choices_of_one_kind_do_not_share_a_name() -> None:
    told = [answer(), answer(about="water salt"), answer(about="water fresh")]
    assert len(render_lives(told, CONTEXT, TODAY)) == 3


def test_the_first_page_lists_kinds_with_a_page_first_and_says_where_it_is_too_few() -> None:
    few = answer_life("starter", gather_lives([Life("failed", 100.0), Life("sound", 300.0)]))
    told = [few, answer()]
    assert [row.item for row in life_rows(told)] == ["water pump impeller", "starter"]
    pages = render_pages(small_fleet(), CONTEXT, told)
    assert faults(pages["index.html"]) == []
    assert "life/water-pump-impeller.html" in pages
    rows = rows_under(pages["index.html"], "lives")
    assert rows[1][0] == "water pump impeller"
    assert rows[2] == ["starter", "1 of 2", "–", "too few to say"]
    assert 'href="life/water-pump-impeller.html"' in pages["index.html"]
