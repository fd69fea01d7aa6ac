"""Standard errors of a Weibull fit, by the curvature of its likelihood, as books and libraries print them.

The program tells limits by profile likelihood, whose search begins from the same curvature.
"""

from __future__ import annotations

import math

from fleetlog.life.fit import WeibullFit


def standard_errors(fit: WeibullFit) -> tuple[float, float]:
    """Of the shape and of the characteristic life: the inverse of the observed information, delta method."""
    a, b, slopes = fit.line
    determinant = slopes.aa * slopes.bb - slopes.ab**2
    var_a, cov_ab, var_b = -slopes.bb / determinant, slopes.ab / determinant, -slopes.aa / determinant
    var_log_life = (var_a - 2 * (a / b) * cov_ab + (a / b) ** 2 * var_b) / b**2
    return math.sqrt(var_b), fit.weibull.characteristic_life * math.sqrt(var_log_life)
