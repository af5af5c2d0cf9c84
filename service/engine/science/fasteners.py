"""What screws, lags, nails and dowels hold.

Source: ANSI/AWC NDS 2018, chapter 12, allowable stress design; constants from memory where marked, and in agreement
with published worked examples and tables.
"""

from __future__ import annotations

from service.engine.array import Number, sqrt

LAG_PENETRATION_DIAMETERS = 4.0
"""Least penetration of a lag screw [diameters] (NDS 2018, 12.1.4.6, from memory)."""

NAIL_PENETRATION_DIAMETERS = 6.0
"""Least penetration of a nail or wood screw [diameters] (NDS 2018, 12.1.5 and 12.1.6, from memory)."""


def lag_withdrawal_lb_in(specific_gravity: Number, diameter_in: Number) -> Number:
    """Return the reference withdrawal value of a lag screw from side grain [lb per in of thread].

    Args:
        specific_gravity: of the species, ovendry basis [1].
        diameter_in: diameter of the unthreaded shank [in].

    Source: NDS 2018, eq. 12.2-1 (constant from memory).
    """
    value: Number = 1800.0 * specific_gravity**1.5 * diameter_in**0.75
    return value


def screw_withdrawal_lb_in(specific_gravity: Number, diameter_in: Number) -> Number:
    """Return the reference withdrawal value of a wood screw from side grain [lb per in of thread].

    Args:
        specific_gravity: of the species, ovendry basis [1].
        diameter_in: diameter [in].

    Source: NDS 2018, eq. 12.2-2 (constant from memory).
    """
    return 2850.0 * specific_gravity * specific_gravity * diameter_in


def nail_withdrawal_lb_in(specific_gravity: Number, diameter_in: Number) -> Number:
    """Return the reference withdrawal value of a smooth nail from side grain [lb per in of penetration].

    Args:
        specific_gravity: of the species, ovendry basis [1].
        diameter_in: diameter [in].

    Source: NDS 2018, eq. 12.2-3 (constant from memory).
    """
    value: Number = 1380.0 * specific_gravity**2.5 * diameter_in
    return value


def withdrawal_lb(value_lb_in: Number, penetration_in: Number, adjustment: float = 1.0) -> Number:
    """Return what one fastener holds against pulling out [lb].

    Args:
        value_lb_in: reference withdrawal value [lb/in].
        penetration_in: thread or shank in the main member, in sound wood [in].
        adjustment: product of the adjustment factors, C_D and its like [1].

    Source: NDS 2018, 12.2.
    """
    return value_lb_in * penetration_in * adjustment


def dowel_bearing_parallel_psi(specific_gravity: Number) -> Number:
    """Return the dowel bearing strength along the grain, diameters of 1/4 in and over [psi].

    Args:
        specific_gravity: of the species, ovendry basis [1].

    Source: NDS 2018, table 12.3.3.
    """
    return 11_200.0 * specific_gravity


def dowel_bearing_perpendicular_psi(specific_gravity: Number, diameter_in: Number) -> Number:
    """Return the dowel bearing strength across the grain, diameters of 1/4 in and over [psi].

    Args:
        specific_gravity: of the species, ovendry basis [1].
        diameter_in: diameter [in].

    Source: NDS 2018, table 12.3.3.
    """
    value: Number = 6100.0 * specific_gravity**1.45 / sqrt(diameter_in)
    return value


def dowel_bearing_small_psi(specific_gravity: Number) -> Number:
    """Return the dowel bearing strength in any direction, diameters under 1/4 in [psi].

    Args:
        specific_gravity: of the species, ovendry basis [1].

    Source: NDS 2018, table 12.3.3.
    """
    value: Number = 16_600.0 * specific_gravity**1.84
    return value
