"""How much wood shrinks and swells, and what opens because of it.

Sources: Wood Handbook, FPL-GTR-190 (2010), chapters 4 and 13; Green, FPL-RP-489 (1989); geometry.
"""

from __future__ import annotations

import math

from service.engine.array import Number, maximum, minimum
from service.engine.science.moisture import FIBRE_SATURATION_PCT

ROUND_SHRINK_A_POINT = 0.002
"""Shrinkage of a log's diameter per point of moisture (E17; common practice, no source)."""

FLAT_SHRINK_A_POINT = 0.0026
"""Shrinkage of a flat-sawn width per point of moisture (E17; common practice, no source)."""

QUARTER_SHRINK_A_POINT = 0.0015
"""Shrinkage of a quarter-sawn width per point of moisture (E17; common practice, no source)."""


def shrinkage_pct(
    total_shrinkage_pct: Number, moisture_pct: Number, fibre_saturation_pct: float = FIBRE_SATURATION_PCT
) -> Number:
    """Return shrinkage from green down to a moisture content [% of the green size]; none above fibre saturation.

    Args:
        total_shrinkage_pct: shrinkage from green to ovendry in the same direction [%].
        moisture_pct: moisture content arrived at [%].
        fibre_saturation_pct: where shrinking begins [%].

    Source: Wood Handbook (2010) eq. 4-9; totals in table 4-3.
    """
    return total_shrinkage_pct * maximum(1.0 - moisture_pct / fibre_saturation_pct, 0.0)


def lumber_width_shrinkage_pct(moisture_pct: Number) -> Number:
    """Return shrinkage of mixed-grain lumber across its width from green, 8 to 19 % moisture [%].

    Source: Green, FPL-RP-489 (1989).
    """
    return 6.031 - 0.215 * moisture_pct


def lumber_thickness_shrinkage_pct(moisture_pct: Number) -> Number:
    """Return shrinkage of mixed-grain lumber through its thickness from green, 8 to 19 % moisture [%].

    Source: Green, FPL-RP-489 (1989).
    """
    return 5.062 - 0.181 * moisture_pct


def dimension_change_coefficient(total_shrinkage_pct: Number) -> Number:
    """Return the share of a dimension gained or lost per point of moisture between 6 and 14 % [1/%].

    Extractive-rich cedars are printed higher than this formula gives; where the table is at hand, take the larger.

    Args:
        total_shrinkage_pct: shrinkage from green to ovendry, above 0 [%].

    Source: Wood Handbook (2010) ch. 13, the formula behind table 13-5 (formula from memory).
    """
    return 1.0 / (3000.0 / total_shrinkage_pct - 20.0)


def dimension_change_short_in(
    dimension_in: Number, coefficient: Number, from_moisture_pct: Number, to_moisture_pct: Number
) -> Number:
    """Return the change of a dimension within 6 to 14 % moisture [in]; shrinking is negative.

    Args:
        dimension_in: size at the first moisture content [in].
        coefficient: dimensional change coefficient, tangential or radial [1/%].
        from_moisture_pct: moisture content at the start [%].
        to_moisture_pct: moisture content at the end [%].

    Source: Wood Handbook (2010) ch. 13, short form with the coefficients of table 13-5.
    """
    return dimension_in * coefficient * (to_moisture_pct - from_moisture_pct)


def dimension_change_in(
    dimension_in: Number, total_shrinkage_pct: Number, from_moisture_pct: Number, to_moisture_pct: Number
) -> Number:
    """Return the change of a dimension between any two moisture contents [in]; shrinking is negative.

    Above fibre saturation nothing moves.

    Args:
        dimension_in: size at the first moisture content [in].
        total_shrinkage_pct: shrinkage from green to ovendry in that direction, above 0 [%].
        from_moisture_pct: moisture content at the start [%].
        to_moisture_pct: moisture content at the end [%].

    Source: Wood Handbook (2010) ch. 13, exact form (from memory; it reproduces table 13-5).
    """
    start = minimum(from_moisture_pct, FIBRE_SATURATION_PCT)
    end = minimum(to_moisture_pct, FIBRE_SATURATION_PCT)
    return dimension_in * (end - start) / (3000.0 / total_shrinkage_pct - FIBRE_SATURATION_PCT + start)


def shrink_gap_in(
    size_in: Number,
    from_moisture_pct: Number,
    to_moisture_pct: Number,
    shrink_a_point: float = ROUND_SHRINK_A_POINT,
) -> Number:
    """Return the gap that opens beside a piece put in wet [in]; none where it does not dry.

    Args:
        size_in: diameter or width when put in [in].
        from_moisture_pct: moisture content when put in [%].
        to_moisture_pct: moisture content it comes to [%].
        shrink_a_point: share of the size lost per point [1/%].

    Source: E17, common practice, no source.
    """
    return size_in * shrink_a_point * maximum(from_moisture_pct - to_moisture_pct, 0.0)


def _points_below_saturation(from_moisture_pct: Number, to_moisture_pct: Number) -> Number:
    """Drying that shrinks [points of moisture]; wetting counts as none."""
    start = minimum(from_moisture_pct, FIBRE_SATURATION_PCT)
    return maximum(start - to_moisture_pct, 0.0)


def log_wall_settlement_in(
    height_in: Number,
    radial_shrinkage_pct: Number,
    from_moisture_pct: Number,
    to_moisture_pct: Number,
    compaction_in: Number = 0.0,
) -> Number:
    """Return how far a wall of horizontal logs comes down as it dries [in].

    Args:
        height_in: height of stacked logs [in].
        radial_shrinkage_pct: radial shrinkage from green to ovendry [%].
        from_moisture_pct: moisture content when stacked [%].
        to_moisture_pct: moisture content in use [%].
        compaction_in: closing of the joints under load [in].

    Source: shrinkage by Wood Handbook (2010) eq. 4-9 summed over the courses.
    """
    points = _points_below_saturation(from_moisture_pct, to_moisture_pct)
    return height_in * radial_shrinkage_pct * points / (FIBRE_SATURATION_PCT * 100.0) + compaction_in


def check_width_bound_in(
    diameter_in: Number,
    tangential_shrinkage_pct: Number,
    radial_shrinkage_pct: Number,
    from_moisture_pct: Number,
    to_moisture_pct: Number,
) -> Number:
    """Return the most that all checks around a log can open at its surface, added up [in].

    The circumference shrinks at the tangential rate and the radius at the radial; the difference has to open. Elastic
    and creep strain take up part of it, so this is an upper bound.

    Args:
        diameter_in: diameter when green [in].
        tangential_shrinkage_pct: tangential shrinkage from green to ovendry [%].
        radial_shrinkage_pct: radial shrinkage from green to ovendry [%].
        from_moisture_pct: moisture content at the start [%].
        to_moisture_pct: moisture content at the end [%].

    Source: geometry (J).
    """
    points = _points_below_saturation(from_moisture_pct, to_moisture_pct)
    difference = (tangential_shrinkage_pct - radial_shrinkage_pct) / 100.0
    return math.pi * diameter_in * difference * points / FIBRE_SATURATION_PCT
