"""The distribution of a price, cut into equally likely slices, and the points of many such distributions together.

A price is a log-normal of the mean and variance of its lines, which stays within 1 % of the sum of their PERTs (R19) as long
as no single line has most of the spread. Mobilisation has: its PERT is bounded, and less skewed than a log-normal. A price
with such a lump in it takes the third and fourth cumulant from what it is made of: the log-normal's own for the rest, the
PERT's for the lump.
"""

from __future__ import annotations

from functools import lru_cache
from statistics import NormalDist
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from service.engine.array import any_of

Column = NDArray[np.float64]

POINTS = (0.1, 0.5, 0.9)
"""Shares of the worlds that a range names."""
_STEPS = 16
_TURN = (5.0**0.5 - 1.0) / 2.0
"""Golden section: its multiples less their whole part lie evenly, however many are taken."""
_STRAIGHT = 1e-6
"""Skew of a distribution that passes for none."""
_SLIGHT = 1e-9
"""Share of a price below which a spread, or what is left of the price, passes for none."""


class Lump(NamedTuple):
    """A part of a price that is bought at one go: mean, variance, third and fourth cumulant."""

    mean: float
    variance: float
    third: float
    fourth: float


class Scores(NamedTuple):
    """Normal scores of slices, a row each distribution or one row for all, and how far a fourth cumulant of 1 bends each."""

    z: Column
    bend: Column


@lru_cache(maxsize=256)
def scores(rows: int) -> Scores:
    """Normal scores of 16 equally likely slices, a row each for so many distributions.

    Each row is cut at other places, so that many distributions which are nearly alike do not fall on the same 16 points. A
    single row is cut in the middle of each slice.
    """
    order = np.argsort(np.argsort((np.arange(rows) * _TURN) % 1.0))
    at = (np.arange(_STEPS) + (order[:, None] + 0.5) / rows) / _STEPS
    z = np.array([NormalDist().inv_cdf(p) for p in at.ravel().tolist()]).reshape(at.shape)
    return Scores(z, (z**3 - 3.0 * z) / 24.0)


def slices_of(mean: Column, variance: Column, at: Scores, lump: Lump | None = None) -> Column:
    """Prices at normal scores, a row each distribution.

    Args:
        mean, variance: of each price, the lump in it.
        at: the scores.
        lump: the one part that is no log-normal and independent of the rest, where there is one.
    """
    if lump is None or lump.variance <= 0.0:
        shape = np.log1p(variance / mean**2)
        plain: Column = mean[:, None] * np.exp(np.sqrt(shape)[:, None] * at.z - shape[:, None] / 2.0)
        return plain
    slight = _SLIGHT * mean
    spread = np.maximum(variance, slight**2)
    deviation = np.sqrt(spread)
    rest = np.maximum(mean - lump.mean, slight)
    its = np.minimum(np.maximum(variance - lump.variance, 0.0), rest**2)
    third = its**2 / rest * (3.0 + its / rest**2)  # of a log-normal
    skew = (third + lump.third) / (spread * deviation)
    return _with_skew(mean, deviation, skew, at.z + (lump.fourth / spread**2)[:, None] * at.bend)


def _with_skew(mean: Column, deviation: Column, skew: Column, z: Column) -> Column:
    """Log-normals that begin at another point than zero, so that their skew is as given; turned round where it is negative.

    A log-normal with coefficient of variation u has the skew u^3 + 3u, which is solved for u in closed form.
    """
    u = 2.0 * np.sinh(np.arcsinh(skew / 2.0) / 3.0)
    u = np.where(np.abs(u) < _STRAIGHT, _STRAIGHT, u)
    shape = np.log1p(u**2)
    stretched = np.exp(np.copysign(np.sqrt(shape), u)[:, None] * z - shape[:, None] / 2.0) - 1.0
    values: Column = mean[:, None] + (deviation / u)[:, None] * stretched
    return values


def points_of(slices: Column, weights: Column | None = None) -> tuple[float, float, float]:
    """10, 50 and 90 % points of slices of many distributions sorted together; equally likely where no weights are given."""
    if weights is None:
        ranked = np.sort(slices)
        low, mid, high = (_between(ranked, share * ranked.size - 0.5) for share in POINTS)
        return low, mid, high
    order = np.argsort(slices)
    ranked = slices[order]
    if any_of(ranked[1:] == ranked[:-1]):  # only then does it matter which of two is first
        order = np.argsort(slices, kind="stable")
    weights = weights[order]
    upto = np.cumsum(weights)
    low, mid, high = np.interp(np.array(POINTS) * upto[-1], upto - weights / 2.0, ranked).tolist()
    return low, mid, high


def _between(ranked: Column, at: float) -> float:
    """The value at a place between two of a sorted column."""
    k = int(at)
    return float(ranked[k] + (ranked[k + 1] - ranked[k]) * (at - k))
