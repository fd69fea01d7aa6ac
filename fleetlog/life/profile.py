"""Limits by profile likelihood: of the shape, of the age by which a share failed, of the share by an age.

A value is within the limits where the likelihood, at its highest with that value held, falls short of the
top by no more than half the chi-square quantile on one degree of freedom (W. Q. Meeker & L. A. Escobar,
Statistical Methods for Reliability Data, 1998, section 8.3).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

from scipy import special

from fleetlog.life.likelihood import Evidence, Slopes

_STEPS, _CLIMBS, _HALVINGS = 12, 200, 80
_FARTHEST = 30.0  # in logarithms of a life or a shape; what reaches so far has no limit


@dataclass(frozen=True, slots=True)
class Limits:
    """A figure with its lower and upper limit; 0 or infinite where the evidence sets none."""

    value: float
    low: float
    high: float


class Line(NamedTuple):
    """The best line, log cumulative hazard = a + b x, and the likelihood there."""

    a: float
    b: float
    slopes: Slopes


def shape_limits(evidence: Evidence, best: Line, confidence: float) -> Limits:
    """The shape with its limits."""
    return _limits(evidence, _ShapeHeld(), best, confidence)


def life_limits(
    evidence: Evidence, best: Line, share: float, confidence: float, stated_shape: float | None = None
) -> Limits:
    """The age by which a share (above 0, below 1) has failed, with its limits, in the unit of the ages."""
    log_hazard = math.log(-math.log1p(-share))
    held = _LifeHeld(log_hazard) if stated_shape is None else _LifeAtStatedShape(log_hazard, stated_shape)
    found = _limits(evidence, held, best, confidence)
    factor = math.exp(evidence.log_centre)
    return Limits(found.value * factor, found.low * factor, found.high * factor)


def share_limits(
    evidence: Evidence, best: Line, age: float, confidence: float, stated_shape: float | None = None
) -> Limits:
    """The share that has failed by an age above 0, with its limits."""
    log_age = math.log(age) - evidence.log_centre
    held = _HazardHeld(log_age) if stated_shape is None else _HazardAtStatedShape(log_age, stated_shape)
    found = _limits(evidence, held, best, confidence)
    return Limits(-math.expm1(-found.value), -math.expm1(-found.low), -math.expm1(-found.high))


@dataclass(frozen=True, slots=True)
class _LifeHeld:
    """Coordinates (log life at a share, log shape), for a = log_hazard - b * log life."""

    log_hazard: float

    @property
    def has_free(self) -> bool:
        return True

    def of(self, a: float, b: float) -> tuple[float, float]:
        return (self.log_hazard - a) / b, math.log(b)

    def line(self, held: float, free: float) -> tuple[float, float]:
        b = math.exp(min(free, _FARTHEST))
        return self.log_hazard - b * held, b

    def stretch(self, _held: float) -> float:
        return 1.0

    def slopes(self, s: Slopes, held: float, free: float) -> tuple[float, float, float, float, float]:
        """First (held, free) and second (held held, held free, free free) derivatives."""
        b = math.exp(free)
        g_free = b * (s.b - held * s.a)
        h_held_free = -b * s.a - b * b * (s.ab - held * s.aa)
        h_free = g_free + b * b * (s.bb - 2 * held * s.ab + held * held * s.aa)
        return -b * s.a, g_free, b * b * s.aa, h_held_free, h_free


class _ShapeHeld:
    """Coordinates (log shape, log characteristic life): those of the life, changed about."""

    has_free = True
    _changed = _LifeHeld(0.0)

    def of(self, a: float, b: float) -> tuple[float, float]:
        log_life, log_shape = self._changed.of(a, b)
        return log_shape, log_life

    def line(self, held: float, free: float) -> tuple[float, float]:
        return self._changed.line(free, held)

    def stretch(self, held: float) -> float:
        """The free direction's natural unit: lives lie the farther apart the flatter the line."""
        return math.exp(-max(held, -_FARTHEST))

    def slopes(self, s: Slopes, held: float, free: float) -> tuple[float, float, float, float, float]:
        g_life, g_shape, h_life, h_both, h_shape = self._changed.slopes(s, free, held)
        return g_shape, g_life, h_shape, h_both, h_life


@dataclass(frozen=True, slots=True)
class _LifeAtStatedShape:
    """The log life at a share alone, the shape being stated."""

    log_hazard: float
    shape: float

    @property
    def has_free(self) -> bool:
        return False

    def of(self, a: float, b: float) -> tuple[float, float]:
        return (self.log_hazard - a) / b, 0.0

    def line(self, held: float, _free: float) -> tuple[float, float]:
        return self.log_hazard - self.shape * held, self.shape

    def stretch(self, _held: float) -> float:
        return 1.0

    def slopes(self, s: Slopes, _held: float, _free: float) -> tuple[float, float, float, float, float]:
        return -self.shape * s.a, 0.0, self.shape**2 * s.aa, 0.0, -1.0


@dataclass(frozen=True, slots=True)
class _HazardHeld:
    """Coordinates (log cumulative hazard at an age, log shape), for a = held - b * log age."""

    log_age: float

    @property
    def has_free(self) -> bool:
        return True

    def of(self, a: float, b: float) -> tuple[float, float]:
        return a + b * self.log_age, math.log(b)

    def line(self, held: float, free: float) -> tuple[float, float]:
        b = math.exp(min(free, _FARTHEST))
        return held - b * self.log_age, b

    def stretch(self, _held: float) -> float:
        return 1.0

    def slopes(self, s: Slopes, _held: float, free: float) -> tuple[float, float, float, float, float]:
        b, x = math.exp(free), self.log_age
        g_free = b * (s.b - x * s.a)
        h_free = g_free + b * b * (s.bb - 2 * x * s.ab + x * x * s.aa)
        return s.a, g_free, s.aa, b * (s.ab - x * s.aa), h_free


@dataclass(frozen=True, slots=True)
class _HazardAtStatedShape:
    """The log cumulative hazard at an age alone, the shape being stated."""

    log_age: float
    shape: float

    @property
    def has_free(self) -> bool:
        return False

    def of(self, a: float, b: float) -> tuple[float, float]:
        return a + b * self.log_age, 0.0

    def line(self, held: float, _free: float) -> tuple[float, float]:
        return held - self.shape * self.log_age, self.shape

    def stretch(self, _held: float) -> float:
        return 1.0

    def slopes(self, s: Slopes, _held: float, _free: float) -> tuple[float, float, float, float, float]:
        return s.a, 0.0, s.aa, 0.0, -1.0


_Coordinates = _ShapeHeld | _LifeHeld | _LifeAtStatedShape | _HazardHeld | _HazardAtStatedShape


def _limits(evidence: Evidence, coordinates: _Coordinates, best: Line, confidence: float) -> Limits:
    """Both limits of exp(held)."""
    drop = float(special.chdtri(1, 1 - confidence)) / 2
    held, free = coordinates.of(best.a, best.b)
    low, high = (
        _one_limit(evidence, coordinates, best.slopes, held, free, drop, sign) for sign in (-1.0, 1.0)
    )
    return Limits(_exp(held), _exp(low), _exp(high))


def _exp(value: float) -> float:
    try:
        return math.exp(value)
    except OverflowError:
        return math.inf


def _one_limit(
    evidence: Evidence,
    coordinates: _Coordinates,
    top: Slopes,
    held: float,
    free: float,
    drop: float,
    sign: float,
) -> float:
    """Venzon & Moolgavkar's Newton steps (Applied Statistics 37 (1988) 87-94), else a search outward."""
    target = top.value - drop
    _, _, h_hh, h_hf, h_ff = coordinates.slopes(top, held, free)
    curvature = h_hh - h_hf * h_hf / h_ff  # of the profile at the top
    if not curvature < 0:
        return _searched(evidence, coordinates, target, held, free, 0.1 * sign)
    width = sign * math.sqrt(2 * drop / -curvature)
    at, along = held + width, free - h_hf / h_ff * width * coordinates.has_free
    for _ in range(_STEPS):
        if abs(at) > _FARTHEST or abs(along) > _FARTHEST:
            break
        s = evidence.slopes(*coordinates.line(at, along))
        g_h, g_f, h_hh, h_hf, h_ff = coordinates.slopes(s, at, along)
        miss = s.value - target
        if not (math.isfinite(miss) and h_ff < 0):
            break
        determinant = g_h * h_ff - g_f * h_hf
        if determinant == 0:
            break
        step_h = -(miss * h_ff - g_f * g_f) / determinant
        step_f = -(g_h * g_f - miss * h_hf) / determinant if coordinates.has_free else 0.0
        at, along = at + step_h, along + step_f
        if (at - held) * sign <= 0:
            break
        if abs(step_h) < 1e-4 * abs(width) and abs(step_f) < 1e-4:
            return at  # one step more would change it by about the square of this one
    return _searched(evidence, coordinates, target, held, free, width)


def _searched(
    evidence: Evidence, coordinates: _Coordinates, target: float, held: float, free: float, width: float
) -> float:
    """Walk outward till the profile falls below the target, then close in; infinite where it never does.

    Each climb along the free direction begins where the last one nearby ended, so that the search stays on
    the ridge that leads to the top.
    """
    value, free = _crest(evidence, coordinates, held, free)
    inner, inner_free, inner_excess = held, free, max(value - target, 0.0)
    while True:
        outer = held + width
        value, outer_free = _crest(evidence, coordinates, outer, inner_free)
        if value < target:
            break
        inner, inner_free, inner_excess = outer, outer_free, value - target
        width *= 2
        if abs(width) > _FARTHEST or abs(outer_free) > _FARTHEST * max(1.0, coordinates.stretch(outer)):
            return math.copysign(math.inf, width)
    outer_excess = max(value, target - 1e6) - target
    for _ in range(_HALVINGS):
        # by the line between the two, kept off the ends so that both close in
        share = min(max(inner_excess / (inner_excess - outer_excess), 0.1), 0.9)
        middle = inner + share * (outer - inner)
        value, middle_free = _crest(evidence, coordinates, middle, inner_free)
        if abs(value - target) < 1e-11 * max(1.0, abs(target)) or abs(outer - inner) < 1e-11:
            return middle
        if value > target:
            inner, inner_free, inner_excess = middle, middle_free, value - target
        else:
            outer, outer_excess = middle, max(value, target - 1e6) - target
    return (inner + outer) / 2


def _crest(evidence: Evidence, coordinates: _Coordinates, at: float, free: float) -> tuple[float, float]:
    """The highest likelihood along the free direction at a held value, and where: by Newton, shortened."""
    s = evidence.slopes(*coordinates.line(at, free))
    if not coordinates.has_free:
        return s.value, free
    stretch = coordinates.stretch(at)
    farthest = _FARTHEST * max(1.0, stretch)
    for _ in range(_CLIMBS):
        _, g_f, _, _, h_ff = coordinates.slopes(s, at, free)
        step = -g_f / h_ff if h_ff < 0 else math.copysign(stretch, g_f)
        step = min(max(step, -2 * stretch), 2 * stretch)
        if abs(g_f * step) < 1e-13 or abs(free) > farthest:
            break
        new = evidence.slopes(*coordinates.line(at, free + step))
        while new.value < s.value and abs(step) > 1e-9 * stretch:
            step /= 4
            new = evidence.slopes(*coordinates.line(at, free + step))
        if new.value < s.value:
            break
        s, free = new, free + step
    return s.value, free
