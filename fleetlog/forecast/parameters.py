"""What a fit of the fleet found out, as one frozen value that can be stored and named."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, fields
from datetime import date
from functools import cached_property
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

Row = tuple[float, ...]
Table = tuple[Row, ...]

FLEET_ENGINES = 5
"""What the whole fleet runs counts as much for a use as so many engines of that use: fewer tell little."""


class Tables(NamedTuple):
    """Those of the parameters that are reckoned with as arrays: by use (and kind of season), by feature."""

    kind_shares: Floats
    log_centres: Floats
    log_variances: Floats
    dispersions: Floats
    shift: Floats
    stretch: Floats


@dataclass(frozen=True)
class FleetParameters:
    """The parameters of a fleet, with the day they were fitted and how much they were fitted to.

    `uses` names the rows of the tables; the empty one stands for any use not named. `profiles` are of
    published seasons until a year has been read (`season_is_read`). Rates are logarithms of hours per day of
    the seasonal clock, `log_centres` of a use those of each kind of season, told by `told_engines` of it.
    """

    fitted_on: date
    engines: int
    readings: int
    uses: tuple[str, ...]
    season_is_read: bool
    profiles: Table
    kind_shares: Table
    told_engines: tuple[int, ...]
    log_centres: Table
    log_variances: Row
    dispersions: Row
    dispersion_weight: float
    step_spread: float
    restart_share: float
    changed_restart_share: float
    year_variance: float
    drift: float
    shift: Row
    stretch: Row
    late_stretch: float

    @cached_property
    def tables(self) -> Tables:
        """The parameters as arrays."""
        return Tables(*(np.array(getattr(self, name)) for name in Tables._fields))

    def use_index(self, use: str) -> int:
        """The row of a use; the one without a name where the fit has not seen it."""
        return self.uses.index(use if use in self.uses else "")

    def to_json(self) -> dict[str, Any]:
        """A plain dict for storing; `from_json` gives the same parameters back."""
        found = {field.name: getattr(self, field.name) for field in fields(self)}
        return {**found, "fitted_on": self.fitted_on.isoformat()}

    @classmethod
    def from_json(cls, stored: Mapping[str, Any]) -> FleetParameters:
        """The parameters that `to_json` wrote."""
        values = {name: _frozen(value) for name, value in stored.items()}
        return cls(**{**values, "fitted_on": date.fromisoformat(stored["fitted_on"])})

    @property
    def content_id(self) -> str:
        """A short name of exactly these parameters, so that a date can say what it was computed with."""
        text = json.dumps(self.to_json(), sort_keys=True)
        return hashlib.sha256(text.encode()).hexdigest()[:12]


def _frozen(value: Any) -> Any:
    return tuple(_frozen(part) for part in value) if isinstance(value, list | tuple) else value
