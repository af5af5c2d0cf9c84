"""One defect in one world, or in many worlds at once.

A `Case` holds every fact that a method may read. In the world as stated each number is a float and each truth a bool;
over the possible worlds whatever is not known is an array, one value a world, and the rest stays a plain number. The
methods are written once, with arithmetic and the helpers of `array`, and do not know which of the two they look at.

Words (profile, finish, heritage ...) are the same in all worlds: a method may test them with `if`.
Numbers and truths are not: never put them in an `if`, hand them to a gate or to `where`.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property, wraps
from typing import Any, TypeVar

import numpy as np

from service.engine.array import Number, Truth, both, either, maximum, minimum, where
from service.engine.knowledge import Damage, Element, Species
from service.engine.rates import RateBook
from service.engine.survey import CauseSeen, Wishes, WoodOnHand

Figure = TypeVar("Figure")
WORKED_OUT = ("depth_ratio", "both_faces", "share_gone", "on_inner_face", "round", "heritage", "punky_in3", "_notes")
"""What a case keeps once it was worked out, and a changed twin works out anew."""
MOST_BOARDS = 0.5
"""Share of its boards from which a deck is renewed as a whole (J)."""


@dataclass
class Case:
    """Facts of one piece (all pieces of a group are alike).

    Numbers:
        section_in: D, size of the member in the direction the rot goes [in].
        other_in: second dimension of a squared member [in]; the diameter for a round one.
        depth_in: d, from the original surface to sound wood [in].
        length_in, width_in: decay along the grain and around the face [in]; for a check, its length.
        from_end_in: decay along the grain from the end or the foot [in].
        check_width_in: opening of a check [in].
        clock: position on the clock looking along the log, 12 up, 3 outdoors.
        clear_length_in: length of the log between notches [in]. stop_left_in, stop_right_in: from the ends of the
            decay to the next notch or opening [in].
        to_joint_in: from the decay to the next bolt, heel, mortise or notch bearing [in].
        tail_in: length of tail past the notch [in]. drip_line_in: drip line past the notch [in].
        height_ft, slope_deg: height of the work above ground, slope of that ground. overhang_ft: roof overhang above it.
        span_ft, load_lb, line_load_plf: what it spans and carries.
        joists, floor_drop_in, sag_in, post_height_in, section_loss: joists bearing on it; settled or sagged; post
            height; share of the section lost, 0 to 1 (stated or from the geometry).
        area_ft2, opening_ft2: area of the damage; roof opening that this repair alone needs.
        openings, point_loads: openings on the log; loads that land on it.
        moisture_pct: moisture of the wood that stays [%].
        soil_above_in: soil above the underside of the wood [in].
        wood_degf: wood temperature now. cold_degf: lowest wood temperature forecast over the cure.
        distance_mi: one way.
    Truths:
        inner_soft: the inner face is soft too. live: decay is live (unknown counts as live).
        near_joint: within one D of a bolt line, heel, mortise (R15). in_notch: rot runs inside the notch.
        Others carry the names of the facts.
    """

    element: Element
    damage: Damage
    level: str
    book: RateBook
    day: date
    wishes: Wishes
    species: Species
    words: Mapping[str, str]
    flags: Mapping[str, bool]
    bears: tuple[str, ...]
    soft_neighbours: tuple[str, ...]
    causes: tuple[CauseSeen, ...]
    wood: tuple[WoodOnHand, ...]
    job: str
    count: int
    batch: int
    year_built: int | None
    known: frozenset[str]

    section_in: Number
    other_in: Number
    depth_in: Number
    length_in: Number
    width_in: Number
    from_end_in: Number
    check_width_in: Number
    clock: Number
    course: Number
    clear_length_in: Number
    stop_left_in: Number
    stop_right_in: Number
    to_joint_in: Number
    tail_in: Number
    drip_line_in: Number
    height_ft: Number
    overhang_ft: Number
    slope_deg: Number
    span_ft: Number
    load_lb: Number
    line_load_plf: Number
    joists: Number
    floor_drop_in: Number
    sag_in: Number
    post_height_in: Number
    section_loss: Number
    area_ft2: Number
    opening_ft2: Number
    openings: Number
    point_loads: Number
    moisture_pct: Number
    soil_above_in: Number
    of: Number
    treads: Number
    wood_degf: Number
    cold_degf: Number
    distance_mi: Number
    adjacent_courses: int

    inner_soft: Truth
    live: Truth
    near_joint: Truth
    in_notch: Truth
    end_grain: bool

    def but(self, **changes: object) -> Case:
        """The same piece with some facts changed."""
        twin = object.__new__(Case)
        twin.__dict__.update(self.__dict__, **changes)
        for name in WORKED_OUT:
            twin.__dict__.pop(name, None)
        return twin

    def in_world(self, k: int) -> Case:
        """The same piece as it is in one of the worlds, numbered from 0."""
        return self.but(**{name: value[k].item() for name, value in vars(self).items() if isinstance(value, np.ndarray)})

    def once(self, name: Hashable, worked_out: Callable[[Case], Figure]) -> Figure:
        """A figure that follows from the facts alone, worked out once a case."""
        if name not in self._notes:
            self._notes[name] = worked_out(self)
        found: Figure = self._notes[name]
        return found

    @cached_property
    def _notes(self) -> dict[Hashable, Any]:
        return {}

    # ---- what follows from the facts -------------------------------------------------------------------------------

    @property
    def boards_only(self) -> Truth:
        """Whether only boards of a deck are soft: they were counted, and fewer than half of them are (J)."""
        counted = self.element.code == "deck" and "of" in self.known
        return self.batch < MOST_BOARDS * self.of if counted else False

    @cached_property
    def depth_ratio(self) -> Number:
        """Depth ratio r = d / D, depth over the size of the member in the direction the rot goes."""
        return self.depth_in / self.section_in

    @cached_property
    def both_faces(self) -> Truth:
        """Both faces are gone: seen, or the depth is nine tenths of the member."""
        return either(self.inner_soft, self.depth_ratio >= 0.9)

    @cached_property
    def share_gone(self) -> Number:
        """Share of the member that is gone: depth over size, of a hollow heart its share of the section (R13, R31)."""
        if not self.hollow:
            return self.depth_ratio
        if self.round:
            return self.depth_ratio * self.depth_ratio
        return self.depth_ratio * minimum(self.depth_in / self.other_in, 1.0)

    @property
    def sound_behind_in(self) -> Number:
        """Sound wood behind the decay [in]."""
        return self.section_in - self.depth_in

    def flag(self, name: str) -> bool:
        """A yes-or-no fact; not stated counts as no (those where it matters are asked for)."""
        return self.flags.get(name, False)

    def word(self, name: str) -> str:
        """A fact that is a code; "" where nobody said."""
        return self.words.get(name, "")

    @cached_property
    def heritage(self) -> bool:
        """Whether somebody other than the owner has a say in the method."""
        return self.word("heritage") in ("registered", "eased")

    @property
    def hewn(self) -> bool:
        """Whether the face carries tool marks that a repair has to carry on."""
        return self.word("profile") == "hewn"

    @property
    def in_the_tail_only(self) -> bool:
        """Whether the rot of a beam was measured to stop in its free tail, short of where it bears."""
        measured = {"from_end", "tail"} <= self.known and self.damage.code == "end_rot" and not self.flag("past_notch")
        return measured and self.element.role == "bending" and bool(self.from_end_in < self.tail_in)

    @cached_property
    def on_inner_face(self) -> bool:
        """Whether the damage is on the face that looks into a room."""
        return self.word("side") == "inner" and self.element.family in ("wall", "sill", "header", "frame")

    @cached_property
    def round(self) -> bool:
        """Whether the section is round (a D-log counts as round on its outer face)."""
        said = self.word("profile")
        return said in ("round", "d_log") if said else self.element.round_by_default

    @property
    def milled(self) -> bool:
        """Whether it is a D-log: round to the weather, flat inside, and bought by both its sizes like timber."""
        return self.word("profile") == "d_log"

    @property
    def siding(self) -> bool:
        """Whether this is log siding on a frame, another trade altogether."""
        return self.element.code == "log_siding" or self.word("profile") == "log_siding"

    @property
    def hollow(self) -> bool:
        """Whether it rots in the heart under a sound shell; the depth is then what the hollow measures across."""
        return self.damage.code == "core" or self.word("side") == "core"

    @property
    def rotten(self) -> bool:
        """Whether wood is lost to decay."""
        return self.damage.decayed

    @property
    def structural(self) -> bool:
        """Members in bending or tension, loaded joints, and whatever carries people (R9)."""
        return self.element.role in ("bending", "tension", "people") or self.flag("on_loaded_joint")

    @property
    def painted(self) -> bool:
        """Whether an opaque finish will hide a filler."""
        return self.word("finish") in ("paint", "solid")

    @property
    def at_eye_level(self) -> bool:
        """Whether the spot shows where people look."""
        return self.word("visibility") == "eye_level"

    @cached_property
    def punky_in3(self) -> Number:
        """Volume of soft wood, k l w d with k = 0.7 [in3] (E4; common practice, no source)."""
        return 0.7 * self.length_in * self.width_in * self.depth_in

    def cause(self, *codes: str) -> bool:
        """Whether one of these causes was seen and is not corrected yet."""
        return any(c.code in codes and c.state != "corrected" for c in self.causes)

    @property
    def overlaps_joint(self) -> Truth:
        """Decay within one D of a bolt line, heel or mortise (G15)."""
        return either(self.near_joint, self.flag("past_bolt_line"), self.to_joint_in <= self.section_in)

    def cut_length_in(self, margin_in: float, least_in: float = 0.0) -> Number:
        """Length to cut along the grain [in]: decay plus a sound margin each end, short stubs taken too (E3).

        A stub of less than 24 in to the next notch or opening goes with it. Never longer than the clear log.
        """
        ends: Number = 0.0
        for stop in (self.stop_left_in, self.stop_right_in):
            ends = ends + _end_in(stop, margin_in)
        return minimum(maximum(self.length_in + ends, least_in), maximum(self.clear_length_in, self.length_in))


def _end_in(stop_in: Number, margin_in: float) -> Number:
    """How far past the decay the cut goes at one end [in]."""
    return where(both(stop_in < margin_in + 24.0, stop_in >= 0.0), stop_in, margin_in + 0.0 * stop_in)


def once_a_case(figure: Callable[[Case], Figure]) -> Callable[[Case], Figure]:
    """Work a figure out once a case, however many methods and gates ask for it."""

    @wraps(figure)
    def kept(case: Case) -> Figure:
        return case.once(figure, figure)

    return kept
