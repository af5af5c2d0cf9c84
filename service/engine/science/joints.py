"""Sealant joints: how wide, how deep, what goes behind, how far a cartridge reaches."""

from __future__ import annotations

from service.engine.array import Number, maximum, minimum, where

ROD_SIZES_IN = (0.25, 0.375, 0.5, 0.625, 0.75, 0.875, 1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0)
"""Backer rod diameters in trade [in] (common practice, no source)."""

ROD_OVERSIZE = 1.25
"""Least diameter of a backer rod over its gap (E7; common practice, no source)."""

LEAST_BEAD_IN = 0.25
"""Least depth of a sealant bead [in] (E7; common practice, no source)."""

GREATEST_BEAD_IN = 0.5
"""Greatest depth of a sealant bead [in] (E7; common practice, no source)."""

SEALANT_YIELD = 0.85
"""Share of a cartridge that ends up in the joint (E6; common practice, no source)."""


def thermal_movement_in(length_in: Number, expansion_per_degf: float, change_degf: Number) -> Number:
    """Return how much a length grows with temperature [in].

    Args:
        length_in: length [in].
        expansion_per_degf: coefficient of expansion; wood along the grain 2 to 3 millionths [1/degF].
        change_degf: change of temperature [degF].

    Source: definition of the coefficient of expansion.
    """
    return length_in * expansion_per_degf * change_degf


def sealant_joint_width_in(movement_in: Number, movement_capability: float, tolerance_in: Number = 0.0) -> Number:
    """Return the least width at which a sealant takes a joint's movement [in].

    Args:
        movement_in: opening and closing to be taken: moisture, thermal, live, creep and settlement together [in].
        movement_capability: movement class of the sealant as a fraction, 0.25 for class 25 [1].
        tolerance_in: construction tolerance added on top [in].

    Source: base formula of ASTM C1472; the tolerance term from memory. Classes of ASTM C920.
    """
    return movement_in / movement_capability + tolerance_in


def backer_rod_in(gap_in: Number) -> Number:
    """Return the diameter of backer rod for a gap: a quarter over, next size up [in].

    Past the largest size in trade, the diameter wanted.

    Args:
        gap_in: width of the gap [in].

    Source: E7, common practice, no source.
    """
    wanted = gap_in * ROD_OVERSIZE
    diameter = wanted
    for size in reversed(ROD_SIZES_IN):
        diameter = where(wanted <= size + 1e-9, size, diameter)
    return diameter


def bead_depth_in(width_in: Number) -> Number:
    """Return the depth of a sealant bead: half its width, within bounds [in].

    Args:
        width_in: width of the joint [in].

    Source: E7, common practice, no source.
    """
    return minimum(maximum(width_in / 2.0, LEAST_BEAD_IN), GREATEST_BEAD_IN)


def sealant_feet_per_unit(unit_in3: float, width_in: Number, depth_in: Number) -> Number:
    """Return the length of joint that one cartridge, sausage or pail fills [ft].

    Args:
        unit_in3: content: 18.2 for a 10-oz cartridge, 52.3 for 29 oz, 1155 for 5 gal [in3].
        width_in: width of the bead [in].
        depth_in: depth of the bead [in].

    Source: E6, common practice, no source.
    """
    return unit_in3 * SEALANT_YIELD / (12.0 * width_in * depth_in)
