"""The tables of what is kept for speed: nothing in them but what can be worked out from the ledger again."""

from __future__ import annotations

from datetime import date

from sqlalchemy.orm import Mapped, mapped_column

from fleetlog.store.model_base import Base


class ForecastParameters(Base):
    """What a fit of the fleet found out, as JSON text, and how many figures of meters it could see."""

    __tablename__ = "forecast_parameters"
    fit_no: Mapped[int] = mapped_column(primary_key=True)
    content_id: Mapped[str] = mapped_column(unique=True)
    fitted_on: Mapped[date] = mapped_column(index=True)
    figures: Mapped[int]
    parameters: Mapped[str]


KEPT = frozenset({"forecast_parameters"})
"""Tables that hold no part of the ledger: their rows may be replaced."""
