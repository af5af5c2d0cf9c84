"""The sill log: renewed on needles (M14), or cut out and replaced by masonry up to the next sound log."""

from __future__ import annotations

from service.engine.array import Number, Truth, both, either, minimum, negate, where
from service.engine.case import Case
from service.engine.gates import Gates
from service.engine.method import Method
from service.engine.methods.facing import recess_in
from service.engine.methods.framing import section_area_in2, sound_wood_ft3, waste_of_wood, width_of_wood_in, wood_form
from service.engine.methods.wall_work import (
    borate_ends,
    ends_at_a_stop,
    kept_by_word,
    mostly,
    new_length_in,
    past_most_of_it,
    wall_notes,
    whole_length_in,
)
from service.engine.urgency import seat_soft
from service.engine.work import CREW_OF_THREE, Work

LONGEST_BLOCK_IN, DEEPEST_BLOCK_IN = 30.0, 3.0
"""Length from which, and depth past which, no block is let in (G06; common practice, no source) [in]."""
FACE_ONLY = 1.0 / 3.0
"""Share of a sill that a new face may take off its outer side (B2, M14; common practice, no source)."""


def past_facing(case: Case) -> Truth:
    """Whether a sill is past a new face: cut over a third of it, both faces, wet underside, crushed (M14, R7).

    So is one that is soft under what it carries, where a bearing block is too small for it (B2, G06).
    """
    by_word = case.damage.code in ("crush", "split") or case.flag("bearing_failed") or case.word("side") == "bottom"
    past_a_block = either(case.length_in >= LONGEST_BLOCK_IN, case.depth_in > DEEPEST_BLOCK_IN)
    seat = both(seat_soft(case), past_a_block)
    return either(recess_in(case) / case.section_in > FACE_ONLY, case.both_faces, case.in_notch, by_word, seat)


def sill_length_in(case: Case) -> Number:
    """Length of sill to renew [in]: the cut, or the whole sill where that takes more than 65 % of it (E3, G11)."""
    return where(past_most_of_it(case), whole_length_in(case), new_length_in(case))


def corners(case: Case) -> Number:
    """Corners that the new length runs into: both where the whole sill goes."""
    return where(past_most_of_it(case), 2.0, minimum(ends_at_a_stop(case), 2.0))


def joists_borne(case: Case, length_in: Number) -> Number:
    """Floor joists to carry: as counted, or their share of the sill; none where they have a ledger of their own."""
    if case.flag("joists_on_ledger"):
        return 0.0 * length_in
    if "joists" in case.known:
        return case.joists + 0.0 * length_in
    return case.joists * length_in / whole_length_in(case)


def _sill_fits(case: Case, gate: Gates) -> None:
    gate.cannot(
        "G13", kept_by_word(case),
        "This sill cannot come out: masonry or the engineer holds it where it is.",
    )
    gate.cannot("B2", case.siding, "This is a board on a frame, there is no log in the wall: the board is changed.")
    gate.more_than_it_needs(
        "M14", negate(past_facing(case)),
        "Only the outer {depth:length} of {size:length} is soft; with the ground lowered a new face holds.",
        depth=case.depth_in, size=case.section_in,
    )


def _hours(case: Case, work: Work, method: str, length_in: Number) -> None:
    work.labour(f"{method}.fixed")
    work.labour(f"{method}.per_ft", length_in / 12.0)
    work.labour(f"{method}.per_joist", joists_borne(case, length_in))
    work.labour(f"{method}.per_notch", corners(case))
    work.buy(f"{method}.needles")
    work.buy(f"{method}.masonry", length_in / 12.0)
    work.buy(f"fee.{method}.engineer", once=True)
    work.buy("permit", once=True)
    work.lead("lead.engineer_stamp")
    work.lead("lead.permit")


def _open_up(case: Case, work: Work) -> None:
    work.task("Dig free, cribs and pads on both sides, skirting and floor edge off", 0.15)
    beam = "Temporary beam under the joists; needles" if _carries_joists(case) else "Needles"
    work.task(f"{beam} at 4 to 6 ft through the wall", 0.2, room=1.0, load=1.0)
    work.task("Hold point: the engineer has seen the shoring", 0.02, room=1.0, load=1.0, hold=True)
    work.task("All jacks take the load together; old sill out in lengths of 4 to 8 ft", 0.2, room=1.0, load=1.0)
    work.task(
        f"Hold point: {'joist ends, ' if _carries_joists(case) else ''}second log and ground free of rot and insects? "
        "If not, they go with it",
        0.03, room=1.0, load=1.0, hold=True,
    )


def _carries_joists(case: Case) -> bool:
    return mostly(joists_borne(case, case.length_in) > 0.0)


def _load_passed(case: Case, joists: str) -> str:
    """How the load comes back on, with the joists first where any bear on the sill."""
    return f"{joists}, load passed slowly" if _carries_joists(case) else "Load passed slowly"


def _masonry_cures(case: Case, work: Work) -> None:
    days = case.book.likely("waits", "cure.concrete.load")
    work.wait("cure", "Mortar sets before it carries; the wall stays on its needles", days, room=1.0, load=1.0)
    work.cure("concrete")


def _sill_notes(case: Case, work: Work) -> None:
    if "floor_drop" in case.known:
        work.note("The floor that has dropped is not jacked level in a day: doors, plaster and stonework would break.")
    if "above" in case.soft_neighbours:
        work.note("The log above is soft as well: it is opened up and priced before the sill is ordered.")
    work.note("Ground at least 8 in below the wood when it is done, or the new sill goes the way of the old one.")
    work.note("Look for insects before anything is closed; treatment comes first.")
    wall_notes(case, work)


def _needle_scope(case: Case, work: Work) -> None:
    length_in = sill_length_in(case)
    work.stage("sill_needle", CREW_OF_THREE)
    _hours(case, work, "sill_needle", length_in)
    borate_ends(case, work, length_in)
    _open_up(case, work)
    work.task("Repair the masonry, bed a capillary break on it", 0.1)
    _masonry_cures(case, work)
    work.task("New dry sill, treated or of a durable kind, borated, in place and anchored", 0.15, room=1.0, load=1.0)
    work.task(f"{_load_passed(case, 'Joists borne again')}, needles out, level read", 0.05, room=1.0, load=1.0)
    work.task("Flash and seal, inside made good, ground back below the wood", 0.1)
    work.wood(
        "sill", wood_form(case), thickness_in=case.section_in,
        width_in=width_of_wood_in(case), length_in=length_in,
        net_ft3=section_area_in2(case) * length_in / 1728.0,
        waste=waste_of_wood(case), treated=True,
    )
    work.joint("beds and ends of the new sill, both sides", 4.0 * length_in + 4.0 * case.section_in, 0.5)
    work.sound_wood_ft3 = sound_wood_ft3(case, length_in)
    _sill_notes(case, work)


def _masonry_scope(case: Case, work: Work) -> None:
    length_in = sill_length_in(case)
    work.stage("sill_to_masonry", CREW_OF_THREE)
    _hours(case, work, "sill_to_masonry", length_in)
    _open_up(case, work)
    work.task("Foundation built up to the next sound log, capillary break and anchors", 0.2, room=1.0, load=1.0)
    _masonry_cures(case, work)
    work.task(f"{_load_passed(case, 'Joists borne on the masonry')}, needles out, level read", 0.08, room=1.0, load=1.0)
    work.task("Flash and seal under the log, inside made good, ground back below the wood", 0.12)
    work.sound_wood_ft3 = sound_wood_ft3(case, length_in)
    work.note("The wall stands on a visible course of masonry where the sill was: agree on its look first.")
    _sill_notes(case, work)


METHODS = (
    Method("sill_needle", _sill_fits, _needle_scope),
    Method("sill_to_masonry", _sill_fits, _masonry_scope),
)
