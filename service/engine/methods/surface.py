"""Light work on the surface: watch it (M00), grind back and leave (M01), borate (M02, M03), finish (M38, M39)."""

from __future__ import annotations

from service.engine.array import Number, Truth, both, ceil, either, maximum, minimum, negate
from service.engine.case import Case
from service.engine.gates import Gates
from service.engine.method import Method
from service.engine.methods import components as parts
from service.engine.methods.framing import sag_at_rest, under_the_sill
from service.engine.science.section import circle, circle_cut_flat, rectangle, rectangle_cut_face, section_left
from service.engine.urgency import SMALL_LOSS
from service.engine.work import CARPENTER, FINISHER, HELPER, LEAD, Dose, Work

SLEEPS_BELOW_PCT = 18.0
"""Moisture below which rot sleeps and may be watched [%] (M00: under 18 twice, four weeks apart)."""
WATCH_UP_TO = 1.0 / 3.0
"""Share of the member that may be gone in a place that is only watched (J)."""
SAME_ACCESS_FROM_FT = 12.0
"""Height from which reaching a spot again costs the same again [ft] (M00; the ladder limit of G25)."""
SHALLOW_IN = 0.75
"""Deepest pocket that is ground back and left [in] (G03; common practice, no source)."""
SHALLOW_RATIO = 0.08
"""The same as a share of the member (G03)."""
FROM_NOTCH_IN = 6.0
"""Sound wood between a shallow pocket and the bearing of a notch [in] (G03)."""
MODULUS_LOSS = 0.10
"""Loss of section modulus up to which a bending member may be ground back (R9)."""
FAIR_SLOPE = 4.0
"""Edges of a ground pocket run out at 1:4 or flatter (M01)."""
SPOT_FT2 = 10.0
"""Area that one spot of finish covers [ft2] (J)."""
SPOTS_UP_TO_FT2 = 30.0
"""Failed finish above this is a wall, not a spot [ft2] (J: a quarter to 30 % of a wall of 100 to 120 ft2; M39)."""


def is_split(case: Case) -> Truth:
    """Whether a crack is a split: through a bolt line, a loaded joint or both faces (R8)."""
    jointed = case.element.role == "tension" or case.element.code == "deck_ledger"
    at_joint = case.overlaps_joint if jointed else False
    through = case.word("side") == "both"
    return either(case.flag("past_bolt_line"), case.flag("on_loaded_joint"), through, at_joint)


# ---- M00 ---------------------------------------------------------------------------------------------------------


def live_rot(case: Case) -> Truth:
    """Whether rot is at work: said to be live, or not read below 18 % (unknown counts as live)."""
    if not case.rotten:
        return False
    if case.word("activity") == "live" or "moisture" not in case.known:
        return case.live
    return both(case.live, case.moisture_pct >= SLEEPS_BELOW_PCT)


def _monitor_fits(case: Case, gate: Gates) -> None:
    kind = case.damage.kind
    if kind == "check":
        gate.cannot(
            "R8", is_split(case), "The crack runs through a joint or both faces: a split, for a shore and an engineer."
        )
    if case.damage.code == "sag":
        gate.cannot("M00", negate(sag_at_rest(case)), "Nothing shows that this sag has stopped: shore it first.")
    if kind == "insect" and case.damage.code != "beetle_old":
        gate.cannot("M40", case.live, "The insects may be alive; they go on eating while you watch.")
    if kind == "seal":
        gate.cannot("K08", struck=True, why="Every rain gets in at an open joint and rots the log below.")
    if case.damage.code == "finish_fail":
        gate.cannot("K13", struck=True, why="A failed finish lets rain in or holds it: waiting turns paint work into rot.")
    if kind in ("mechanical", "fire") and case.element.role in ("bending", "tension", "people"):
        gate.cannot(
            "G14", maximum(case.section_loss, case.depth_ratio) > SMALL_LOSS,
            f"It is {'burnt' if kind == 'fire' else 'cut'} into where it has to carry: "
            "it is strengthened or held up, not watched.",
        )
    if case.rotten:
        _monitor_rot_fits(case, gate)


def _monitor_rot_fits(case: Case, gate: Gates) -> None:
    gate.cannot(
        "M00", live_rot(case),
        "Nothing shows that this rot has stopped. Only wood that stays below 18 % can wait.",
    )
    gate.cannot(
        "M00", case.element.carries_people,
        "People stand or lean on this member: softness here is mended or closed off, not watched.",
    )
    at_joint = case.overlaps_joint if case.structural else False
    gate.cannot("G15", at_joint, "The rot is at a loaded joint, which cannot wait.")
    gate.cannot(
        "M00", case.depth_ratio > WATCH_UP_TO,
        "{depth:length} of {size:length} is gone; more than a third is too much to leave and look at.",
        depth=case.depth_in, size=case.section_in,
    )
    gate.cannot(
        "M00", case.element.role == "tail",
        "End grain keeps drinking: the rot will run on along the tail until it reaches the notch or the wall.",
    )
    gate.cannot(
        "M00", case.height_ft > SAME_ACCESS_FROM_FT,
        "The spot is {height:length} up: to look again next year costs the same access as to mend it now.",
        height=case.height_ft * 12.0,
    )


def _monitor_scope(case: Case, work: Work) -> None:
    # A stage without steps: there is no downtime, no visit and no mobilisation in watching (R25).
    work.stage("monitor", LEAD)
    work.labour_first("monitor.each", "monitor.next", on_site=False)  # who looks at one looks at all
    work.note("Photograph it with a scale, set two marked pins, write the date and what would change your mind.")
    work.note("Act when the wood reads over 20 %, the mark grows by more than 1/8 in, or an awl goes in.")
    work.note("Look again after 6 and 12 months; read the moisture twice, four weeks apart.")
    if case.damage.code == "sag":
        work.lead("lead.engineer_letter")
        work.buy("engineer_letter", once=True)
    if case.damage.kind == "check":
        work.note("A drying check that sheds water is how logs dry. Leave it open; finish goes in with the next coat.")


# ---- M01 ---------------------------------------------------------------------------------------------------------


def modulus_loss(case: Case) -> Number:
    """Share of the section modulus that a flat cut down to sound wood takes (R9)."""
    cut = minimum(case.depth_in, 0.49 * case.section_in)
    if case.round:
        return 1.0 - section_left(circle(case.section_in), circle_cut_flat(case.section_in, cut)).modulus
    whole = rectangle(case.other_in, case.section_in)
    return 1.0 - section_left(whole, rectangle_cut_face(case.other_in, case.section_in, cut)).modulus


def grinding_holds(case: Case) -> Truth:
    """Whether a member that bends loses so little to a dimple that it is ground back and left (G03, R9)."""
    return both(
        case.rotten, case.depth_in <= SHALLOW_IN, case.depth_ratio <= SHALLOW_RATIO, modulus_loss(case) <= MODULUS_LOSS,
        negate(either(case.overlaps_joint, case.in_notch, case.to_joint_in < FROM_NOTCH_IN)),
        not (case.flag("holds_water") or case.flag("crosses_seal_line")),
    )


def scraped_is_enough(case: Case, gate: Gates) -> None:
    """Char that is scraped back to bright wood leaves a log as good as it was: it is no rot, and nothing goes on (B3)."""
    gate.more_than_it_needs(
        "B3", grinding_holds(case) if case.damage.kind == "fire" else False,
        "It is charred {depth:length} deep and sound below: scraped back, borated and finished it stays.", depth=case.depth_in,
    )


def _clean_leave_fits(case: Case, gate: Gates) -> None:
    d, size = case.depth_in, case.section_in
    under_the_sill(case, gate)
    gate.cannot(
        "G03", d > SHALLOW_IN,
        "{depth:length} deep is a cup, not a dimple: left so it would hold water.", depth=d,
    )
    gate.cannot(
        "G03", case.depth_ratio > SHALLOW_RATIO,
        "{depth:length} out of {size:length} is more than can be taken off and left.", depth=d, size=size,
    )
    gate.cannot(
        "M01", both(case.damage.code == "uv_grey", case.area_ft2 > SPOTS_UP_TO_FT2),
        "{area:area} of weathered wood is a wall, not a spot to grind.", area=case.area_ft2,
    )
    gate.cannot("G03", case.flag("holds_water"), "On a flat top the hollow would hold water instead of shedding it.")
    gate.cannot("G03", case.flag("crosses_seal_line"), "The hollow would cross a seal line and open it to rain.")
    gate.cannot(
        "G03", either(case.in_notch, case.to_joint_in < FROM_NOTCH_IN),
        "It lies within 6 in of the bearing of a notch or joint, where no wood may be lost.",
    )
    if case.structural:
        gate.cannot("R9", case.overlaps_joint, "It lies within one member size of a joint that carries.")
        gate.cannot(
            "R9", modulus_loss(case) > MODULUS_LOSS,
            "This member works in bending: the cut would cost {loss:percent} of its strength.", loss=modulus_loss(case),
        )


def ground_area_ft2(case: Case) -> Number:
    """Face of the pocket with its faired edges [ft2] (M01)."""
    run_out = 2.0 * FAIR_SLOPE * case.depth_in
    return (case.length_in + run_out) * (case.width_in + run_out) / 144.0


def _clean_leave_scope(case: Case, work: Work) -> None:
    area = ground_area_ft2(case)
    work.stage("clean_leave", CARPENTER)
    work.labour("clean_leave.each")
    work.task("Pick and grind to bright, ringing wood", 0.4)
    work.task("Hold point: sound at 3/4 in? If not, a let-in patch or a filling", 0.1, hold=True)
    work.task("Fair the edges at 1:4 or flatter; make the low lip slope out", 0.3)
    work.task("Surface coat of borate", 0.2)
    coat_of_borate(work, area)
    parts.dry_down(case, work, case.moisture_pct, parts.CLOSE_UP_COAT_PCT)
    work.wait("weather", "One dry day before the finish", case.book.likely("waits", "weather.dry_day"))
    work.buy("clean_leave.abrasives")
    _finish_stage(work, 1.0)
    work.cure("stain")
    work.note("Look at it once a year; refinish it with the wall. Added to another job on this wall it is nearly free.")
    if case.hewn:
        work.note("Tool marks are lost where it is ground: work to the marks with a gouge, not with a disc.")
    work.sound_wood_ft3 = maximum(area * 144.0 - case.length_in * case.width_in, 0.0) * case.depth_in / 2.0 / 1728.0


def coat_of_borate(work: Work, area_ft2: Number, *, waits: bool = True) -> None:
    """Two coats of borate solution on bare wood, in the stage that is open.

    Args:
        work: takes it down.
        area_ft2: of bare wood.
        waits: whether the work waits for the warmth that the coat wants.
    """
    work.labour("borate_surface.per_ft2", area_ft2)
    work.buy("borate_liquid", area_ft2, norm="borate.concentrate_per_ft2")
    work.doses.append(Dose(0.0, area_ft2, area_ft2 * 0.5 / 12.0))
    if waits:
        work.cure("borate_liquid")


def _finish_stage(work: Work, spots: Number) -> None:
    work.stage("spot_refinish", FINISHER, phase="finish")
    parts.spot_refinish(work, spots)
    work.task("Feather the finish in to a log end, a check or a corner, in two or three coats from a test board", 1.0)


# ---- M02, M03 ----------------------------------------------------------------------------------------------------


def _only_with_a_repair(_: Case, gate: Gates) -> None:
    """A component of other methods, never a plan of its own (R1)."""
    gate.cannot("R1", struck=True, why="Borate keeps rot from starting and gives no wood back: it goes with a repair.")


def _borate_surface_scope(case: Case, work: Work) -> None:
    area = maximum(case.area_ft2, case.length_in * case.width_in / 144.0)
    work.stage("borate_surface", HELPER)
    work.labour("borate_surface.fixed", once=True)
    coat_of_borate(work, area)
    work.task("Clean, wet and brush or spray to refusal, twice; keep plants covered", 1.0)
    days = case.book.likely("waits", "cure.borate_liquid.next") / 24.0
    work.wait("cure", "Keep the rain off until it has dried; the finish must follow, or it washes out", days)


def _borate_rods_scope(case: Case, work: Work) -> None:
    rods = parts.rods_in_pocket(case)
    work.stage("borate_rods", CARPENTER)
    work.labour("borate_rods.fixed", once=True)
    work.labour("borate_rods.per_rod", rods)
    work.buy("borate_rod", rods)
    work.doses.append(Dose(rods, 0.0, rods * 0.25))
    work.task("Drill from below or the side, 1 in short of the far face; set rods, removable plugs", 1.0)
    work.note("Look at the plugs every 3 to 5 years, in wet places every 2 to 3, and set new rods.")


# ---- M38, M39 ----------------------------------------------------------------------------------------------------


def _no_blasting(case: Case) -> bool:
    """Whether blasting would take off what has to be kept."""
    return case.hewn or case.heritage


def _spot_refinish_fits(case: Case, gate: Gates) -> None:
    wide = False if _no_blasting(case) else case.area_ft2 > SPOTS_UP_TO_FT2
    gate.cannot("M38", wide, "{area:area} of finish is a wall, not a spot; patches would show.", area=case.area_ft2)


def _spot_refinish_scope(case: Case, work: Work) -> None:
    work.stage("spot_refinish", FINISHER)
    parts.spot_refinish(work, maximum(ceil(case.area_ft2 / SPOT_FT2), 1.0))
    work.task("Clean by hand, feather the edges, match on a test board, two or three coats", 1.0)
    days = case.book.likely("waits", "weather.rain_free_finish") / 24.0
    work.wait("weather", "No rain on the fresh finish", days)
    work.cure("stain")
    if _no_blasting(case):
        work.note("Clean by hand with brushes and mild soap: no blasting, no sanding through tool marks.")


def _wall_refinish_fits(case: Case, gate: Gates) -> None:
    gate.cannot(
        "M39", _no_blasting(case),
        "Blasting takes the tool marks and the old surface off for good; on hewn or protected fabric it is not done.",
    )
    gate.more_than_it_needs(
        "M39", both(case.area_ft2 > 0.0, case.area_ft2 <= SPOTS_UP_TO_FT2),
        "Only {area:area} of the finish has failed; a spot can be blended in.", area=case.area_ft2,
    )


def skin_ft2(case: Case) -> Number:
    """Surface that is blasted and coated, from the flat area of the wall (E21)."""
    row = "rail_stain.skin_round" if case.word("profile") in ("round", "") else "rail_stain.skin_d_log"
    return case.area_ft2 * case.book.likely("norms", row)


def _wall_refinish_scope(case: Case, work: Work) -> None:
    book = case.book
    skin = skin_ft2(case)
    coats = book.likely("norms", "stain.coats")
    rough = book.likely("norms", "waste.stain_first_coat_rough")
    waste = 1.0 + book.likely("norms", "waste.stain")
    work.stage("wall_refinish", (*FINISHER, *HELPER))
    work.labour("wall_refinish.fixed", once=True)
    work.labour("wall_refinish.per_ft2", skin)
    work.task("Finish all wood repairs first; mask windows, insulation and plants; catch what comes off", 0.15)
    work.task("Blast, then buff off the fuzz", 0.4)
    work.task("Borate on the bare wood", 0.1)
    parts.dry_down(case, work, case.moisture_pct, parts.CLOSE_UP_COAT_PCT)
    days = book.likely("waits", "cure.borate_liquid.next") / 24.0
    work.wait("cure", "Borate dries before the stain", days)
    work.task("Stain in the shade; caulk and chink follow it, before the last coat", 0.23)
    work.task("Last coat, over caulk and chink that have skinned", 0.12, over_seals=True)
    days = book.likely("waits", "weather.rain_free_finish") / 24.0
    work.wait("weather", "No rain on the fresh finish", days)
    work.buy("blast_media", skin / 100.0)
    work.buy("wall_refinish.masking", skin)
    work.buy("blast_rig_day", maximum(ceil(skin / book.likely("norms", "wall_refinish.ft2_a_day")), 1.0))
    work.buy("borate_liquid", skin, norm="borate.concentrate_per_ft2")
    work.buy("stain", skin * (coats + rough) * waste / book.likely("norms", "stain.coverage"))
    work.doses.append(Dose(0.0, skin, skin * 0.5 / 12.0))
    work.cure("borate_liquid")
    work.cure("stain")
    work.note("Film of unknown age counts as lead paint until tested; no dry sanding or blasting before the result.")
    work.note("On north and east walls the finish lasts about twice as long as on south and west.")


def _finished(case: Case) -> str:
    """What is finished as a whole, where it is no wall."""
    wall = case.element.family in ("wall", "sill", "header", "notch", "siding")
    return "" if wall else "surface blasted and finished"


METHODS = (
    Method("monitor", _monitor_fits, _monitor_scope, leaves_as_is=True),
    Method("clean_leave", _clean_leave_fits, _clean_leave_scope, leaves_as_is=True),
    Method("borate_surface", _only_with_a_repair, _borate_surface_scope, alone=False),
    Method("borate_rods", _only_with_a_repair, _borate_rods_scope, alone=False),
    Method("spot_refinish", _spot_refinish_fits, _spot_refinish_scope),
    Method("wall_refinish", _wall_refinish_fits, _wall_refinish_scope, title_of=_finished),
)
