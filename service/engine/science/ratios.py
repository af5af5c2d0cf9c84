"""A few ratios, such as hours taken over hours quoted: their middle, their spread, the odd ones, and how much they are worth.

Ratios multiply, so everything is worked out on their logarithms: half as long and twice as long are equally far from 1.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean, median, stdev

from service.engine.science.student_t import two_sided_t

ODD = 3.5
"""A modified z-score past this marks an outlier (Iglewicz and Hoaglin 1993)."""
_OF_SIGMA = 0.6745
"""Median absolute deviation of the normal distribution, of its standard deviation (ibid.)."""
_OF_MEAN = 1.253314
"""Standard deviation of the normal distribution, of its mean absolute deviation: the square root of pi over 2."""


@dataclass(frozen=True, slots=True)
class Middle:
    """The middle of some ratios.

    Attributes:
        count: how many there are.
        mean: geometric mean.
        spread: geometric standard deviation; 1 where there is one ratio or all are alike.
        low, high: ends of the confidence interval of the mean; 0 and infinity where one ratio says nothing of it.
    """

    count: int
    mean: float
    spread: float
    low: float
    high: float


def middle_of(ratios: Sequence[float], within: float) -> Middle:
    """Return geometric mean, geometric standard deviation and Student's interval of the mean.

    Args:
        ratios: one or more, each above 0.
        within: confidence of the interval, 0.95 for 95 %.

    Raises:
        ValueError: no ratio, or one that is not above 0.

    Source: ISO 2854 (1976) for the interval of a mean; on logarithms T. B. L. Kirkwood, "Geometric means and measures of
        dispersion", Biometrics 35 (1979), 908-909.
    """
    logs = [math.log(ratio) for ratio in ratios]
    if not logs:
        raise ValueError("no ratio")
    mean = fmean(logs)
    if len(logs) == 1:
        return Middle(1, math.exp(mean), 1.0, 0.0, math.inf)
    spread = stdev(logs)
    reach = two_sided_t(within, len(logs) - 1) * spread / math.sqrt(len(logs))
    return Middle(len(logs), math.exp(mean), math.exp(spread), math.exp(mean - reach), math.exp(mean + reach))


def odd_ones(ratios: Sequence[float]) -> tuple[bool, ...]:
    """Return for each ratio whether it stands apart from the others, by its modified z-score.

    Source: B. Iglewicz and D. C. Hoaglin, How to Detect and Handle Outliers, ASQC Quality Press, 1993, section 3.3; where
        half of all and more are alike, by the mean in place of the median of the deviations, as is common.
    """
    logs = [math.log(ratio) for ratio in ratios]
    if not logs:
        return ()
    centre = median(logs)
    apart = [abs(x - centre) for x in logs]
    scale = median(apart) / _OF_SIGMA or fmean(apart) * _OF_MEAN
    return tuple(scale > 0.0 and a / scale > ODD for a in apart)


def credible(mean: float, count: int, worth: float) -> float:
    """Return a mean drawn towards 1, the more the fewer readings it rests on.

    Args:
        mean: geometric mean of the readings, above 0.
        count: how many there are.
        worth: how many readings the figure that they are held against is worth, k in Z = n / (n + k).

    Source: H. Buehlmann, "Experience rating and credibility", ASTIN Bulletin 4 (1967), 199-207, on logarithms.
    """
    weight = count / (count + worth)
    return math.exp(weight * math.log(mean))
