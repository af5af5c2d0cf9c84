"""How a region's own lines are laid over those that it inherits."""

from __future__ import annotations

from collections.abc import Mapping

from service.engine.rates import Line

LineKey = tuple[str, str]
"""Section and code."""
Lines = Mapping[LineKey, Line]


def laid_over(above: Lines, own: Lines) -> dict[LineKey, Line]:
    """What counts for a region: its own lines in place of inherited ones, except where a region above has locked its line.

    A lock is part of the revision that sets it. A chain that was pinned before stays as it was.
    """
    return {**above, **{key: line for key, line in own.items() if not is_locked(above, key)}}


def is_locked(above: Lines, key: LineKey) -> bool:
    """Whether a line is locked in what is inherited, so that an own one counts for nothing."""
    return key in above and above[key].locked
