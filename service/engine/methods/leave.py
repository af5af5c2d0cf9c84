"""Little gone from a member that bends: cleaned, treated and left, once an engineer has written that what is left carries.

So is a wall log that is hollow in its heart: across the grain a sound shell carries the stack (B3).

Between a dimple, which is ground back (M01), and steel (M21) lies wood that only an engineer can judge (G14).
"""

from __future__ import annotations

from service.engine.array import Number, Truth, both, either, maximum, minimum
from service.engine.case import Case
from service.engine.gates import Gates
from service.engine.method import Method
from service.engine.methods import components as parts
from service.engine.methods.framing import letter, letter_where, section_area_in2
from service.engine.methods.surface import FROM_NOTCH_IN, grinding_holds, ground_area_ft2, modulus_loss
from service.engine.urgency import SAG_SHARE
from service.engine.work import CARPENTER, Work

MOST_LOST = 1.0 / 3.0
"""Share of the bending strength lost past which nobody hopes for a letter: two thirds have to be left, as utilities ask of
their poles (RUS Bulletin 1730B-121, from memory)."""
LEAD_SIGNS_UP_TO_IN = 96.0
"""Length of a hollow in a wall log up to which the lead judges it alone (B2: an engineer past 8 ft, or past half) [in]."""
LEAST_SHELL_IN = 2.0
"""Thinnest shell round a hollow that still carries (B3; common practice, no source) [in]."""


def strength_lost(case: Case) -> Number:
    """Share of the section modulus that the decay takes: a flat cut, or a hollow in the heart.

    Of a round hollow (d / D)^4 (Wood Handbook, ch. 9); of a square one in a timber as of a box. Of a post, which is
    pressed and not bent, the share of its section.
    """
    if case.element.role == "column":
        return maximum(case.share_gone, case.section_loss if "section_loss" in case.known else 0.0)
    if not case.hollow:
        return maximum(modulus_loss(case), case.section_loss)
    hollow, size = case.depth_in, case.section_in
    if case.round:
        return (hollow / size) ** 4
    return hollow**4 / (case.other_in * size**3)


def _leave_fits(case: Case, gate: Gates) -> None:
    lost = strength_lost(case)
    gate.more_than_it_needs(
        "G03", False if case.hollow or case.damage.kind == "insect" else grinding_holds(case),
        "So little is gone that it is ground back and left without a letter.",
    )
    gate.cannot(
        "G14", lost > MOST_LOST,
        "{lost:percent} of its strength is gone; past a third it is strengthened or renewed, not left.", lost=lost,
    )
    if case.element.role == "column":
        gate.cannot(
            "M18", not case.hollow or bool({"from_end", "length"} & case.known),
            "Soft wood on a post, and a foot that drinks, is cut out; only a hollow in its heart may be left.",
        )
    gate.cannot(
        "G15", either(case.overlaps_joint, case.in_notch, case.to_joint_in < FROM_NOTCH_IN, case.end_grain),
        "It lies at a joint or a bearing, where no wood may be lost.",
    )
    sags = case.sag_in > SAG_SHARE * 12.0 * case.span_ft if "sag" in case.known else False
    gate.cannot("M25", either(sags, case.flag("bearing_failed")), "It has moved already: it is held up and mended.")
    if case.hollow:
        shell = (minimum(case.section_in, case.other_in) - case.depth_in) / 2.0
        gate.cannot("B3", shell < LEAST_SHELL_IN, "A shell of {shell:length} carries little.", shell=shell)
    else:
        gate.cannot("R9", case.both_faces, "Both faces are soft: nobody sees what is left between them.")
        gate.cannot(
            "G03", both(case.flag("holds_water"), case.depth_in > 0.0),
            "On a flat top the hollow would hold water instead of shedding it.",
        )


def _leave_scope(case: Case, work: Work) -> None:
    hollow = case.hollow
    work.stage("leave_by_letter", CARPENTER)
    work.labour("leave_by_letter.each")
    parts.borate(
        work,
        rods=parts.rods_in_pocket(case),
        surface_ft2=0.0 if hollow else ground_area_ft2(case),
        wood_ft3=section_area_in2(case) * case.length_in / 1728.0,
    )
    parts.spot_refinish(work)
    soft = "Scrape the char off" if case.damage.kind == "fire" else "Pick the soft wood out"
    work.task("Bore it through and draw the shell" if hollow else f"{soft} to bright, ringing wood; draw what is left", 0.45)
    work.task(
        "Hold point: the engineer's letter says that what is left carries? If not, plates or a new member", 0.05, hold=True
    )
    parts.dry_down(case, work, case.moisture_pct, parts.CLOSE_UP_COAT_PCT)
    work.task("Rods round the place" if hollow else "Fair the edges so that water runs off; rods and a coat of borate", 0.3)
    work.task("Two marked pins and the level written down; finish blended in", 0.2)
    work.buy("clean_leave.abrasives")
    work.cure("stain")
    letter(work)
    work.note("It is left only if the engineer writes that what is left carries. If not, it is plates or a new one.")
    work.note("Load stays off it until his letter is there; soft wood counts as nothing in his sums.")
    work.note("Look again after 6 and 12 months: over 20 %, 1/8 in lower or softer under the awl, and he is asked again.")
    taken = 0.0 if hollow else maximum(ground_area_ft2(case) * 144.0 - case.length_in * case.width_in, 0.0)
    work.sound_wood_ft3 = taken * case.depth_in / 2.0 / 1728.0


# ---- a hollow in a wall log --------------------------------------------------------------------------------------


def _shell_fits(case: Case, gate: Gates) -> None:
    shell = (case.section_in - case.depth_in) / 2.0
    gate.cannot("B3", shell < LEAST_SHELL_IN, "A shell of {shell:length} carries little.", shell=shell)
    gate.cannot("B3", case.both_faces, "The inside face is soft too: there is no sound shell all round.")
    gate.cannot("G15", case.in_notch, "The hollow runs into the corner, where the log bears.")
    gate.cannot("B3", case.flag("bearing_failed"), "It has settled already: the shell does not carry.")


def _shell_scope(case: Case, work: Work) -> None:
    work.stage("leave_hollow", CARPENTER)
    work.labour("leave_hollow.each")
    parts.borate(
        work, rods=parts.rods_in_recess(case.length_in), surface_ft2=0.0,
        wood_ft3=section_area_in2(case) * case.length_in / 1728.0,
    )
    parts.spot_refinish(work)
    work.task("Bore it through every foot or two and draw the shell; find where the water gets in", 0.5)
    work.task("Hold point: at least 2 in of sound shell all round? If not, a new piece of log", 0.05, hold=True)
    work.task("Rods into the heart from below, in two staggered rows; plugs that come out again", 0.35)
    work.task("Two marked pins and the level written down; plugs blended in", 0.1)
    lands: Truth = True if set(case.bears) - {"wall"} else case.point_loads > 0.0
    letter_where(work, either(lands, case.length_in > LEAD_SIGNS_UP_TO_IN, case.depth_ratio > 0.5))
    work.note("Nothing is filled in: a filled hollow holds water. What is soft counts as nothing.")
    work.note("It stays only while it stays dry: seal the check or joint above it that lets water in.")
    work.note("Look again after 6 and 12 months: over 20 % or a thinner shell, and it is a new piece of log.")


METHODS = (
    Method("leave_by_letter", _leave_fits, _leave_scope, leaves_as_is=True),
    Method("leave_hollow", _shell_fits, _shell_scope, leaves_as_is=True),
)
