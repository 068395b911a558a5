"""A straight trend that a few outliers cannot bend, with its certainty.

Source
    Theil (1950) and Sen (1968), "Estimates of the regression coefficient based on Kendall's tau": the slope is
    the median of the slopes of all pairs; its confidence interval follows from the distribution of Kendall's S.
    Kendall (1938) for the test. Normal approximation, adequate from about eight points.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import erf, sqrt

import numpy as np

from counterpane.listening.measures.tempo_line import Floats

_Z_95 = 1.959964


@dataclass(frozen=True, slots=True)
class Trend:
    """Slope (y per x) with its 95 % interval; `certainty` is 1 minus Kendall's two-sided p."""

    slope: float
    low: float
    high: float
    certainty: float


def robust_trend(x: Floats, y: Floats) -> Trend:
    """Return the Theil-Sen slope of y over x; expects at least three points with two different x."""
    first, second = np.triu_indices(len(x), 1)
    run, rise = x[second] - x[first], y[second] - y[first]
    apart = run != 0
    slopes = np.sort(rise[apart] / run[apart])
    count = len(x)
    spread = sqrt(count * (count - 1) * (2 * count + 5) / 18)
    reach = _Z_95 * spread
    low = max(0, round((len(slopes) - reach) / 2) - 1)
    high = min(len(slopes) - 1, round((len(slopes) + reach) / 2))
    score = abs(float(np.sign(slopes).sum()))
    certainty = erf(max(score - 1, 0.0) / spread / sqrt(2))
    return Trend(float(np.median(slopes)), float(slopes[low]), float(slopes[high]), certainty)
