"""The range of a job: shared prices move together, defects under one leak grow together (E12, R19).

In each world every group costs what the plan that is first in that world costs there, so that what is found on opening up
is in the range. Groups under different leaks take the worlds in different orders, each the same on every run. The hours of
all groups together decide whether it is a small job, as they do for a plan that stands alone (R22).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import repeat

import numpy as np
from numpy.typing import NDArray

from service.engine.array import Number, one_a_world
from service.engine.choice import Candidate
from service.engine.inquiry import Inquiry
from service.engine.jobsize import EVERY_SIZE, Whole, days_spread, sizes_of
from service.engine.neighbours import roof_area_of, together_components, wall_of
from service.engine.option import NOT_ITS_OWN, Uncertain, own_spreads
from service.engine.outcome import Option, PriceLine
from service.engine.pricing import Spread
from service.engine.rates import RateBook
from service.engine.sharing import Part
from service.engine.site import CREW, put_travel, visits_of
from service.engine.survey import Defect
from service.engine.work import Work

Column = NDArray[np.float64]
STRIDE = 37
"""Odd, so that it runs through all worlds: the order of the worlds for the k-th leak is k * STRIDE on."""
CAP = "small_jobs_cap"
"""Code of the line that takes a job down to its small jobs added (R22)."""


@dataclass(frozen=True, slots=True)
class JobItem:
    """The first plan of one group, with the inquiry that it came from."""

    index: int
    defect: Defect
    inquiry: Inquiry
    option: Option
    conditional: tuple[Uncertain, ...]


def job_range(
    items: Sequence[JobItem], parts: Sequence[Part], around: Sequence[PriceLine], comings: int, book: RateBook
) -> Whole:
    """The whole price of the job over the worlds.

    Args:
        items: first plan of each group.
        parts: the same plans after sharing.
        around: lines of what the job pays by rule: site management, contingency, the cap of small jobs.
        comings: seasons in which the crew sets up.
        book: of the region.
    """
    worlds = items[0].inquiry.worlds
    leak_of = _leaks([i.defect for i in items])
    price, days = Spread(0.0, {}, {}), Spread(0.0, {}, {})
    for n, (item, part) in enumerate(zip(items, parts, strict=True)):
        order = _order(leak_of[n], worlds)
        its_price, its_days = _item_spreads(item, part, worlds)
        price = price.join(_reorder(its_price, order, worlds))
        days = days.join(_reorder(its_days, order, worlds))
    visits = max((visits_of(p.plan.stated) for p in parts if p.plan.stated is not None), default=0)
    more = Spread(_conditional(items, worlds), {}, {})
    if not visits:
        return Whole(price, days, more, (EVERY_SIZE,))
    taxed = 1.0 + book.likely("terms", "tax.rate")
    more.mean = more.mean + _rules(around, taxed)
    visits += comings - 1
    price = price.join(_road(items, days, visits, comings, book)).times(taxed)
    off = sum(float(line.amount) for line in around if line.resource == CAP)
    return Whole(price, days, more, sizes_of(book, visits=visits, taxed=taxed, off=off))


def _rules(lines: Sequence[PriceLine], taxed: float) -> float:
    """Site management, and the tax on a contingency which the range itself replaces (R18)."""
    times = {"site_management": taxed, "contingency": taxed - 1.0}
    return sum(float(line.amount) * times.get(line.resource, 0.0) for line in lines)


def _road(items: Sequence[JobItem], days: Spread, visits: int, comings: int, book: RateBook) -> Spread:
    """Spread of what it costs to get to the farthest of the places, once for all, and to set up again each season."""
    far = max(items, key=lambda i: float(i.inquiry.stated.distance_mi)).inquiry.many
    work = Work(far.but(count=1, batch=1), 1.0)
    work.part = "shared"
    put_travel(work, far.distance_mi, visits=visits, people=CREW, days=days.mean)
    if comings > 1:
        work.buy("mobilisation", comings - 1.0, once=True)
    return Spread.of(work.charges, book)


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


def _item_spreads(item: JobItem, part: Part, worlds: int) -> tuple[Spread, Spread]:
    """Price and days of one group: in each world those of the plan that is first there, less what the job shares."""
    inquiry = item.inquiry
    kept = _kept(part)
    price, days = Spread(np.zeros(worlds), {}, {}), Spread(np.zeros(worlds), {}, {})
    chosen = part.plan
    for k in sorted(set(inquiry.first.tolist())):
        one = inquiry.found[k] if k >= 0 else chosen
        here = (inquiry.first == k).astype(np.float64)
        factors = part.factors if one is chosen else None
        its_price, its_days = _own_spreads(one, factors, kept, inquiry.many.book)
        price, days = price.join(its_price.only_in(here)), days.join(its_days.only_in(here))
    return price, days


def _kept(part: Part) -> float:
    """Share of its own price that the chosen plan keeps after sharing."""
    whole = [part.amount(k) / part.factors[k] if part.factors[k] else None for k, _ in part.own()]
    now = sum(part.amount(k) for k, _ in part.own())
    full = sum(w for w in whole if w is not None)
    return now / full if full else 1.0


def _own_spreads(
    one: Candidate, factors: Sequence[float] | None, kept: float, book: RateBook
) -> tuple[Spread, Spread]:
    """Price and days of what a plan pays itself, less what the job shares."""
    if one.many is None:
        return Spread(0.0, {}, {}), Spread(0.0, {}, {})
    if factors is None or set(factors) == {1.0}:
        price, days = own_spreads(one)
        return (price, days) if factors is not None or kept == 1.0 else (price.times(kept), days.times(kept))
    keeps = [*factors, *repeat(1.0, max(len(one.many.charges) - len(factors), 0))]  # a way up may stand in some worlds only
    own = [(c, k) for c, k in zip(one.many.charges, keeps, strict=False) if c.part not in NOT_ITS_OWN]
    price = Spread.of((c for c, _ in own), book, (k for _, k in own))
    return price, days_spread(one.many.charges, one.many.stages, book, keeps)


def _reorder(spread: Spread, order: NDArray[np.int64], worlds: int) -> Spread:
    def turn(value: Number) -> Number:
        return one_a_world(value, worlds)[order]

    return Spread(
        turn(spread.mean), {k: turn(v) for k, v in spread.by_kind.items()}, {k: turn(v) for k, v in spread.by_norm.items()}
    )
