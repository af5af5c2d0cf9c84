"""The size of a job over the worlds: chances and prices among the hours that lead to it, against numerical integration."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from service.engine.jobsize import Column, Size, Whole, days_spread, sizes_of
from service.engine.pricing import Spread
from service.engine.work import Charge, Stage
from tests.engine.books import book, with_line

NOTHING = Spread(0.0, {}, {})
WORLDS = 4
mean_days = st.floats(0.05, 4.0)
shares = st.floats(0.05, 0.4)
"""Standard deviation against the mean; norms of the base book lie between a tenth and a third."""


def whole(days: float, spread_days: float, price: float, by_norm: float, by_kind: float, *, visits: int = 1) -> Whole:
    """A price whose hours are spread by one norm, its money by that norm and by a kind of price."""
    return Whole(
        Spread(price, {"labour": price * by_kind}, {"n": price * by_norm}), Spread(days, {}, {"n": days * spread_days}),
        NOTHING, sizes_of(book(), visits=visits),
    )


def first_of(column: Column) -> float:
    return float(column[0])


@given(mean_days, shares, shares, shares, st.sampled_from((1, 2)))
def test_a_job_comes_out_at_some_size(days: float, hours: float, norm: float, kind: float, visits: int) -> None:
    price = whole(days, hours, 500.0, norm, kind, visits=visits)
    assert sum(first_of(price.among(size, WORLDS)[0]) for size in price.sizes) == pytest.approx(1.0, abs=1e-9)


@given(mean_days, shares, shares, shares)
def test_chance_and_moments_of_a_size_are_those_of_two_log_normals_that_move_together(
    days: float, hours: float, norm: float, kind: float
) -> None:
    """Against the integral over the days (Simpson's rule, scipy); a chance to 1e-5, a mean and a deviation to 0.1 %."""
    price = whole(days, hours, 500.0, norm, kind)
    s_day = math.sqrt(math.log1p(hours**2))
    s_price = math.sqrt(math.log1p(norm**2 + kind**2))
    slope = min(math.log1p(hours * norm) / s_day, s_price)  # they cannot move together more than wholly
    rest = math.sqrt(s_price**2 - slope**2)
    middle = math.log(500.0) - s_price**2 / 2.0

    def moment(k: int, z: Column) -> float:
        return float(integrate.simpson(stats.norm.pdf(z) * np.exp(k * (middle + slope * z) + (k * rest) ** 2 / 2.0), x=z))

    for size in price.sizes:
        low, high = (
            max(min((math.log(at) - math.log(days) + s_day**2 / 2.0) / s_day, 12.0), -12.0) if 0.0 < at < math.inf else edge
            for at, edge in ((size.start, -12.0), (size.end, 12.0))
        )
        chance, centre, variance = (first_of(c) for c in price.among(size, WORLDS))
        zeroth, first, second = (moment(k, np.linspace(low, high, 8001)) for k in (0, 1, 2))
        assert chance == pytest.approx(zeroth, abs=1e-5)
        if zeroth > 0.02:
            total = price.work.join(size.set_up)
            set_up, its_own = total.mean - price.work.mean, total.variance - price.work.variance
            assert centre - float(set_up) == pytest.approx(first / zeroth, rel=1e-3)
            deviation = math.sqrt(max(second / zeroth - (first / zeroth) ** 2, 0.0))
            assert math.sqrt(variance - float(its_own)) == pytest.approx(deviation, rel=1e-3)


def perts(resource: str, at: Column) -> Column:
    """Prices of a resource of the base book (scipy's beta distribution with shape 4, R19)."""
    line = book().line("resources", resource)
    low, likely, high = float(line.low), float(line.likely), float(line.high)
    mode = (likely - low) / (high - low)
    prices: Column = stats.beta.ppf(at, 1.0 + 4.0 * mode, 5.0 - 4.0 * mode, loc=low, scale=high - low)
    return prices


@pytest.mark.parametrize(("days", "set_up"), [(6.0, ("mobilisation", "dumpster")), (0.75, ("mobilisation",))])
@pytest.mark.parametrize("work", [400.0, 1000.0, 4000.0])
def test_far_from_every_edge_the_range_is_that_of_the_work_and_the_set_up_of_its_size(
    days: float, set_up: tuple[str, ...], work: float
) -> None:
    """Against the sums of 600 prices of the work and 600 of the set-up, whose prices are one level; within 1 % (R19)."""
    price = whole(days, 0.05, work, 0.1, 0.1)
    at = (np.arange(600) + 0.5) / 600
    shape = math.sqrt(math.log1p(0.1**2 + 0.1**2))
    of_work = stats.lognorm.ppf(at, shape, scale=work * math.exp(-(shape**2) / 2.0))
    sums = np.add.outer(sum(perts(resource, at) for resource in set_up), of_work)
    assert price.quantiles(holds=True, worlds=WORLDS) == pytest.approx(tuple(np.quantile(sums, (0.1, 0.5, 0.9))), rel=0.01)


def test_no_point_of_a_small_job_lies_below_the_minimum_charge() -> None:
    least = book().likely("terms", "minimum_charge")
    assert whole(0.1, 0.2, 60.0, 0.2, 0.1).quantiles(holds=True, worlds=WORLDS) == pytest.approx((least, least, least))


def test_a_job_that_is_as_likely_small_as_not_has_both_prices_in_its_range() -> None:
    points = whole(0.5, 0.25, 250.0, 0.2, 0.1).quantiles(holds=True, worlds=WORLDS)
    assert points is not None
    least, mobilisation = book().likely("terms", "minimum_charge"), book().line("resources", "mobilisation")
    assert points[0] == pytest.approx(least)
    assert points[2] > 250.0 + float(mobilisation.likely)


def test_a_second_visit_is_never_a_small_job() -> None:
    points = whole(0.1, 0.2, 60.0, 0.2, 0.1, visits=2).quantiles(holds=True, worlds=WORLDS)
    assert points is not None
    assert points[0] > float(book().line("resources", "mobilisation").low)


def test_exactly_half_a_day_is_no_small_job_where_hours_have_no_spread() -> None:
    price = Whole(Spread(300.0, {}, {}), Spread(0.5, {}, {}), NOTHING, sizes_of(book(), visits=1))
    assert [round(first_of(price.among(size, WORLDS)[0]), 9) for size in price.sizes] == [0.0, 1.0, 0.0]


def test_what_comes_on_top_is_charged_beside_the_minimum() -> None:
    price = whole(0.1, 0.2, 60.0, 0.2, 0.1)
    plain, more = (p.quantiles(holds=True, worlds=WORLDS) for p in (price, price.and_more(Spread(100.0, {}, {}))))
    assert plain is not None and more is not None
    assert more == pytest.approx(tuple(point + 100.0 for point in plain))


def test_a_spread_of_what_comes_on_top_of_the_minimum_is_in_the_range() -> None:
    """The work costs the minimum, whatever it turns out to be; what is left is a normal spread of 150 about 1,000."""
    least = book().likely("terms", "minimum_charge")
    points = whole(0.1, 0.2, 60.0, 0.2, 0.1).and_more(Spread(1000.0, {"subcontract": 150.0}, {})).quantiles(True, 128)
    expected = stats.norm.ppf((0.1, 0.5, 0.9), least + 1000.0, 150.0)
    assert points == pytest.approx(tuple(expected), rel=0.01)


def test_the_minimum_charge_of_the_book_moves_the_small_job_alone() -> None:
    small, _, bulky = sizes_of(with_line(book(), "terms", "minimum_charge", 1.1), visits=1)
    plain = sizes_of(book(), visits=1)
    assert small.least == pytest.approx(plain[0].least * 1.1)
    assert bulky == plain[2]


def test_days_are_hours_over_the_crew_with_the_spread_of_each_norm() -> None:
    stages = [Stage("main", "dutchman", ("lead", "carpenter"))]
    hours = 13.0
    charges = [Charge("package", trade, 1.0, "dutchman.fixed", 1.0, 0, hours / 2.0, 0.0) for trade in ("lead", "carpenter")]
    days, pace = days_spread(charges, stages, book()), book().pace("dutchman.fixed")
    in_days = hours / (2.0 * book().likely("terms", "hours_per_day"))
    assert days.mean == pytest.approx(in_days * pace.mean)
    assert float(days.variance) == pytest.approx((in_days * pace.sd) ** 2)


def test_sizes_follow_each_other_without_a_gap() -> None:
    for visits in (1, 2):
        sizes: tuple[Size, ...] = sizes_of(book(), visits=visits)
        assert sizes[0].start == 0.0 and sizes[-1].end == math.inf
        assert all(one.end == other.start for one, other in pairwise(sizes))
