"""Which missing fact is worth asking for: computed from the worlds, not listed by hand.

The price of whatever stands first in each world is regressed on the coordinates of the worlds, linear and squared, with a
jump where it makes one; the share of its variance that goes with one fact is what the answer to that question would remove.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from service.engine.array import commonest

Column = NDArray[np.float64]

NOT_BY_CHANCE = 0.3
"""Shift of a plan's share between two fifths of 128 worlds from which it is not chance: two standard errors and some (J)."""
FEWEST_WORLDS = 40
"""With fewer worlds left the shares are noise and are withheld."""
FEWEST_A_SIDE = 10
"""Worlds with one answer to a question from which they can be set against those with the other (J)."""
MOST_JUMPS = 3
"""Jumps of the price that are looked for beside lines and parabolas (J)."""
JUMP_TELLS = 0.12
"""Share of what is left that a jump must explain to be one: by chance a hundred looks at 128 worlds seldom find more (J)."""
CUTS = np.array([1.0, 1.5, *range(2, 15), 14.5, 15.0]) / 16.0
"""Places along a coordinate where a jump is looked for."""
NOTHING = 0.01
"""Share of the variance below which nobody looks for a jump."""
HAIR = 1e-9
"""What is added to a variance so that none is nothing."""
_SHARE = CUTS * (1.0 - CUTS)
_BOW = ((CUTS - 0.5) ** 3 - CUTS / 4.0) / 3.0 + 1.0 / 24.0
BESIDE = _SHARE - 3.0 * _SHARE**2 - 180.0 * _BOW**2
"""Variance of a jump at each place that neither a line (variance 1/12) nor a parabola (1/180) along the coordinate follows."""


def shares_of(outcome: Column, columns: Mapping[str, Column]) -> dict[str, float]:
    """Share of the variance of an outcome that goes with each coordinate.

    Args:
        outcome: one number a world.
        columns: coordinate of each unknown, 0 to 1; of a yes or a no, 1 where it is yes.

    Returns:
        Unknown -> share, 0 to 1; all zero where nothing varies. Empty where there are too few worlds.
    """
    if outcome.size < FEWEST_WORLDS or not columns:
        return {}
    variance = float(outcome.var())
    if variance <= 1e-12 * max(float(outcome.mean()) ** 2, 1e-12):
        return dict.fromkeys(columns, 0.0)
    ground = _ground(tuple(column.tobytes() for column in columns.values()))
    terms = dict(zip(columns, ground.terms, strict=True))
    design, past, names = ground.design, ground.past, list(columns)
    parts = _fitted(terms, design, ground.square, outcome)
    least = NOTHING * variance * outcome.size
    for _ in range(MOST_JUMPS):
        jump = _greatest(past, outcome - sum(parts.values()) - outcome.mean(), least)
        if jump is None:
            break
        name = names[jump // CUTS.size]
        column = past[:, jump] - past[:, jump].mean()
        terms[name] = [*terms[name], column]
        behind = sum(len(terms[n]) for n in names[: names.index(name) + 1])
        design = np.concatenate((design[:, :behind], column[:, None], design[:, behind:]), axis=1)
        parts = _fitted(terms, design, _square(design), outcome)
    shares = {name: _variance(part) / variance for name, part in parts.items()}
    explained = max(sum(shares.values()), 1.0)
    return {name: share / explained for name, share in shares.items()}


class _Ground(NamedTuple):
    """What is known of some coordinates before any outcome is looked at.

    Attributes:
        terms: line and parabola along each. design: the same beside each other, behind a column of ones.
        square: the left side of their normal equations.
        past: whether each world lies past each place along each coordinate, a column each, coordinate by coordinate.
    """

    terms: tuple[Sequence[Column], ...]
    design: Column
    square: Column
    past: Column


@lru_cache(maxsize=64)
def _ground(columns: tuple[bytes, ...]) -> _Ground:
    """Worked out once for all places of which the same is not known: the worlds are always the same."""
    along = [np.frombuffer(column) for column in columns]
    terms = tuple(_curve(column) for column in along)
    past = (np.stack(along, axis=1)[:, :, None] > CUTS).reshape(along[0].size, -1).astype(np.float64)
    design = _design(terms)
    return _Ground(terms, design, _square(design), past)


def _variance(column: Column) -> float:
    """The variance; what numpy's own takes longest for is what it checks first."""
    off = column - column.sum() / column.size
    return float((off * off).sum() / column.size)


def _curve(column: Column) -> list[Column]:
    """A line and a parabola along a coordinate; a line alone where it is a yes or a no."""
    centred = column - column.mean()
    return [centred] if _yes_or_no(column) else [centred, centred * centred - 1.0 / 12.0]


def _yes_or_no(column: Column) -> bool:
    return float(column[0]) in (0.0, 1.0) and bool(((column == 0.0) | (column == 1.0)).all())


def _design(terms: Sequence[Sequence[Column]]) -> Column:
    """All terms beside each other, behind a column of ones."""
    return np.column_stack([np.ones(terms[0][0].size), *(term for of in terms for term in of)])


def _square(design: Column) -> Column:
    """Left side of the normal equations.

    A hair on their diagonal keeps them well behaved where a fact is the same in all worlds, or two always go together.
    """
    return np.asarray(design.T @ design + np.eye(design.shape[1]) * (HAIR * design.shape[0]), dtype=np.float64)


def _fitted(
    terms: Mapping[str, Sequence[Column]], design: Column, square: Column, outcome: Column
) -> dict[str, Column]:
    """What each coordinate adds to the outcome, world by world, all fitted together."""
    fit = _least_squares(design, square, outcome)
    parts, at = {}, 1
    for name, of in terms.items():
        parts[name] = design[:, at : at + len(of)] @ fit[at : at + len(of)]
        at += len(of)
    return parts


def _greatest(past: Column, left: Column, least: float) -> int | None:
    """Number of the jump that explains most of what is left over; None where chance would do as much.

    A way up, a heavier method, a second visit come from one point on, which no parabola follows. What is left over has
    nothing of a line or a parabola in it any more, so that only what a jump has beside them counts.

    Args:
        past: whether each world lies past each place along each coordinate, a column each, coordinate by coordinate.
        left: what lines and parabolas and the jumps found before leave over.
        least: sum of squares that a jump explains at the least.
    """
    beside = np.tile(BESIDE, past.shape[1] // CUTS.size) * left.size
    gain = (left @ past) ** 2 / beside
    k = int(gain.argmax())
    return k if gain[k] > max(JUMP_TELLS * float(left @ left), least) else None


def _least_squares(design: Column, square: Column, outcome: Column) -> Column:
    """The fit: by the normal equations, which are well behaved here; by the slow way where worlds are few for so many terms."""
    if 2 * design.shape[1] < design.shape[0]:
        return np.asarray(np.linalg.solve(square, design.T @ outcome), dtype=np.float64)
    return np.asarray(np.linalg.lstsq(design, outcome, rcond=None)[0], dtype=np.float64)


def share_of_facts(mean: Column, within: Column) -> float:
    """Share of the variance of an outcome that lies between the worlds, and so with the facts that tell them apart.

    Args:
        mean, within: mean of the outcome in each world, and its variance there.

    Returns:
        0 to 1; 0 where nothing varies.
    """
    if not mean.size:
        return 0.0
    between = float(mean.var())
    total = between + float(within.mean())
    return between / total if total > 0.0 else 0.0


def price_swing(outcome: Column, column: Column) -> float:
    """How far an unknown moves the price between its low and its high fifth, relative to the middle."""
    low, high = column <= 0.2, column >= 0.8
    if min(np.count_nonzero(low), np.count_nonzero(high)) < FEWEST_A_SIDE:
        return 0.0
    middle = float(np.median(outcome))
    return abs(float(outcome[high].mean()) - float(outcome[low].mean())) / middle if middle > 0.0 else 0.0


def changes_first(first: NDArray[np.int64], column: Column) -> bool:
    """Whether the plan that is first most often differs, and not by chance, between the low and the high fifth."""
    low, high = first[column <= 0.2], first[column >= 0.8]
    if min(low.size, high.size) < FEWEST_A_SIDE:
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
