"""A price that depends on how long the work takes: small job, ordinary job, job that fills a dumpster (R22).

Under half a day a job pays at least the minimum charge in place of mobilisation and disposal, from half a day on
mobilisation, from a whole day on disposal too. Hours are norms and spread, so that one and the same world may come out
at either size. The days of a world are taken as a log-normal of the mean and variance that its norms give, and with the
price of the work as two log-normals that move together: a job that turns out short is a cheap one as well. Each size then
has its chance in each world, and the range is read off the mixture of all sizes in all worlds. What is bought at one go to
set up is a lump in it that is no log-normal.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import repeat
from typing import Any, NamedTuple, TypeVar

import numpy as np
from numpy.typing import NDArray

from service.engine.array import Number, Truth, any_of, one_a_world, truth_a_world
from service.engine.chance import normal_below, pert_quantile
from service.engine.pricing import Purchases, Spread
from service.engine.rates import RateBook
from service.engine.site import BULKY, BY_SIZE
from service.engine.slices import Lump, Scores, points_of, scores, slices_of
from service.engine.work import Charge, Stage

Column = NDArray[np.float64]
Figure = TypeVar("Figure")

NO_CHANCE = 1e-3
"""A size less likely than this in a world is left out of it."""
HAIR = 1e-6
"""Share of a day by which a job that takes exactly half a day is past it; left by arithmetic, not by crews."""
STILL = 1e-9
"""Deviation that stands for none, so that hours without a spread need no case of their own."""
CROSSWISE = np.arange(16) * 7 % 16
"""Order in which slices of what comes on top meet those of the work: neither rises with the other."""
EVENLY = (np.arange(512) + 0.5) / 512
"""Probabilities at which the price of a set-up is looked at for its shape."""
NOTHING = np.zeros(EVENLY.size)


@dataclass(frozen=True, slots=True)
class Size:
    """A size of job, by its crew-days on site.

    Attributes:
        start, end: from so many days up to less than so many.
        set_up: mobilisation and disposal that it pays.
        least: what is charged at the least.
        lump: the same set-up with its shape: often most of the price, wide, and bounded on both sides.
    """

    start: float
    end: float
    set_up: Spread
    least: float
    lump: Lump | None = None


EVERY_SIZE = Size(0.0, np.inf, Spread(0.0, {}, {}), 0.0)
"""The only size where nothing depends on it."""


class Law(NamedTuple):
    """Price of the work and its days in each world, as two log-normals that move together.

    Attributes:
        mean, variance: of the price.
        middle, deviation: of the logarithm of the days.
        tilt: covariance of the two logarithms over that deviation.
    """

    mean: Column
    variance: Column
    middle: Column
    deviation: Column
    tilt: Column

    def below(self, days: float, tilts: float) -> Column:
        """Chance of less than so many days in each world, the bound moved by so many tilts."""
        return normal_below((np.log(days * (1.0 - HAIR)) - self.middle) / self.deviation - tilts * self.tilt)


@dataclass(frozen=True, slots=True)
class Whole:
    """The whole price over the worlds, hours carried over the edges between the sizes of a job.

    Attributes:
        work: price of the work and the way there. days: crew-days on site. more: what comes on top, whatever the size.
        sizes: that it may come out at; one of 0 to infinity where nothing depends on it.
        known: what was worked out of the work and its days.
    """

    work: Spread
    days: Spread
    more: Spread
    sizes: tuple[Size, ...]
    known: dict[Hashable, Any] = field(default_factory=dict, repr=False, compare=False)

    def and_more(self, more: Spread) -> Whole:
        """The same with something on top."""
        return Whole(self.work, self.days, self.more.join(more), self.sizes, self.known)

    def quantiles(self, holds: Truth, worlds: int) -> tuple[float, float, float] | None:
        """10, 50 and 90 % points over the worlds that hold, or None where there is none."""
        keep = truth_a_world(holds, worlds)
        if len(self.sizes) == 1 or not any_of(keep):
            only = self.sizes[0]
            return self.work.join(only.set_up).join(self.more).quantiles(keep, worlds)
        keep = keep & (one_a_world(self.work.mean + self.more.mean, worlds) > 0.0)
        values, weights = [], []
        for size, here, chance, centre, variance in self._sizes_in(keep, worlds):
            values.append(self._slices(size, here, centre, variance, scores(centre.size)))
            weights.append(np.broadcast_to(chance[:, None], values[-1].shape))
        if not values:
            return 0.0, 0.0, 0.0
        return points_of(np.concatenate(values).ravel(), np.concatenate(weights).ravel())

    def moments(self, worlds: int) -> tuple[Column, Column]:
        """Mean and variance of the whole price in each world, all sizes together."""
        if len(self.sizes) == 1:
            total = self.work.join(self.sizes[0].set_up).join(self.more)
            return one_a_world(total.mean, worlds), one_a_world(total.variance, worlds)
        first, second = np.zeros(worlds), np.zeros(worlds)
        for size, here, chance, centre, variance in self._sizes_in(np.ones(worlds, dtype=np.bool_), worlds):
            mean, square = centre, variance + centre**2
            if size.least:
                prices = self._slices(size, here, centre, variance, scores(1))
                mean, square = prices.mean(axis=1), (prices**2).mean(axis=1)
            first[here] += chance * mean
            second[here] += chance * square
        return first, np.maximum(second - first**2, 0.0)

    def _sizes_in(
        self, keep: NDArray[np.bool_], worlds: int
    ) -> Iterator[tuple[Size, NDArray[np.bool_], Column, Column, Column]]:
        """Sizes that some of these worlds come to: which do, and in these its chance, and mean and variance of the price."""
        for size in self.sizes:
            if not any_of(keep & (self._chance(size, worlds) > NO_CHANCE)):
                continue
            chance, centre, variance = self.among(size, worlds)
            here = keep & (chance > NO_CHANCE) & (centre > 0.0)
            if any_of(here):
                yield size, here, chance[here], centre[here], variance[here]

    def _slices(self, size: Size, here: NDArray[np.bool_], centre: Column, variance: Column, at: Scores) -> Column:
        """Slices of the price at one size in some worlds, what comes on top of what is charged at the least."""
        if not size.least:
            return slices_of(centre, variance, at, size.lump)
        on_top, spread = (one_a_world(figure, here.size)[here] for figure in self._on_top(size))
        work = slices_of(np.maximum(centre - on_top, HAIR), np.maximum(variance - spread, 0.0), at)
        apart = np.roll(at.z, 1, axis=0)[:, CROSSWISE]
        return np.maximum(work, size.least) + on_top[:, None] + np.sqrt(spread)[:, None] * apart

    def _on_top(self, size: Size) -> tuple[Number, Number]:
        """Mean of what comes on top of the work at a size, and what it adds to the variance."""
        more = size.set_up.join(self.more)
        return more.mean, more.variance + 2.0 * self.work.covariance(more)

    def among(self, size: Size, worlds: int) -> tuple[Column, Column, Column]:
        """Chance of a size in each world, and mean and variance of the whole price among the hours that lead to it."""
        centre, variance = self._once(("among", size.start), lambda: self._work_among(size, worlds))
        on_top, spread = self._on_top(size)
        return self._chance(size, worlds), centre + on_top, variance + spread

    def _work_among(self, size: Size, worlds: int) -> tuple[Column, Column]:
        """Mean and variance of the price of the work among the hours that lead to a size.

        Two log-normals cut off in one of them: the k-th moment of the price between two bounds of the days is the whole
        k-th moment times the chance between the same bounds moved by k times their covariance over the deviation of the
        days (Tallis, J. R. Stat. Soc. B 23, 1961, for the normal; from memory).
        """
        law = self._law(worlds)
        likely = np.maximum(self._chance(size, worlds), NO_CHANCE)
        centre = law.mean * self._between(size, worlds, 1.0) / likely
        square = (law.mean**2 + law.variance) * self._between(size, worlds, 2.0) / likely
        return centre, np.maximum(square - centre**2, 0.0)

    def _chance(self, size: Size, worlds: int) -> Column:
        """Chance of a size in each world."""
        return self._once(("chance", size.start), lambda: self._between(size, worlds, 0.0))

    def _between(self, size: Size, worlds: int, tilts: float) -> Column:
        """Chance of a size in each world, its bounds moved by so many tilts."""
        below = self._below(size.end, worlds, tilts) if size.end < np.inf else np.ones(worlds)
        return below - self._below(size.start, worlds, tilts) if size.start else below

    def _below(self, days: float, worlds: int, tilts: float) -> Column:
        """Chance of less than so many days; where one size ends the next one starts."""
        return self._once(("below", days, tilts), lambda: self._law(worlds).below(days, tilts))

    def _law(self, worlds: int) -> Law:
        """Price of the work and its days as two log-normals that move together, in each world."""
        return self._once("law", lambda: _law_of(self.work, self.days, worlds))

    def _once(self, what: Hashable, worked_out: Callable[[], Figure]) -> Figure:
        """What follows from the work and its days, whatever comes on top, worked out once for all of that."""
        if what not in self.known:
            self.known[what] = worked_out()
        found: Figure = self.known[what]
        return found


def _law_of(work: Spread, days: Spread, worlds: int) -> Law:
    mean, variance = one_a_world(work.mean, worlds), one_a_world(work.variance, worlds)
    long = np.maximum(one_a_world(days.mean, worlds), HAIR)
    shape = np.log1p(one_a_world(days.variance, worlds) / long**2)
    deviation = np.maximum(np.sqrt(shape), STILL)
    shared = one_a_world(work.covariance(days), worlds) / np.maximum(mean * long, HAIR)
    tilt = np.minimum(np.log1p(shared) / deviation, np.sqrt(np.log1p(variance / np.maximum(mean, HAIR) ** 2)))
    return Law(mean, variance, np.log(long) - shape / 2.0, deviation, tilt)


def days_spread(
    charges: Iterable[Charge], stages: Sequence[Stage], book: RateBook, keeps: Iterable[float] | None = None
) -> Spread:
    """Crew-days on site in each world, and what each norm adds to their variance.

    Args:
        charges: of the work, in any part.
        stages: that the charges belong to.
        book: of the region.
        keeps: share of each charge that is left after sharing, all where none is given.
    """
    a_day = book.likely("terms", "hours_per_day")
    hours = Purchases()
    for charge, keep in zip(charges, repeat(1.0) if keeps is None else keeps, strict=False):
        if charge.norm is None or (isinstance(charge.hours, float) and not charge.hours):
            continue
        pace, days = book.pace(charge.norm), keep / (len(stages[charge.stage].crew) * a_day)
        hours.put(charge.hours, days * pace.mean, of_norm=(charge.norm, days * pace.sd))
    return hours.spread()


def sizes_of(book: RateBook, *, visits: int, taxed: float = 1.0, off: float = 0.0) -> tuple[Size, ...]:
    """The sizes that a job may come out at; one that needs a second visit is never small.

    Args:
        book: of the region.
        visits: times that the crew comes.
        taxed: 1 and the rate of the tax.
        off: what its small jobs added come to less, 0 or negative; never off a small job.
    """
    if off:
        return _sizes(book, visits, taxed, off)
    return book.once(f"sizes of {min(visits, 2)} visits, taxed {taxed}", lambda book: _sizes(book, visits, taxed, 0.0))


def _sizes(book: RateBook, visits: int, taxed: float, off: float) -> tuple[Size, ...]:
    edge = book.likely("terms", "minimum_charge.up_to")
    set_up = [Spread(0.0, {}, {}) for _ in range(1 + len(BY_SIZE))]
    set_up[0].mean = off
    for k, resource in enumerate(BY_SIZE, start=1):
        set_up[k] = set_up[k - 1].copy()
        tariff = book.tariff(resource)
        set_up[k].add_price(tariff.one * taxed, tariff)
    lumps = [_lump(set_up[k], BY_SIZE[:k], book, taxed) for k in range(1 + len(BY_SIZE))]
    small = Size(0.0, edge, Spread(0.0, {}, {}), book.likely("terms", "minimum_charge") * taxed)
    ordinary = Size(edge if visits <= 1 else 0.0, edge * BULKY, set_up[1], 0.0, lumps[1])
    bulky = Size(edge * BULKY, np.inf, set_up[2], 0.0, lumps[2])
    return (small, ordinary, bulky) if visits <= 1 else (ordinary, bulky)


def _lump(set_up: Spread, resources: Sequence[str], book: RateBook, taxed: float) -> Lump:
    """A set-up with the shape that the PERTs of its prices give it, those of one kind at one level (R19)."""
    by_kind: dict[str, Column] = {}
    for resource in resources:
        line, tariff = book.line("resources", resource), book.tariff(resource)
        if tariff.sd:
            low, likely, high = float(line.low), float(line.likely), float(line.high)
            price = np.asarray(pert_quantile(low, likely, high, EVENLY)) * (tariff.one * taxed / likely)
            by_kind[tariff.kind] = by_kind.get(tariff.kind, NOTHING) + price
    third, fourth = 0.0, 0.0
    for price in by_kind.values():
        off = price - price.mean()
        third += float((off**3).mean())
        fourth += float((off**4).mean() - 3.0 * (off**2).mean() ** 2)
    return Lump(float(set_up.mean), float(set_up.variance), third, fourth)
