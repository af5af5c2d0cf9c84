"""Student's t: how far the mean of a few readings may lie from the truth.

Source: M. Abramowitz and I. A. Stegun (eds.), Handbook of Mathematical Functions, National Bureau of Standards, 1964,
26.7.3 and 26.7.4: the probability within t as a finite sum, exact for a whole number of degrees of freedom.
"""

from __future__ import annotations

import math

STEPS = 200
"""Most halvings; a float has fewer."""


def probability_within(t: float, freedom: int) -> float:
    """Return the probability that a Student variable lies between -t and t.

    Args:
        t: not negative.
        freedom: degrees of freedom, 1 or more.

    Raises:
        ValueError: outside of these.

    Source: Abramowitz and Stegun 26.7.3 (odd) and 26.7.4 (even degrees of freedom).
    """
    if freedom < 1 or t < 0.0:
        raise ValueError(f"t {t} with {freedom} degrees of freedom")
    angle = math.atan(t / math.sqrt(freedom))
    sine, cosine = math.sin(angle), math.cos(angle)
    odd = freedom % 2 == 1
    total = 0.0
    term = cosine if odd else 1.0
    first = 3 if odd else 2
    for k in range(first, freedom + 1, 2):
        total += term
        term *= cosine * cosine * (k - 1) / k
    if odd:
        return 2.0 / math.pi * (angle + sine * total)
    return sine * total


def two_sided_t(within: float, freedom: int) -> float:
    """Return the t between whose negative and itself a Student variable lies with a given probability.

    Args:
        within: above 0 and below 1; 0.95 for a 95 % interval.
        freedom: degrees of freedom, 1 or more.

    Raises:
        ValueError: outside of these.

    Source: Abramowitz and Stegun, Table 26.10, of which this is the inverse of 26.7.3 and 26.7.4 by halving.
    """
    if not 0.0 < within < 1.0:
        raise ValueError(f"a probability of {within}")
    low, high = 0.0, 1.0
    while probability_within(high, freedom) < within:
        low, high = high, 2.0 * high
    for _ in range(STEPS):
        middle = (low + high) / 2.0
        if middle in (low, high):
            break
        if probability_within(middle, freedom) < within:
            low = middle
        else:
            high = middle
    return high
