"""How long wood takes to dry, by diffusion.

Orders of magnitude: no surface resistance, no stall in winter, one diffusivity. Answers carry the factors
`DAYS_LOW` and `DAYS_HIGH` on either side.

Sources: Crank, The Mathematics of Diffusion (2nd ed. 1975), chapters 4 and 5; Siau, Transport Processes in Wood (1984).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from service.engine.array import Number, any_of, either, exp, maximum, minimum, sqrt, where

DAYS_LOW = 0.5
"""Factor on drying days at the fast end (from memory)."""

DAYS_HIGH = 3.0
"""Factor on drying days at the slow end (from memory)."""

_SECONDS_A_DAY = 86_400.0
_METRES_AN_INCH = 0.0254
_KELVIN = 273.15
_GAS_CONSTANT = 8.314
_NEWTON_STEPS = 8

_BESSEL_ZEROS = (2.404825557695773, 5.520078110286311, 8.653727912911013, 11.791534439014281, 14.930917708487785)
"""First zeros of the Bessel function J0 (Abramowitz and Stegun, table 9.5)."""


def _bessel_zero(n: int) -> float:
    """Zero number n of J0; past the tabulated ones by McMahon's expansion (Abramowitz and Stegun, 9.5.12)."""
    if n <= len(_BESSEL_ZEROS):
        return _BESSEL_ZEROS[n - 1]
    beta8 = 8.0 * (n - 0.25) * math.pi
    return beta8 / 8.0 + 1.0 / beta8 - 124.0 / (3.0 * beta8**3) + 120_928.0 / (15.0 * beta8**5)


@dataclass(frozen=True, slots=True)
class _Shape:
    """Series of one shape: the share left is the sum of gain / rate * exp(-rate * Fo).

    Attributes:
        gain: numerator of every term; over sqrt(pi) also the slope of the loss over sqrt(Fo) at the start.
        rates: squared eigenvalues.
        short: Fourier number below which the short-time solution is exact to 1e-7, as the cut series is above it.
    """

    gain: float
    rates: tuple[float, ...]
    short: float

    def left(self, fourier: Number) -> Number:
        """Share still to be lost."""
        left: Number = 0.0 * fourier
        for rate in self.rates:
            left = left + self.gain / rate * exp(-rate * fourier)
        return left

    def speed(self, fourier: Number) -> Number:
        """Loss gained per Fourier number."""
        speed: Number = 0.0 * fourier
        for rate in self.rates:
            speed = speed + self.gain * exp(-rate * fourier)
        return speed


_CYLINDER = _Shape(4.0, tuple(_bessel_zero(n) ** 2 for n in range(1, 46)), 1.0e-3)
_SLAB = _Shape(2.0, tuple(((n + 0.5) * math.pi) ** 2 for n in range(9)), 0.04)


def cylinder_loss(fourier: Number) -> Number:
    """Return the share of evaporable moisture that a log has lost [1].

    Args:
        fourier: Fourier number D t / radius2 [1].

    Source: Crank (1975) eq. 5.23, and eq. 5.25 for short times.
    """
    fo = maximum(fourier, 0.0)
    root = sqrt(fo)
    short = 4.0 * root / math.sqrt(math.pi) - fo - fo * root / (3.0 * math.sqrt(math.pi))
    return where(fo < _CYLINDER.short, short, 1.0 - _CYLINDER.left(fo))


def slab_loss(fourier: Number) -> Number:
    """Return the share of evaporable moisture that a slab drying from both faces has lost [1].

    Args:
        fourier: Fourier number D t / half-thickness2 [1]; for a layer drying from one face take its whole depth.

    Source: Crank (1975) eq. 4.18, and eq. 4.20 for short times.
    """
    fo = maximum(fourier, 0.0)
    short = 2.0 * sqrt(fo) / math.sqrt(math.pi)
    return where(fo < _SLAB.short, short, 1.0 - _SLAB.left(fo))


def square_prism_loss(fourier: Number) -> Number:
    """Return the share of evaporable moisture that a square timber drying from its four long faces has lost [1].

    Args:
        fourier: Fourier number D t / half-width2 [1].

    Source: product of two slabs, Crank (1975) section 2.
    """
    left = 1.0 - slab_loss(fourier)
    return 1.0 - left * left


def _inverse(loss: Number, curve: Callable[[Number], Number], shape: _Shape) -> Number:
    """Fourier number at which a curve of loss reaches a share.

    Over the root of the Fourier number the curve is concave, so Newton's method from below never overshoots.
    """
    if any_of(either(loss < 0.0, loss >= 1.0)):
        raise ValueError("the share lost runs from 0 up to, but not including, 1")
    start_slope = shape.gain / math.sqrt(math.pi)
    root = loss / start_slope
    for _ in range(_NEWTON_STEPS):
        fo = root * root
        slope = where(fo < shape.short, start_slope, 2.0 * root * shape.speed(fo))
        root = root + (loss - curve(fo)) / slope
    return root * root


def cylinder_fourier_number(loss: Number) -> Number:
    """Return the Fourier number D t / radius2 at which a log has lost a share of its evaporable moisture [1].

    Args:
        loss: share, 0 <= loss < 1 [1].

    Raises:
        ValueError: share outside 0 <= loss < 1.

    Source: inverse of Crank (1975) eq. 5.23.
    """
    return _inverse(loss, cylinder_loss, _CYLINDER)


def slab_fourier_number(loss: Number) -> Number:
    """Return the Fourier number D t / half-thickness2 at which a slab has lost a share of its evaporable moisture [1].

    Args:
        loss: share, 0 <= loss < 1 [1].

    Raises:
        ValueError: share outside 0 <= loss < 1.

    Source: inverse of Crank (1975) eq. 4.18.
    """
    return _inverse(loss, slab_loss, _SLAB)


def square_prism_fourier_number(loss: Number) -> Number:
    """Return the Fourier number D t / half-width2 at which a square timber has lost a share of its moisture [1].

    Args:
        loss: share, 0 <= loss < 1 [1].

    Raises:
        ValueError: share outside 0 <= loss < 1.

    Source: product of two slabs, inverse of Crank (1975) eq. 4.18.
    """
    if any_of(either(loss < 0.0, loss >= 1.0)):
        raise ValueError("the share lost runs from 0 up to, but not including, 1")
    return slab_fourier_number(1.0 - sqrt(1.0 - loss))


def evaporable_loss(from_moisture_pct: Number, to_moisture_pct: Number, equilibrium_pct: Number) -> Number:
    """Return the share of evaporable moisture lost on the way from one moisture content to another [1].

    Args:
        from_moisture_pct: moisture content at the start [%].
        to_moisture_pct: average moisture content at the end; already reached counts as no loss [%].
        equilibrium_pct: moisture content that the air brings wood to, below both [%].

    Raises:
        ValueError: the end lies at or below what the air brings wood to.

    Source: definition of fractional loss, Crank (1975).
    """
    if any_of(to_moisture_pct <= equilibrium_pct):
        raise ValueError("wood does not dry to or below its equilibrium moisture content")
    span = maximum(from_moisture_pct, to_moisture_pct) - equilibrium_pct
    return maximum(from_moisture_pct - to_moisture_pct, 0.0) / span


def bound_water_diffusivity_m2_s(moisture_pct: Number, temperature_degc: Number) -> Number:
    """Return the transverse diffusivity of bound water in the cell wall [m2/s].

    Args:
        moisture_pct: mean moisture content on the way, up to fibre saturation [%].
        temperature_degc: temperature of the wood [degC].

    Source: Siau, Transport Processes in Wood (1984) (from memory).
    """
    return 7.0e-6 * exp(-(38_500.0 - 290.0 * moisture_pct) / (_GAS_CONSTANT * (temperature_degc + _KELVIN)))


def transverse_diffusivity_m2_s(moisture_pct: Number, temperature_degc: Number, porosity: Number) -> Number:
    """Return the diffusivity of moisture across the grain of gross wood [m2/s].

    Args:
        moisture_pct: mean moisture content on the way, up to fibre saturation [%].
        temperature_degc: temperature of the wood [degC].
        porosity: share of the volume that is hollow, 0 to below 1 [1].

    Source: Siau, Transport Processes in Wood (1984) (from memory).
    """
    walls = (1.0 - porosity) * (1.0 - sqrt(porosity))
    return bound_water_diffusivity_m2_s(moisture_pct, temperature_degc) / walls


def drying_days(fourier: Number, reach_in: Number, diffusivity_m2_s: Number) -> Number:
    """Return the time that diffusion takes [d].

    Args:
        fourier: Fourier number for the share to be lost [1].
        reach_in: radius of a log, half-thickness of a slab or square, depth of a layer with one open face [in].
        diffusivity_m2_s: diffusivity across the grain [m2/s].

    Source: definition of the Fourier number, Crank (1975).
    """
    reach_m = reach_in * _METRES_AN_INCH
    return fourier * reach_m * reach_m / diffusivity_m2_s / _SECONDS_A_DAY


def drying_days_range(days: Number, bound_days: Number) -> tuple[Number, Number, Number]:
    """Return drying time as low, likely and high, none beyond an upper bound [d].

    Args:
        days: time by diffusion alone [d].
        bound_days: what the time cannot exceed in practice [d].

    Source: x0.5 to x3 (from memory).
    """
    return (
        minimum(days * DAYS_LOW, bound_days),
        minimum(days, bound_days),
        minimum(days * DAYS_HIGH, bound_days),
    )


def yard_drying_years_bound(diameter_in: Number) -> Number:
    """Return the longest a log in the round takes to dry in a yard with dry air [yr].

    Args:
        diameter_in: diameter [in].

    Source: E19, common practice, no source: one year per inch of radius.
    """
    return diameter_in / 2.0
