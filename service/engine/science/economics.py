"""Worth of money over time, markup and margin, and three-point estimates.

Sources: NIST Handbook 135 and ASTM E917 for life-cycle cost; end-of-year payments, base-year prices.
"""

from __future__ import annotations

from service.engine.array import Number, maximum, where

_EQUAL = 1e-9
"""Rates closer than this count as equal."""


def single_present_value(discount_rate: Number, years: Number) -> Number:
    """Return what one unit paid at the end of a year is worth today [1].

    Args:
        discount_rate: discount rate a year, as a fraction [1].
        years: years until it is paid [yr].

    Source: NIST Handbook 135, SPV factor.
    """
    value: Number = (1.0 + discount_rate) ** (-years)
    return value


def uniform_present_value(discount_rate: Number, years: Number) -> Number:
    """Return what one unit paid at the end of every year is worth today [yr].

    Args:
        discount_rate: discount rate a year, as a fraction; 0 gives the number of years [1].
        years: number of yearly payments [yr].

    Source: NIST Handbook 135, UPV factor.
    """
    return escalating_present_value(discount_rate, 0.0, years)


def escalating_present_value(discount_rate: Number, escalation_rate: Number, years: Number) -> Number:
    """Return what payments that grow every year are worth today, per unit at base-year prices [yr].

    Args:
        discount_rate: discount rate a year, as a fraction [1].
        escalation_rate: growth of the payment a year, as a fraction; equal to the discount rate gives the years [1].
        years: number of yearly payments, the first at the end of year 1 [yr].

    Source: NIST Handbook 135, modified UPV factor (UPV*); PBS-P100.
    """
    growth = (1.0 + escalation_rate) / (1.0 + discount_rate)
    gap = 1.0 - growth
    is_equal = maximum(gap, -gap) < _EQUAL
    safe_gap = where(is_equal, 1.0, gap)
    return where(is_equal, years, growth * (1.0 - growth**years) / safe_gap)


def capital_recovery(discount_rate: Number, years: Number) -> Number:
    """Return the even yearly payment that repays one unit [1/yr].

    Args:
        discount_rate: discount rate a year, as a fraction [1].
        years: number of yearly payments, above 0 [yr].

    Source: NIST Handbook 135, uniform capital recovery factor: the inverse of UPV.
    """
    return 1.0 / uniform_present_value(discount_rate, years)


def annual_cost(price: Number, life_years: Number) -> Number:
    """Return what a repair costs for each year it lasts, undiscounted [currency/yr].

    Args:
        price: whole price [currency].
        life_years: expected life, above 0 [yr].

    Source: E22, common practice, no source.
    """
    return price / life_years


def markup_from_margin(margin: Number) -> Number:
    """Return the markup on cost that leaves a margin on price [1].

    Args:
        margin: share of the price, below 1 [1].

    Source: algebra (E9).
    """
    return margin / (1.0 - margin)


def margin_from_markup(markup: Number) -> Number:
    """Return the margin on price that a markup on cost leaves [1].

    Args:
        markup: share of the cost [1].

    Source: algebra (E9).
    """
    return markup / (1.0 + markup)


def price_at_margin(cost: Number, margin: Number) -> Number:
    """Return the price that leaves a margin [currency].

    Args:
        cost: cost [currency].
        margin: share of the price, below 1 [1].

    Source: algebra (E9).
    """
    return cost / (1.0 - margin)


def pert_mean(low: Number, likely: Number, high: Number) -> Number:
    """Return the mean of a three-point estimate [unit of the estimate].

    Source: PERT (E13).
    """
    return (low + 4.0 * likely + high) / 6.0


def pert_variance(low: Number, high: Number) -> Number:
    """Return the variance of a three-point estimate by the classic rule [square of the unit].

    Source: PERT: a sixth of the range is one standard deviation.
    """
    sixth = (high - low) / 6.0
    return sixth * sixth


def triangular_mean(low: Number, likely: Number, high: Number) -> Number:
    """Return the mean of a triangular distribution [unit of the estimate]."""
    return (low + likely + high) / 3.0
