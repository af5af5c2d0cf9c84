"""Corrections of causes: deck, flashing, gutter, grade, roof (M29, M31 to M33, M42), settling, insects (M40, M41).

The wood is mended beside them, never by them (R1). Settling and insects are main where the wood is sound.
"""

from __future__ import annotations

from service.engine.array import Number, both, either, maximum, negate
from service.engine.case import Case
from service.engine.gates import Gates
from service.engine.method import Method
from service.engine.methods.surface import SHALLOW_IN, SHALLOW_RATIO
from service.engine.work import CARPENTER, CARPENTER_HELPER, HELPER, LEAD, Work


def _phase(work: Work) -> str:
    return "correction" if work.part == "correction" else "main"


def run_ft(case: Case, what: str) -> Number:
    """Length of a correction [ft]: what was damaged and some more each side, never less than is worth a set-up (J)."""
    beyond = case.book.likely("norms", "correction.beyond_ft")
    least = case.book.likely("norms", f"{what}.least_ft")
    return maximum(case.length_in / 12.0 + 2.0 * beyond, least)


def _only_beside_the_repair(_: Case, gate: Gates) -> None:
    """A correction stands beside a main method, never in its place (R1)."""
    gate.cannot("R1", struck=True, why="It takes the cause away and mends nothing: it goes with the repair.")


# ---- M29, M31, M32, M33 ------------------------------------------------------------------------------------------


def _deck_gap_scope(case: Case, work: Work) -> None:
    feet, one_edge = run_ft(case, "deck_gap"), case.element.family == "deck"  # joists and boards end at one edge
    work.stage("deck_gap", CARPENTER, phase=_phase(work))
    work.labour("deck_gap.fixed", once=True)
    work.labour("deck_gap.per_ft", feet, once=one_edge)
    work.task(
        "Snap a line, cut the boards 1/2 to 3/4 in off the logs, support loose ends, clear behind", 0.6, load=1.0
    )
    work.task("Metal flashing lapped up behind or under the drip of the log", 0.4, load=1.0)
    work.buy("deck_gap.flashing", feet, once=one_edge)
    work.note("Sweep the gap clear once a year.")
    work.note("Where joists bear on that edge, the ledger or a free-standing beam comes first.")


def _flashing_scope(case: Case, work: Work) -> None:
    feet = run_ft(case, "flashing")
    work.stage("flashing", CARPENTER, phase=_phase(work))
    work.labour("flashing.fixed", once=True)
    work.labour("flashing.per_ft", feet)
    work.task("Saw a kerf into the log, sloped up and in; let the metal in, seal its top, leave it free to move", 1.0)
    work.buy("flashing_metal", feet)
    work.cure("sealant")
    work.note("Never metal nailed on the face with a bead of caulk as its only seal.")


def _gutter_scope(case: Case, work: Work) -> None:
    feet = run_ft(case, "gutter")
    work.stage("gutter", CARPENTER_HELPER, phase=_phase(work))
    work.labour("gutter.fixed", once=True)
    work.labour("gutter.per_ft", feet)
    work.task("Mend or hang the gutter by roof area, 1/16 in a foot of fall; guards where snow slides", 0.6)
    work.task("Downspout on stand-offs 2 in clear of the logs, outlet 4 to 6 ft away; test it with a hose", 0.4)
    work.buy("gutter.materials", feet)
    work.note("Clean it twice a year.")


def _grade_scope(case: Case, work: Work) -> None:
    feet = run_ft(case, "grade_veg")
    work.stage("grade_veg", HELPER, phase=_phase(work))
    work.labour("grade_veg.fixed", once=True)
    work.labour("grade_veg.per_ft", feet)
    work.task("Call before digging; soil down to 8 in below the wood, 12 where rain splashes", 0.6)
    work.task("Fall of 5 % for 6 to 10 ft, gravel strip, plants and firewood 18 to 24 in clear", 0.4)
    work.buy("grade_veg.gravel", feet)
    work.note("Do not dig under old footings. Look at soil, mulch and plants once a year.")


# ---- M42 ---------------------------------------------------------------------------------------------------------


def _roof_fix_scope(case: Case, work: Work) -> None:
    work.stage("roof_fix", LEAD, phase=_phase(work))
    work.labour("roof_fix.each", once=True)
    work.task("Meet the roofer, agree what is opened; afterwards test it with water", 1.0)
    work.wait("weather", "A dry day for the roof", case.book.likely("waits", "weather.dry_day"), roof=0.5)
    work.buy("cause.k11" if case.cause("K11") and not case.cause("K10") else "cause.k10", once=True)
    work.lead("lead.roofer")
    work.note("The roof is made good before any wood below it. No one on it under snow; fall protection from 6 ft.")


# ---- M41 ---------------------------------------------------------------------------------------------------------


def _settle_fits(case: Case, gate: Gates) -> None:
    gate.cannot("R1", case.rotten, "Freeing the wall mends no rot; it goes with the repair.")


def _settle_scope(case: Case, work: Work) -> None:
    points = maximum(case.openings, 1.0)
    work.stage("settle_release", LEAD, phase=_phase(work))
    work.labour("settle_release.each", points)
    work.task("Free bucks, trim, posts and screw jacks so that the wall can come down; note every height", 0.8)
    work.task("Hold point: did it come down evenly? Only then judge gaps and seal joints", 0.2, hold=True)
    work.buy("settle_release.hardware", points)
    work.note("Look at the screw jacks and slip joints once a year for ten years.")


# ---- M40 ---------------------------------------------------------------------------------------------------------

TREATMENTS = {
    "ants": ("insect_ants", "Find the damp nest, treat it, and dry what they nested in"),
    "bees": ("insect_bees", "Dust the holes, wait, plug them, coat the wood"),
    "beetle_live": ("insect_beetle", "Licensed firm: borate or heat on the live beetles"),
    "frass": ("insect_beetle", "Licensed firm: name the insect from its dust, then treat it"),
    "unknown": ("insect_beetle", "Licensed firm: name the insect, then treat it"),
    "termite_sub": ("insect_termite_sub", "Licensed firm: soil treatment or bait around the house; break the tubes"),
    "termite_dry": ("insect_fumigate", "Licensed firm: fumigation or heat; the house stands empty"),
}
"""Resource and words of the treatment, by insect (M40)."""
GONE = ("old_holes", "beetle_old", "termite_sub_dry")
"""What insects left behind: no treatment."""


def insect(case: Case) -> str:
    """Which insect it is: as named, else by the damage; live damage holds against a word that calls it gone (R36)."""
    said = case.word("insects")
    named = "termite_sub" if said == "termite_sub_live" else said
    if named in TREATMENTS or (named in GONE and case.damage.code not in TREATMENTS):
        return named
    return case.damage.code


def _insect_fits(case: Case, gate: Gates) -> None:
    old = insect(case) in GONE
    gate.cannot(
        "M40", either(old, negate(case.live)), "Old dry holes without fresh dust or tubes: nothing is left to treat."
    )
    if case.rotten:
        gate.cannot(
            "R1", negate(both(case.depth_in <= SHALLOW_IN, case.depth_ratio <= SHALLOW_RATIO)),
            "{depth:length} of the wood is gone; treatment comes first and gives no wood back.", depth=case.depth_in,
        )


def _insect_scope(case: Case, work: Work) -> None:
    kind = insect(case)
    resource, words = TREATMENTS.get(kind, TREATMENTS["unknown"])
    work.stage("insect_treat", LEAD, phase=_phase(work))
    work.labour("insect_treat.each", once=True)
    work.task("Open what has to be reached and meet the licensed firm", 0.5)
    days = case.book.likely("waits", f"treat.{resource}")
    work.wait("cure", words, days, room=1.0 if kind == "termite_dry" else 0.0)
    work.task("Hold point: cleared by the firm in writing before any wood is closed in", 0.5, hold=True)
    work.buy(resource, once=True)
    work.lead("lead.insect")
    work.note("Done by licence where the law asks for one; the label governs. Look again once a year.")


METHODS = (
    Method("deck_gap", _only_beside_the_repair, _deck_gap_scope, alone=False),
    Method("flashing", _only_beside_the_repair, _flashing_scope, alone=False),
    Method("gutter", _only_beside_the_repair, _gutter_scope, alone=False),
    Method("grade_veg", _only_beside_the_repair, _grade_scope, alone=False),
    Method("roof_fix", _only_beside_the_repair, _roof_fix_scope, alone=False),
    Method("settle_release", _settle_fits, _settle_scope),
    Method("insect_treat", _insect_fits, _insect_scope),
)
