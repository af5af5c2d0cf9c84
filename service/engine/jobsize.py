"""A price that depends on how long the work takes: small job, ordinary job, job that fills a dumpster (R22).

Under half a day a job pays at least the minimum charge in place of mobilisation and disposal, from half a day on
mobilisation, from a whole day on disposal too. Hours are norms and spread, so that one and the same world may come out
at either size. The days of a world are taken as a log-normal of the mean and variance that its norms give, and with the
price of the work as two log-normals that move together: a job that turns out short is a cheap one as well. Each size then
has its chance in each world, and the range is read off the mixture of all sizes in all worlds. What is bought at one go to
set up is a lump in it that is no log-normal.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import repeat
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from service.engine.array import Number, Truth, any_of, one_a_world, truth_a_world
from service.engine.chance import normal_below, pert_quantile
from service.engine.pricing import Spread
from service.engine.rates import RateBook, Swing
from service.engine.site import BULKY, BY_SIZE
from service.engine.slices import Lump, Scores, points_of, scores, slices_of
from service.engine.work import Charge, Stage

Column = NDArray[np.float64]

NO_CHANCE = 1e-3
"""A size less likely than this in a world is left out of it."""
HAIR = 1e-6
"""Share of a day by which a job that takes exactly half a day is past it; left by arithmetic, not by crews."""
STILL = 1e-9
"""Deviation that stands for none, so that hours without a spread need no case of their own."""
TILTS = np.array([0.0, 1.0, 2.0])[:, None, None]
"""By how many tilts a bound of the days is moved for a chance, a first and a second moment."""
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

    def below(self, days: Column) -> Column:
        """Chance of less than so many days, each bound moved by no, one and two tilts: tilts x bounds x worlds."""
        bounds = (np.log(days * (1.0 - HAIR))[:, None] - self.middle) / self.deviation
        return normal_below(bounds - TILTS * self.tilt)


class BySize(NamedTuple):
    """The work at each size, a row a size and a column a world: its chance, and mean and variance of its price there."""

    chance: Column
    mean: Column
    variance: Column


@dataclass(frozen=True, slots=True)
class Whole:
    """The whole price over the worlds, hours carried over the edges between the sizes of a job.

    Attributes:
        work: price of the work and the way there. days: crew-days on site. more: what comes on top, whatever the size.
        sizes: that it may come out at; one of 0 to infinity where nothing depends on it.
        known: the work at each size, once it was worked out.
    """

    work: Spread
    days: Spread
    more: Spread
    sizes: tuple[Size, ...]
    known: list[BySize] = field(default_factory=list, repr=False, compare=False)

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
        values, chances = [], []
        for size, here, chance, centre, variance in self._sizes_in(keep, worlds):
            values.append(self._slices(size, here, centre, variance, scores(centre.size)))
            chances.append(chance)
        if not values:
            return 0.0, 0.0, 0.0
        if len(values) == 1 and bool((chances[0] == 1.0).all()):
            return points_of(values[0].ravel())  # of one size in all of them: its slices are equally likely
        slices = np.concatenate(values)
        return points_of(slices.ravel(), np.repeat(np.concatenate(chances), slices.shape[1]))

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
        comes = keep & (self._by_size(worlds).chance > NO_CHANCE)
        for size, likely in zip(self.sizes, comes, strict=True):
            if not any_of(likely):
                continue
            chance, centre, variance = self.among(size, worlds)
            here = likely & (centre > 0.0)
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
        work, k = self._by_size(worlds), self.sizes.index(size)
        on_top, spread = self._on_top(size)
        return work.chance[k], work.mean[k] + on_top, work.variance[k] + spread

    def _by_size(self, worlds: int) -> BySize:
        """The work at each size, whatever comes on top; worked out once for all of that."""
        if not self.known:
            self.known.append(_by_size(_law_of(self.work, self.days, worlds), self.sizes))
        return self.known[0]


def _by_size(law: Law, sizes: Sequence[Size]) -> BySize:
    """Chance of each size in each world, and mean and variance of the price of the work among the hours that lead to it.

    Two log-normals cut off in one of them: the k-th moment of the price between two bounds of the days is the whole
    k-th moment times the chance between the same bounds moved by k times their covariance over the deviation of the
    days (Tallis, J. R. Stat. Soc. B 23, 1961, for the normal; from memory).
    """
    below = np.zeros((TILTS.size, 1 + len(sizes), law.mean.size))
    below[:, 1:-1] = law.below(np.array([size.start for size in sizes[1:]]))
    below[:, -1] = 1.0
    chance, first, second = below[:, 1:] - below[:, :-1]
    likely = np.maximum(chance, NO_CHANCE)
    mean = law.mean * first / likely
    square = (law.mean**2 + law.variance) * second / likely
    return BySize(chance, mean, np.maximum(square - mean**2, 0.0))


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
    hours, swings = [], []
    for charge, keep in zip(charges, repeat(1.0) if keeps is None else keeps, strict=False):
        if charge.norm is None or (isinstance(charge.hours, float) and not charge.hours):
            continue
        hours.append(charge.hours)
        swings.append(_days_an_hour(book, charge.norm, len(stages[charge.stage].crew), keep))
    return Spread.made_of(hours, swings)


def _days_an_hour(book: RateBook, norm: str, crew: int, keep: float) -> Swing:
    """What an hour of a norm comes to in days of its crew, where a share of it is left."""

    def worked_out(book: RateBook) -> Swing:
        pace, days = book.pace(norm), keep / (crew * book.likely("terms", "hours_per_day"))
        return Swing("", days * pace.mean, 0.0, days * pace.sd, norm)

    return book.once(("days", norm, crew), worked_out) if keep == 1.0 else worked_out(book)


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
