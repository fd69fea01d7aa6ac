"""Refusals of learning how long parts last."""

from __future__ import annotations

from collections.abc import Sequence

from fleetlog.errors import FleetlogError, counted


class NoLives(FleetlogError):
    """There is nothing to learn from."""

    def __init__(self, left_out: int = 0) -> None:
        also = f" ({left_out} left out, each with its reason)" if left_out else ""
        super().__init__(f"no life in these records can be used{also}; widen the choice or record more")


class LivesDisagreeInNumber(FleetlogError):
    """Arrays of lives that are not of one length."""

    def __init__(self, low: int, high: int, entered_at: int, weight: int) -> None:
        super().__init__(
            f"lives: {low} low ages, {high} high ages, {entered_at} ages of entry and {weight} weights;"
            " give one of each for every life"
        )


class AgeIsNoNumber(FleetlogError):
    """An age that is not a number."""

    def __init__(self, life: int, low: float, high: float, entered_at: float) -> None:
        super().__init__(
            f"life {life + 1}: ages {low:g} to {high:g}, watched from {entered_at:g}: give numbers;"
            " only the high age may be infinite, for a life that still runs"
        )


class AgeNotPositive(FleetlogError):
    """A life that ended at no age, or before it began."""

    def __init__(self, life: int, age: float, unit: str) -> None:
        super().__init__(
            f"life {life + 1}: an age of {age:g} {unit} is not above zero;"
            " correct the entry or leave the life out"
        )


class LifeEndsBeforeItBegins(FleetlogError):
    """A high age below the low one."""

    def __init__(self, life: int, low: float, high: float, unit: str) -> None:
        super().__init__(
            f"life {life + 1}: said to be sound at {low:g} {unit} and to have ended at {high:g} {unit};"
            " the end cannot come first, correct one of the two"
        )


class LifeNeverWatched(FleetlogError):
    """A life that ended no later than the watching of it began."""

    def __init__(self, life: int, entered_at: float, end: float, unit: str) -> None:
        super().__init__(
            f"life {life + 1}: watched from {entered_at:g} {unit} to {end:g} {unit}, which tells nothing;"
            " correct the age of entry or leave the life out"
        )


class WeightNotPositive(FleetlogError):
    """A life that is to count for nothing or less."""

    def __init__(self, life: int, weight: float) -> None:
        super().__init__(
            f"life {life + 1}: a weight of {weight:g} is not above zero; leave the life out instead"
        )


class WeightNotWhole(FleetlogError):
    """Part of a life where only whole lives can be counted."""

    def __init__(self, weight: float) -> None:
        super().__init__(f"a weight of {weight:g}: the stepped curve counts whole lives; give whole numbers")


class NoFailures(FleetlogError):
    """All lives still run or came off sound."""

    def __init__(self, lives: float, longest: float, unit: str) -> None:
        ran = f"{longest:g} {unit}"
        if lives == 1:
            said, they_are = f"the one life has neither failed nor been found worn (it ran {ran})", "it is"
        else:
            said = f"none of {lives:g} lives has failed or was found worn (the longest ran {ran})"
            they_are = "they are"
        super().__init__(
            f"{said}: no life can be worked out; state a shape to learn what {they_are} known to outlast"
        )


class TooFewFailures(FleetlogError):
    """Some failures, but too few for two figures to be found from them."""

    def __init__(self, failures: float, lives: float, fewest: int) -> None:
        super().__init__(
            f"{failures:g} of {lives:g} lives failed or were found worn: too few to say, it takes {fewest};"
            " state a shape known from elsewhere to use fewer"
        )


class AgesTellNoShape(FleetlogError):
    """The evidence singles out no shape: an ever steeper or flatter line fits as well or better."""

    def __init__(self, failures: float, steep: bool, around: float, unit: str) -> None:
        what = (
            f"the {failures:g} failures all fit one age near {around:g} {unit}"
            if steep
            else f"the {failures:g} failures do not tell how their number grows with age"
        )
        super().__init__(
            f"{what}, so no spread of life can be found; state a shape, or wait for more failures"
        )


class ShapeNotPositive(FleetlogError):
    """A stated shape that no Weibull distribution has."""

    def __init__(self, shape: float) -> None:
        super().__init__(f"a shape of {shape:g} is not possible; state one above 0 (1: chance, 2 to 4: wear)")


class StatedShapeOutOfRange(FleetlogError):
    """A stated shape that no item's lives have, and with which nothing can be worked out."""

    def __init__(self, shape: float, least: float, most: float) -> None:
        super().__init__(
            f"a shape of {shape:g} is not possible; state one from {least:g} to {most:g}"
            " (1: chance, 2 to 4: wear)"
        )


class LifeNotPositive(FleetlogError):
    """A characteristic life that no Weibull distribution has."""

    def __init__(self, characteristic_life: float) -> None:
        super().__init__(
            f"a characteristic life of {characteristic_life:g} is not possible; state one above 0"
        )


class ShareOutOfRange(FleetlogError):
    """A share or chance that is not between 0 and 1."""

    def __init__(self, what: str, share: float) -> None:
        super().__init__(f"{what}: {share:g} is no share; give a figure between 0 and 1")


class LivesInDifferentUnits(FleetlogError):
    """Two groups, one in hours and one in months."""

    def __init__(self, first: str, second: str) -> None:
        super().__init__(f"one group's ages are in {first}, the other's in {second}; give both in one unit")


class RepairsOutsideWatch(FleetlogError):
    """A repair at an age at which the engine was not watched."""

    def __init__(self, engine: int, age: float, start: float, end: float) -> None:
        super().__init__(
            f"engine {engine + 1}: a repair at age {age:g}, but it was watched from {start:g} to {end:g};"
            " correct the one or the other"
        )


class WatchIsEmpty(FleetlogError):
    """An engine watched for no time at all."""

    def __init__(self, engine: int, start: float, end: float) -> None:
        super().__init__(
            f"engine {engine + 1}: watched from age {start:g} to {end:g}, which is no time; leave it out"
        )


class RepairsDisagreeInNumber(FleetlogError):
    """Arrays of repairs and engines that do not belong together."""

    def __init__(self, what: str, have: int, need: int) -> None:
        super().__init__(f"repairs: {have} {what} where {need} are needed; give one for each")


class NoRepairs(FleetlogError):
    """Nothing that counts as a repair is on record."""

    def __init__(self) -> None:
        super().__init__(
            "no repair is on record: that is an item that came off failed (fleetlog remove or fit, with the"
            " reason), or a visit for a breakdown"
        )


class TooFewRepairs(FleetlogError):
    """Fewer repairs than a trend can be read from."""

    def __init__(self, repairs: int, fewest: int) -> None:
        super().__init__(
            f"{counted(repairs, 'repair is', 'repairs are')} too few to say whether they become more"
            f" frequent; it takes {fewest}"
        )


class RepairsTellNoTrend(FleetlogError):
    """All repairs at one end of the watch, so that no power fits best."""

    def __init__(self, repairs: int) -> None:
        super().__init__(
            f"all {repairs} repairs fall at one end of the time watched: no trend can be fitted;"
            " check the ages, or record more"
        )


class CostNotPositive(FleetlogError):
    """A cost that is nothing, less or no number."""

    def __init__(self, what: str, cost: float) -> None:
        super().__init__(f"{what} of {cost:g}: give a cost above 0")


class IntervalNotPositive(FleetlogError):
    """An interval, a spacing or a horizon of no length."""

    def __init__(self, what: str, length: float) -> None:
        super().__init__(f"{what} of {length:g}: give one above 0")


class QuantityNotPositive(FleetlogError):
    """A part of which none is used."""

    def __init__(self, part_number: str, quantity: float) -> None:
        super().__init__(
            f"part {part_number}: a quantity of {quantity:g}; give one above 0, to two decimals at most"
        )


class ChancesDisagreeInNumber(FleetlogError):
    """As many chances as horizons are needed."""

    def __init__(self, part_number: str, chances: int, horizons: int) -> None:
        super().__init__(f"part {part_number}: {chances} chances for {horizons} horizons; give one for each")


class SplitNeedsGroups(FleetlogError):
    """Fewer than two groups to compare."""

    def __init__(self, condition: str, groups: Sequence[str]) -> None:
        have = f"all of them have {condition} {groups[0]}" if groups else f"none has a {condition} on record"
        super().__init__(
            f"there are no two groups to compare by {condition}: {have}; split by another condition,"
            " or record it for the boats and parts where it is missing"
        )


class OpenCostMissing(FleetlogError):
    """Openings of an access without what renewing costs then."""

    def __init__(self) -> None:
        super().__init__("--open-every needs --while-open: what renewing costs while access is open anyway")


class NoMakerInterval(FleetlogError):
    """No schedule says how often an item is to be renewed."""

    def __init__(self, item: str, unit: str) -> None:
        super().__init__(
            f"no schedule of these engines renews the {item} at an interval in {unit}; state the maker's with"
            " --interval, or ask by the other age with --age"
        )


class BeyondMakerInterval(FleetlogError):
    """A maker's interval stated that is longer than the one a schedule names."""

    def __init__(self, item: str, stated: float, named: float, unit: str, schedule: str) -> None:
        super().__init__(
            f"an interval of {stated:g} {unit} is beyond the {named:g} {unit} after which schedule {schedule}"
            f" renews the {item}; leave --interval out, or give a shorter one"
        )
