"""What is left of a round or squared section once decay or a repair has taken its part.

The cut lies at the top: `centroid_in` is measured from the middle of the whole section towards the cut and is negative,
because what is left lies away from it. `inertia_in4` is about the axis parallel to the cut face (a cut on top or
bottom of a beam), `inertia_side_in4` about the axis at right angles (a cut on the side of a beam).
Depths past the size count as the whole size, and nothing is left then.

Source: geometry; formulas for sections by integration, e.g. Young and Budynas, Roark's Formulas for Stress and Strain.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from service.engine.array import Number, atan2, maximum, minimum, sqrt, where

_TINY = 1e-12
"""Keeps the quotients of a section of which nothing is left at zero."""
_HALVINGS = 50
"""Halvings of an interval of 1 that leave less than arithmetic can tell apart."""


@dataclass(frozen=True, slots=True)
class SectionProperties:
    """Properties of a section, with a cut at its top or none.

    Attributes:
        area_in2: area [in2].
        centroid_in: centroid from the middle of the whole section, towards the cut [in].
        inertia_in4: second moment about the centroidal axis parallel to the cut [in4].
        inertia_side_in4: second moment about the centroidal axis at right angles to the cut [in4].
        modulus_cut_in3: section modulus at the cut face [in3].
        modulus_far_in3: section modulus at the face opposite the cut [in3].
        modulus_side_in3: section modulus for bending sideways [in3].
    """

    area_in2: Number
    centroid_in: Number
    inertia_in4: Number
    inertia_side_in4: Number
    modulus_cut_in3: Number
    modulus_far_in3: Number
    modulus_side_in3: Number

    @property
    def modulus_in3(self) -> Number:
        """Section modulus that governs [in3]; on a log with a flat cut it is that of the far face."""
        return minimum(self.modulus_cut_in3, self.modulus_far_in3)

    @property
    def radius_of_gyration_in(self) -> Number:
        """Radius of gyration about the axis parallel to the cut [in]."""
        return sqrt(self.inertia_in4 / maximum(self.area_in2, _TINY))


@dataclass(frozen=True, slots=True)
class SectionLeft:
    """Shares left of a section: area for shear and bearing, modulus for bending, inertia for sag and buckling [1]."""

    area: Number
    modulus: Number
    inertia: Number


def section_left(whole: SectionProperties, rest: SectionProperties) -> SectionLeft:
    """Return what share of a whole section is left [1]."""
    return SectionLeft(
        rest.area_in2 / whole.area_in2,
        rest.modulus_in3 / whole.modulus_in3,
        rest.inertia_in4 / whole.inertia_in4,
    )


def _properties(
    area: Number, centroid: Number, inertia: Number, side: Number, top: Number, bottom: Number, half: Number
) -> SectionProperties:
    """Add the moduli, from the distances of the extreme fibres to the middle of the whole section."""
    inertia = maximum(inertia, 0.0)
    side = maximum(side, 0.0)
    return SectionProperties(
        area,
        centroid,
        inertia,
        side,
        inertia / maximum(top - centroid, _TINY),
        inertia / maximum(bottom + centroid, _TINY),
        side / maximum(half, _TINY),
    )


def circle(diameter_in: Number) -> SectionProperties:
    """Return the properties of a sound round section.

    Args:
        diameter_in: diameter [in].
    """
    r = diameter_in / 2.0
    inertia = math.pi * r * r * r * r / 4.0
    modulus = math.pi * r * r * r / 4.0
    return SectionProperties(math.pi * r * r, 0.0 * r, inertia, inertia, modulus, modulus, modulus)


def _cut(diameter_in: Number, depth_in: Number) -> tuple[Number, Number, Number]:
    """Half-angle [rad] of a segment of a depth, with its sine and cosine."""
    c = minimum(maximum(depth_in, 0.0), diameter_in)
    root_c, root_rest = sqrt(c), sqrt(diameter_in - c)
    sine = 2.0 * root_c * root_rest / diameter_in
    return 2.0 * atan2(root_c, root_rest), sine, 1.0 - 2.0 * c / diameter_in


def segment_area_in2(diameter_in: Number, depth_in: Number) -> Number:
    """Return the area of the segment cut off a round section by a flat at a depth [in2], slab or decayed face.

    Args:
        diameter_in: diameter [in].
        depth_in: depth of the flat from the surface, counted within 0 to the diameter [in].

    Source: geometry (E2).
    """
    angle, sine, cosine = _cut(diameter_in, depth_in)
    return diameter_in * diameter_in / 4.0 * (angle - sine * cosine)


def segment_depth_ratio(share: float) -> float:
    """Return the depth over the diameter of a flat that cuts a share of the area off a round section [1].

    Args:
        share: area of the segment over that of the circle, counted within 0 to 1 [1].

    Source: geometry; the inverse of the area of a segment, by halving.
    """
    low, high = 0.0, 1.0
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        if float(segment_area_in2(1.0, middle)) < share * math.pi / 4.0:
            low = middle
        else:
            high = middle
    return high


def segment_width_in(diameter_in: Number, depth_in: Number) -> Number:
    """Return the width of the flat at a depth, the back of a slab [in].

    Args:
        diameter_in: diameter [in].
        depth_in: depth of the flat from the surface, counted within 0 to the diameter [in].

    Source: geometry (E2).
    """
    c = minimum(maximum(depth_in, 0.0), diameter_in)
    return 2.0 * sqrt(maximum(c * (diameter_in - c), 0.0))


def circle_cut_flat(diameter_in: Number, depth_in: Number) -> SectionProperties:
    """Return the properties of a round section with a segment removed from one side.

    Args:
        diameter_in: diameter [in].
        depth_in: depth of the flat from the surface, counted within 0 to the diameter [in].

    Source: geometry, by integration over the segment that is left.
    """
    r = diameter_in / 2.0
    depth = minimum(maximum(depth_in, 0.0), diameter_in)
    h = r - depth
    # Worked from the part that is left, so that a nearly consumed log loses no digits to a difference of large areas.
    angle, sine, cosine = _cut(diameter_in, diameter_in - depth)
    r2 = r * r
    area = maximum(r2 * (angle - sine * cosine), 0.0)
    first_moment = 2.0 / 3.0 * r2 * r * sine * sine * sine
    centroid = -first_moment / maximum(area, _TINY)
    about_middle = r2 * r2 / 4.0 * (angle - sine * cosine + 2.0 * sine * sine * sine * cosine)
    side = r2 * r2 / 12.0 * (3.0 * angle - 3.0 * sine * cosine - 2.0 * sine * sine * sine * cosine)
    half_width = where(h >= 0.0, r, r * sine)
    return _properties(area, centroid, about_middle - area * centroid * centroid, side, h, r, half_width)


def circle_hollow(diameter_in: Number, hollow_diameter_in: Number) -> SectionProperties:
    """Return the properties of a round shell around a hollow heart.

    Args:
        diameter_in: outside diameter [in].
        hollow_diameter_in: diameter of the hollow, concentric, at most the outside diameter [in].

    Source: geometry.
    """
    return circle_with_pocket(diameter_in, minimum(hollow_diameter_in, diameter_in), 0.0)


def circle_with_pocket(diameter_in: Number, pocket_diameter_in: Number, offset_in: Number) -> SectionProperties:
    """Return the properties of a round section with a round pocket inside it.

    Args:
        diameter_in: diameter [in].
        pocket_diameter_in: diameter of the pocket, which lies wholly inside [in].
        offset_in: distance of the pocket's middle from the log's [in].

    Source: geometry, parallel-axis theorem.
    """
    r = diameter_in / 2.0
    p = pocket_diameter_in / 2.0
    hole = math.pi * p * p
    hole_inertia = math.pi * p * p * p * p / 4.0
    whole_inertia = math.pi * r * r * r * r / 4.0
    area = math.pi * r * r - hole
    centroid = -hole * offset_in / maximum(area, _TINY)
    inertia = whole_inertia - hole_inertia - hole * offset_in * offset_in - area * centroid * centroid
    return _properties(area, centroid, inertia, whole_inertia - hole_inertia, r, r, r)


def rectangle(width_in: Number, depth_in: Number) -> SectionProperties:
    """Return the properties of a sound squared section.

    Args:
        width_in: width, across the direction of bending [in].
        depth_in: depth, in the direction of bending [in].
    """
    b, h = width_in, depth_in
    modulus = b * h * h / 6.0
    return SectionProperties(
        b * h, 0.0 * h, b * h * h * h / 12.0, h * b * b * b / 12.0, modulus, modulus, h * b * b / 6.0
    )


def rectangle_cut_face(width_in: Number, depth_in: Number, cut_in: Number) -> SectionProperties:
    """Return the properties of a squared section with one whole face cut back.

    Args:
        width_in: width of the face [in].
        depth_in: size at right angles to the face [in].
        cut_in: depth cut back, counted within 0 to the depth [in].

    Source: geometry.
    """
    cut = minimum(maximum(cut_in, 0.0), depth_in)
    rest = rectangle(width_in, depth_in - cut)
    return SectionProperties(
        rest.area_in2,
        -cut / 2.0,
        rest.inertia_in4,
        rest.inertia_side_in4,
        rest.modulus_cut_in3,
        rest.modulus_far_in3,
        rest.modulus_side_in3,
    )


def rectangle_with_pocket(
    width_in: Number, depth_in: Number, pocket_width_in: Number, pocket_depth_in: Number
) -> SectionProperties:
    """Return the properties of a squared section with a pocket in the middle of one face.

    Args:
        width_in: width of the face [in].
        depth_in: size at right angles to the face [in].
        pocket_width_in: width of the pocket, less than the face [in].
        pocket_depth_in: depth of the pocket, counted within 0 to the depth [in].

    Source: geometry, parallel-axis theorem.
    """
    c = minimum(maximum(pocket_depth_in, 0.0), depth_in)
    hole = pocket_width_in * c
    lever = depth_in / 2.0 - c / 2.0
    area = width_in * depth_in - hole
    centroid = -hole * lever / maximum(area, _TINY)
    inertia = (
        width_in * depth_in * depth_in * depth_in / 12.0
        - pocket_width_in * c * c * c / 12.0
        - hole * lever * lever
        - area * centroid * centroid
    )
    side = (depth_in * width_in * width_in * width_in - c * pocket_width_in * pocket_width_in * pocket_width_in) / 12.0
    half = depth_in / 2.0
    return _properties(area, centroid, inertia, side, half, half, width_in / 2.0)


def equal_section_diameter_in(diameter_in: Number, hollow_diameter_in: Number) -> Number:
    """Return the diameter of the solid log that bends as stiffly at its surface as a hollow one [in].

    Args:
        diameter_in: outside diameter [in].
        hollow_diameter_in: diameter of the concentric hollow [in].

    Source: geometry, equal section modulus.
    """
    share = hollow_diameter_in / diameter_in
    result: Number = diameter_in * (1.0 - share * share * share * share) ** (1.0 / 3.0)
    return result


def equal_area_square_in(diameter_in: Number) -> Number:
    """Return the side of the square of equal area, as which round members are designed [in].

    Source: ANSI/AWC NDS 2018, 3.7.3 for round columns (clause from memory); current practice for beams too.
    """
    return diameter_in * (math.sqrt(math.pi) / 2.0)
