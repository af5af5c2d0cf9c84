"""From lines to points: each range against 20,000 draws of the prices and norms of its lines, facts as in the engine's worlds.

What is held here is R19: a log-normal, or a set-up with its own shape, in place of the PERTs, within 1 %; 0.4 % more is what
the draws themselves may be off by. Each PERT is drawn in 20,000 equally likely strata, prices of one kind at one level. Where a
price has a step in it, its points may instead lie within one point of their own probability.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np
import pytest
from numpy.typing import NDArray

from service.engine.array import Number, negate, one_a_world, truth_a_world
from service.engine.choice import Candidate
from service.engine.findings import uncertain_costs
from service.engine.inquiry import Inquiry
from service.engine.jobsize import Size
from service.engine.option import Uncertain, conditional_spread, package_of, whole_of
from service.engine.site import BY_SIZE
from tests.engine.baskets import looked_into
from tests.engine.books import book
from tests.engine.montecarlo.drawing import Column, pert

DRAWS, SEED = 20_000, 19
PRICE, PROBABILITY = 0.014, 0.01
HAIR = 1.0 - 1e-6
POINTS = (0.1, 0.5, 0.9)
ONE_NORM = ("monitor", "settle_release", "insect_treat", "tail_renew")
"""Most of the package is one wide norm, whose PERT is bounded as a log-normal is not: 10 % points lie up to 4.2 % high."""
ROUGHLY = 0.045
STOP_GAP_PROBABILITY = 0.025
"""An hour or two at one norm, about the edge of half a day: its chance to be a small job is that of a log-normal."""


class Draws:
    """Prices and norms of the base book, each relative to its likely value, drawn as they are first asked for."""

    def __init__(self) -> None:
        """Nothing drawn yet."""
        self._rng = np.random.default_rng(SEED)
        self._levels: dict[str, Column] = {}
        self._drawn: dict[tuple[str, str], Column] = {}

    def evenly(self) -> Column:
        """One probability in each of so many strata, in a drawn order."""
        return (self._rng.permutation(DRAWS) + self._rng.random(DRAWS)) / DRAWS

    def world(self, holds: NDArray[np.bool_]) -> NDArray[np.int64]:
        """A world for each draw, all that hold equally often."""
        among: NDArray[np.int64] = np.flatnonzero(holds)
        return among[(self.evenly() * among.size).astype(np.int64)]

    def of(self, section: str, code: str) -> Column:
        """Draws of a line of the book, all prices of one kind at one level."""
        if (section, code) not in self._drawn:
            line = book().line(section, code)
            level = line.kind if section == "resources" else code
            if level not in self._levels:
                self._levels[level] = self.evenly()
            drawn = pert(float(line.low), float(line.likely), float(line.high), self._levels[level])
            self._drawn[section, code] = drawn / float(line.likely)
        return self._drawn[section, code]


def _in(amount: Number, world: NDArray[np.int64]) -> Column:
    return one_a_world(amount, 128)[world]


def _at_size(size: Size, work: Column, draws: Draws) -> Column:
    """Price of the work with what is paid at this size, the set-up drawn."""
    paid = BY_SIZE[: 2 if size.end == np.inf else 1] if float(size.set_up.mean) else ()
    set_up = sum(book().tariff(resource).one * draws.of("resources", resource) for resource in paid)
    return np.maximum(work + set_up, size.least)


def _drawn(
    one: Candidate, inquiry: Inquiry, conditional: Sequence[Uncertain], world: NDArray[np.int64], draws: Draws
) -> tuple[Column, Column]:
    """Package and whole price in each draw."""
    assert one.many is not None
    stages, price = one.many.stages, whole_of(one, inquiry.setting)
    package, work, days = np.zeros(DRAWS), np.zeros(DRAWS), np.zeros(DRAWS)
    for charge in one.many.charges:
        pace = draws.of("norms", charge.norm) if charge.norm else np.ones(DRAWS)
        amount = _in(charge.amount, world) * draws.of("resources", charge.resource) * pace
        if charge.part == "package":
            package += amount
        if charge.part != "shared" or charge.resource not in BY_SIZE:
            work += amount
        if charge.norm:
            days += _in(charge.hours, world) * pace / (len(stages[charge.stage].crew) * book().likely("terms", "hours_per_day"))
    on_top = _in(price.more.mean, world)
    for extra in conditional:
        cost = draws.of("resources", extra.resource) if extra.resource else np.ones(DRAWS)
        on_top = on_top + truth_a_world(extra.comes, 128)[world] * float(extra.what.price) * cost
    if len(price.sizes) == 1:
        return package, work + on_top
    whole = np.zeros(DRAWS)
    for size in price.sizes:
        here = (days >= size.start * HAIR) & (days < size.end * HAIR)
        whole = np.where(here, _at_size(size, work, draws), whole)
    return package, whole + on_top


def _differs(stated: tuple[float, float, float] | None, drawn: Column, price: float, probability: float) -> list[str]:
    """Points that are neither near the drawn price nor near their own probability."""
    assert stated is not None
    if not drawn.any():
        return []
    wrong = []
    for at, value in zip(POINTS, stated, strict=True):
        expected, below = float(np.quantile(drawn, at)), float((drawn < value).mean())
        if abs(value - expected) > price * expected and abs(below - at) > probability:
            wrong.append(f"{at:.0%} point stated {value:.0f}, drawn {expected:.0f}; {below:.1%} lie below")
    return wrong


@cache
def _compared() -> dict[str, dict[str, list[str]]]:
    """What is off, by package or whole and by case and method."""
    draws, off = Draws(), dict[str, dict[str, list[str]]](package={}, whole={})
    for k, inquiry in looked_into(book()):
        for one in inquiry.ranked:
            assert one.over is not None and one.many is not None
            holds = truth_a_world(negate(one.over.out), 128)
            if not holds.any():
                continue
            conditional = uncertain_costs(inquiry, one)
            package, whole = _drawn(one, inquiry, conditional, draws.world(holds), draws)
            price = ROUGHLY if one.code in ONE_NORM else PRICE
            chance = STOP_GAP_PROBABILITY if one.record.role == "interim" else PROBABILITY
            more = conditional_spread(conditional, book())
            name = f"{k} {one.code}"
            off["package"][name] = _differs(package_of(one).quantiles(holds, 128), package, price, chance)
            stated = whole_of(one, inquiry.setting).and_more(more).quantiles(holds, 128)
            off["whole"][name] = _differs(stated, whole, price, chance)
    return off


@pytest.mark.parametrize("price", ["package", "whole"])
def test_a_range_is_that_of_the_prices_and_norms_of_its_lines(price: str) -> None:
    compared = _compared()[price]
    assert len(compared) > 60
    assert {name: wrong for name, wrong in compared.items() if wrong} == {}


def test_the_comparison_notices_a_range_that_is_off_by_3_pct() -> None:
    drawn = pert(350.0, 900.0, 2200.0, (np.arange(DRAWS) + 0.5) / DRAWS)
    low, mid, high = (float(np.quantile(drawn, at)) for at in POINTS)
    assert _differs((low, mid, high), drawn, PRICE, PROBABILITY) == []
    assert len(_differs((1.03 * low, 1.03 * mid, 1.03 * high), drawn, PRICE, PROBABILITY)) == 3
