"""Weibull by maximum likelihood from every kind of evidence, with profile-likelihood limits.

Own code, because the survival libraries take seconds to minutes over a million lives and scipy's fitter
knows neither weights nor ages of entry; the tests hold it against them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

from fleetlog.errors.life import (
    AgesTellNoShape,
    NoFailures,
    ShareOutOfRange,
    StatedShapeOutOfRange,
    TooFewFailures,
)
from fleetlog.life.enough import FEWEST_FAILURES, FIRM_FAILURES, FIRM_SPREAD
from fleetlog.life.likelihood import Evidence, Slopes
from fleetlog.life.lives import Lives, Unit
from fleetlog.life.profile import Limits, Line, life_limits, shape_limits, share_limits
from fleetlog.life.weibull import Weibull

STATED_SHAPES = 0.1, 20.0
"""Shapes that a person may state; wear is 2 to 4, and what is steeper than 20 fails at one age."""

_FLATTEST, _STEEPEST = 0.02, 1000.0
_VAGUEST_LOG_SHAPE = 3.0  # a standard error this wide means a plateau, not a top
_STEPS = 100
_PART_OF_LIVES = 10_000


@dataclass(frozen=True, eq=False)
class WeibullFit:
    """What the lives say; ages in `unit`, limits at `confidence` (two-sided, by profile likelihood).

    `is_shape_stated`: the shape was given, not found (Weibayes), and its limits are itself.
    """

    weibull: Weibull
    confidence: float
    lives: Lives
    evidence: Evidence
    line: Line
    shape: Limits
    is_shape_stated: bool

    @property
    def unit(self) -> Unit:
        """The unit of the ages."""
        return self.lives.unit

    @property
    def log_likelihood(self) -> float:
        """The highest log likelihood that a Weibull gives these lives."""
        return self.line.slopes.value

    @property
    def failures(self) -> float:
        """The weight of the lives that failed or were found worn."""
        return self.evidence.failures

    @cached_property
    def characteristic_life(self) -> Limits:
        """The age by which 63.2 % have failed."""
        return self.life_limits(-math.expm1(-1))

    @cached_property
    def b10(self) -> Limits:
        """The age by which a tenth has failed."""
        return self.life_limits(0.1)

    @cached_property
    def b50(self) -> Limits:
        """The age by which half have failed."""
        return self.life_limits(0.5)

    def life_limits(self, share: float) -> Limits:
        """The age by which a share (0 to 1) has failed, and its limits."""
        if not 0 < share < 1:
            raise ShareOutOfRange("share failed", share)
        fixed = self.weibull.shape if self.is_shape_stated else None
        return life_limits(self.evidence, self.line, share, self.confidence, fixed)

    def share_limits(self, age: float) -> Limits:
        """The share that has failed by an age above 0, and its limits."""
        fixed = self.weibull.shape if self.is_shape_stated else None
        return share_limits(self.evidence, self.line, age, self.confidence, fixed)

    @property
    def is_firm(self) -> bool:
        """Whether there is enough to act on: FIRM_FAILURES failures, and B10 known within FIRM_SPREAD."""
        return self.failures >= FIRM_FAILURES and self.b10.high <= FIRM_SPREAD * self.b10.low


def fit_weibull(lives: Lives, confidence: float = 0.95) -> WeibullFit:
    """Fit both parameters by maximum likelihood.

    Refuses: no failure, fewer than FEWEST_FAILURES, or evidence that singles out no shape.
    """
    _check_confidence(confidence)
    _check_failures(lives, FEWEST_FAILURES)
    evidence = Evidence.of(lives)
    a, b, slopes = _highest_point(evidence, lives)
    line = Line(a, b, slopes)
    return WeibullFit(
        weibull=Weibull(b, math.exp(evidence.log_centre - a / b)),
        confidence=confidence,
        lives=lives,
        evidence=evidence,
        line=line,
        shape=shape_limits(evidence, line, confidence),
        is_shape_stated=False,
    )


def fit_stated_shape(lives: Lives, shape: float, confidence: float = 0.95) -> WeibullFit:
    """Fit the characteristic life alone, the shape being stated (Weibayes); one failure is enough.

    R. B. Abernethy, The New Weibull Handbook: with exact ages, the sum of age ** shape over the failures, to
    the power 1 / shape. Refuses a shape beyond STATED_SHAPES, and lives without a failure: for those see
    `outlasted_life`.
    """
    _check_confidence(confidence)
    _check_stated(shape)
    _check_failures(lives, 0)
    evidence = Evidence.of(lives)
    a, slopes = _highest_intercept(evidence, shape)
    return WeibullFit(
        weibull=Weibull(shape, math.exp(evidence.log_centre - a / shape)),
        confidence=confidence,
        lives=lives,
        evidence=evidence,
        line=Line(a, shape, slopes),
        shape=Limits(shape, shape, shape),
        is_shape_stated=True,
    )


def outlasted_life(lives: Lives, shape: float, confidence: float = 0.95) -> float:
    """The characteristic life known, at one-sided `confidence`, to be reached, in the unit of the lives.

    For a stated shape and lives none of which has failed (Weibayes without failures): the chance of no
    failure at all would be 1 - confidence at this characteristic life.
    """
    _check_confidence(confidence)
    _check_stated(shape)
    longest = lives.longest
    gathered = lives.weight * ((lives.low / longest) ** shape - (lives.entered_at / longest) ** shape)
    return float(longest * (gathered.sum() / -math.log1p(-confidence)) ** (1 / shape))


def _check_stated(shape: float) -> None:
    least, most = STATED_SHAPES
    if not least <= shape <= most:
        raise StatedShapeOutOfRange(shape, least, most)


def _check_confidence(confidence: float) -> None:
    if not 0 < confidence < 1:
        raise ShareOutOfRange("confidence", confidence)


def _check_failures(lives: Lives, fewest: int) -> None:
    total, failures = float(lives.weight.sum()), lives.failures
    if failures == 0:
        raise NoFailures(total, lives.longest, lives.unit)
    if failures < fewest:
        raise TooFewFailures(failures, total, fewest)


def _first_guess(evidence: Evidence, lives: Lives) -> tuple[float, float]:
    """Where to begin: of many lives, the best line of a small part of them."""
    thinned = max(1, lives.low.size // _PART_OF_LIVES)
    if thinned == 1 or evidence.failures < _PART_OF_LIVES:
        return 0.0, 1.5
    every = slice(None, None, thinned)
    part = Lives(lives.low[every], lives.high[every], lives.entered_at[every], lives.weight[every])
    if part.failures < FIRM_FAILURES:
        return 0.0, 1.5
    its_evidence = Evidence.of(part)
    try:
        a, b, _ = _highest_point(its_evidence, part)
    except AgesTellNoShape:  # the part may be one-sided where the whole is not
        return 0.0, 1.5
    return a + b * (evidence.log_centre - its_evidence.log_centre), b


def _highest_point(evidence: Evidence, lives: Lives) -> tuple[float, float, Slopes]:
    """Newton's method in (a, log b), its steps shortened until the likelihood rises."""
    a, b = _first_guess(evidence, lives)
    slopes = evidence.slopes(a, b)
    for _ in range(_STEPS):
        # curvature in (a, log b); made downward where ages of entry bend it upward
        g_a, g_b = slopes.a, b * slopes.b
        h_aa, h_ab, h_bb = slopes.aa, b * slopes.ab, b * b * slopes.bb + g_b
        determinant = h_aa * h_bb - h_ab * h_ab
        if not (h_aa < 0 and determinant > 0):
            h_aa, h_ab, h_bb = -abs(h_aa) - abs(h_ab) - 1e-9, 0.0, -abs(h_bb) - abs(h_ab) - 1e-9
            determinant = h_aa * h_bb
        step_a = -(h_bb * g_a - h_ab * g_b) / determinant
        step_b = -(h_aa * g_b - h_ab * g_a) / determinant
        rise = g_a * step_a + g_b * step_b
        if rise < 1e-18:
            break
        scale = min(1.0, 1.5 / abs(step_b) if step_b else 1.0, 5.0 / abs(step_a) if step_a else 1.0)
        while True:
            new_a, new_b = a + scale * step_a, b * math.exp(scale * step_b)
            new = evidence.slopes(new_a, new_b)
            # near the top the rise drowns in rounding: a full step is taken there without asking
            if rise < 1e-8 or new.value >= slopes.value + 1e-4 * scale * rise or scale < 1e-9:
                break
            scale /= 3
        a, b, slopes = new_a, new_b, new
        if rise < 1e-10:
            break
        if not _FLATTEST < b < _STEEPEST:
            break
    if not (_FLATTEST < b < _STEEPEST and _is_a_top(b, slopes)):
        raise AgesTellNoShape(evidence.failures, b >= _STEEPEST, math.exp(evidence.log_centre), lives.unit)
    return a, b, slopes


def _is_a_top(b: float, slopes: Slopes) -> bool:
    determinant = slopes.aa * slopes.bb - slopes.ab**2
    return slopes.aa < 0 < determinant and -slopes.aa / determinant < (_VAGUEST_LOG_SHAPE * b) ** 2


def _highest_intercept(evidence: Evidence, shape: float) -> tuple[float, Slopes]:
    """The best a at a stated b: Newton's method, in a concave function."""
    a = 0.0
    slopes = evidence.slopes(a, shape)
    for _ in range(_STEPS):
        step = max(-3.0, min(3.0, -slopes.a / slopes.aa))
        a += step
        slopes = evidence.slopes(a, shape)
        if abs(step) * math.sqrt(-slopes.aa) < 1e-9:
            break
    return a, slopes
