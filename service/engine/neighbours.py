"""Which defects lie together: the same wall, neighbouring courses, the same roof area, under the same leak."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from service.engine.survey import Defect

ROOF_MARGIN_FT = 5.0
"""A roof is torn back 4 to 6 ft to each side of the work (M20; common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Interval:
    """A stretch of wall or roof [ft]."""

    start: float
    end: float

    def overlaps(self, other: Interval) -> bool:
        """Whether both have a stretch in common."""
        return self.start < other.end and other.start < self.end


def wall_of(defect: Defect) -> str:
    """The wall that a defect was said to be on; "" where nobody said."""
    return defect.words.get("wall", ("",))[0]


def roof_area_of(defect: Defect) -> str:
    """The roof area that a defect was said to lie under; "" where nobody said."""
    return defect.words.get("roof_area", ("",))[0]


def number(defect: Defect, name: str) -> float | None:
    """A number as stated, at the middle of its range."""
    spans = defect.numbers.get(name)
    return spans[0].middle if spans else None


def stretch_of(defect: Defect) -> Interval | None:
    """The stretch along its wall or roof that a defect takes; None where its position was not said."""
    position = number(defect, "position")
    if position is None:
        return None
    return Interval(position, position + (number(defect, "length") or 0.0) / 12.0)


def side_by_side(one: Defect, other: Defect) -> bool:
    """Neighbouring courses of one wall whose stretches overlap; where a position is missing they are taken to."""
    if not wall_of(one) or wall_of(one) != wall_of(other):
        return False
    a, b = number(one, "course"), number(other, "course")
    if a is None or b is None or abs(a - b) != 1.0:
        return False
    first, second = stretch_of(one), stretch_of(other)
    return first is None or second is None or first.overlaps(second)


def adjacent_courses(defects: Sequence[Defect], index: int) -> int:
    """Neighbouring courses in a row around a defect that are past a third, this one counted (M07, B10)."""
    wall = wall_of(defects[index])
    beside = [(k, other) for k, other in enumerate(defects) if wall and wall_of(other) == wall and past_a_third(other)]
    together = {index}
    grew = True
    while grew:
        grew = False
        for k, other in beside:
            if k not in together and any(side_by_side(defects[j], other) for j in together):
                together.add(k)
                grew = True
    return len(together)


def past_a_third(defect: Defect) -> bool:
    """Whether a defect takes more than a third of its member; not measured counts as not."""
    depth, section = number(defect, "depth"), number(defect, "section")
    if defect.damage == "through":
        return True
    return depth is not None and section is not None and depth > section / 3.0


def same_roof(one: Defect, other: Defect) -> bool:
    """Whether two defects lie under one roof area."""
    return bool(roof_area_of(one)) and roof_area_of(one) == roof_area_of(other)


def together_components(defects: Sequence[Defect], related: object) -> list[list[int]]:
    """Groups of defects that are related directly or through others, in order of their first."""
    seen: set[int] = set()
    groups = []
    for k in range(len(defects)):
        if k in seen:
            continue
        group, todo = [], [k]
        while todo:
            at = todo.pop()
            if at in seen:
                continue
            seen.add(at)
            group.append(at)
            todo.extend(j for j in range(len(defects)) if j not in seen and related(defects[at], defects[j]))  # type: ignore[operator]
        groups.append(sorted(group))
    return groups


def union_ft2(areas: Sequence[tuple[Interval | None, float]]) -> float:
    """Area of several roof openings under one roof area, each part counted once [ft2].

    Openings are strips from the same eave: each as wide as its defect and the tear-back on both sides, as deep as its
    area says. Where a position was not said, an opening is counted in full.
    """
    placed = []
    total = 0.0
    for stretch, area in areas:
        if stretch is None:
            total += area
            continue
        wide = Interval(stretch.start - ROOF_MARGIN_FT, stretch.end + ROOF_MARGIN_FT)
        placed.append((wide, area / (wide.end - wide.start)))
    edges = sorted({edge for wide, _ in placed for edge in (wide.start, wide.end)})
    for left, right in pairwise(edges):
        depth = max((d for wide, d in placed if wide.start <= left and right <= wide.end), default=0.0)
        total += depth * (right - left)
    return total
