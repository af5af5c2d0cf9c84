"""Distributions of what nobody knows: PERT for estimates, an even spread for a stated range.

Quantiles only: the worlds are 128 scrambled Sobol points kept as data, so there is nothing random at run time.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Column = NDArray[np.float64]

_GRID = 2001


@lru_cache(maxsize=4096)
def _pert_table(mode: float) -> tuple[Column, Column]:
    """Cumulative distribution of a PERT on 0..1 with this mode: (probability, value)."""
    x = np.linspace(0.0, 1.0, _GRID)
    density = x ** (4.0 * mode) * (1.0 - x) ** (4.0 * (1.0 - mode))
    area = np.concatenate(([0.0], np.cumsum((density[1:] + density[:-1]) / 2.0)))
    return area / area[-1], x


def pert_quantile(low: float, likely: float, high: float, u: Column | float) -> Column | float:
    """Value of a PERT (beta, shape 4) at probability u; low where the ends are alike.

    Args:
        low, likely, high: ends and mode, low <= likely <= high.
        u: probability, 0 < u < 1, a number or one a world.

    Returns:
        The quantile, shaped like u.
    """
    if low == high:
        return low if isinstance(u, float) else np.full_like(u, low)
    mode = round((likely - low) / (high - low), 6)
    if isinstance(u, float):
        return low + (high - low) * _pert_point(mode, u)
    return low + (high - low) * _pert_column(mode, u.tobytes())


@lru_cache(maxsize=4096)
def _pert_column(mode: float, u: bytes) -> Column:
    """Quantiles on 0..1 along one axis of the worlds, which are always the same: worked out once a mode."""
    p, x = _pert_table(mode)
    return np.interp(np.frombuffer(u), p, x)


@lru_cache(maxsize=8192)
def _pert_point(mode: float, u: float) -> float:
    p, x = _pert_table(mode)
    return float(np.interp(u, p, x))


@lru_cache(maxsize=8192)
def pert_moments(low: float, likely: float, high: float) -> tuple[float, float]:
    """Mean and standard deviation of a PERT.

    mean = (a + 4 m + b) / 6; variance = (mean - a)(b - mean) / 7, exact for the beta of shape 4.
    """
    mean = (low + 4.0 * likely + high) / 6.0
    return mean, max((mean - low) * (high - mean) / 7.0, 0.0) ** 0.5


_FAR = 8.0
"""Deviations from the middle past which nothing of a normal distribution is left that a float can tell."""
_STEPS = 16 * _GRID - 1
"""Steps of the table of the normal distribution, all of one width."""


@lru_cache(maxsize=1)
def _normal_table() -> tuple[Column, Column, Column]:
    """Points, the share below each, and how steeply it rises from there to the next one."""
    z = np.linspace(-_FAR, _FAR, _STEPS + 1)
    density = np.exp(-z * z / 2.0)
    area = np.concatenate(([0.0], np.cumsum((density[1:] + density[:-1]) / 2.0)))
    below = area / area[-1]
    return z, below, np.diff(below) / np.diff(z)


def normal_below(z: Column) -> Column:
    """Share of a standard normal distribution below z, to eight places.

    The steps are even, so that the one in which z lies is counted off and not searched for. At an edge either of two will do.
    """
    at, below, rise = _normal_table()
    z = np.minimum(np.maximum(z, -_FAR), _FAR)
    k = np.minimum((z + _FAR) * (_STEPS / (2.0 * _FAR)), _STEPS - 1.0).astype(np.intp)
    share: Column = rise[k] * (z - at[k]) + below[k]
    return share
