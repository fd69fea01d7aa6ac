"""What a technician reads: no formula, no false certainty, and the maker's manual governs."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fleetlog.life.answer import MakerInterval, Pair
from fleetlog.life.compare import compare_groups
from fleetlog.life.fit import fit_stated_shape, fit_weibull, outlasted_life
from fleetlog.life.lives import LifeTally, Lives
from fleetlog.life.recurrence import Repairs, fit_power_law, repair_trend
from fleetlog.life.renewal import RenewalCosts, advise_renewal
from fleetlog.life.weibull import Weibull
from fleetlog.life.words import (
    MANUAL_GOVERNS,
    advice_in_words,
    age_in_words,
    chance_in_words,
    interval_in_words,
    life_in_words,
    pair_in_words,
    schedule_in_words,
    share_in_words,
    tally_in_words,
    too_few_in_words,
    trend_in_words,
)
from tests.life.samples import lives_with_failures, mixed_lives

ITEM = "water pump impeller"


def test_one_paragraph_says_how_many_how_long_how_sure_and_what_it_means() -> None:
    lives = mixed_lives(np.random.default_rng(1), 60, 2.2, 500)
    assert life_in_words(ITEM, lives.tally(), fit_weibull(lives), MakerInterval("V6", 300.0, False)) == (
        "Of 54 lives of the water pump impeller in these records, 16 ended in failure, 18 were found"
        " worn, and 20 came off sound or still run. 12 came into the records with age on them, which is"
        " allowed for. Half of them last to 454 hours or beyond (382 to 532); one in ten is done by 199"
        " hours (136 to 262). They wear out: the older one is, the likelier it fails (shape 2.3, 1.7 to"
        " 2.9). The limits in brackets hold in 95 of 100 such cases. At the maker's interval of 300 hours,"
        " 24 in 100 (14 to 35 in 100) would have failed or been worn out had none been renewed sooner. The"
        " maker's manual governs."
    )


def test_a_few_failures_are_a_first_indication_only() -> None:
    lives = lives_with_failures(np.random.default_rng(2), 5, 30, 1.0)
    text = life_in_words("thermostat", lives.tally(), fit_weibull(lives))
    assert "Take it as a first indication: only 5 failures, where 10 are wanted." in text
    assert "these records can't tell" in text


def test_wide_limits_are_said_to_be_wide() -> None:
    lives = lives_with_failures(np.random.default_rng(3), 12, 0, 0.5)
    text = life_in_words("thermostat", lives.tally(), fit_weibull(lives))
    assert "the limits in brackets lie far apart" in text


def test_early_failures_are_not_called_wear() -> None:
    lives = lives_with_failures(np.random.default_rng(4), 60, 0, 0.5)
    assert "age is not the cause" in life_in_words(ITEM, lives.tally(), fit_weibull(lives))


def test_a_stated_shape_is_said_to_be_stated() -> None:
    lives = lives_with_failures(np.random.default_rng(5), 5, 30, 2.0)
    text = life_in_words(ITEM, lives.tally(), fit_stated_shape(lives, 2.0))
    assert "not found here but stated: a shape of 2." in text


def test_missing_limits_are_put_in_words() -> None:
    late = [101.0, 102.0, 103.0, 105.0]
    lives = Lives.from_arrays(late, late, [100.0] * 4)
    assert "or less)" in life_in_words(ITEM, lives.tally(), fit_weibull(lives))


def test_too_few_gives_no_life_but_what_is_outlasted() -> None:
    lives = Lives.from_arrays([500.0] * 7, [math.inf] * 7)
    text = too_few_in_words("starter", lives.tally(), outlasted_life(lives, 2.0), 2.0, "hours")
    assert "too few to say how long it lasts: it takes 3 failures" in text
    assert "a third or more of them outlast 764 hours" in text
    assert text.endswith(MANUAL_GOVERNS)
    assert "outlast" not in too_few_in_words("starter", LifeTally(3, 1, 0, 2, 0), None, 2.0, "hours")


def test_one_life_is_told_in_the_singular() -> None:
    text = tally_in_words("starter", LifeTally(1, 0, 1, 0, 0))
    assert text == (
        "Of 1 life of the starter in these records, 0 ended in failure, 1 was found worn, and 0 came off"
        " sound or still run."
    )


def test_a_difference_is_told_with_its_factor_and_its_chance() -> None:
    rng = np.random.default_rng(6)
    found = compare_groups(mixed_lives(rng, 60, 2, 400), mixed_lives(rng, 60, 2, 800))
    text = pair_in_words(ITEM, "in salt water", "in fresh water", Pair("salt", "fresh", found, found.p_value))
    assert text.startswith(
        "In salt water the water pump impeller lasts less long than in fresh water: about 0."
    )
    assert "by chance less than once in 1000 times" in text


def test_no_difference_is_not_called_sameness() -> None:
    rng = np.random.default_rng(7)
    found = compare_groups(mixed_lives(rng, 40, 2, 800), mixed_lives(rng, 40, 2, 800))
    text = pair_in_words(ITEM, "in salt water", "in fresh water", Pair("salt", "fresh", found, found.p_value))
    assert text.startswith("These records don't show")


def test_another_way_of_failing_is_told_apart_from_a_shorter_life() -> None:
    rng = np.random.default_rng(0)
    found = compare_groups(lives_with_failures(rng, 40, 0, 0.9), lives_with_failures(rng, 40, 0, 3.0))
    assert found.life_factor.low <= 1 <= found.life_factor.high
    pair = Pair("hire", "private", found, found.p_value)
    assert "fails in another way" in pair_in_words(ITEM, "in hire use", "in private use", pair)


@pytest.mark.parametrize("is_grave", [False, True])
@pytest.mark.parametrize("maker", [200.0, 450.0, 1000.0])
@pytest.mark.parametrize("shape", [1.0, 2.5])
def test_all_advice_defers_to_the_manual_and_names_no_interval_beyond_it(
    is_grave: bool, maker: float, shape: float
) -> None:
    advice = advise_renewal(Weibull(shape, 1000), RenewalCosts(120, 900), maker, is_grave=is_grave)
    text = advice_in_words(ITEM, advice, MakerInterval("V6", maker, is_grave), "hours")
    assert MANUAL_GOVERNS in text
    if advice.data_say_longer and not is_grave:
        assert f"Stay with its {maker:.0f} hours." in text
    if is_grave:
        assert text.endswith("Never go beyond its interval.")
        assert "longer interval" not in text


def test_a_makers_interval_is_never_rounded_up_and_tells_what_severe_use_leaves_of_it() -> None:
    assert interval_in_words(MakerInterval("V6", 187.5, False), "hours") == "187.5 hours"
    assert interval_in_words(MakerInterval("V6", 283.09, False), "hours") == "283 hours"
    shortened = (("hire", 1333.25), ("salt", 1250.0))
    assert interval_in_words(MakerInterval("V6", 1666.6, False, shortened), "hours") == (
        "1666.6 hours (hire 1333.2, salt 1250)"
    )
    advice = advise_renewal(Weibull(2.5, 1000), RenewalCosts(120, 130), 187.5, is_grave=False)
    told = advice_in_words(ITEM, advice, MakerInterval("V6", 187.5, False, (("salt", 140.6),)), "hours")
    assert told.startswith("Renewed every 187.5 hours (salt 140.6) as the maker says")
    assert told.endswith("Stay with its 187.5 hours (salt 140.6).")


def test_an_age_that_costs_less_gives_no_leave_to_go_past_what_severe_use_leaves() -> None:
    advice = advise_renewal(Weibull(2.5, 1000), RenewalCosts(120, 900), 1000, is_grave=False)
    least = advice.by_age.least.age

    def told(salt: float) -> str:
        return advice_in_words(ITEM, advice, MakerInterval("V6", 1000, False, (("salt", salt),)), "hours")

    severe = "Never go beyond what severe water or use leaves of its interval."
    assert told(least - 50).endswith(f"{MANUAL_GOVERNS} {severe}")
    assert told(advice.by_age.high + 1).endswith(MANUAL_GOVERNS)


def test_of_a_grave_item_no_age_is_told_though_renewing_sooner_would_pay() -> None:
    advice = advise_renewal(Weibull(2.5, 1000), RenewalCosts(120, 900), 1000, is_grave=True)
    told = advice_in_words(ITEM, advice, MakerInterval("V6", 1000, True), "hours")
    assert "Even by cost alone it would pay to renew sooner. The maker's" in told


def test_an_interval_beyond_every_life_is_said_to_be_beyond_them() -> None:
    lives = lives_with_failures(np.random.default_rng(2), 5, 30, 2.0)
    fit = fit_weibull(lives)
    beyond = schedule_in_words(MakerInterval("V6", lives.longest * 1.5, False), fit)
    assert "of the V6 schedule" in beyond
    assert "None in these records ran so long" in beyond
    assert "so long" not in schedule_in_words(MakerInterval("V6", lives.longest, False), fit)


def test_limits_of_a_share_that_are_told_alike_are_not_told_twice() -> None:
    lives = mixed_lives(np.random.default_rng(1), 60, 2.2, 500)
    said = schedule_in_words(MakerInterval("V6", 1e5, False), fit_weibull(lives))
    assert "of the V6 schedule, nearly all would have failed" in said


def test_an_upper_limit_out_of_all_sight_is_told_as_none() -> None:
    found = [20.0, 50.0, 90.0]
    lives = Lives.from_arrays([*found, *[100.0] * 200], [*found, *[math.inf] * 200])
    fit = fit_weibull(lives)
    assert fit.b50.high > 10 * lives.longest
    assert f"({fit.b50.low:.0f} or more)" in life_in_words(ITEM, lives.tally(), fit)


def test_openings_are_put_in_words() -> None:
    def told(spacing: float, cost: float, shape: float = 2.5) -> str:
        advice = advise_renewal(
            Weibull(shape, 1000),
            RenewalCosts(120, 900),
            500,
            is_grave=False,
            opening_cost=cost,
            opening_spacing=spacing,
        )
        return advice_in_words(ITEM, advice, MakerInterval("V6", 500.0, False), "hours")

    assert "renewing one older than 118 hours costs least" in told(200, 40)
    assert "renew it each time" in told(2000, 0.1)
    assert "leaving a sound one in costs no more" in told(200, 40, shape=1.0)


def test_a_trend_is_told_as_more_often_less_often_or_none() -> None:
    def told(ages: list[float]) -> str:
        repairs = Repairs.of_engines([ages] * 3, [400.0] * 3)
        return trend_in_words("fuel system", repair_trend(repairs), fit_power_law(repairs))

    assert "come more often as the engines age: at twice the age about 1.9 times as often" in told(
        [100, 200, 300, 350, 380]
    )
    assert "come less often" in told([10, 20, 30, 40, 300])
    assert "show no trend" in told([70, 150, 230, 310])


@pytest.mark.parametrize(
    ("age", "words"),
    [
        (3.14, "3.1 hours"),
        (47.8, "48 hours"),
        (490.2, "490 hours"),
        (2182.4, "2180 hours"),
        (math.inf, "never"),
    ],
)
def test_ages_are_rounded_to_what_they_are_worth(age: float, words: str) -> None:
    assert age_in_words(age, "hours") == words


@pytest.mark.parametrize(
    ("share", "words"),
    [(0.0001, "fewer than 1 in 1000"), (0.004, "4 in 1000"), (0.126, "13 in 100"), (0.999, "nearly all")],
)
def test_shares_are_put_as_so_many_in_a_hundred(share: float, words: str) -> None:
    assert share_in_words(share) == words


def test_small_chances_are_put_in_thousandths() -> None:
    assert chance_in_words(0.0001) == "less than once in 1000 times"
    assert chance_in_words(0.004) == "4 times in 1000"
    assert chance_in_words(0.2) == "20 times in 100"
