"""The range of a job: shared prices move together, defects under one leak grow together (E12, R19).

In each world every group costs what the plan that is first in that world costs there, so that what is found on opening up
is in the range. Groups under different leaks take the worlds in different orders, each the same on every run.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.engine.array import Number, one_a_world
from service.engine.choice import Candidate
from service.engine.inquiry import Inquiry
from service.engine.neighbours import roof_area_of, together_components, wall_of
from service.engine.option import Uncertain
from service.engine.outcome import Option
from service.engine.pricing import Spread
from service.engine.rates import RateBook
from service.engine.sharing import Part
from service.engine.survey import Defect

Column = NDArray[np.float64]
STRIDE = 37
"""Odd, so that it runs through all worlds: the order of the worlds for the k-th leak is k * STRIDE on."""


@dataclass(frozen=True, slots=True)
class JobItem:
    """The first plan of one group, with the inquiry that it came from."""

    index: int
    defect: Defect
    inquiry: Inquiry
    option: Option
    conditional: tuple[Uncertain, ...]


def job_spread(items: Sequence[JobItem], parts: Sequence[Part], fixed: float) -> Spread:
    """Spread of the job over the worlds; `fixed` is what the job pays in every world."""
    total = Spread(fixed, {}, {})
    if not items:
        return total
    worlds = items[0].inquiry.worlds
    leak_of = _leaks([i.defect for i in items])
    for n, (item, part) in enumerate(zip(items, parts, strict=True)):
        order = _order(leak_of[n], worlds)
        one = _item_spread(item, part, worlds)
        total = total.join(_reorder(one, order, worlds))
    total.mean = total.mean + _conditional(items, worlds)
    return total


def _conditional(items: Sequence[JobItem], worlds: int) -> Column:
    """Conditional costs in the worlds in which they come: each kind once, at its dearest."""
    dearest: dict[str, tuple[float, Column]] = {}
    for item in items:
        for one in item.conditional:
            price = float(one.what.price)
            if one.what.code not in dearest or price > dearest[one.what.code][0]:
                dearest[one.what.code] = price, np.broadcast_to(np.asarray(one.comes, dtype=np.float64), (worlds,))
    total = np.zeros(worlds)
    for price, comes in dearest.values():
        total += price * comes
    return total


def _leaks(defects: Sequence[Defect]) -> dict[int, int]:
    """Number of the leak that each defect lies under."""
    groups = together_components(defects, _one_leak)
    return {n: k for k, group in enumerate(groups) for n in group}


def _one_leak(one: Defect, other: Defect) -> bool:
    """Whether two defects name the same cause in the same place."""
    causes = {c.code for c in one.causes} & {c.code for c in other.causes}
    return bool(causes) and wall_of(one) == wall_of(other) and roof_area_of(one) == roof_area_of(other)


def _order(leak: int, worlds: int) -> NDArray[np.int64]:
    """Order in which a leak takes the worlds."""
    k = np.arange(worlds, dtype=np.int64)
    return (k * (2 * leak + 1) + leak * STRIDE) % worlds


def _item_spread(item: JobItem, part: Part, worlds: int) -> Spread:
    """Spread of one group: in each world the plan that is first there, less what the job shares."""
    inquiry = item.inquiry
    kept = _kept(part)
    total = Spread(np.zeros(worlds), {}, {})
    chosen = part.plan
    for k in sorted(set(inquiry.first.tolist())):
        one = inquiry.found[k] if k >= 0 else chosen
        here = (inquiry.first == k).astype(np.float64)
        factors = part.factors if one is chosen else None
        total = total.join(_own_spread(one, factors, kept, inquiry.many.book).only_in(here))
    return total


def _kept(part: Part) -> float:
    """Share of its own price that the chosen plan keeps after sharing."""
    whole = [part.amount(k) / part.factors[k] if part.factors[k] else None for k, _ in part.own()]
    now = sum(part.amount(k) for k, _ in part.own())
    full = sum(w for w in whole if w is not None)
    return now / full if full else 1.0


def _own_spread(one: Candidate, factors: Sequence[float] | None, kept: float, book: RateBook) -> Spread:
    """Spread of what a plan pays itself, less what the job shares."""
    spread = Spread(0.0, {}, {})
    if one.many is None:
        return spread
    keeps = factors if factors is not None else [kept] * len(one.many.charges)
    for charge, keep in zip(one.many.charges, keeps, strict=False):
        if charge.part not in ("shared", "tax", "contingency"):
            spread.add(charge, book, keep)
    return spread


def _reorder(spread: Spread, order: NDArray[np.int64], worlds: int) -> Spread:
    def turn(value: Number) -> Number:
        return one_a_world(value, worlds)[order]

    return Spread(
        turn(spread.mean), {k: turn(v) for k, v in spread.by_kind.items()}, {k: turn(v) for k, v in spread.by_norm.items()}
    )
