"""Strength of clear wood: with moisture, at an angle to the grain, with size.

Clear-wood averages are not design values; see `timber_design` for those.

Source: Wood Handbook, FPL-GTR-190 (2010), chapters 5 and 9, as transcribed.
"""

from __future__ import annotations

import math

from service.engine.array import Number, minimum

INTERSECTION_MOISTURE_PCT = 25.0
"""Moisture content below which strength changes, for species not listed [%] (Wood Handbook 2010, table 5-13)."""


def strength_at_moisture(
    strength_dry: Number,
    strength_green: Number,
    moisture_pct: Number,
    intersection_moisture_pct: float = INTERSECTION_MOISTURE_PCT,
) -> Number:
    """Return a clear-wood property at a moisture content [unit of the properties given].

    Args:
        strength_dry: property at 12 % moisture [any unit].
        strength_green: property when green [same unit].
        moisture_pct: moisture content [%].
        intersection_moisture_pct: the species' row of table 5-13 [%].

    Source: Wood Handbook (2010) eq. 5-3.
    """
    m = minimum(moisture_pct, intersection_moisture_pct)
    strength: Number = strength_dry * (strength_dry / strength_green) ** (
        (12.0 - m) / (intersection_moisture_pct - 12.0)
    )
    return strength


def strength_at_angle(parallel: Number, perpendicular: Number, angle_deg: float) -> Number:
    """Return a strength at an angle to the grain [unit of the strengths given].

    Args:
        parallel: strength along the grain [any unit].
        perpendicular: strength across the grain [same unit].
        angle_deg: angle between load and grain [deg].

    Source: Hankinson's formula; Wood Handbook (2010) ch. 5.
    """
    sine2 = math.sin(math.radians(angle_deg)) ** 2
    return parallel * perpendicular / (parallel * sine2 + perpendicular * (1.0 - sine2))


def rupture_at_size(
    rupture: Number,
    depth: Number,
    span: Number,
    load_spacing: Number,
    depth_known: float,
    span_known: float,
    load_spacing_known: float = 0.0,
    exponent: float = 18.0,
) -> Number:
    """Return the modulus of rupture of a beam from that of one of another size [unit of the rupture given].

    Args:
        rupture: modulus of rupture of the beam that is known [any unit].
        depth: depth of the beam asked about [any length].
        span: its span [same length].
        load_spacing: distance between its two equal loads, 0 for one [same length].
        depth_known: depth of the beam that is known [same length].
        span_known: its span [same length].
        load_spacing_known: distance between its loads [same length].
        exponent: m of the size effect [1].

    Source: Wood Handbook (2010) eq. 9-18.
    """
    known = depth_known * span_known * (1.0 + exponent * load_spacing_known / span_known)
    asked = depth * span * (1.0 + exponent * load_spacing / span)
    result: Number = rupture * (known / asked) ** (1.0 / exponent)
    return result
