"""Truss members and joints: steel plates (M21), a new chord end (M21's variant), a new chord (M20)."""

from __future__ import annotations

from service.engine.array import Number, Truth, both, maximum, minimum, negate
from service.engine.case import Case
from service.engine.gates import Gates
from service.engine.method import Method
from service.engine.methods import components as parts
from service.engine.methods.framing import (
    chord_feet,
    member_length_in,
    open_roof,
    outdoors,
    reaches_bearing,
    sag_at_rest,
    section_area_in2,
    sound_wood_ft3,
    stamp,
    wood_form,
)
from service.engine.methods.surface import grinding_holds, scraped_is_enough
from service.engine.work import CREW_OF_FOUR, LEAD_CARPENTER, Work

LOCAL_UP_TO_IN = 48.0
"""Longest decay that counts as local on a chord or beam [in] (M20: past 3 to 4 ft the chord comes out)."""
HALF = 0.5
"""Share of the section lost above which long decay leaves too little to bolt to (J)."""
THROUGH = 0.9
"""Share of the section lost that counts as rotted through (B3)."""
AT_REST = "The sag is old or slight, and the wood is sound: a mark and an engineer's look come before any steel or timber."
"""Said of a sag that is watched."""
WITH_TAILS = ("purlin", "ridge", "rafter")
"""Members whose ends stick out past their bearing (M23)."""
REACH_SIZES = 2.0
"""How far plates reach past the rot, in sizes of the member (M21)."""


def plate_length_in(case: Case) -> Number:
    """Length of the plates [in]: decay and twice the size of the member past it each side (M21)."""
    return case.length_in + 2.0 * REACH_SIZES * case.section_in


def long_and_gone(case: Case) -> Truth:
    """Decay that is long and takes more than half of the section."""
    return both(case.rotten, case.length_in > LOCAL_UP_TO_IN, case.section_loss > HALF)


def holds_with_steel(case: Case) -> Truth:
    """Whether plates or a new end do at a third of the price of a new member (M20)."""
    return both(case.length_in <= LOCAL_UP_TO_IN, case.section_loss < THROUGH, not case.flag("both_notches_gone"))


def structural_notes(work: Work, what: str) -> None:
    """What is said with every structural repair up high."""
    work.note(f"Nothing is cut, drilled or bolted before the {what} stands on shores to solid ground.")
    work.note("Shore loads, positions and pads, under the floor too: for the engineer. Take the load only, no lifting.")
    work.note("Provisional until signed off: the engineer's design decides plates, bolts and order of work.")


def _one_at_a_time(case: Case, work: Work) -> None:
    if case.batch > 1:
        work.note("One member at a time: the next is not touched before the last one carries.")


def _ornamental(case: Case, gate: Gates) -> None:
    gate.more_than_it_needs(
        "G09",
        case.flag("ornamental_only"),
        "Only the ornamental end outside the wall is soft and the joint is sound: trimming it back does it.",
    )


# ---- M21 ---------------------------------------------------------------------------------------------------------


def _steel_plates_fits(case: Case, gate: Gates) -> None:
    _ornamental(case, gate)
    gate.cannot("R8", sag_at_rest(case), AT_REST)
    gate.more_than_it_needs(
        "G03", grinding_holds(case) if case.structural else False,
        "So little is gone that grinding it back and leaving it does: there is nothing to carry past.",
    )
    gate.more_than_it_needs(
        "M22",
        case.element.code in ("floor_joist", "rafter"),
        "Plates are for heavy members; a joist or rafter gets a new one beside it for a fraction of that.",
    )
    gate.more_than_it_needs(
        "M23",
        both(case.element.code in WITH_TAILS and case.damage.code == "end_rot", negate(reaches_bearing(case))),
        "The rot stays in the tail, outside the bearing: a new tail does it.",
    )
    gate.cannot(
        "M21",
        both(case.element.code == "flyway_log" and case.damage.code == "end_rot", negate(reaches_bearing(case))),
        "Plates need sound wood on both sides of the rot; past the free end there is none. A new end does it.",
    )
    gate.more_than_it_needs(
        "M19",
        case.element.family == "post" and not case.rotten and not case.heritage,
        "A split post is changed for a new one; plates cost several times as much and show.",
    )
    gate.cannot(
        "M21",
        case.element.family == "post" and case.rotten,
        "Plates need sound wood on both sides of the rot; under a rotten foot there is none.",
    )
    gate.cannot(
        "M21",
        long_and_gone(case),
        "{length:length} with {share:percent} of the section gone leaves no sound wood for the bolts.",
        length=case.length_in,
        share=case.section_loss,
    )
    gate.cannot(
        "M21",
        plate_length_in(case) > member_length_in(case),
        "Plates have to reach twice the size of the member into sound wood on each side, and it is not long enough.",
    )


def _steel_plates_scope(case: Case, work: Work) -> None:
    room, load = (0.0, 1.0) if outdoors(case) else (1.0, 0.0)
    work.stage("steel_plates", LEAD_CARPENTER)
    work.labour("steel_plates.shoring", once=True)
    work.buy("steel_plates.shoring", once=True)
    work.labour("steel_plates.each")
    parts.borate(
        work,
        rods=parts.rods_in_pocket(case),
        surface_ft2=case.length_in * case.width_in / 144.0,
        wood_ft3=section_area_in2(case) * case.length_in / 1728.0,
    )
    down = "" if outdoors(case) else " down through the floor"
    work.task(f"Shore to solid ground{down}; level readings before and after", 0.3, room=room, load=load)
    what = "rot" if case.rotten else case.damage.title
    work.task("Open the place, take out the soft wood only" if case.rotten else "Open the place up", 0.1, room=room, load=load)
    work.task(
        f"Hold point: sound wood twice the size of the member past the {what} each side? If not, a new end",
        0.05,
        room=room, load=load,
        hold=True,
    )
    parts.dry_down(case, work, parts.behind_the_cut_pct(case), 20.0)
    work.task("Rods; templates, plates up, drill through, bolts and washers drawn tight", 0.45, room=room, load=load)
    work.task("Pass the load slowly, shores out, hide the steel where the owner wants that", 0.1, room=room, load=load)
    work.buy("steel_plates.plates")
    work.buy("steel_plates.bolts")
    # Longer decay takes longer plates: the book's lump holds for local decay, more is added by the share (J).
    longer = maximum(case.length_in - LOCAL_UP_TO_IN, 0.0) / LOCAL_UP_TO_IN
    work.buy("steel_plates.plates", longer)
    stamp(work, "fee.steel_plates.engineer")
    work.lead("lead.steel")
    structural_notes(work, "member")
    _one_at_a_time(case, work)


# ---- M21, the variant with a new end -----------------------------------------------------------------------------


def end_length_in(case: Case) -> Number:
    """Length of a new chord end [in]: decay, twice the size of the member past it, a lap as long again (M21; J)."""
    return case.length_in + 2.0 * REACH_SIZES * case.section_in


def _end_splice_fits(case: Case, gate: Gates) -> None:
    _ornamental(case, gate)
    scraped_is_enough(case, gate)
    gate.cannot(
        "M20",
        case.length_in > LOCAL_UP_TO_IN,
        "The rot runs {length:length}; a new end is for the last 3 to 4 ft at most.",
        length=case.length_in,
    )
    gate.cannot(
        "M20",
        case.flag("both_notches_gone"),
        "Both ends of the member are gone: there is nothing to join a new end to.",
    )
    gate.cannot(
        "M21",
        end_length_in(case) > member_length_in(case) / 2.0,
        "The new end would be longer than half of the member.",
    )


def _end_splice_scope(case: Case, work: Work) -> None:
    length_in = end_length_in(case)
    work.stage("chord_end_splice", LEAD_CARPENTER)
    work.labour("chord_end_splice.shoring", once=True)
    work.buy("chord_end_splice.shoring", once=True)
    work.labour("chord_end_splice.each")
    parts.borate(
        work,
        rods=parts.rods_in_ring(case),
        surface_ft2=2.0 * section_area_in2(case) / 144.0,
        wood_ft3=section_area_in2(case) * 24.0 / 1728.0,
    )
    work.task("Shore to solid ground down through the floor, tie against thrust; level readings", 0.2, room=1.0)
    work.task("Take the joint apart, cut the end back to sound wood", 0.2, room=1.0)
    work.task("Hold point: sound past the cut, and the joint above it? If not, a new chord", 0.05, room=1.0, hold=True)
    work.task("Rods; new seasoned end scarfed on with plates and bolts, joint put together again", 0.45, room=1.0)
    work.task("Pass the load slowly, shores and tie out", 0.1, room=1.0)
    lumps = maximum(1.0, length_in / 96.0)
    work.wood(
        "chord end",
        wood_form(case),
        thickness_in=case.section_in,
        width_in=case.other_in,
        length_in=length_in,
        net_ft3=section_area_in2(case) * length_in / 1728.0,
        waste="waste.timber",
        bought_as=("chord_end_splice.timber", lumps),
    )
    work.buy("chord_end_splice.steel")
    work.sound_wood_ft3 = minimum(sound_wood_ft3(case, length_in), section_area_in2(case) * length_in / 3456.0)
    stamp(work, "fee.chord_end_splice.engineer")
    work.lead("lead.steel")
    structural_notes(work, "truss")
    _one_at_a_time(case, work)


# ---- M20 ---------------------------------------------------------------------------------------------------------


def _chord_replace_fits(case: Case, gate: Gates) -> None:
    _ornamental(case, gate)
    scraped_is_enough(case, gate)
    gate.more_than_it_needs(
        "M20",
        both(holds_with_steel(case), not case.flag("bearing_failed")),
        "{length:length} of rot with {share:percent} of the section gone: plates or a new end do it at about a "
        "third of the price, and the roof stays shut.",
        length=case.length_in,
        share=case.section_loss,
    )


def _chord_replace_scope(case: Case, work: Work) -> None:
    length_in = member_length_in(case)
    work.stage("chord_replace", CREW_OF_FOUR)
    work.labour("chord_replace.shoring", once=True)
    work.buy("chord_replace.shoring", once=True)
    work.labour("chord_replace.each")
    work.task("Empty the room; towers through the floor to solid ground, tie against thrust", 0.17, room=1.0)
    work.task("Hold point: engineer has seen shores and tie before anything is cut", 0.03, room=1.0, hold=True)
    work.task(
        "Strip roofing and deck 4 to 6 ft each side; close it with a tarp every evening", 0.13, room=1.0, roof=1.0
    )
    work.task("Templates; old chord out, new seasoned chord in with steel gussets", 0.32, room=1.0, roof=1.0)
    work.task("Deck back, roof re-laid", 0.1, room=1.0, roof=1.0)
    work.task("Borne again at the heels, bolts drawn tight", 0.1, room=1.0)
    days = case.book.likely("waits", "cure.unload")
    work.wait("cure", "The load goes on slowly, read the level each day", days, room=1.0)
    work.task("Towers and tie out, inside made good", 0.15, room=1.0)
    work.buy("chord_replace.steel")
    work.buy("crane_half_day", once=True)
    work.wood(
        "chord",
        wood_form(case),
        thickness_in=case.section_in,
        width_in=case.other_in,
        length_in=length_in,
        net_ft3=section_area_in2(case) * length_in / 1728.0,
        waste="waste.log",
        bought_as=("chord_timber", chord_feet(case, length_in)),
    )
    work.sound_wood_ft3 = sound_wood_ft3(case, length_in)
    stamp(work)
    work.lead("lead.steel")
    work.lead("lead.crane")
    open_roof(case, work, case.opening_ft2)
    structural_notes(work, "truss")
    work.note("Checks in the new chord are acceptable only as far as the engineer says.")
    _one_at_a_time(case, work)


METHODS = (
    Method("steel_plates", _steel_plates_fits, _steel_plates_scope),
    Method("chord_end_splice", _end_splice_fits, _end_splice_scope),
    Method("chord_replace", _chord_replace_fits, _chord_replace_scope),
)
