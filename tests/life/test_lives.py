"""What can be a life, and what is refused with a clear sentence."""

from __future__ import annotations

import math

import numpy as np
import pytest

from fleetlog.errors import FleetlogError
from fleetlog.errors.life import (
    AgeIsNoNumber,
    AgeNotPositive,
    LifeEndsBeforeItBegins,
    LifeNeverWatched,
    LivesDisagreeInNumber,
    NoLives,
    WeightNotPositive,
)
from fleetlog.life.lives import Life, LifeTally, Lives, gather_lives


@pytest.mark.parametrize(
    ("low", "high", "entered_at", "weight", "refusal", "words"),
    [
        ([0.0], [0.0], None, None, AgeNotPositive, "life 1: an age of 0 hours is not above zero"),
        ([100.0, -5.0], [100.0, -5.0], None, None, AgeNotPositive, "life 2: an age of -5 hours"),
        ([0.0], [math.inf], None, None, AgeNotPositive, "an age of 0 hours"),
        ([10.0], [20.0], [-1.0], None, AgeNotPositive, "an age of -1 hours"),
        ([200.0], [100.0], None, None, LifeEndsBeforeItBegins, "sound at 200 hours and to have ended at 100"),
        ([300.0], [300.0], [300.0], None, LifeNeverWatched, "watched from 300 hours to 300 hours"),
        ([100.0], [200.0], [250.0], None, LifeNeverWatched, "watched from 250 hours to 200 hours"),
        ([300.0], [math.inf], [400.0], None, LifeNeverWatched, "watched from 400 hours to 300 hours"),
        ([math.nan], [1.0], None, None, AgeIsNoNumber, "give numbers"),
        ([math.inf], [math.inf], None, None, AgeIsNoNumber, "give numbers"),
        ([1.0], [math.nan], None, None, AgeIsNoNumber, "give numbers"),
        ([1.0], [2.0], [math.inf], None, AgeIsNoNumber, "give numbers"),
        ([1.0], [2.0], None, [0.0], WeightNotPositive, "a weight of 0"),
        ([1.0], [2.0], None, [math.nan], WeightNotPositive, "a weight of nan"),
        ([1.0, 2.0], [2.0], None, None, LivesDisagreeInNumber, "2 low ages, 1 high ages"),
        ([], [], None, None, NoLives, "no life in these records"),
    ],
)
def test_what_cannot_be_a_life_is_refused_with_its_figures(
    low: list[float],
    high: list[float],
    entered_at: list[float] | None,
    weight: list[float] | None,
    refusal: type[FleetlogError],
    words: str,
) -> None:
    with pytest.raises(refusal, match=words):
        Lives.from_arrays(low, high, entered_at, weight)


def test_an_interval_begins_no_sooner_than_the_watching() -> None:
    lives = Lives.from_arrays([100.0, 100.0], [300.0, 300.0], [200.0, 0.0])
    assert lives.low.tolist() == [200.0, 100.0]


def test_lives_cannot_be_changed_once_made_nor_through_the_callers_array() -> None:
    ages = np.array([100.0, 200.0])
    lives = Lives.from_arrays(ages, ages)
    ages[0] = 999.0
    assert lives.low.tolist() == [100.0, 200.0]
    with pytest.raises(ValueError, match="read-only"):
        lives.low[0] = 1.0


def test_records_become_the_four_kinds_of_evidence() -> None:
    found = gather_lives(
        [
            Life("failed", 410.0),
            Life("found worn", 300.0, last_sound_at=200.0),
            Life("found worn", 250.0),
            Life("sound", 150.0),
            Life("failed", 500.0, entered_at=320.0),
        ]
    )
    assert found.lives.low.tolist() == [410.0, 200.0, 0.0, 150.0, 500.0]
    assert found.lives.high.tolist() == [410.0, 300.0, 250.0, math.inf, 500.0]
    assert found.lives.entered_at.tolist() == [0.0, 0.0, 0.0, 0.0, 320.0]
    assert found.tally == LifeTally(5, 2, 2, 1, 1)
    assert found.tally == found.lives.tally()
    assert found.left_out == ()


def test_worn_without_running_since_the_last_look_counts_as_worn_at_that_age() -> None:
    found = gather_lives([Life("found worn", 300.0, last_sound_at=300.0)])
    assert found.lives.is_exact.tolist() == [True]
    assert found.tally.found_worn == 1


def test_what_tells_nothing_is_left_out_and_named() -> None:
    found = gather_lives(
        [
            Life("sound", 0.0, label="A1"),
            Life("failed", 0.0, label="A2"),
            Life("failed", -3.0, label="A3"),
            Life("sound", 400.0, entered_at=400.0, label="A4"),
            Life("found worn", 200.0, last_sound_at=250.0, label="A5"),
            Life("failed", math.nan, label="A6"),
            Life("failed", 90.0, label="A7"),
            Life("sound", 0.0),
        ],
        unit="months",
    )
    assert found.tally.lives == 1
    assert {out.label: out.reason for out in found.left_out} == {
        "A1": "it has not run yet",
        "A2": "it ended at 0 months",
        "A3": "its age of -3 months is below zero",
        "A4": "it came into the records at 400 months and has not run since",
        "A5": "sound at 250 months but worn at 200 months",
        "A6": "its age is not known",
        "life 8": "it has not run yet",
    }


def test_no_life_left_is_refused() -> None:
    with pytest.raises(NoLives, match="1 left out"):
        gather_lives([Life("sound", 0.0)])
    with pytest.raises(NoLives):
        gather_lives([])


def test_weights_count_as_lives() -> None:
    lives = Lives.from_arrays([10.0, 20.0], [10.0, math.inf], [5.0, 0.0], [3.0, 4.0])
    assert lives.tally() == LifeTally(7, 3, 0, 4, 3)
    assert lives.failures == 3.0
