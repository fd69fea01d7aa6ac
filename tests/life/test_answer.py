"""What the lives of a kind of item say, as a whole and group by group, in words and as plain values."""

from __future__ import annotations

import json

import numpy as np
import pytest

from fleetlog.errors import FleetlogError
from fleetlog.errors.life import NoFailures, TooFewFailures
from fleetlog.life.answer import LifeAnswer, MakerInterval, answer_life
from fleetlog.life.lives import GatheredLives, Life, gather_lives
from fleetlog.life.mean_cumulative import mean_cumulative_function
from fleetlog.life.objects import advice_object, answer_object, mean_rows, trend_object
from fleetlog.life.paragraphs import paragraphs
from fleetlog.life.recurrence import Repairs, fit_power_law, repair_trend
from fleetlog.life.renewal import RenewalCosts, advise_renewal
from fleetlog.life.weibull import Weibull


def lives(seed: int, count: int, scale: float = 400, shape: float = 2.5) -> GatheredLives:
    rng = np.random.default_rng(seed)
    ages, seen = rng.weibull(shape, count) * scale, rng.uniform(50, 600, count)
    return gather_lives(
        Life("failed" if age < end else "sound", float(min(age, end)), label=f"life {n}")
        for n, (age, end) in enumerate(zip(ages, seen, strict=True))
    )


def sound(count: int) -> GatheredLives:
    return gather_lives([Life("sound", 500.0)] * count)


def answer(**more: object) -> LifeAnswer:
    parts = {"fresh": lives(2, 60, 900), "salt": lives(3, 60, 300), "brackish": sound(4)}
    return answer_life("impeller", lives(1, 80), split_by="water", parts=parts, **more)  # type: ignore[arg-type]


def test_groups_are_told_one_by_one_and_pair_by_pair() -> None:
    told = paragraphs(answer())
    assert told[0].startswith("Of 80 lives of the impeller in these records")
    assert any(text.startswith("Fresh water: 60 lives") for text in told)
    assert any(text.startswith("Brackish water: none of 4 lives has failed") for text in told)
    assert any("In fresh water the impeller lasts longer than in salt water" in text for text in told)


def test_of_three_groups_all_are_compared_at_once_and_only_pairs_that_differ_are_told() -> None:
    alike = {name: lives(seed, 40) for seed, name in enumerate(("charter", "hire", "private"), 4)}
    same = answer_life("impeller", lives(1, 80), split_by="use", parts=alike)
    told = paragraphs(same)
    assert any(t.startswith("These records don't show that it differs by use how long") for t in told)
    assert not any("than in" in text for text in told)
    parts = {**alike, "rescue": lives(9, 60, 150)}
    differing = answer_life("impeller", lives(1, 80), split_by="use", parts=parts)
    told = paragraphs(differing)
    assert any(t.startswith("How long the impeller lasts differs by use: such differences") for t in told)
    pairs = [text for text in told if "than in" in text]
    assert len(pairs) == 3
    assert all("rescue use" in text for text in pairs)
    assert answer_object(differing)["overall"]["degrees"] == 6
    assert answer_object(answer())["overall"] is None


@pytest.mark.parametrize(
    ("split_by", "parts", "said"),
    [
        ("part", ("A-1", "A-2"), "With part A-1 the anode lasts longer than with part A-2"),
        (
            "maker",
            ("Vellmar", "other maker"),
            "With parts by Vellmar the anode lasts longer than with parts by",
        ),
        (
            "family",
            ("V6", "other family"),
            "On engines of V6 the anode lasts longer than on engines of another",
        ),
        ("water", ("fresh", "other water"), "In fresh water the anode lasts longer than in other water"),
    ],
)
def test_groups_are_compared_in_whole_sentences(split_by: str, parts: tuple[str, str], said: str) -> None:
    groups = dict(zip(parts, (lives(2, 60, 900), lives(3, 60, 300)), strict=True))
    told = paragraphs(answer_life("anode", lives(1, 80), split_by=split_by, parts=groups))
    assert any(text.startswith(said) for text in told)


def test_the_makers_interval_is_told_once_where_all_agree_and_one_by_one_where_not() -> None:
    one = [MakerInterval("V6", 300.0, False), MakerInterval("I4", 300.0, False)]
    assert "At the maker's interval of 300 hours" in paragraphs(answer(intervals=one))[0]
    two = [MakerInterval("V6", 300.0, False), MakerInterval("I4", 200.0, False)]
    told = paragraphs(answer(intervals=two))
    assert "interval of" not in told[0]
    assert any(text.startswith("At the maker's 200 hours of the I4 schedule") for text in told)


def test_as_values_everything_is_there_and_json_takes_it() -> None:
    found = answer_object(answer(about="use hire"))
    assert json.loads(json.dumps(found, allow_nan=False)) == found
    assert (found["item"], found["lives"], found["where"]) == ("impeller", 80, "use hire")
    groups = {group["group"]: group for group in found["groups"]}
    assert groups["salt"]["shape"] is not None
    assert groups["brackish"]["why_not"].startswith("none of 4 lives")
    [pair] = found["comparisons"]
    assert pair["differ"] is True
    assert pair["life_factor"] > 1


def test_too_few_to_say_is_refused_and_a_stated_shape_says_what_is_outlasted() -> None:
    with pytest.raises(NoFailures):
        answer_object(answer_life("belt", sound(5)))
    one_failed = gather_lives([Life("failed", 300.0), Life("sound", 500.0)])
    with pytest.raises(TooFewFailures):
        answer_object(answer_life("belt", one_failed))
    assert answer_object(answer_life("belt", one_failed, shape=3.0))["shape_stated"] is True
    stated = answer_life("belt", sound(5), shape=3.0)
    assert answer_object(stated)["characteristic_life_hours"] is None
    assert "outlast" in paragraphs(stated)[0]


def test_all_of_one_age_is_a_clear_sentence() -> None:
    same = gather_lives([Life("failed", 300.0)] * 6)
    refused = answer_life("belt", same).whole.refusal
    assert isinstance(refused, FleetlogError)
    assert "all fit one age near 300 hours" in str(refused)


def test_lives_left_out_are_counted_by_reason() -> None:
    some = [Life("failed", a) for a in (100.0, 200.0, 250.0)]
    doubtful = Life("failed", 90.0, doubt="nothing says whether it was renewed")
    told = paragraphs(answer_life("belt", gather_lives([*some, doubtful, Life("sound", float("nan"))])))
    assert told[-1] == "Left out: 1: nothing says whether it was renewed; 1: its age is not known."


def test_advice_as_values_has_no_infinite_figure() -> None:
    costs = RenewalCosts(1, 5)
    wears = advice_object(advise_renewal(Weibull(2.5, 1000), costs, 400, is_grave=False))
    assert wears["advised_age"] == 400
    assert wears["least_cost_by_age"]["age"] == pytest.approx(493.05, abs=0.01)
    chance = advice_object(
        advise_renewal(Weibull(1.0, 1000), costs, 400, is_grave=True, opening_cost=0.5, opening_spacing=100)
    )
    assert (chance["advised_age"], chance["least_cost_by_age"]["age"]) == (None, None)
    json.dumps([wears, chance], allow_nan=False)


def test_repairs_as_values() -> None:
    repairs = Repairs.of_engines([[10.0, 60.0, 90.0], [80.0, 95.0]], [100.0, 100.0])
    rows = mean_rows(mean_cumulative_function(repairs))
    assert [row["age"] for row in rows] == [10, 60, 80, 90, 95]
    assert rows[-1]["mean"] == pytest.approx(2.5)
    told = trend_object(repair_trend(repairs), fit_power_law(repairs), None)
    assert told["power"] > 1
    assert trend_object(None, None, None)["laplace"] is None
    json.dumps([rows, told], allow_nan=False)
