"""How long resins take to cure at the temperature of the wood.

Source: common practice, no source (E18); the product's label governs.
"""

from __future__ import annotations

from service.engine.array import Number, any_of, either

COLDEST_DEGF = 50.0
"""Wood temperature below which standard epoxy may never cure right [degF] (common practice, no source)."""

WARMEST_DEGF = 90.0
"""Wood temperature above which standard epoxy is not worked [degF] (common practice, no source)."""

_REFERENCE_DEGF = 70.0
_DOUBLING_DEGF = 18.0


def epoxy_cure_hours(hours_at_70_degf: Number, wood_temperature_degf: Number) -> Number:
    """Return how long standard epoxy takes at a temperature: twice as long for every 18 degF colder [h].

    Args:
        hours_at_70_degf: time stated for 70 degF [h].
        wood_temperature_degf: temperature of the wood throughout, heated or not [degF].

    Raises:
        ValueError: colder than `COLDEST_DEGF` or warmer than `WARMEST_DEGF`, where the rule does not hold.

    Source: E18, common practice, no source.
    """
    if any_of(either(wood_temperature_degf < COLDEST_DEGF, wood_temperature_degf > WARMEST_DEGF)):
        raise ValueError(f"standard epoxy is for wood of {COLDEST_DEGF:.0f} to {WARMEST_DEGF:.0f} degF")
    hours: Number = hours_at_70_degf * 2.0 ** ((_REFERENCE_DEGF - wood_temperature_degf) / _DOUBLING_DEGF)
    return hours
