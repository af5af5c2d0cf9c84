"""New wood in a log wall: part of a log (M12), a whole log (M13), and a log that must stay and is bypassed (M15)."""

from __future__ import annotations

from service.engine.array import Number, Truth, both, either, minimum, negate, where
from service.engine.case import Case
from service.engine.gates import Gates
from service.engine.method import Method
from service.engine.methods import components as parts
from service.engine.methods.facing import back_width_in, facing_length_in, recess_in, slab_area_in2
from service.engine.methods.framing import section_area_in2, sound_wood_ft3, waste_of_wood, width_of_wood_in, wood_form
from service.engine.methods.surface import scraped_is_enough
from service.engine.methods.wall_work import (
    MOST_OF_LOG,
    borate_ends,
    engineer_for_cut,
    kept_by_word,
    mostly,
    must_stay,
    new_length_in,
    past_most_of_it,
    wall_notes,
    whole_length_in,
)
from service.engine.work import CREW_OF_THREE, LEAD_CARPENTER, Work

SHORT_IN = 24.0
"""Decay shorter than this is no reason to renew a log, unless it is deep or through (R6) [in]."""
INTO_CORNERS_IN = 6.0
"""Length of a whole log past the clear wall at each end, into its notch [in] (19 ft of log for 18 ft of wall; J)."""
CRANE_LENGTH_IN = 240.0
"""A longer log comes in by crane [in] (M13; common practice, no source)."""
CRANE_COURSE = 5.0
"""Above this course a log comes in by crane (M13; common practice, no source)."""
JOINT_GAP_IN = 0.5
"""Width of the sealed joints round a new piece [in] (J)."""
CRUSHED = ("crush", "split")
"""Damage after which a log has to be relieved of its load, however short it is."""


def _not_a_wall_log(case: Case, gate: Gates) -> None:
    """Gates that a piece and a whole log share: it can come out, it is a log, and it is not the sill (G13, R7)."""
    gate.cannot(
        "G13", must_stay(case),
        "This log cannot come out: too much lands on it, or masonry or the engineer holds it where it is.",
    )
    gate.cannot(
        "R7", case.element.family == "sill",
        "The sill carries the floor on the wet side: it is renewed on needles or in masonry, never pieced in.",
    )
    gate.cannot("B2", case.siding, "This is a board on a frame, there is no log in the wall: the board is changed.")


def _little(case: Case) -> Truth:
    """Whether the decay is too short and too shallow to take the log out for (R6)."""
    serious = case.damage.code in CRUSHED or case.flag("bearing_failed")
    return both(
        case.length_in < SHORT_IN, case.depth_ratio <= 0.5, negate(case.both_faces), negate(case.in_notch), not serious
    )


def _too_much(case: Case, gate: Gates) -> None:
    scraped_is_enough(case, gate)
    gate.more_than_it_needs(
        "R6", _little(case),
        "{length:length} of rot, {depth:length} deep in {size:length}: a lighter repair holds, the log stays.",
        length=case.length_in, depth=case.depth_in, size=case.section_in,
    )


def _bends(case: Case) -> bool:
    """Whether the log spans an opening, where a joint in it would hang in the air."""
    return case.structural or case.flag("over_opening")


def part_can_be_placed(case: Case) -> Truth:
    """Whether a piece with a joint at each end can be let into this log at all (G11)."""
    fixed = _bends(case) or case.flag("both_notches_gone")
    return negate(either(fixed, past_most_of_it(case), case.in_notch, must_stay(case)))


# ---- M12 ---------------------------------------------------------------------------------------------------------


def _partial_fits(case: Case, gate: Gates) -> None:
    _not_a_wall_log(case, gate)
    gate.cannot("M12", _bends(case), "The log spans an opening: a joint in it could not carry. It is renewed whole.")
    gate.cannot(
        "G11", both(past_most_of_it(case), case.clear_length_in < 1e5),
        "The cut would be {cut:length} of a {clear:length} log; past {most:percent} the whole log is renewed.",
        cut=new_length_in(case), clear=case.clear_length_in, most=MOST_OF_LOG,
    )
    gate.cannot(
        "G11", either(case.in_notch, case.flag("both_notches_gone")),
        "The rot runs into the corner: an end joint needs 12 in of sound log this side of it.",
    )
    _too_much(case, gate)


def _partial_scope(case: Case, work: Work) -> None:
    cut_in = new_length_in(case)
    one_set_up = case.adjacent_courses >= 2
    work.stage("log_partial", CREW_OF_THREE)
    work.labour("log_partial.fixed", once=one_set_up)
    work.labour("log_partial.per_ft", cut_in / 12.0)
    work.labour("log_partial.per_end", 2.0)
    work.labour("log_partial.per_opening", case.openings)
    work.labour("log_partial.reinstatement", once=one_set_up)
    borate_ends(case, work, cut_in)
    parts.spot_refinish(work)
    _partial_steps(case, work)
    work.buy("log_partial.shoring", once=one_set_up)
    work.buy("log_partial.fixings", cut_in / 12.0)
    _log(case, work, "piece of log", cut_in, cut_in)
    engineer_for_cut(case, work, cut_in)
    wall_notes(case, work)


def _partial_steps(case: Case, work: Work) -> None:
    work.task("Clear the room; trim, jambs, outlets and wires off inside and out", 0.12, room=1.0)
    work.task("Needles or strong-backs under the courses above; take the load only", 0.15, room=1.0)
    work.task("Find and cut the drift pins, saw plumb in sound wood, take the log out in blocks", 0.2, room=1.0)
    work.task(
        "Hold point: both ends sound? Joints 24 in and more from those of the courses above and below, 12 in from "
        "corners and openings, none over an opening? If not, cut on, or take the whole log", 0.03, room=1.0, hold=True,
    )
    work.task("Clean the beds; borate on them and rods in the cut ends", 0.08, room=1.0)
    work.task("New dry piece in, its top shaped to the course above; wedge, fasten, let it carry", 0.22, room=1.0)
    work.task("Backer and sealant on both sides, needles out, level read", 0.08, room=1.0)
    _rain_free(case, work)
    work.task("Jambs, trim and wires back, inside made good", 0.1, room=1.0)
    work.task("Blend the finish", 0.02)


def _rain_free(case: Case, work: Work) -> None:
    days = case.book.likely("waits", "weather.rain_free_sealant") / 24.0
    work.wait("weather", "No rain on the fresh joints for a day", days)


def _log(case: Case, work: Work, piece: str, length_in: Number, cut_in: Number) -> None:
    """The new length of log and the joints round it."""
    work.wood(
        piece, wood_form(case), thickness_in=case.section_in, width_in=width_of_wood_in(case),
        length_in=length_in, net_ft3=section_area_in2(case) * length_in / 1728.0,
        waste=waste_of_wood(case),
    )
    work.joint("beds and ends of the new wood, both sides", 4.0 * cut_in + 4.0 * case.section_in, JOINT_GAP_IN)
    work.sound_wood_ft3 = sound_wood_ft3(case, cut_in)


# ---- M13 ---------------------------------------------------------------------------------------------------------


def _full_fits(case: Case, gate: Gates) -> None:
    _not_a_wall_log(case, gate)
    _too_much(case, gate)
    gate.more_than_it_needs(
        "G12", part_can_be_placed(case),
        "A piece of {cut:length} can be let in with sound joints; the rest of the log is good and stays.",
        cut=new_length_in(case),
    )


def _crane(case: Case) -> Truth:
    return either(whole_length_in(case) > CRANE_LENGTH_IN, case.course > CRANE_COURSE)


def _full_scope(case: Case, work: Work) -> None:
    clear_in = whole_length_in(case)
    work.stage("log_full", CREW_OF_THREE)
    work.labour("log_full.fixed")
    work.labour("log_full.per_ft", clear_in / 12.0)
    work.labour("log_full.per_notch", 2.0)
    work.labour("log_full.per_opening", case.openings)
    work.labour("log_full.reinstatement")
    borate_ends(case, work, clear_in, 0.0)
    parts.spot_refinish(work)
    _full_steps(case, work)
    work.buy("log_full.shoring")
    work.buy("log_full.fixings", clear_in / 12.0)
    work.buy("fee.log_full.engineer", once=True)
    work.lead("lead.engineer_letter")
    _lift_in(case, work)
    _log(case, work, "log", clear_in + 2.0 * INTO_CORNERS_IN, clear_in)
    wall_notes(case, work)
    work.note("The core of the new log is read with long pins: a dry shell alone is not a dry log.")


def _full_steps(case: Case, work: Work) -> None:
    work.task("Clear the rooms along the wall; trim, jambs, outlets and wires off inside and out", 0.12, room=1.0)
    work.task("Needles, jacks and cribs along the whole wall, all together; take the load only", 0.18, room=1.0)
    work.task("Find and cut the drift pins, take the log out in blocks with both corners", 0.2, room=1.0)
    work.task(
        "Hold point: are the courses above and below sound all along, and the crossing logs in both corners?",
        0.03, room=1.0, hold=True,
    )
    work.task("Clean the beds and borate them", 0.05, room=1.0)
    work.task("New dry log in: both notches scribed, wedged, fastened; then let it carry", 0.24, room=1.0)
    work.task("Backer and sealant on both sides, needles out, level read", 0.08, room=1.0)
    _rain_free(case, work)
    work.task("Jambs, trim and wires back, inside made good", 0.08, room=1.0)
    work.task("Blend the finish", 0.02)


def _lift_in(case: Case, work: Work) -> None:
    """A crane for a long log or one high up, in the worlds where it is so; its lead where it is so as stated."""
    needed = _crane(case)
    work.buy("crane_half_day", where(needed, 1.0, 0.0), once=True)
    if mostly(needed):
        work.lead("lead.crane")


# ---- M15 ---------------------------------------------------------------------------------------------------------


def _bypass_fits(case: Case, gate: Gates) -> None:
    kept = kept_by_word(case) if case.element.family == "sill" else must_stay(case)
    gate.cannot("B2", case.siding, "This is a board on a frame, there is no log in the wall: the board is changed.")
    gate.more_than_it_needs(
        "G13", negate(kept),
        "Nothing keeps this log in its place: renewing it costs less than carrying the load round it.",
    )


def bypass_faces(case: Case) -> Number:
    """New faces one behind the other or on both sides: two where both faces are soft or the cut goes past half."""
    return where(either(case.both_faces, recess_in(case) / case.section_in > 0.5), 2.0, 1.0)


def _bypass_scope(case: Case, work: Work) -> None:
    faces = bypass_faces(case)
    face_in = facing_length_in(case)
    work.stage("inplace_bypass", LEAD_CARPENTER)
    work.labour("inplace_bypass.fixed")
    work.labour("face_veneer.fixed")
    work.labour("face_veneer.per_ft", face_in / 12.0 * faces)
    parts.borate(
        work, rods=parts.rods_in_recess(face_in) * faces,
        surface_ft2=face_in * back_width_in(case) * faces / 144.0, wood_ft3=face_in * section_area_in2(case) / 1728.0,
    )
    parts.spot_refinish(work)
    _bypass_steps(case, work)
    _bypass_materials(case, work, face_in, faces)
    if case.damage.code in CRUSHED or case.flag("bearing_failed"):
        work.labour("inplace_bypass.frame")
        work.buy("inplace_bypass.frame")
        work.note("The rest of the log is crushed or split: the new frame beside it carries, the log stays as a skin.")
    work.buy("fee.inplace_bypass.engineer", once=True)
    work.lead("lead.engineer_stamp")
    work.note("Shore loads, positions and pads: for the engineer. No shore under a point load without that word.")


def _bypass_steps(case: Case, work: Work) -> None:
    work.task("Clear the room beside it; shore the point loads off the log", 0.2, room=1.0)
    work.task("Hold point: engineer has seen the shores and the log opened up", 0.03, room=1.0, hold=True)
    work.task("Posts or plates that carry the loads past the log, bolted up", 0.22, room=1.0)
    work.task("Take the rot out in short alternate bays, no more than 24 in open at once; rods and borate", 0.2)
    parts.dry_down(case, work, parts.behind_the_cut_pct(case))
    work.task("Bond and screw the dry face pieces in, bay after bay", 0.25)
    cure = float(case.book.line("waits", "cure.epoxy.load").likely)
    work.wait("cure", "The bond cures before the log takes load again; shores stay", cure)
    work.task("Pass the load slowly, shores out, seal, blend the finish, level read", 0.1)
    parts.glue(case, work)


def _bypass_materials(case: Case, work: Work, face_in: Number, faces: Number) -> None:
    work.buy("inplace_bypass.shoring", once=True)
    work.buy("inplace_bypass.steel")
    work.buy("face_veneer.fixings", face_in / 12.0 * faces)
    work.buy("face_veneer.sealant", face_in / 12.0)
    work.wood(
        "face pieces", "slab", thickness_in=minimum(recess_in(case), case.section_in / 2.0),
        width_in=back_width_in(case), length_in=face_in, net_ft3=slab_area_in2(case) * face_in / 1728.0,
        waste="waste.slab", each=faces,
    )
    work.joint("top, bottom and ends of the face pieces", 2.0 * (face_in + case.section_in), JOINT_GAP_IN)
    work.sound_wood_ft3 = slab_area_in2(case) * (face_in - case.length_in) / 1728.0


METHODS = (
    Method("log_partial", _partial_fits, _partial_scope),
    Method("log_full", _full_fits, _full_scope),
    Method("inplace_bypass", _bypass_fits, _bypass_scope),
)
