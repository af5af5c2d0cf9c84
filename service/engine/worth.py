"""Which missing fact is worth asking for: computed from the worlds, not listed by hand.

The price of whatever stands first in each world is regressed on the coordinates of the worlds, linear and squared; the
share of its variance that goes with one fact is what the answer to that question would remove.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from service.engine.array import commonest

Column = NDArray[np.float64]

NOT_BY_CHANCE = 0.3
"""Shift of a plan's share between two fifths of 128 worlds from which it is not chance: two standard errors and some (J)."""
FEWEST_WORLDS = 40
"""With fewer worlds left the shares are noise and are withheld."""


def shares_of(outcome: Column, columns: Mapping[str, Column]) -> dict[str, float]:
    """Share of the variance of an outcome that goes with each coordinate.

    Args:
        outcome: one number a world.
        columns: coordinate of each unknown, 0 to 1.

    Returns:
        Unknown -> share, 0 to 1; all zero where nothing varies. Empty where there are too few worlds.
    """
    if outcome.size < FEWEST_WORLDS or not columns:
        return {}
    variance = float(outcome.var())
    if variance <= 1e-12 * max(float(outcome.mean()) ** 2, 1e-12):
        return dict.fromkeys(columns, 0.0)
    centred = np.column_stack(list(columns.values())) - 0.5
    design = np.ones((outcome.size, 1 + 2 * len(columns)))
    design[:, 1::2], design[:, 2::2] = centred, centred * centred - 1.0 / 12.0
    fit = _least_squares(design, outcome)
    terms = design[:, 1:] * fit[1:]
    shares = ((terms[:, 0::2] + terms[:, 1::2]).var(axis=0) / variance).tolist()
    explained = max(sum(shares), 1.0)
    return {name: share / explained for name, share in zip(columns, shares, strict=True)}


def _least_squares(design: Column, outcome: Column) -> Column:
    """The fit: by the normal equations, which are well behaved here; by the slow way where worlds are few for so many terms."""
    if 2 * design.shape[1] < design.shape[0]:
        return np.asarray(np.linalg.solve(design.T @ design, design.T @ outcome), dtype=np.float64)
    return np.asarray(np.linalg.lstsq(design, outcome, rcond=None)[0], dtype=np.float64)


def price_swing(outcome: Column, column: Column) -> float:
    """How far an unknown moves the price between its low and its high fifth, relative to the middle."""
    low, high = column <= 0.2, column >= 0.8
    if not low.any() or not high.any():
        return 0.0
    middle = float(np.median(outcome))
    return abs(float(outcome[high].mean()) - float(outcome[low].mean())) / middle if middle > 0.0 else 0.0


def changes_first(first: NDArray[np.int64], column: Column) -> bool:
    """Whether the plan that is first most often differs, and not by chance, between the low and the high fifth."""
    low, high = first[column <= 0.2], first[column >= 0.8]
    if not low.size or not high.size:
        return False
    one, other = commonest(low)[0], commonest(high)[0]
    if one == other:
        return False
    less = _share(low, one) - _share(high, one)
    more = _share(high, other) - _share(low, other)
    return max(less, more) >= NOT_BY_CHANCE


def _share(first: NDArray[np.int64], plan: int) -> float:
    """Share of the worlds in which a plan is first."""
    return np.count_nonzero(first == plan) / first.size


def ranked(shares: Mapping[str, float], keep: Sequence[str], most: int) -> list[tuple[str, float]]:
    """The unknowns worth asking for, most telling first."""
    wanted = sorted(((n, shares.get(n, 0.0)) for n in keep), key=lambda pair: (-pair[1], pair[0]))
    return wanted[:most]
