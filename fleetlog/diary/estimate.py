"""What a visit will cost the owner, roughly: labour and parts, with what has no price said."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from fleetlog.diary.bundles import Bundle

CENT = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class PartPrice:
    """One part number of an estimate; `amount` is None where the price is not known."""

    number: str
    quantity: Decimal
    amount: Decimal | None


@dataclass(frozen=True, slots=True)
class Estimate:
    """About what a visit costs, in the currency of the rate; parts without a price are not in the total."""

    bundle_id: str
    labour_tenths: int
    labour_amount: Decimal
    parts: tuple[PartPrice, ...]
    about_amount: Decimal
    unpriced: tuple[str, ...]

    @property
    def about_told(self) -> str:
        """The sum as it is told: without cents, which would look like a bill's."""
        return str(self.about_amount.quantize(Decimal(1), ROUND_HALF_UP))


def estimate(bundle: Bundle, rate_per_hour: Decimal, prices: Mapping[str, Decimal]) -> Estimate:
    """Labour hours by the rate plus the parts' prices, each rounded to whole cents (half a cent up)."""
    labour_amount = (rate_per_hour * bundle.labour_tenths / 10).quantize(CENT, ROUND_HALF_UP)
    parts = []
    for need in bundle.parts:
        unit_price = prices.get(need.number)
        amount = None if unit_price is None else (unit_price * need.quantity).quantize(CENT, ROUND_HALF_UP)
        parts.append(PartPrice(need.number, need.quantity, amount))
    return Estimate(
        bundle_id=bundle.bundle_id,
        labour_tenths=bundle.labour_tenths,
        labour_amount=labour_amount,
        parts=tuple(parts),
        about_amount=labour_amount
        + sum((part.amount for part in parts if part.amount is not None), Decimal(0)),
        unpriced=tuple(part.number for part in parts if part.amount is None),
    )
