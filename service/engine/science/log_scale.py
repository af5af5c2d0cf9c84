"""Volume of logs, and what the tree-buying rules make of it.

Log-scale rules estimate the lumber that a mill of old would have sawn; they are not volume.
"""

from __future__ import annotations

import math

import numpy as np

from service.engine.array import Number, floor, maximum, minimum

BOARD_FEET_A_FT3 = 12.0
"""Board feet in a solid cubic foot."""

_SECTION_FT = 4.0


def round_area_ft2(diameter_in: Number) -> Number:
    """Return the area of a round end [ft2].

    Args:
        diameter_in: diameter [in].

    Source: geometry; the factor pi/576 is the forester's constant 0.005454.
    """
    return math.pi / 576.0 * diameter_in * diameter_in


def cylinder_ft3(diameter_in: Number, length_ft: Number) -> Number:
    """Return the volume of a log of even thickness [ft3].

    Args:
        diameter_in: diameter [in].
        length_ft: length [ft].

    Source: geometry (E1).
    """
    return round_area_ft2(diameter_in) * length_ft


def smalian_ft3(small_end_in: Number, large_end_in: Number, length_ft: Number) -> Number:
    """Return the volume of a log from the areas of its two ends [ft3].

    Args:
        small_end_in: diameter at the small end [in].
        large_end_in: diameter at the large end [in].
        length_ft: length [ft].

    Source: Smalian's formula.
    """
    return (round_area_ft2(small_end_in) + round_area_ft2(large_end_in)) * length_ft / 2.0


def huber_ft3(middle_in: Number, length_ft: Number) -> Number:
    """Return the volume of a log from the area at its middle [ft3].

    Args:
        middle_in: diameter at the middle [in].
        length_ft: length [ft].

    Source: Huber's formula.
    """
    return round_area_ft2(middle_in) * length_ft


def newton_ft3(small_end_in: Number, middle_in: Number, large_end_in: Number, length_ft: Number) -> Number:
    """Return the volume of a log from three areas [ft3]; exact for cone, paraboloid and cylinder.

    Args:
        small_end_in: diameter at the small end [in].
        middle_in: diameter at the middle [in].
        large_end_in: diameter at the large end [in].
        length_ft: length [ft].

    Source: Newton's formula (the prismoidal rule).
    """
    ends = round_area_ft2(small_end_in) + round_area_ft2(large_end_in)
    return (ends + 4.0 * round_area_ft2(middle_in)) * length_ft / 6.0


def solid_board_feet(volume_ft3: Number) -> Number:
    """Return solid volume in board feet [bd ft].

    Args:
        volume_ft3: volume [ft3].

    Source: definition: a board foot is 1 x 12 x 12 in (E1).
    """
    return volume_ft3 * BOARD_FEET_A_FT3


def sawn_board_feet(thickness_in: Number, width_in: Number, length_ft: Number) -> Number:
    """Return the board feet of a sawn piece by its nominal size [bd ft].

    Args:
        thickness_in: nominal thickness [in].
        width_in: nominal width [in].
        length_ft: length [ft].

    Source: definition: a board foot is 1 x 12 x 12 in (E1).
    """
    return thickness_in * width_in * length_ft / 12.0


def doyle_board_feet(small_end_in: Number, length_ft: Number) -> Number:
    """Return the Doyle scale of a log [bd ft], the harshest on thin logs.

    Args:
        small_end_in: diameter inside bark at the small end; below 4 in scales nothing [in].
        length_ft: length [ft].

    Source: Doyle log rule.
    """
    scaled = maximum(small_end_in - 4.0, 0.0)
    return scaled * scaled * length_ft / 16.0


def scribner_board_feet(small_end_in: Number, length_ft: Number) -> Number:
    """Return the Scribner scale of a log by formula [bd ft].

    A fit to the diagrams: up to about a tenth off the official table.

    Args:
        small_end_in: diameter inside bark at the small end [in].
        length_ft: length [ft].

    Source: Bruce and Schumacher's formula for the Scribner rule, as transcribed.
    """
    per_16_ft = 0.79 * small_end_in * small_end_in - 2.0 * small_end_in - 4.0
    return maximum(per_16_ft, 0.0) * length_ft / 16.0


def international_board_feet(small_end_in: Number, length_ft: Number) -> Number:
    """Return the International 1/4-inch scale of a log, to the nearest 5 [bd ft].

    Args:
        small_end_in: diameter inside bark at the small end [in].
        length_ft: length; the last section counts by its share of 4 ft [ft].

    Source: International 1/4-inch log rule, as in the USDA Forest Service volume library: 4-ft sections, half an inch
    of taper a section.
    """
    sections = math.ceil(float(np.max(length_ft)) / _SECTION_FT)
    scale: Number = 0.0 * small_end_in
    for n in range(sections):
        share = minimum(maximum(length_ft / _SECTION_FT - n, 0.0), 1.0)
        d = small_end_in + 0.5 * n
        scale = scale + share * 0.905 * maximum(0.22 * d * d - 0.71 * d, 0.0)
    return 5.0 * floor(scale / 5.0 + 0.5)
