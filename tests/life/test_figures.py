"""The names scripts rely on, and JSON that any reader takes."""

from __future__ import annotations

import json

import numpy as np

from fleetlog.life.fit import fit_stated_shape, fit_weibull
from fleetlog.life.lives import Lives
from fleetlog.life.objects import life_figures
from tests.life.samples import mixed_lives


def test_figures_have_the_names_scripts_rely_on() -> None:
    lives = mixed_lives(np.random.default_rng(1), 60, 2.2, 500)
    figures = life_figures("water pump impeller", lives.tally(), fit_weibull(lives))
    assert set(figures) >= {
        *("item", "lives", "failed", "found_worn", "sound", "entered_with_age"),
        *("shape", "shape_low", "shape_high"),
        *("characteristic_life_hours", "characteristic_life_low", "characteristic_life_high"),
        *("b10_hours", "b10_low", "b10_high", "b50_hours", "log_likelihood"),
    }
    assert json.loads(json.dumps(figures, allow_nan=False)) == figures
    assert (figures["lives"], figures["failed"], figures["found_worn"], figures["sound"]) == (54, 16, 18, 20)


def test_a_limit_that_is_not_set_is_null() -> None:
    late = [101.0, 102.0, 103.0, 105.0]
    lives = Lives.from_arrays(late, late, [100.0] * 4)
    figures = life_figures("thermostat", lives.tally(), fit_weibull(lives))
    assert figures["shape_low"] is None
    assert figures["b10_low"] is None
    assert isinstance(figures["shape_high"], float)
    json.dumps(figures, allow_nan=False)


def test_months_are_named_as_months_and_a_stated_shape_as_stated() -> None:
    lives = Lives.from_arrays([10.0, 24.0], [10.0, np.inf], unit="months")
    figures = life_figures("belt", lives.tally(), fit_stated_shape(lives, 2.0))
    assert figures["unit"] == "months"
    assert "characteristic_life_months" in figures
    assert figures["shape_stated"] is True
    assert figures["shape_low"] == figures["shape"] == 2.0
