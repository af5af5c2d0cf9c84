"""What is left of a section, and what that leaves of its strength for the work the member does.

Visibly decayed wood counts as nothing (R31). The decay is taken off the section by geometry: a segment or a face from
one side, the same from both where both faces are soft, a hole where the heart is gone. A share lost that was stated
goes before the depth.
"""

from __future__ import annotations

from dataclasses import dataclass

from service.engine.case import Case, once_a_case
from service.engine.outcome import Measure, Section
from service.engine.science.section import (
    SectionProperties,
    circle,
    circle_cut_flat,
    circle_hollow,
    rectangle,
    rectangle_cut_face,
)

SHORT_COLUMN = 11.0
"""Length over depth up to which a column is crushed before it buckles (older editions of the NDS, from memory) [1]."""
NO_SECTION = ("seal", "siding", "roof_deck")
"""Families that are no bar with a section."""
COMPRESSED = ("truss_top_chord", "truss_web")
"""Truss members that are pushed, or may be: buckling counts beside the section."""
ASSEMBLIES = ("deck", "stair")
"""Whole assemblies, whose members have sections of their own."""
SAME = 1e-9
_STEPS = 60
_NOTHING = SectionProperties(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Remains:
    """The sound section and what is left of it, with how the loss lies and how much thickness it takes [in]."""

    whole: SectionProperties
    rest: SectionProperties
    layout: str
    lost_in: float = 0.0

    @property
    def modulus_in3(self) -> float:
        """Section modulus of what is left; the far face governs [in3]."""
        return float(self.rest.modulus_in3)

    @property
    def eccentricity_in(self) -> float:
        """How far the middle of what is left lies from the line of the load [in]."""
        return abs(float(self.rest.centroid_in))


@once_a_case
def sound_of(case: Case) -> Remains | None:
    """The whole section, or None where the member has none."""
    size = float(case.section_in)
    if size <= 0.0 or case.element.family in NO_SECTION or case.element.code in ASSEMBLIES:
        return None
    whole = _whole(case, size, float(case.other_in))
    return Remains(whole, whole, "sound")


@once_a_case
def remains_of(case: Case) -> Remains | None:
    """What is left of the section in the world as stated, or None where no wood is lost or there is no section.

    A depth given for a hollow heart is read as the width of the hollow.
    """
    if not (case.rotten or case.damage.kind == "mechanical") or sound_of(case) is None:
        return None
    size, other = float(case.section_in), float(case.other_in)
    layout = _layout(case)
    whole = _whole(case, size, other)
    depth = min(float(case.depth_in), size)
    if loss_stated(case):
        depth = _depth_of_loss(case, size, other, layout, float(case.section_loss))
    lost = depth * (2.0 if layout == "both" else 1.0)
    return Remains(whole, _cut(case, size, other, layout, depth), layout, min(lost, size))


def loss_stated(case: Case) -> bool:
    """Whether somebody stated the share of the section that is lost: else it is the depth over the size."""
    return abs(float(case.section_loss) - min(float(case.depth_ratio), 1.0)) > SAME


def section_of(case: Case, left: Remains) -> Section:
    """The section as it is said, with the share of strength left for the member's work."""
    whole, rest = left.whole, left.rest
    strength, by = strength_left(case, left)
    return Section(
        area=Measure(float(rest.area_in2), "in2"), second_moment=Measure(float(rest.inertia_in4), "in4"),
        section_modulus=Measure(left.modulus_in3, "in3"), area_left=float(rest.area_in2 / whole.area_in2),
        second_moment_left=float(rest.inertia_in4 / whole.inertia_in4),
        section_modulus_left=float(rest.modulus_in3 / whole.modulus_in3), strength_left=strength, governed_by=by,
    )


def strength_left(case: Case, left: Remains) -> tuple[float, str]:
    """Share of strength left for what the member does, and what governs it."""
    area = float(left.rest.area_in2 / left.whole.area_in2)
    match case.element.role:
        case "bending" | "people":
            modulus = float(left.rest.modulus_in3 / left.whole.modulus_in3)
            return modulus, "bending: section modulus, the far face governs"
        case "tension" if case.element.code in COMPRESSED:
            stiffness = float(left.rest.inertia_in4 / left.whole.inertia_in4)
            return min(stiffness, _with_eccentricity(left)), "compression: stiffness against buckling, area, and bending"
        case "tension":
            return _with_eccentricity(left), "tension: net area, and bending by a load off the middle of what is left"
        case "column":
            eccentric = _with_eccentricity(left)
            slender = float(case.post_height_in) > SHORT_COLUMN * min(float(case.section_in), float(case.other_in))
            stiffness = float(left.rest.inertia_in4 / left.whole.inertia_in4)
            if slender and stiffness < eccentric:
                return stiffness, "column: stiffness against buckling"
            return eccentric, "column: area, and the bending of a load off the middle of what is left"
        case "bearing":
            return area, "bearing across the grain: area that is left"
        case _:
            return area, "carries little: area that is left"


def _with_eccentricity(left: Remains) -> float:
    """Share of the axial load that gives the same greatest stress: 1 / A0 over 1 / A + e / S."""
    area, modulus = float(left.rest.area_in2), left.modulus_in3
    if area <= 0.0 or modulus <= 0.0:
        return 0.0
    return 1.0 / (float(left.whole.area_in2) * (1.0 / area + left.eccentricity_in / modulus))


def _layout(case: Case) -> str:
    """How the loss lies: from one side, from both, or a hole in the heart."""
    if case.damage.code == "core" or case.word("side") == "core":
        return "core"
    return "both" if bool(case.inner_soft) and case.damage.code != "through" else "one"


def _whole(case: Case, size: float, other: float) -> SectionProperties:
    return circle(size) if case.round else rectangle(other or size, size)


def _cut(case: Case, size: float, other: float, layout: str, depth: float) -> SectionProperties:
    """The section that is left behind decay of this depth."""
    width = other or size
    if depth >= size or (layout == "both" and 2.0 * depth >= size):
        return _NOTHING
    if layout == "core":
        return circle_hollow(size, depth) if case.round else _box(width, size, min(depth, width))
    one = circle_cut_flat(size, depth) if case.round else rectangle_cut_face(width, size, depth)
    return _both_sides(_whole(case, size, other), one, size, depth) if layout == "both" else one


def _both_sides(whole: SectionProperties, one: SectionProperties, size: float, depth: float) -> SectionProperties:
    """The same cut from two opposite sides: twice the piece that one cut takes, about the middle."""
    area = 2.0 * float(one.area_in2) - float(whole.area_in2)
    about_middle = float(one.inertia_in4) + float(one.area_in2) * float(one.centroid_in) ** 2
    inertia = 2.0 * about_middle - float(whole.inertia_in4)
    side = 2.0 * float(one.inertia_side_in4) - float(whole.inertia_side_in4)
    edge = size / 2.0 - depth
    modulus = inertia / edge
    half = float(whole.inertia_side_in4) / float(whole.modulus_side_in3)
    return SectionProperties(area, 0.0, inertia, side, modulus, modulus, side / half)


def _box(width: float, depth: float, hole: float) -> SectionProperties:
    """A squared section around a square hole in its middle."""
    whole = rectangle(width, depth)
    taken = rectangle(hole, hole)
    inertia = float(whole.inertia_in4) - float(taken.inertia_in4)
    side = float(whole.inertia_side_in4) - float(taken.inertia_side_in4)
    modulus = inertia / (depth / 2.0)
    return SectionProperties(
        float(whole.area_in2) - float(taken.area_in2), 0.0, inertia, side, modulus, modulus, side / (width / 2.0)
    )


def _depth_of_loss(case: Case, size: float, other: float, layout: str, loss: float) -> float:
    """Depth of decay that takes the stated share of the area, by halving [in]."""
    low, high = 0.0, size
    whole = float(_whole(case, size, other).area_in2)
    for _ in range(_STEPS):
        middle = (low + high) / 2.0
        if 1.0 - float(_cut(case, size, other, layout, middle).area_in2) / whole < loss:
            low = middle
        else:
            high = middle
    return high
