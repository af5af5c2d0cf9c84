"""New faces: a slab or half-log facing on a log that is rotten on one side (M07), and the full-length inlay (M08)."""

from __future__ import annotations

from service.engine.array import Number, Truth, both, either, maximum, minimum, negate, where
from service.engine.case import Case, once_a_case
from service.engine.gates import Gates
from service.engine.method import Method
from service.engine.methods import components as parts
from service.engine.methods.framing import under_the_sill
from service.engine.methods.surface import scraped_is_enough
from service.engine.science.section import segment_area_in2, segment_width_in
from service.engine.urgency import seat_soft
from service.engine.work import LEAD_CARPENTER, Work

MARGIN_IN = 6.0
"""Sound wood taken at each end of a facing [in] (E3)."""
LEAST_RECESS_IN = 1.5
"""A facing thinner than this curls and splits [in] (G07)."""


@once_a_case
def recess_in(case: Case) -> Number:
    """Depth of the recess [in]: to sound wood and half an inch into it, at least 1 1/2 in (G07; J for the half inch).

    Sound wood behind a hollow in the heart begins past the middle of the member.
    """
    sound_in = (case.section_in + case.depth_in) / 2.0 if case.hollow else case.depth_in
    return maximum(sound_in + 0.5, LEAST_RECESS_IN)


@once_a_case
def facing_length_in(case: Case) -> Number:
    """Length of the facing [in]: decay and 6 in each end, never shorter than 24 in (E3, R10)."""
    return case.cut_length_in(MARGIN_IN, least_in=24.0)


def _across_in(case: Case) -> Number:
    """Diameter of the curve that is cut: of a D-log its height, the log seen from outside."""
    return case.other_in if case.milled else case.section_in


@once_a_case
def back_width_in(case: Case) -> Number:
    """Flat back of the slab [in]: the chord at the recess on a round log, else the height of the face (E2)."""
    if case.round:
        across = _across_in(case)
        return segment_width_in(across, minimum(recess_in(case), across / 2.0))
    return case.other_in


@once_a_case
def slab_area_in2(case: Case) -> Number:
    """Section of the slab [in2] (E2)."""
    if case.round:
        across = _across_in(case)
        return segment_area_in2(across, minimum(recess_in(case), across / 2.0))
    return recess_in(case) * case.other_in


def _crushed(case: Case) -> bool:
    """Whether the log has given way under its load: it is no backing for a skin (G07: continuously supported; B3)."""
    return case.flag("bearing_failed") or case.damage.code == "crush"


def _seat_in_the_stretch(case: Case, gate: Gates) -> None:
    """Under a seat nothing is let in: a plate log is faced or inlaid only between what lands on it (B2)."""
    gate.cannot("B2", seat_soft(case), "What lands on this log stands on the soft face: a skin would be under its load.")
    lands: Truth = True if set(case.bears) - {"wall"} else case.point_loads > 0.0
    near: Truth = case.to_joint_in <= case.section_in if "to_joint" in case.known else True
    gate.cannot(
        "B2", both(lands, near) if case.element.code == "plate_log" else False,
        "What lands on this log has its seat in this stretch, or may have: a skin would be under its load.",
    )


def _face_veneer_fits(case: Case, gate: Gates) -> None:
    d, size = case.depth_in, case.section_in
    recess = recess_in(case)
    gate.cannot("R9", case.structural, "This member works in bending or carries people: a facing is a skin, not strength.")
    gate.cannot("G07", _crushed(case), "The log is crushed where it bears: a new face would hang on wood that carries nothing.")
    gate.cannot("G07", case.both_faces, "The inside face is soft too: a new outside face would be glued to rot.")
    gate.cannot(
        "G07", recess / size > 0.5,
        "The cut would go {recess:length} into a {size:length} log, past half: what is left could not carry the wall.",
        recess=recess, size=size,
    )
    gate.cannot(
        "B2", recess / size > 1.0 / 3.0 if case.element.family == "sill" else False,
        "A sill may be faced only while no more than its outer third is gone; this one is renewed.",
    )
    gate.cannot(
        "G07", size - recess < 4.0,
        "Less than 4 in of sound wood would be left behind the new face.",
    )
    gate.cannot(
        "B2", case.element.code == "keystone_log",
        "The house stands on this log: it is faced only as part of the work that an engineer lays out round it.",
    )
    _seat_in_the_stretch(case, gate)
    under_the_sill(case, gate)
    gate.cannot("G10", case.in_notch, "The rot runs into the corner notch, where a facing cannot be fitted.")
    scraped_is_enough(case, gate)
    # R10: from 24 in on, or shorter where depth alone is too much for a let-in patch.
    gate.more_than_it_needs(
        "G07", both(case.length_in < 24.0, negate(either(d > 3.0, d / size > 0.33))),
        "{length:length} of rot is too short for a new face; a let-in patch or filler does it with less good wood lost.",
        length=case.length_in,
    )


def _face_veneer_scope(case: Case, work: Work) -> None:
    cut_in = facing_length_in(case)
    cut_ft = cut_in / 12.0
    work.stage("face_veneer", LEAD_CARPENTER)
    work.labour("face_veneer.fixed")
    work.labour("face_veneer.per_ft", cut_ft)
    parts.borate(
        work,
        rods=parts.rods_in_recess(cut_in),
        surface_ft2=cut_in * back_width_in(case) / 144.0,
        wood_ft3=cut_in * back_width_in(case) * 2.0 / 1728.0,
    )
    parts.spot_refinish(work)
    work.task("Mark the cut past the rot, away from windows, corners and joints of the neighbouring logs", 0.05)
    edges = "top and bottom cut square" if case.on_inner_face else "top cut sloping out, bottom cut with a drip"
    work.task(f"Saw a flat plumb back; {edges}", 0.25)
    work.task("Hold point: sound all over, at least half the log and 4 in left behind? If not, Plan B", 0.05, hold=True)
    work.task("Rods in two staggered rows and a surface coat of borate", 0.1)
    parts.dry_down(case, work, parts.behind_the_cut_pct(case))
    work.task("Mill the slab to the same curve, kerf its back, scribe the end joints", 0.25)
    work.task("Bed it without voids, screw at 16 to 24 in, plug the holes", 0.2)
    work.wait("cure", "Glue and sealant keep dry for a day", case.book.likely("waits", "weather.rain_free_sealant") / 24.0)
    work.task("Seal top, ends and bottom over backer rod; texture and blend the finish", 0.1)
    work.buy("face_veneer.fixings", cut_ft)
    work.buy("face_veneer.sealant", cut_ft)
    work.wood(
        "facing slab", "slab",
        thickness_in=recess_in(case), width_in=back_width_in(case), length_in=cut_in,
        net_ft3=slab_area_in2(case) * cut_in / 1728.0, waste="waste.slab",
    )
    work.joint("top, bottom and ends of the facing", 2.0 * (cut_in + recess_in(case)), 0.5)
    parts.glue(case, work)
    work.sound_wood_ft3 = maximum(
        slab_area_in2(case) * cut_in - case.punky_in3, 0.0
    ) / 1728.0
    if case.adjacent_courses >= 2:
        work.lead("lead.engineer_letter")
        work.buy("engineer_letter", once=True)


def _inlay_fits(case: Case, gate: Gates) -> None:
    d, size = case.depth_in, case.section_in
    gate.cannot("G08", d > 2.0, "The rot is {depth:length} deep; an inlay lies flat only down to 2 in.", depth=d)
    gate.cannot("G08", d / size > 0.20, "The rot goes past a fifth of the log: an inlay would be too thick to stay flat.")
    gate.cannot(
        "G08", either(case.width_in > 6.0, case.width_in > size / 2.0),
        "The band is {width:length} wide; on a round log so wide an inlay shows as a flat.", width=case.width_in,
    )
    gate.cannot("G08", _crushed(case), "The log is crushed where it bears: an inlay would hang on wood that carries nothing.")
    gate.cannot("G08", case.both_faces, "Both faces are soft.")
    gate.cannot("G08", case.hollow, "The rot is in the heart, under a sound shell: an inlay would not reach it.")
    _seat_in_the_stretch(case, gate)
    under_the_sill(case, gate)
    gate.cannot("R9", case.structural, "This member works in bending or carries people: an inlay is a skin, not strength.")
    scraped_is_enough(case, gate)
    gate.more_than_it_needs(
        "G08", both(case.length_in < 72.0, case.length_in < case.clear_length_in / 2.0),
        "The rot is local ({length:length}); a full-length inlay would cut away sound wood.", length=case.length_in,
    )


def _inlay_scope(case: Case, work: Work) -> None:
    run_in = maximum(case.clear_length_in, case.length_in)
    run_ft = run_in / 12.0
    thick = where(case.depth_in <= 1.5, 1.5, 2.0)
    width = maximum(case.width_in, 2.0)
    work.stage("inlay_full_qs", LEAD_CARPENTER)
    work.labour("inlay_full_qs.fixed")
    work.labour("inlay_full_qs.per_ft", run_ft)
    parts.borate(
        work, rods=parts.rods_in_recess(run_in), surface_ft2=run_ft * width / 12.0, wood_ft3=run_ft * width / 72.0
    )
    parts.spot_refinish(work)
    work.task("Fix a straight rail; plough an even recess from corner to corner, top edge sloping out", 0.4)
    work.task("Hold point: sound all along at 2 in? If not, a facing", 0.05, hold=True)
    work.task("Rods and a surface coat of borate", 0.1)
    parts.dry_down(case, work, parts.behind_the_cut_pct(case))
    work.task("Let in the quarter-sawn inlay, glue the top edge and the middle, screw and plug at 24 in", 0.35)
    work.wait("cure", "Glue sets", case.book.likely("waits", "cure.epoxy.next") / 24.0)
    work.task("Round it over, seal the top edge, blend the finish", 0.1)
    work.buy("inlay_full_qs.fixings", run_ft)
    work.wood(
        "inlay", "quarter_sawn", thickness_in=thick, width_in=width, length_in=run_in,
        net_ft3=thick * width * run_in / 1728.0, waste="waste.quarter_sawn", grain="quarter_sawn",
    )
    parts.glue(case, work)
    work.sound_wood_ft3 = maximum(thick * width * run_in - case.punky_in3, 0.0) / 1728.0


METHODS = (
    Method("face_veneer", _face_veneer_fits, _face_veneer_scope),
    Method("inlay_full_qs", _inlay_fits, _inlay_scope),
)
