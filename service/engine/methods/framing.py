"""What the methods on posts, beams, trusses, decks and stairs have in common: sizes, roof opening, sign-off."""

from __future__ import annotations

import math

from service.engine.array import Number, Truth, either, maximum, share_of_worlds, where
from service.engine.case import Case, once_a_case
from service.engine.gates import Gates
from service.engine.urgency import SAG_SHARE
from service.engine.work import Work

BEARING_IN = 12.0
"""Bearing at each end beyond the clear span of a chord, purlin or girder [in] (22 ft span, 24 ft chord)."""
OUTSIDE = ("flyway_log", "post_porch")
"""Heavy members of a porch or balcony."""
REFERENCE_IN = 12.0
"""Diameter that the book's price of graded chord timber holds for [in]; other sizes by section (J)."""


def width_of_wood_in(case: Case) -> Number:
    """The other size of a new length: the diameter of a log once more, the second side of what is squared or milled [in]."""
    return case.section_in if wood_form(case) == "log" else case.other_in


def waste_of_wood(case: Case) -> str:
    """Norm of the waste of a new length."""
    return "waste.log" if wood_form(case) == "log" else "waste.timber"


@once_a_case
def section_area_in2(case: Case) -> Number:
    """Area of the whole section [in2]; of a D-log that of the timber it is milled from."""
    if case.round and not case.milled:
        return math.pi / 4.0 * case.section_in * case.section_in
    return case.section_in * case.other_in


def member_length_in(case: Case) -> Number:
    """Length of the whole member [in]: as stated, else the span with a bearing at each end (J)."""
    if "clear_length" in case.known:
        whole = case.clear_length_in
    else:
        guess = where(case.clear_length_in < 1e5, case.clear_length_in, case.length_in + 4.0 * BEARING_IN)
        whole = where(case.span_ft > 0.0, 12.0 * case.span_ft + 2.0 * BEARING_IN, guess)
    return maximum(whole, case.length_in)


def under_the_sill(case: Case, gate: Gates) -> None:
    """Nothing is filled, let in or faced from below where a sill lies on its masonry (M14: wet underside)."""
    gate.cannot(
        "M14", case.element.family == "sill" and case.word("side") == "bottom",
        "The soft side of the sill lies on the masonry: nothing can be let in there, it is lifted off and renewed.",
    )


def decay_up_in(case: Case) -> Number:
    """Decay along the grain from the foot or the end [in]; a stated length where only that was said."""
    if "from_end" not in case.known and "length" in case.known:
        return case.length_in
    return case.from_end_in


def outdoors(case: Case) -> bool:
    """Whether the member stands outside: then no room is out of use while it is worked on, but what it carries is."""
    return case.element.code in OUTSIDE or case.element.family in ("deck", "stair", "guard")


def at_an_end(case: Case) -> bool:
    """Whether the decay was seen at the end of the member: its bearing or its tail."""
    return case.end_grain or case.damage.code == "end_rot" or "from_end" in case.known


def reaches_bearing(case: Case) -> Truth:
    """Whether rot at an end runs back to where the member bears (M23)."""
    return either(case.flag("past_notch"), case.flag("bearing_failed"), case.in_notch, decay_up_in(case) > case.tail_in)


def sag_at_rest(case: Case) -> Truth:
    """Whether a sag without rot is an old one that has stopped, or too slight to be called one (M00, B3)."""
    if case.damage.code != "sag" or case.flag("bearing_failed"):
        return False
    if not case.live:
        return True
    return case.sag_in <= SAG_SHARE * 12.0 * case.span_ft if "sag" in case.known else False


def sound_wood_ft3(case: Case, cut_in: Number) -> Number:
    """Sound wood in a length that is cut out [ft3]: all of it less the share that is rotten."""
    rotten = case.length_in * case.section_loss if case.rotten else 0.0 * case.length_in
    return maximum(cut_in - rotten, 0.0) * section_area_in2(case) / 1728.0


def chord_feet(case: Case, length_in: Number) -> Number:
    """Length of graded timber in feet of the size that the book prices, by section (J)."""
    return length_in / 12.0 * section_area_in2(case) / (math.pi / 4.0 * REFERENCE_IN**2)


def wood_form(case: Case) -> str:
    """Form in which a member of this section is bought."""
    return "log" if case.round and not case.milled else "timber"


def letter_where(work: Work, needed: Truth) -> None:
    """An engineer's letter in the worlds where it is needed; the wait for it where that is most of them."""
    work.buy("engineer_letter", where(needed, 1.0, 0.0), once=True)
    if share_of_worlds(needed) > 0.5:
        work.lead("lead.engineer_letter")


def letter(work: Work) -> None:
    """An engineer's letter, one for all pieces."""
    work.buy("engineer_letter", once=True)
    work.lead("lead.engineer_letter")


def stamp(work: Work, fee: str = "engineer_stamp") -> None:
    """A stamped design, one for all pieces, that must be there before anything is cut."""
    work.buy(fee, once=True)
    work.lead("lead.engineer_stamp")


def open_roof(case: Case, work: Work, area_ft2: Number) -> None:
    """Strip, keep dry and re-lay a roof opening: its own part of the price (R4), shared where openings meet.

    A roof whose cover nobody named is priced as metal, as roof tear-backs for chords are (J).
    """
    work.part = "roof_opening"
    work.buy(f"roof_relay_{case.word('roof_cover') or 'metal'}", area_ft2)
    work.buy("tarp", area_ft2)
    work.part = "package"
    work.lead("lead.roofer")
