"""Specific gravity, density and the bounds of moisture content.

Source: Wood Handbook, FPL-GTR-190 (2010), chapter 4, as transcribed.
"""

from __future__ import annotations

from service.engine.array import Number, maximum, minimum
from service.engine.science.moisture import FIBRE_SATURATION_PCT

CELL_WALL_SPECIFIC_GRAVITY = 1.54
"""Specific gravity of the cell wall itself (Wood Handbook ch. 4)."""

KG_M3_A_LB_FT3 = 16.018463
"""Conversion [kg/m3 per lb/ft3]."""


def greatest_moisture_pct(basic_specific_gravity: Number) -> Number:
    """Return the moisture content of wood with every hollow full of water [%].

    Args:
        basic_specific_gravity: ovendry weight on green volume [1].

    Source: Wood Handbook (2010) eq. 4-3.
    """
    g = basic_specific_gravity
    return 100.0 * (CELL_WALL_SPECIFIC_GRAVITY - g) / (CELL_WALL_SPECIFIC_GRAVITY * g)


def sinking_moisture_pct(basic_specific_gravity: Number) -> Number:
    """Return the moisture content at which wood sinks [%].

    Args:
        basic_specific_gravity: ovendry weight on green volume [1].

    Source: Wood Handbook (2010) eq. 4-4.
    """
    return 100.0 * (1.0 - basic_specific_gravity) / basic_specific_gravity


def volumetric_shrinkage_pct(basic_specific_gravity: Number) -> Number:
    """Return shrinkage of volume from green to ovendry [%].

    Args:
        basic_specific_gravity: ovendry weight on green volume [1].

    Source: Wood Handbook (2010) eq. 4-12.
    """
    return 26.5 * basic_specific_gravity


def specific_gravity(basic_specific_gravity: Number, moisture_pct: Number) -> Number:
    """Return specific gravity on the volume at a moisture content [1]; constant above fibre saturation.

    Args:
        basic_specific_gravity: ovendry weight on green volume [1].
        moisture_pct: moisture content [%].

    Source: Wood Handbook (2010) eq. 4-13.
    """
    dried = maximum(1.0 - moisture_pct / FIBRE_SATURATION_PCT, 0.0)
    return basic_specific_gravity / (1.0 - volumetric_shrinkage_pct(basic_specific_gravity) / 100.0 * dried)


def density_kg_m3(specific_gravity_then: Number, moisture_pct: Number) -> Number:
    """Return the density of wood with its water [kg/m3].

    Args:
        specific_gravity_then: ovendry weight on the volume at that moisture content [1].
        moisture_pct: moisture content [%].

    Source: Wood Handbook (2010) eq. 4-14.
    """
    return 1000.0 * specific_gravity_then * (1.0 + moisture_pct / 100.0)


def density_lb_ft3(specific_gravity_then: Number, moisture_pct: Number) -> Number:
    """Return the density of wood with its water [lb/ft3].

    Args:
        specific_gravity_then: ovendry weight on the volume at that moisture content [1].
        moisture_pct: moisture content [%].

    Source: Wood Handbook (2010) eq. 4-14.
    """
    return density_kg_m3(specific_gravity_then, moisture_pct) / KG_M3_A_LB_FT3


def porosity(specific_gravity_then: Number, moisture_pct: Number) -> Number:
    """Return the share of the volume that is neither cell wall nor bound water [1].

    Args:
        specific_gravity_then: ovendry weight on the volume at that moisture content [1].
        moisture_pct: moisture content, counted up to fibre saturation [%].

    Source: Siau, Transport Processes in Wood (1984), void volume (from memory).
    """
    bound = minimum(moisture_pct, FIBRE_SATURATION_PCT) / 100.0
    return 1.0 - specific_gravity_then * (1.0 / CELL_WALL_SPECIFIC_GRAVITY + bound)


def thermal_conductivity_w_mk(specific_gravity_then: Number, moisture_pct: Number) -> Number:
    """Return the thermal conductivity across the grain, below 25 % moisture [W/(m K)].

    Args:
        specific_gravity_then: ovendry weight on the volume at that moisture content [1].
        moisture_pct: moisture content, below 25 [%].

    Source: Wood Handbook (2010) eq. 4-17.
    """
    return specific_gravity_then * (0.1941 + 0.004064 * moisture_pct) + 0.01864
