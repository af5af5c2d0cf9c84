"""How hard a climate is on wood above ground.

Source: Scheffer, "A climate index for estimating potential for decay in wood structures above ground", Forest Products
Journal 21(10):25-31 (1971). The index ranks regions; it correlates only moderately with decay in one building, and
details that hold water outweigh it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from service.engine.array import Number, maximum

Zone = Literal["low", "moderate", "high"]

MODERATE_FROM = 35.0
"""Index from which the hazard is moderate [1] (Scheffer 1971; zones as in the Whole Building Design Guide)."""

HIGH_ABOVE = 65.0
"""Index above which the hazard is high [1] (same)."""

_COLD_DEGF = 35.0
_DRY_DAYS = 3.0
_DIVISOR = 30.0


def scheffer_index(mean_temperatures_degf: Sequence[Number], rain_days: Sequence[Number]) -> Number:
    """Return the decay climate index of a place [1].

    Args:
        mean_temperatures_degf: mean temperature of each month [degF].
        rain_days: mean number of days in each month with 0.01 in (0.25 mm) of rain or more [d].

    Raises:
        ValueError: other than twelve months.

    Source: Scheffer (1971), Fahrenheit form (formula from memory); months that are frozen or rainless add nothing.
    """
    if len(mean_temperatures_degf) != 12 or len(rain_days) != 12:
        raise ValueError("the index adds up twelve months")
    index: Number = 0.0
    for degf, days in zip(mean_temperatures_degf, rain_days, strict=True):
        index = index + maximum(degf - _COLD_DEGF, 0.0) * maximum(days - _DRY_DAYS, 0.0)
    return index / _DIVISOR


def scheffer_index_degc(mean_temperatures_degc: Sequence[Number], rain_days: Sequence[Number]) -> Number:
    """Return the decay climate index of a place from degrees Celsius [1].

    The Celsius form in print, (T - 2)(D - 3) / 16.7, is rounded and comes out 4 to 5 % lower than the Fahrenheit form
    to which the zones belong; this one converts exactly.

    Args:
        mean_temperatures_degc: mean temperature of each month [degC].
        rain_days: mean number of days in each month with 0.25 mm of rain or more [d].

    Raises:
        ValueError: other than twelve months.

    Source: Scheffer (1971), Fahrenheit form converted.
    """
    return scheffer_index([degc * 1.8 + 32.0 for degc in mean_temperatures_degc], rain_days)


def decay_zone(index: float, detail_multiplier: float = 1.0, *, ground_contact: bool = False) -> Zone:
    """Return the decay hazard of a detail in a climate.

    Args:
        index: decay climate index, Fahrenheit form [1].
        detail_multiplier: how much wetter the detail stays than a wall in the open (J) [1].
        ground_contact: ground contact, splash, irrigation or trapped water, always high.

    Source: zones of Scheffer (1971) as published by the Whole Building Design Guide; multiplier J.
    """
    local = index * detail_multiplier
    if ground_contact or local > HIGH_ABOVE:
        return "high"
    return "moderate" if local >= MODERATE_FROM else "low"
