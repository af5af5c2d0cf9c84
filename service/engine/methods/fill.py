"""Holes made good: epoxy (M04), polyester (M05), a let-in patch of wood (M06)."""

from __future__ import annotations

from service.engine.array import Number, Truth, both, either, maximum, minimum, negate, where
from service.engine.case import Case
from service.engine.gates import Gates
from service.engine.method import Method
from service.engine.methods import components as parts
from service.engine.methods.framing import under_the_sill
from service.engine.methods.wall_work import mostly
from service.engine.science.cure import COLDEST_DEGF, WARMEST_DEGF, epoxy_cure_hours
from service.engine.urgency import seat_soft
from service.engine.work import CARPENTER, FINISHER, LEAD, Work

ECONOMIC_IN3 = 150.0
"""Largest filling of epoxy that pays [in3] (G04; common practice, no source)."""
HARD_STOP_IN3 = 350.0
"""Largest filling of epoxy at all [in3] (G04)."""
HERITAGE_IN3 = 20.0
"""Largest filling that a heritage officer is asked to wink at on old logs [in3] (J)."""
ONE_END_IN = 12.0
"""Longest softness at one end of one part of a window or door frame [in] (R11; J)."""
FROM_BEARING_IN = 6.0
"""Sound wood between a filling or patch and the bearing of a notch [in] (G03, taken for fillings too; J)."""
COLD_FILL_DEGF = 40.0
"""Coldest wood in which cold-hardener epoxy may fill [degF] (G04; common practice, no source)."""
PATCH_MARGIN_IN = 1.0
"""Sound wood that a let-in patch takes on each side [in] (rot of 10 x 6: a cut of 12 x 8; no source)."""
PATCH_BED_IN = 0.5
"""Depth of a let-in patch past the rot [in] (2 1/2 in of rot: a cut 3 in deep; common practice, no source)."""
BORED_UP_TO_IN = 4.0
"""Hole that is bored out and plugged instead of cut square, across [in] (J: the largest common bit or saw)."""
NO_FILLER = {
    "tail": "On end grain a filling or patch comes loose: the end keeps drinking behind it.",
    "post": "A post foot carries through its whole section; it gets a new foot, not a filling.",
    "notch": "Inside a corner the wood bears; a filling or patch there carries nothing.",
    "siding": "Log siding is a board on a frame: change the board and look at the sheathing behind it.",
    "roof_deck": "Roof boards carry people and snow; a soft one comes out.",
    "seal": "This is a joint, not wood.",
}
"""Families of members on which nothing is filled or patched, and why (B2, R9)."""


def _at_end_grain(case: Case) -> bool:
    """Whether the decay sits in end grain: said, or not said otherwise of a tail."""
    if case.element.role == "tail" and not (case.word("side") and "from_end" not in case.known):
        return True
    return case.end_grain or case.damage.code in ("end_rot", "foot_rot")


def _nothing_carried(case: Case, gate: Gates, what: str, code: str) -> None:
    """Gates that every filling and patch share: it carries nothing (R9, R11, G15)."""
    family = case.element.family
    if family in NO_FILLER and (family != "tail" or _at_end_grain(case)):
        gate.cannot("R9", struck=True, why=NO_FILLER[family])
    elif case.structural:
        gate.cannot("R9", struck=True, why=f"This member bends, pulls or carries people: {what} is no strength.")
    elif _at_end_grain(case) and family != "frame":
        gate.cannot("R9", struck=True, why=NO_FILLER["tail"])
    bearing = case.flag("bearing_failed") or case.damage.code in ("crush", "joint_decay")
    gate.cannot(code, bearing, f"The wood is crushed where it bears: shore it; {what} would not carry.")
    gate.cannot(
        "G15", either(case.in_notch, case.to_joint_in < FROM_BEARING_IN),
        f"The rot lies within 6 in of a notch or joint that bears, where {what} would have to carry.",
    )
    gate.cannot(code, case.hollow, f"The rot is in the heart, under a sound shell: {what} would not reach it.")
    gate.cannot(code, case.both_faces, f"Both faces are soft: there is nothing sound to hold {what}.")
    under_the_sill(case, gate)
    if case.element.code in ("buck_window", "buck_door", "threshold"):
        gate.cannot(
            "R11", case.length_in > ONE_END_IN,
            "{length:length} of the frame is soft, more than one end of one part: renew it.", length=case.length_in,
        )


def _filler_fits(case: Case, gate: Gates, code: str) -> None:
    _nothing_carried(case, gate, "a filling", code)
    gate.cannot("G04", seat_soft(case), "What lands on this log stands on the soft face: a filling does not bear.")
    in_check = case.check_width_in > 0.0 if "check_width" in case.known else False
    gate.cannot("R8", in_check, "A check runs through it and moves: a hard filling would split the log wider.")
    gate.cannot("R8", case.flag("moving"), "The wall still settles; a hard filling would break out.")
    if case.heritage and case.element.family != "frame":
        gate.cannot(
            "M04", case.punky_in3 > HERITAGE_IN3,
            "A large filling cannot be taken out again; on protected fabric it needs a consent that is rarely given.",
        )


# ---- M04 ---------------------------------------------------------------------------------------------------------


def _epoxy_fits(case: Case, gate: Gates) -> None:
    volume = case.punky_in3
    _filler_fits(case, gate, "G04")
    gate.cannot(
        "G04", volume > HARD_STOP_IN3,
        "The hole holds {volume:volume}, past the hard stop of {stop:volume}: so much resin overheats and comes loose.",
        volume=volume, stop=HARD_STOP_IN3,
    )
    gate.more_than_it_needs(
        "G04", both(volume > ECONOMIC_IN3, volume <= HARD_STOP_IN3),
        "The hole holds {volume:volume}; past {stop:volume} wood is cheaper than resin.", volume=volume, stop=ECONOMIC_IN3,
    )
    gate.cannot("G04", case.depth_in > 3.0, "{depth:length} deep; a filling goes 3 in at most.", depth=case.depth_in)
    gate.cannot(
        "G04", case.depth_ratio > 0.25,
        "{depth:length} of {size:length} is gone, past a quarter: it wants wood, not resin.",
        depth=case.depth_in, size=case.section_in,
    )
    gate.cannot(
        "G04", case.length_in > 18.0, "{length:length} is too long to fill; 18 in is the limit.", length=case.length_in
    )


def _cold_hardener(case: Case) -> Number:
    """1 where the wood is too cold for standard epoxy and warm enough for the cold hardener, else 0 (B7)."""
    standard = case.book.likely("waits", "cure.epoxy.min_temp")
    return where(both(case.cold_degf < standard, case.cold_degf >= COLD_FILL_DEGF), 1.0, 0.0)


def _set_days(case: Case) -> Number:
    """Days until a filling can be carved: by wood temperature (E18), or by the cold hardener; in a tent its warmth."""

    def row(code: str) -> float:
        return case.book.likely("waits", code)

    warm = where(case.cold_degf < COLD_FILL_DEGF, row("cure.tent_temp"), case.wood_degf)
    warm = minimum(maximum(warm, row("cure.epoxy.min_temp")), row("cure.epoxy.max_temp"))
    # A region's product may be worked colder or warmer than the rule for its time holds.
    standard = epoxy_cure_hours(row("cure.epoxy.next"), minimum(maximum(warm, COLDEST_DEGF), WARMEST_DEGF))
    hours = where(_cold_hardener(case) > 0.0, row("cure.epoxy_cold.next"), standard)
    return hours / 24.0


def _epoxy_scope(case: Case, work: Work) -> None:
    volume = case.punky_in3
    end_grain = 2.0 if _at_end_grain(case) else 1.0
    paste = volume / 231.0 * (1.0 + case.book.likely("norms", "waste.epoxy_paste"))
    spare = 1.0 + case.book.likely("norms", "waste.consolidant")
    face = case.length_in * case.width_in / 144.0
    work.stage("epoxy_fill", CARPENTER)
    work.labour("epoxy_fill.fixed")
    parts.borate(work, rods=parts.rods_in_pocket(case), surface_ft2=face, wood_ft3=2.0 * volume / 1728.0)
    work.task("Dig out to sound wood, undercut the edges lightly; set rods around the hole", 0.9)
    work.task("Hold point: still within 3 in and 18 in, and nothing that carries? If not, Plan B", 0.1, hold=True)
    parts.dry_down(case, work, case.moisture_pct)
    work.stage("epoxy_fill", CARPENTER, return_visit=True)
    work.labour("epoxy_fill.per_in3", volume)
    work.task("Consolidant until the wood takes no more; wait until tacky, by its label", 0.2)
    work.task("Pack tinted epoxy in lifts of 1 1/2 in at most; core a large hole with dry wood", 0.5)
    work.wait("cure", "The filling sets, kept warm and dry", _set_days(case))
    work.task("Carve and texture it like the log", 0.3)
    work.buy("epoxy_paste", paste)
    work.buy("epoxy_cold_extra", paste * _cold_hardener(case))
    work.buy("epoxy_consolidant", volume / 231.0 * spare * end_grain, norm="epoxy.consolidant_share")
    work.buy("epoxy_fill.sundries")
    _blend(work, "Stain or paint over it: bare epoxy breaks down in sunlight")
    cold = _cold_hardener(case)
    work.cure("epoxy_cold" if isinstance(cold, float) and cold > 0.0 else "epoxy")
    work.note("Keep a finish on the filling at all times against sunlight; look at its edges once a year.")
    if case.word("finish") in ("penetrating", "") and case.at_eye_level:
        work.note("Under a clear finish at eye level a filling shows in colour and grain, the more so when wet.")


def _blend(work: Work, text: str) -> None:
    work.stage("spot_refinish", FINISHER, phase="finish")
    parts.spot_refinish(work)
    work.task(text, 1.0)


# ---- M05 ---------------------------------------------------------------------------------------------------------


def _polyester_fits(case: Case, gate: Gates) -> None:
    _filler_fits(case, gate, "G05")
    gate.cannot(
        "G05", case.punky_in3 > 20.0, "The hole holds {volume:volume}; {stop:volume} is the limit.", volume=case.punky_in3,
        stop=20.0,
    )
    gate.cannot("G05", case.depth_in > 1.0, "{depth:length} deep; this filler goes 1 in at most.", depth=case.depth_in)
    gate.cannot("G05", case.flag("holds_water"), "On a flat top that holds water this filler lets go at its edges.")


def _polyester_scope(case: Case, work: Work) -> None:
    quarts = case.punky_in3 / 57.75 * (1.0 + case.book.likely("norms", "waste.epoxy_paste"))
    work.stage("polyester_fill", CARPENTER)
    work.labour("polyester_fill.each")
    parts.dry_down(case, work, case.moisture_pct)
    work.task("Pick out, harden, fill in thin layers, sand, prime", 1.0)
    work.wait("cure", "The filler sets", case.book.likely("waits", "cure.polyester.next") / 24.0)
    work.buy("polyester_filler", quarts)
    work.buy("polyester_fill.sundries")
    _blend(work, "Paint or stain over it")
    work.cure("polyester")
    work.note("Second rate outdoors: it shrinks and lets go at its edges. Look at it once a year.")


# ---- M06 ---------------------------------------------------------------------------------------------------------


def patch_in(case: Case) -> tuple[Number, Number, Number]:
    """Thickness, width and length of a let-in patch [in]."""
    return (
        case.depth_in + PATCH_BED_IN,
        case.width_in + 2.0 * PATCH_MARGIN_IN,
        case.length_in + 2.0 * PATCH_MARGIN_IN,
    )


def bored_out(case: Case) -> Truth:
    """Whether a hole is so small that it is bored out round and plugged; tool marks and old fabric get a cut patch."""
    small = both(case.length_in <= BORED_UP_TO_IN, case.width_in <= BORED_UP_TO_IN)
    return False if case.hewn or case.heritage else both(small, negate(seat_soft(case)))


def _dutchman_fits(case: Case, gate: Gates) -> None:
    _nothing_carried(case, gate, "a let-in patch", "G06")
    gate.cannot(
        "G06", case.depth_in > 3.0, "{depth:length} deep; a let-in patch goes 3 in at most.", depth=case.depth_in,
    )
    gate.cannot(
        "G06", case.depth_ratio > 0.33,
        "{depth:length} of {size:length} is gone, past a third: too little is left behind a patch.",
        depth=case.depth_in, size=case.section_in,
    )
    gate.cannot(
        "G06", case.length_in >= 30.0, "{length:length} is too long for a let-in patch: it wants a new face.",
        length=case.length_in,
    )
    gate.more_than_it_needs(
        "G06", both(case.depth_in < 0.75, not case.flag("holds_water")),
        "{depth:length} deep: a patch would cut away more good wood than bad.", depth=case.depth_in,
    )


def _dutchman_scope(case: Case, work: Work) -> None:
    thick, wide, long = patch_in(case)
    face_in2 = wide * long
    cut_ft3 = thick * face_in2 / 1728.0
    by_hand = case.hewn or case.heritage
    bored = where(bored_out(case), 1.0, 0.0)
    work.stage("dutchman", LEAD if by_hand else CARPENTER)
    work.labour("dutchman.fixed", 1.0 - bored)
    work.labour("dutchman.plug", bored)
    work.labour("dutchman.per_in2", face_in2)
    parts.borate(
        work, rods=parts.rods_in_pocket(case), surface_ft2=face_in2 / 144.0, wood_ft3=2.0 * cut_ft3
    )
    bears = mostly(seat_soft(case))
    edge = "" if case.on_inner_face or bears else "; top edge sloped 10 to 15 degrees out"
    recess = "Bore it out round to sound wood" if mostly(bored_out(case)) else f"Cut a square or tapered recess{edge}"
    work.task(recess, 0.35)
    work.task("Hold point: sound all round within 3 in and a third of the log? If not, a new face", 0.05, hold=True)
    work.task("Rods around it and a surface coat of borate", 0.1)
    parts.dry_down(case, work, case.moisture_pct)
    patch = "bearing block of the same species and grain, tight under what lands on it" if bears else (
        "patch of the same species, grain and ring slope, 1/16 in proud"
    )
    work.task(f"Fit a {patch}", 0.3)
    work.task("Glue, two screws, plugs; clamp", 0.1)
    glue_sets = case.book.likely("waits", "cure.polyurethane.next") / 24.0
    work.wait("cure", "Glue sets, dry and free of frost", glue_sets)
    work.task("Plane it flush" + (" and cut the tool marks on across it" if by_hand else "; texture it"), 0.1)
    work.buy("dutchman.fixings")
    work.wood(
        "let-in patch", "board", thickness_in=thick, width_in=wide, length_in=long, net_ft3=cut_ft3,
        waste="waste.dutchman", bought_as=("timber_dry", cut_ft3 * 12.0),
    )
    parts.glue(case, work)
    _blend(work, "Blend the finish in")
    work.sound_wood_ft3 = maximum(cut_ft3 - case.punky_in3 / 1728.0, 0.0)
    if bears:
        work.note("In a seat it is a bearing block, fitted tight, and only if the engineer agrees; nothing is cut under load.")
    if by_hand:
        work.note("Record the place before it is cut: drawing, photographs, the piece kept.")


METHODS = (
    Method("epoxy_fill", _epoxy_fits, _epoxy_scope),
    Method("polyester_fill", _polyester_fits, _polyester_scope),
    Method("dutchman", _dutchman_fits, _dutchman_scope),
)
