"""What work on stacked log walls has in common: logs that must stay, length to cut, borate in the cut, sign-off."""

from __future__ import annotations

from service.engine.array import Number, Truth, either, maximum, share_of_worlds, where
from service.engine.case import Case, once_a_case
from service.engine.methods import components as parts
from service.engine.methods.framing import letter_where, section_area_in2, stamp
from service.engine.work import Dose, Work

CUT_MARGIN_IN = 12.0
"""Sound wood taken at each end of a new length of log [in] (E3; common practice, no source)."""
LEAST_STUB_IN = 24.0
"""A stub shorter than this to the next corner or opening is taken too [in] (E3; common practice, no source)."""
MOST_OF_LOG = 0.65
"""Share of the log up to which part of it is renewed; past it the whole log is (G11; common practice, no source)."""
LETTER_FROM_IN = 96.0
"""A longer cut under a wall takes an engineer's letter [in] (M12, B10; common practice, no source)."""
COURSES_WITH_STAMP = 3
"""So many neighbouring courses take a stamped design of the shoring (common practice, no source)."""


def must_stay(case: Case) -> Truth:
    """Whether the log cannot come out: two or more point loads, masonry tied in, or the engineer says so (G13)."""
    said = case.flag("masonry_tied") or case.flag("engineer_says_keep") or not case.element.removable
    return either(case.point_loads >= 2.0, said)


def kept_by_word(case: Case) -> bool:
    """Whether masonry or the engineer keeps a sill in its place; point loads on it are needled with the rest."""
    return case.flag("masonry_tied") or case.flag("engineer_says_keep")


@once_a_case
def new_length_in(case: Case) -> Number:
    """Length of log to renew [in]: decay and 12 in each end, a short stub taken too (E3)."""
    return case.cut_length_in(CUT_MARGIN_IN)


def past_most_of_it(case: Case) -> Truth:
    """Whether the cut takes more than 65 % of the log between its corners or openings (G11)."""
    return new_length_in(case) > MOST_OF_LOG * case.clear_length_in


def whole_length_in(case: Case) -> Number:
    """Length of the log between its corners [in], where it is known or guessed; else the length of the cut."""
    return where(case.clear_length_in < 1e5, maximum(case.clear_length_in, case.length_in), new_length_in(case))


def ends_at_a_stop(case: Case) -> Number:
    """How many ends of the cut reach the next corner or opening, because the stub there is too short to stay (E3)."""
    left = where(case.stop_left_in < CUT_MARGIN_IN + LEAST_STUB_IN, 1.0, 0.0)
    return left + where(case.stop_right_in < CUT_MARGIN_IN + LEAST_STUB_IN, 1.0, 0.0)


def mostly(needed: Truth) -> bool:
    """Whether something is so as stated, or in more than half of the worlds."""
    return share_of_worlds(needed) > 0.5


def surface_ft2(case: Case, length_in: Number) -> Number:
    """Two beds and two ends of a new length, where borate goes before it is closed [ft2] (J)."""
    return (2.0 * length_in * case.section_in + 2.0 * section_area_in2(case)) / 144.0


def borate_ends(case: Case, work: Work, length_in: Number, ends: float = 2.0) -> None:
    """A ring of rods behind each cut end, and the beds brushed (E5 for the ring)."""
    parts.borate(
        work, rods=ends * parts.rods_in_ring(case), surface_ft2=surface_ft2(case, length_in),
        wood_ft3=ends * section_area_in2(case) * CUT_MARGIN_IN / 1728.0,
    )


def borate_in_the_hours(work: Work, *, rods: Number, surface: Number, wood_ft3: Number) -> None:
    """Rods and surface borate whose hours stand in the method's own norm (M09 and M36 name them as steps; J)."""
    work.buy("borate_rod", rods)
    work.buy("borate_liquid", surface, norm="borate.concentrate_per_ft2")
    work.doses.append(Dose(rods, surface, wood_ft3))


def engineer_for_cut(case: Case, work: Work, cut_in: Number) -> None:
    """Who signs for a length cut out of a wall: nobody, a letter, or a stamp where three courses go (M12, B10)."""
    if case.adjacent_courses >= COURSES_WITH_STAMP:
        stamp(work)
        return
    always = case.element.sign_off >= 2 or case.adjacent_courses >= 2
    letter_where(work, either(cut_in > LETTER_FROM_IN, case.point_loads >= 1.0, always))


def wall_notes(case: Case, work: Work) -> None:
    """Sentences that go with every piece cut out of a wall."""
    work.note("Shore loads, positions and pads: for the engineer. Take the load only; any lift is the engineer's word.")
    work.note("Wires and pipes in the wall are found and made dead before anything is cut.")
    work.note("Green wood is not an option: it shrinks in the wall, opens the joints and drops its load.")
    if case.adjacent_courses >= 2:
        work.note("One course at a time, from below: the new piece carries before the next one is cut.")
    if case.element.code == "gable_log":
        work.note("Brace the gable against wind before a log leaves it.")
