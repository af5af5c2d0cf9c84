"""What a draft would do, in a sentence for people."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from service.application.effects import Effect
from service.application.inheritance import LineKey
from service.application.judging import named
from service.application.preview import Job, Preview
from service.engine.rates import Line

SHOWN = 3
"""Sorts of work that the sentence names."""


def summary(preview: Preview) -> str:
    """The answer in a sentence: what changed and does most, which sorts of work move most, which first plans change."""
    said = f"{_changed(preview)}: {_moves(preview.jobs)}"
    firsts = [job.code for job, effect in preview.jobs if effect.changes_first]
    said += f"; the first plan changes in {len(firsts)} of {len(preview.jobs)} jobs"
    said += f": {', '.join(firsts)}." if firsts else "."
    gone = [job.code for job, effect in preview.jobs if effect.after.missing and not effect.before.missing]
    return said + (f" Not to be priced any more: {', '.join(gone)}." if gone else "")


def _changed(preview: Preview) -> str:
    if not preview.changed:
        return "No number changes"
    if len(preview.changed) > 1:
        return f"{len(preview.changed)} lines change{_foremost(preview)}"
    ((key, (old, new)),) = preview.changed.items()
    return f"{(new or old or _never()).what} ({named(key)}) {_how(old, new)}"


def _foremost(preview: Preview) -> str:
    """The line that moves the totals of the jobs most by itself; "" where none does."""
    sums: dict[LineKey, Decimal] = {}
    for _, effect in preview.jobs:
        for alone in effect.alone:
            sums[alone.key] = sums.get(alone.key, Decimal(0)) + abs(alone.total)
    most = max(sums, key=lambda key: (sums[key], key), default=None)
    if most is None or not sums[most] or most not in preview.changed:
        return ""
    return f", and {named(most)} ({_how(*preview.changed[most])}) does most"


def _how(old: Line | None, new: Line | None) -> str:
    if old is None:
        return "comes"
    if new is None:
        return "goes"
    if old.unit != new.unit:
        return f"from {old.unit} to {new.unit}"
    if old.likely == new.likely:
        return "in its range"
    return f"{float(new.likely / old.likely) - 1.0:+.1%}" if old.likely else f"from zero to {new.likely:f}"


def _never() -> Line:
    raise AssertionError("a changed line stands in one of the two books")


def _moves(jobs: Iterable[tuple[Job, Effect]]) -> str:
    """The sorts of work that move most, each by what all its jobs cost together."""
    sums: dict[str, list[Decimal]] = {}
    for job, effect in jobs:
        if effect.before.missing is None and effect.after.missing is None:
            both = sums.setdefault(job.family, [Decimal(0), Decimal(0)])
            both[0] += effect.before.total
            both[1] += effect.after.total
    moved = {family: float(after / before) - 1.0 for family, (before, after) in sums.items() if before and after != before}
    if not moved:
        return "no total of a job moves"
    most = sorted(moved, key=lambda family: (-abs(moved[family]), family))
    said = ", ".join(f"{family} {moved[family]:+.1%}" for family in most[:SHOWN])
    rest = len(most) - SHOWN
    return said + (f" and {rest} more {'sort' if rest == 1 else 'sorts'} of work" if rest > 0 else "")
