"""The Weibull distribution of life, in the words of the trade."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import overload

import numpy as np
from numpy.typing import ArrayLike
from scipy import special

from fleetlog.errors.life import LifeNotPositive, ShapeNotPositive, ShareOutOfRange
from fleetlog.life.lives import FloatArray


@dataclass(frozen=True, slots=True)
class Weibull:
    """A Weibull distribution: `shape` without unit, `characteristic_life` in the unit of the ages.

    The share failed by the characteristic life is 1 - 1/e, 63.2 %. Shape below 1: early failures; 1: chance;
    above 1: wear. Refuses figures not above zero.
    """

    shape: float
    characteristic_life: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.shape) and self.shape > 0):
            raise ShapeNotPositive(self.shape)
        if not (math.isfinite(self.characteristic_life) and self.characteristic_life > 0):
            raise LifeNotPositive(self.characteristic_life)

    @overload
    def cumulative_hazard(self, age: float) -> float: ...
    @overload
    def cumulative_hazard(self, age: FloatArray) -> FloatArray: ...
    def cumulative_hazard(self, age: float | FloatArray) -> float | FloatArray:
        """The failures expected by an age, (age / characteristic life) ** shape, at last infinite."""
        with np.errstate(over="ignore"):
            return np.power(np.divide(age, self.characteristic_life), self.shape)

    def hazard(self, age: ArrayLike) -> FloatArray:
        """Failures per unit of age among those still sound at an age above zero."""
        ratio = np.divide(age, self.characteristic_life)
        per_unit: FloatArray = self.shape / self.characteristic_life * np.power(ratio, self.shape - 1)
        return per_unit

    def failed_share(self, age: float) -> float:
        """The share of lives ended by an age."""
        return -math.expm1(-self.cumulative_hazard(age))

    def life_at(self, share: float) -> float:
        """The age by which a share has failed: B10 life at 0.1, B50 (the median) at 0.5."""
        if not 0 < share < 1:
            raise ShareOutOfRange("share failed", share)
        return float(self.characteristic_life * (-math.log1p(-share)) ** (1 / self.shape))

    def chance_of_failure(self, age: ArrayLike, further: ArrayLike) -> FloatArray:
        """The chance that an item sound at `age` fails within `further`, both in the unit of the ages.

        From the difference of cumulative hazards: as a ratio of surviving shares it would be 0/0 at high age.
        """
        start = np.asarray(age, dtype=np.float64)
        end = start + np.asarray(further, dtype=np.float64)
        chance: FloatArray = -np.expm1(self.cumulative_hazard(start) - self.cumulative_hazard(end))
        return chance

    def mean_life(self) -> float:
        """The mean age at failure."""
        return float(self.characteristic_life * special.gamma(1 + 1 / self.shape))

    def mean_life_to(self, age: float) -> float:
        """The mean age at renewal where what has not failed is renewed at `age`: the integral of survival."""
        power, hazard = 1 / self.shape, self.cumulative_hazard(age)
        if hazard < 1e-16:  # hardly any has failed; of a steep shape the hazard underflows to 0
            return age
        return float(self.characteristic_life * special.gamma(1 + power) * special.gammainc(power, hazard))
