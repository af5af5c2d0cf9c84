"""Arithmetic that reads the same for one figure and for a whole sample of worlds.

A float in every argument gives a Python float (or bool) and costs one
``isinstance`` check more than the bare operation; an array in any argument
gives an array.  Formulas written with these helpers and plain operators need
no second, vectorised copy.
"""

from __future__ import annotations

import math
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Number: TypeAlias = float | NDArray[np.float64]
Truth: TypeAlias = bool | NDArray[np.bool_]

_Array = np.ndarray
#: Keeps 2.0000000001 sheets from being bought as three.
_CEIL_NUDGE = 1e-9


def where(cond: Truth, a: Number, b: Number) -> Number:
    """Return `a` where the condition holds and `b` elsewhere; both are evaluated."""
    if isinstance(cond, _Array) or isinstance(a, _Array) or isinstance(b, _Array):
        return np.where(cond, a, b)
    return float(a if cond else b)


def maximum(a: Number, b: Number) -> Number:
    """Return the larger of the two, element by element."""
    if isinstance(a, _Array) or isinstance(b, _Array):
        return np.maximum(a, b)
    return float(max(a, b))


def minimum(a: Number, b: Number) -> Number:
    """Return the smaller of the two, element by element."""
    if isinstance(a, _Array) or isinstance(b, _Array):
        return np.minimum(a, b)
    return float(min(a, b))


def ceil(x: Number) -> Number:
    """Round up to a whole number, forgiving an excess of 1e-9 left by arithmetic."""
    if isinstance(x, _Array):
        return np.ceil(x - _CEIL_NUDGE) + 0.0
    return float(math.ceil(x - _CEIL_NUDGE))


def floor(x: Number) -> Number:
    """Round down to a whole number."""
    if isinstance(x, _Array):
        return np.floor(x)
    return float(math.floor(x))


def sqrt(x: Number) -> Number:
    """Return the square root."""
    return np.sqrt(x) if isinstance(x, _Array) else math.sqrt(x)


def acos(x: Number) -> Number:
    """Return the angle [rad] whose cosine is `x`."""
    return np.arccos(x) if isinstance(x, _Array) else math.acos(x)


def atan2(y: Number, x: Number) -> Number:
    """Return the angle [rad] of the point (x, y), exact where `acos` loses digits."""
    if isinstance(y, _Array) or isinstance(x, _Array):
        return np.arctan2(y, x)
    return math.atan2(y, x)


def exp(x: Number) -> Number:
    """Return e to the power `x`."""
    return np.exp(x) if isinstance(x, _Array) else math.exp(x)


def log(x: Number) -> Number:
    """Return the natural logarithm."""
    return np.log(x) if isinstance(x, _Array) else math.log(x)


def negate(cond: Truth) -> Truth:
    """Return the opposite truth; ``~True`` is -2, so the operator cannot be used."""
    return np.logical_not(cond) if isinstance(cond, _Array) else not cond


def both(*conds: Truth) -> Truth:
    """Return whether every condition holds, element by element."""
    result: Truth = True
    for cond in conds:
        if cond is True:
            continue
        if isinstance(result, _Array) or isinstance(cond, _Array):
            result = np.logical_and(result, cond)
        else:
            result = bool(result and cond)
    return result


def either(*conds: Truth) -> Truth:
    """Return whether at least one condition holds, element by element."""
    result: Truth = False
    for cond in conds:
        if cond is False:
            continue
        if isinstance(result, _Array) or isinstance(cond, _Array):
            result = np.logical_or(result, cond)
        else:
            result = bool(result or cond)
    return result


def one_a_world(value: Number, worlds: int) -> NDArray[np.float64]:
    """Return one number a world, whether it varies between them or not."""
    if isinstance(value, _Array):
        return value
    column = np.empty(worlds)
    column.fill(value)
    return column


def truth_a_world(cond: Truth, worlds: int) -> NDArray[np.bool_]:
    """Return one truth a world, whether it varies between them or not."""
    if isinstance(cond, _Array):
        return cond
    column = np.empty(worlds, dtype=np.bool_)
    column.fill(cond)
    return column


def commonest(numbers: NDArray[np.int64]) -> tuple[int, int]:
    """Return the number that stands most often, -1 or more, and how often; the least of those that tie."""
    counts = np.bincount(numbers + 1)
    most = int(counts.argmax())
    return most - 1, int(counts[most])


def share_of_worlds(x: Truth) -> float:
    """Return the share of the sample in which the condition holds."""
    return float(np.count_nonzero(x) / x.size) if isinstance(x, _Array) else float(x)


def any_of(x: Truth) -> bool:
    """Return whether the condition holds anywhere in the sample."""
    return bool(np.count_nonzero(x)) if isinstance(x, _Array) else bool(x)


def all_of(x: Truth) -> bool:
    """Return whether the condition holds everywhere in the sample."""
    return bool(np.count_nonzero(x) == x.size) if isinstance(x, _Array) else bool(x)
