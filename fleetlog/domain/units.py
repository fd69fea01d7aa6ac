"""Units as people read them off wrenches and gauges, converted by exact factors.

Factors follow from the definitions: the inch is 0.0254 m, the avoirdupois pound 0.453 592 37 kg, standard
gravity 9.806 65 m/s². They agree with the seven printed digits of NIST Special Publication 811 (2008),
Appendix B.8.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from fleetlog.domain.nearest import nearest
from fleetlog.domain.values import value_class
from fleetlog.domain.words import name_key
from fleetlog.errors.evidence import UnitsDoNotMatch, UnitUnknown

_INCH = Fraction("0.0254")
_FOOT = 12 * _INCH
_POUND_FORCE = Fraction("0.45359237") * Fraction("9.80665")
_US_GALLON = 231 * _INCH**3
_POUND_FORCE_FOOT = _POUND_FORCE * _FOOT


@value_class(frozen=True, slots=True)
class Unit:
    """A unit: what it measures, and how many of the SI unit of that quantity one of it is."""

    name: str
    quantity: str
    factor: Fraction
    also: tuple[str, ...] = ()


def _pound_spellings(length: str) -> tuple[str, ...]:
    """What people write for pounds-force at the end of a lever: either first, any joint, but for the name."""
    pairs = ((one, length) for one in ("lbf", "lb", "lbs"))
    ordered = (pair for one, other in pairs for pair in ((one, other), (other, one)))
    written = (joint.join(pair) for pair in ordered for joint in ("·", ".", "-", " ", ""))
    return tuple(spelling for spelling in written if spelling != f"lbf·{length}")


UNITS = (
    Unit("N·m", "torque", Fraction(1), ("Nm", "N.m", "N m", "newton metre")),
    Unit("lbf·ft", "torque", _POUND_FORCE_FOOT, _pound_spellings("ft")),
    Unit("lbf·in", "torque", _POUND_FORCE * _INCH, _pound_spellings("in")),
    Unit("kgf·m", "torque", Fraction("9.80665"), ("kgf.m", "kgf m", "kg·m", "kg-m", "kg m", "kgm")),
    Unit("Pa", "pressure", Fraction(1)),
    Unit("kPa", "pressure", Fraction(1000)),
    Unit("bar", "pressure", Fraction(100_000)),
    Unit("psi", "pressure", _POUND_FORCE / _INCH**2, ("lbf/in²",)),
    Unit("mm", "length", Fraction("0.001")),
    Unit("in", "length", _INCH, ("inch",)),
    Unit("nmi", "length", Fraction(1852), ("nautical mile",)),
    Unit("mL", "volume", Fraction("0.000001")),
    Unit("L", "volume", Fraction("0.001"), ("litre",)),
    Unit("US gal", "volume", _US_GALLON),
    Unit("US qt", "volume", _US_GALLON / 4),
    Unit("US pt", "volume", _US_GALLON / 8),
    Unit("US fl oz", "volume", _US_GALLON / 128),
    Unit("imp gal", "volume", Fraction("0.00454609")),
    Unit("W", "power", Fraction(1)),
    Unit("kW", "power", Fraction(1000)),
    Unit("hp", "power", 550 * _POUND_FORCE_FOOT),
    Unit("metric hp", "power", 75 * Fraction("9.80665"), ("PS",)),
    Unit("m/s", "speed", Fraction(1)),
    Unit("kn", "speed", Fraction(1852, 3600), ("knot", "kt")),
)
TORQUE_UNITS = tuple(unit.name for unit in UNITS if unit.quantity == "torque")

_BY_NAME = {name_key(name): unit for unit in UNITS for name in (unit.name, *unit.also)}


def unit_named(text: str) -> Unit:
    """The unit of that name, in any case and in the usual spellings; raises UnitUnknown."""
    unit = _BY_NAME.get(name_key(text))
    if unit is None:
        near = nearest(text, [u.name for u in UNITS])
        raise UnitUnknown(text, near or TORQUE_UNITS)
    return unit


def torque_unit(text: str) -> str:
    """The name of a unit of torque as it is written here; raises UnitUnknown for any other unit."""
    unit = _BY_NAME.get(name_key(text))
    if unit is None or unit.quantity != "torque":
        raise UnitUnknown(text, TORQUE_UNITS)
    return unit.name


def converted(value: Decimal, unit: str, into: str) -> Fraction:
    """A figure in another unit of the same quantity, exactly.

    Raises UnitUnknown, and UnitsDoNotMatch where one is a torque, say, and the other a length.
    """
    one, other = unit_named(unit), unit_named(into)
    if one.quantity != other.quantity:
        raise UnitsDoNotMatch(unit, one.quantity, into, other.quantity)
    return Fraction(value) * one.factor / other.factor


def in_unit(value: Decimal, unit: str | None, into: str) -> Decimal | None:
    """A figure in another unit to nine decimals; as it is where that is its own, whatever that may be.

    None where one of them is not known here, or they are units of different quantities.
    """
    if name_key(unit or "") == name_key(into):
        return value
    one, other = _BY_NAME.get(name_key(unit or "")), _BY_NAME.get(name_key(into))
    if one is None or other is None or one.quantity != other.quantity:
        return None
    return rounded(Fraction(value) * one.factor / other.factor, 9)


def newton_metres(value: Decimal, unit: str) -> Decimal:
    """A torque in N·m, rounded to four decimals. Raises UnitUnknown, UnitsDoNotMatch."""
    return plain(rounded(converted(value, unit, "N·m"), 4))


def rounded(value: Fraction, decimals: int) -> Decimal:
    """A figure with so many decimals, half away from zero."""
    scaled = abs(value) * 10**decimals
    whole = (2 * scaled.numerator + scaled.denominator) // (2 * scaled.denominator)
    return Decimal(whole if value >= 0 else -whole).scaleb(-decimals)


def plain(value: Decimal) -> Decimal:
    """The same figure without an exponent and without zeros at the end of its decimals."""
    return Decimal(figure_text(value))


def figure_text(value: Decimal | int) -> str:
    """A figure or an amount as it is written down: `49`, `66.4349`."""
    text = f"{value:f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text


def figure_number(value: Decimal | int) -> int | float:
    """A figure or an amount as a number for JSON, a whole one without decimals as it is written down."""
    return int(value) if value == int(value) else float(value)


def torque_shown(value: Decimal, unit: str) -> str:
    """A torque as read and in N·m: `49 lbf·ft (66.4 N·m)`."""
    read = f"{figure_text(value)} {unit}"
    if unit == "N·m":
        return read
    return f"{read} ({rounded(converted(value, unit, 'N·m'), 1):f} N·m)"
