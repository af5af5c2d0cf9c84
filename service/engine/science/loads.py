"""Loads on roofs and on temporary shores."""

from __future__ import annotations

from service.engine.array import Number, maximum, minimum

SOIL_BEARING_UNKNOWN_PSF = 1500.0
"""Bearing of soil nobody has looked at [psf] (E20; common practice, no source)."""

_LOW_SLOPE_SNOW_PSF = 20.0
_SLIDES_FROM_DEG = 30.0
_SLIDES_OFF_DEG = 70.0


def flat_roof_snow_psf(
    ground_snow_psf: Number, exposure: float = 1.0, thermal: float = 1.0, importance: float = 1.0
) -> Number:
    """Return the snow load on a flat roof [psf].

    ASCE 7-22 maps the ground load at strength level for each risk category; this is for maps up to 7-16.

    Args:
        ground_snow_psf: mapped ground snow load [psf].
        exposure: factor Ce [1].
        thermal: factor Ct [1].
        importance: factor Is [1].

    Source: ASCE 7-16, eq. 7.3-1 (from memory).
    """
    return 0.7 * exposure * thermal * importance * ground_snow_psf


def least_roof_snow_psf(ground_snow_psf: Number, importance: float = 1.0) -> Number:
    """Return the least snow load on a low-slope roof [psf].

    Args:
        ground_snow_psf: mapped ground snow load [psf].
        importance: factor Is [1].

    Source: ASCE 7-16, 7.3.4 (from memory).
    """
    return importance * minimum(ground_snow_psf, _LOW_SLOPE_SNOW_PSF)


def warm_roof_slope_factor(slope_deg: Number) -> Number:
    """Return the slope factor Cs of a warm roof whose surface is not slippery [1].

    Args:
        slope_deg: slope of the roof [deg].

    Source: ASCE 7-16, figure 7.4-1a (from memory).
    """
    share = (_SLIDES_OFF_DEG - slope_deg) / (_SLIDES_OFF_DEG - _SLIDES_FROM_DEG)
    return minimum(maximum(share, 0.0), 1.0)


def shore_load_lb(line_load_lb_ft: Number, spacing_ft: Number) -> Number:
    """Return what one shore in a row carries [lb]; for the engineer, not for use.

    Args:
        line_load_lb_ft: load along the member held up [lb/ft].
        spacing_ft: distance between shores [ft].

    Source: E20, common practice, no source.
    """
    return line_load_lb_ft * spacing_ft


def shore_pad_ft2(load_lb: Number, soil_bearing_psf: float = SOIL_BEARING_UNKNOWN_PSF) -> Number:
    """Return the pad area under a shore [ft2]; for the engineer, not for use.

    Args:
        load_lb: load of the shore [lb].
        soil_bearing_psf: bearing of the soil [psf].

    Source: E20, common practice, no source.
    """
    return load_lb / soil_bearing_psf
