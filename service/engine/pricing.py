"""From a scope of work to price lines, and from the worlds to a range.

A line is quantity x rate x (1 + markup), rounded once to the cent; a total is the sum of its rounded lines (R18). A range
is worked out in the worlds: each world gives the price a mean and a variance from the spread of norms and prices, taken as
a log-normal; the range is read off the mixture of all worlds in which the plan holds. Prices of one kind rise and fall
together, so their spreads add up straight; norms are independent of each other, so theirs add up in squares (R19). Where
the log-normal is not near enough is told in `slices`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Context, Decimal
from functools import lru_cache
from itertools import repeat
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from service.engine.array import Number, Truth, any_of, one_a_world, truth_a_world
from service.engine.outcome import PriceLine, Range
from service.engine.rates import Pace, RateBook, Swing, Tariff
from service.engine.slices import points_of, scores, slices_of
from service.engine.work import Charge

CENT = Decimal("0.01")
QUANTUM = Decimal("0.0001")
WIDE = Context(prec=60)
"""Room for any product of numbers that a book may hold, where the usual 28 digits would refuse to round it."""
Column = NDArray[np.float64]


def cents(amount: Decimal) -> Decimal:
    """An amount rounded to the cent, halves up: the one rounding of money."""
    return amount.quantize(CENT, rounding=ROUND_HALF_UP, context=WIDE)


def money(amount: float) -> Decimal:
    """A worked-out amount as money, rounded to the cent."""
    return cents(Decimal(repr(amount)))


def price_line(charge: Charge, book: RateBook, step: int | None, share: float = 1.0) -> PriceLine | None:
    """The line of one charge, or of the share of it that is kept, in the world as stated; None where there is nothing of it."""
    quantity = float(charge.units) * float(charge.factor * share) * (book.pace(charge.norm).likely if charge.norm else 1.0)
    if quantity <= 0.0:
        return None
    resource, markup, price = book.offer(charge.resource)
    exact = Decimal(repr(quantity)).quantize(QUANTUM, rounding=ROUND_HALF_UP)
    return PriceLine(
        part=charge.part, step=step, resource=charge.resource,
        what=book.line("norms", charge.norm).what if charge.norm else resource.what,
        quantity=exact, unit=resource.unit, rate=resource.likely, markup=markup,
        amount=cents(exact * price), region=resource.region, norm=charge.norm,
    )


def parts_of(lines: Iterable[PriceLine]) -> dict[str, Decimal]:
    """Sum of the rounded lines, part by part (R4)."""
    sums: dict[str, Decimal] = {}
    for line in lines:
        sums[line.part] = sums.get(line.part, Decimal(0)) + line.amount
    return sums


@dataclass(slots=True)
class Spread:
    """Mean of a price in each world, and what its norms and its kinds of price add to its variance."""

    mean: Number
    by_kind: dict[str, Number]
    by_norm: dict[str, Number]

    @classmethod
    def of(cls, charges: Iterable[Charge], book: RateBook, shares: Iterable[float] = repeat(1.0)) -> Spread:
        """Gather the spread of charges, or of the share of each that is kept."""
        amounts, swings = [], []
        for charge, share in zip(charges, shares, strict=False):
            amount = charge.amount
            if isinstance(amount, float) and not amount:
                continue
            swing = book.swing(charge.resource, charge.norm)
            amounts.append(amount)
            swings.append(swing if share == 1.0 else swing.times(share))
        return cls.made_of(amounts, swings)

    @classmethod
    def made_of(cls, amounts: Sequence[Number], swings: Sequence[Swing]) -> Spread:
        """Gather the spread of amounts, each with how it may come out: every figure is a weighted sum of the amounts."""
        if not amounts:
            return cls(0.0, {}, {})
        weights, table = _weights_of(tuple(swings)), _table(amounts)
        if table is None:
            rows: Sequence[Number] = (weights.of @ np.array(amounts, dtype=np.float64)).tolist()
        else:
            rows = list(weights.of @ table)
        return cls(rows[0], {k: rows[n] for k, n in weights.kinds}, {k: rows[n] for k, n in weights.norms})

    def copy(self) -> Spread:
        """One that can be added to without touching this one."""
        return Spread(self.mean, dict(self.by_kind), dict(self.by_norm))

    def only_in(self, worlds: Column) -> Spread:
        """The same price in the worlds where the column is 1, none where it is 0."""
        if worlds.all():
            return self
        return Spread(
            self.mean * worlds, {k: sd * worlds for k, sd in self.by_kind.items()},
            {k: sd * worlds for k, sd in self.by_norm.items()},
        )

    def add_price(self, likely: Number, tariff: Tariff | None) -> None:
        """Take in an amount at its likely price: of a resource with its spread, or as it stands."""
        amount = likely * tariff.mean if tariff else likely
        self.mean = self.mean + amount
        if tariff and tariff.sd:
            _put(self.by_kind, tariff.kind, amount * (tariff.sd / tariff.mean))

    def add_norm(self, likely: Number, norm: str, pace: Pace) -> None:
        """Take in something at its likely norm that has no price: hours, days."""
        amount = likely * pace.mean
        self.mean = self.mean + amount
        if pace.sd:
            _put(self.by_norm, norm, amount * (pace.sd / pace.mean))

    def times(self, factor: float) -> Spread:
        """So many times the same."""
        return Spread(
            self.mean * factor, {k: sd * factor for k, sd in self.by_kind.items()},
            {k: sd * factor for k, sd in self.by_norm.items()},
        )

    def join(self, other: Spread) -> Spread:
        """Both together: shared prices and norms move together."""
        return Spread(
            self.mean + other.mean, _sum_up(self.by_kind, other.by_kind), _sum_up(self.by_norm, other.by_norm)
        )

    @property
    def variance(self) -> Number:
        """Variance of the price in each world."""
        sds = [*self.by_kind.values(), *self.by_norm.values()]
        table = _table(sds)
        return np.einsum("ij,ij->j", table, table) if table is not None else sum((sd * sd for sd in sds), 0.0)

    def covariance(self, other: Spread) -> Number:
        """What makes this and the other rise and fall together in each world."""
        total: Number = 0.0
        for mine, its in ((self.by_kind, other.by_kind), (self.by_norm, other.by_norm)):
            for key in (k for k in mine if k in its):  # no set: a sum in one order gives the same bytes (R37)
                total = total + mine[key] * its[key]
        return total

    def quantiles(self, holds: Truth, worlds: int) -> tuple[float, float, float] | None:
        """10, 50 and 90 % points over the worlds that hold, or None where there is none."""
        mean, variance = one_a_world(self.mean, worlds), one_a_world(self.variance, worlds)
        keep = truth_a_world(holds, worlds) & (mean > 0.0)
        if not any_of(keep):
            return (0.0, 0.0, 0.0) if any_of(holds) else None
        mean, variance = mean[keep], variance[keep]
        return points_of(slices_of(mean, variance, scores(mean.size)).ravel())


class _Weights(NamedTuple):
    """What each amount weighs in each figure of a spread.

    Attributes:
        of: a row a figure, the mean first, and a column an amount.
        kinds, norms: row of each deviation.
    """

    of: Column
    kinds: tuple[tuple[str, int], ...]
    norms: tuple[tuple[str, int], ...]


@lru_cache(maxsize=512)
def _weights_of(swings: tuple[Swing, ...]) -> _Weights:
    """Worked out once for the same things bought in the same order, however much of each."""
    kinds: dict[str, int] = {}
    norms: dict[str, int] = {}
    of = np.zeros((1 + 2 * len(swings), len(swings)))
    of[0] = [swing.mean for swing in swings]
    for column, swing in enumerate(swings):
        for name, rows, weight in ((swing.kind, kinds, swing.of_price), (swing.norm, norms, swing.of_norm)):
            if weight:
                of[rows.setdefault(name, 1 + len(kinds) + len(norms)), column] = weight
    return _Weights(of[: 1 + len(kinds) + len(norms)].copy(), tuple(kinds.items()), tuple(norms.items()))


def _table(values: Sequence[Number]) -> Column | None:
    """Values over the worlds, a row each, those alike in all worlds too; None where none varies."""
    worlds = next((v.size for v in values if isinstance(v, np.ndarray)), 0)
    if not worlds:
        return None
    table = np.empty((len(values), worlds))
    for k, value in enumerate(values):
        table[k] = value
    return table


def _sum_up(one: Mapping[str, Number], other: Mapping[str, Number]) -> dict[str, Number]:
    both = dict(one)
    for key, value in other.items():
        _put(both, key, value)
    return both


def _put(sums: dict[str, Number], key: str, more: Number) -> None:
    """Add to the sum under a key; the first one begins it."""
    sums[key] = sums[key] + more if key in sums else more


def as_range(points: tuple[float, float, float] | None) -> Range | None:
    """Quantiles as money."""
    return Range(*(money(p) for p in points)) if points else None


def total_of(lines: Sequence[PriceLine]) -> Decimal:
    """Sum of rounded lines."""
    return sum((line.amount for line in lines), Decimal(0))
