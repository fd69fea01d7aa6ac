"""What a fit of the fleet found out, as one frozen value that can be stored and named."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any


@dataclass(frozen=True, slots=True)
class FleetParameters:
    """The fleet's parameters: annual hours and spread per use, and when and from what they were fitted."""

    fitted_on: date
    engines: int
    readings: int
    annual_hours: Mapping[str, float]
    years_worth: float
    dispersion_hours: float

    def to_json(self) -> dict[str, Any]:
        """A plain dict for storing; `from_json` gives the same parameters back."""
        return {
            "fitted_on": self.fitted_on.isoformat(),
            "engines": self.engines,
            "readings": self.readings,
            "annual_hours": dict(self.annual_hours),
            "years_worth": self.years_worth,
            "dispersion_hours": self.dispersion_hours,
        }

    @classmethod
    def from_json(cls, stored: Mapping[str, Any]) -> FleetParameters:
        """The parameters that `to_json` wrote."""
        return cls(**{**stored, "fitted_on": date.fromisoformat(stored["fitted_on"])})

    @property
    def content_id(self) -> str:
        """A short name of exactly these parameters, so that a date can say what it was computed with."""
        text = json.dumps(self.to_json(), sort_keys=True)
        return hashlib.sha256(text.encode()).hexdigest()[:12]
