"""Beams, joists and rafters: a new beam (M24), a sister (M22), a renewed tail (M23)."""

from __future__ import annotations

from service.engine.array import Number, Truth, both, either, maximum, minimum, negate, where
from service.engine.case import Case
from service.engine.gates import Gates
from service.engine.method import Method
from service.engine.methods import components as parts
from service.engine.methods.framing import (
    at_an_end,
    chord_feet,
    decay_up_in,
    letter,
    letter_where,
    member_length_in,
    open_roof,
    reaches_bearing,
    sag_at_rest,
    section_area_in2,
    sound_wood_ft3,
    stamp,
    wood_form,
)
from service.engine.methods.truss import AT_REST, holds_with_steel, structural_notes
from service.engine.work import CARPENTER_HELPER, CREW_OF_FOUR, LEAD_CARPENTER, Work

ROOF_BEAMS = ("purlin", "ridge")
"""Beams that come out through the roof; the others through the floor they carry."""
SAWN = ("rafter", "rafter_tail", "floor_joist", "deck_joist")
"""Members of dimension lumber, handled by two people."""
PAST_ROT_IN = 48.0
"""A sister reaches at least so far past the rot each side [in] (M22)."""
EDGE_ONLY = 0.25
"""A soft edge up to this share of the depth leaves the joist its strength: 4 ft past each side is enough; deeper, three
times the rot as well (J: M22's two rules, and 13 ft of sister beside 5 ft of soft edge)."""
SOUND_SIDE = 0.5
"""Least share of the member that must be sound beside a sister (M22)."""
THICKEST_SISTER_IN = 4.0
"""Sisters are cut from dimension lumber, 4 in thick at most (J)."""
SISTERS_WITHOUT_LETTER = 3
"""More adjacent sisters than this take an engineer's letter (M22)."""
SCARF_SIZES = 2.0
"""Length of the scarf of a renewed tail in sizes of the member (M23)."""
TAIL_MARGIN_IN = 2.0
"""Sound wood taken past the rot of a tail before the scarf begins [in] (J)."""


def _only_the_tail(case: Case, gate: Gates) -> None:
    """A tail is renewed or cut back; past its bearing it is the member behind it that has to be helped (M23)."""
    gate.more_than_it_needs(
        "M23",
        both(case.element.role == "tail", negate(reaches_bearing(case))),
        "The rot stays in the tail, outside the bearing: the member behind it is sound.",
    )


# ---- M24 ---------------------------------------------------------------------------------------------------------


def _beam_replace_fits(case: Case, gate: Gates) -> None:
    gate.cannot("R8", sag_at_rest(case), AT_REST)
    _only_the_tail(case, gate)
    gate.more_than_it_needs(
        "M22",
        both(case.element.code in SAWN, case.rotten or case.damage.kind == "split", _half_sound(case)),
        "At least half of it is sound: a new one beside it does it, and nothing has to come out.",
    )
    gate.more_than_it_needs(
        "M24",
        both(
            case.rotten or case.damage.kind in ("fire", "mechanical"), case.element.code not in SAWN, holds_with_steel(case),
            not case.flag("bearing_failed"),
        ),
        "{length:length} with {share:percent} of the section gone: plates or a new end will do.",
        length=case.length_in,
        share=case.section_loss,
    )


def _joist_scope(case: Case, work: Work) -> None:
    """One sawn joist or rafter out and in: no tower and no crane, but a letter."""
    length_in = member_length_in(case)
    thick, wide = board_in(case)
    outside = case.element.family == "deck"
    room, load = (0.0, 1.0) if outside else (1.0, 0.0)  # under a deck no room is out of use, the deck is
    work.stage("beam_replace", CARPENTER_HELPER)
    work.labour("beam_replace.joist")
    work.task("Shore what it carries on both sides, no lifting", 0.25, room=room, load=load)
    work.task("Hold point: are the bearings and the ones beside it sound?", 0.05, room=room, load=load, hold=True)
    work.task("Old one out, seats made good, new one in at full length", 0.5, room=room, load=load)
    work.task("Hangers and blocking, load back on, shores out", 0.2, room=room, load=load)
    work.buy("sister.fixings")
    work.wood(
        "joist",
        "lumber",
        thickness_in=thick,
        width_in=wide,
        length_in=length_in,
        net_ft3=thick * wide * length_in / 1728.0,
        waste="waste.timber",
        treated=outside,
    )
    work.sound_wood_ft3 = maximum(length_in - case.length_in * case.section_loss, 0.0) * thick * wide / 1728.0
    letter(work)
    structural_notes(work, "deck over it" if outside else "floor or roof over it")


def _beam_replace_scope(case: Case, work: Work) -> None:
    if case.element.code in SAWN:
        _joist_scope(case, work)
    else:
        _long_beam_scope(case, work)


def _long_beam_scope(case: Case, work: Work) -> None:
    length_in = member_length_in(case)
    through_roof = case.element.code in ROOF_BEAMS
    roof = 1.0 if through_roof else 0.0
    way = "roof" if through_roof else "floor"
    work.stage("beam_replace", CREW_OF_FOUR)
    work.labour("beam_replace.shoring", once=True)
    work.buy("beam_replace.shoring", once=True)
    work.labour("beam_replace.fixed")
    work.labour("beam_replace.per_ft", length_in / 12.0)
    work.task("Empty the room; shores on both sides of the beam to solid ground", 0.17, room=1.0)
    work.task("Hold point: engineer has seen the shores before anything is cut", 0.03, room=1.0, hold=True)
    work.task(f"Open the {way}; keep it dry every evening", 0.12, room=1.0, roof=roof)
    work.task("Old beam out, seats made good, new dry beam slid or craned in", 0.3, room=1.0, roof=roof)
    work.task(f"Close the {way}", 0.13, room=1.0, roof=roof)
    work.task("Hangers, seats and bolts drawn tight", 0.1, room=1.0)
    days = case.book.likely("waits", "cure.unload")
    work.wait("cure", "The load goes on slowly, read the level each day", days, room=1.0)
    work.task("Shores out, inside made good", 0.15, room=1.0)
    work.buy("beam_replace.steel")
    if through_roof:
        work.buy("crane_half_day", once=True)
        work.lead("lead.crane")
        open_roof(case, work, case.opening_ft2)
    work.wood(
        "beam",
        wood_form(case),
        thickness_in=case.section_in,
        width_in=case.other_in,
        length_in=length_in,
        net_ft3=section_area_in2(case) * length_in / 1728.0,
        waste="waste.log" if case.round else "waste.timber",
        bought_as=("chord_timber", chord_feet(case, length_in)),
    )
    work.sound_wood_ft3 = sound_wood_ft3(case, length_in)
    stamp(work)
    structural_notes(work, "beam and what it carries")


# ---- M22 ---------------------------------------------------------------------------------------------------------


def bearing_lost(case: Case) -> bool:
    """Whether the end that bears is gone, so that the sister has to be as long as the joist and carries alone.

    Insects come in from the wall that the joist bears on (J).
    """
    gone = case.flag("bearing_failed") or case.damage.code == "crush" or case.damage.kind == "insect"
    return gone or case.element.role == "tail" or at_an_end(case)


def _half_sound(case: Case) -> Truth:
    """Whether a sister will do: half of the member to fasten it to, or a new piece of full length that bears itself."""
    return either(case.section_loss <= 1.0 - SOUND_SIDE, bearing_lost(case))


def sister_length_in(case: Case) -> Number:
    """Length of a sister [in]: 4 ft past the rot each side, three times the rot where it is deep.

    Never longer than the member; the whole member where its bearing is lost (M22).
    """
    whole = member_length_in(case)
    if bearing_lost(case):
        return whole
    beside = case.length_in + 2.0 * PAST_ROT_IN
    three = where(case.depth_ratio > EDGE_ONLY, 3.0 * case.length_in, 0.0)
    length_in = maximum(beside, three)
    known = "clear_length" in case.known or "span" in case.known
    return minimum(length_in, whole) if known else length_in


def board_in(case: Case) -> tuple[Number, Number]:
    """Thickness and depth of the board beside a joist [in], whichever way the rot goes into it."""
    return (
        minimum(minimum(case.section_in, case.other_in), THICKEST_SISTER_IN),
        maximum(case.section_in, case.other_in),
    )


def _sister_fits(case: Case, gate: Gates) -> None:
    gate.cannot(
        "M22",
        case.element.family == "truss",
        "A truss works through its joints: a board beside one member does not carry the pull round the rot.",
    )
    _only_the_tail(case, gate)
    gate.cannot(
        "M22",
        negate(_half_sound(case)),
        "{share:percent} of the section is gone; less than half is left to fasten a sister to.",
        share=case.section_loss,
    )


def _sister_scope(case: Case, work: Work) -> None:
    length_in = sister_length_in(case)
    thick, wide = board_in(case)
    outside = case.element.family in ("deck", "stair")
    load = 1.0 if outside else 0.0
    work.stage("sister", CARPENTER_HELPER)
    work.labour("sister.each")
    parts.borate(
        work,
        rods=0.0 * case.length_in,
        surface_ft2=2.0 * length_in * wide / 144.0,
        wood_ft3=case.length_in * wide * thick / 1728.0,
    )
    work.task("Take the load off with a jack and post, no lifting; clean the old member and borate it", 0.25, load=load)
    work.task(
        "Hold point: at least half of it sound, and both bearings? If not, a new one at full length",
        0.05,
        load=load,
        hold=True,
    )
    parts.dry_down(case, work, parts.behind_the_cut_pct(case), 20.0)
    work.task(
        "Sister tight beside it, 4 ft and more past the rot, bolts or structural screws staggered", 0.5, load=load
    )
    tape = "tape over the tops, " if case.element.family == "deck" else ""
    work.task(f"Hangers and blocking, {tape}load back on", 0.2, load=load)
    work.buy("sister.fixings")
    work.wood(
        "sister",
        "lumber",
        thickness_in=thick,
        width_in=wide,
        length_in=length_in,
        net_ft3=thick * wide * length_in / 1728.0,
        waste="waste.timber",
        treated=outside,
    )
    adjacent = case.batch > SISTERS_WITHOUT_LETTER
    letter_where(work, adjacent or case.element.code in ("rafter", "rafter_tail", "purlin"))
    work.note("Never glue a sister to wet wood.")
    work.note("Probe every other joist before the price is firm; the next ones are often soft as well.")
    if outside:
        work.note("Deck wood from before 2004 may hold arsenic: do not sand or burn it.")


# ---- M23 ---------------------------------------------------------------------------------------------------------


def _tail_renew_fits(case: Case, gate: Gates) -> None:
    tail = case.element.role == "tail" or at_an_end(case)
    gate.cannot("M23", not tail, "The rot is not in the tail: renewing the tail would leave it where it is.")
    gate.cannot(
        "M23",
        reaches_bearing(case),
        "The rot runs back to where the member bears; a new tail has nothing sound to be joined to there.",
    )


def tail_length_in(case: Case) -> Number:
    """Length of wood for a renewed tail [in]: decay, a little past it and the scarf (M23)."""
    return decay_up_in(case) + TAIL_MARGIN_IN + SCARF_SIZES * case.section_in


def _tail_renew_scope(case: Case, work: Work) -> None:
    length_in = tail_length_in(case)
    work.stage("tail_renew", LEAD_CARPENTER)
    work.labour("tail_renew.each")
    parts.borate(
        work,
        rods=parts.rods_in_ring(case),
        surface_ft2=2.0 * section_area_in2(case) / 144.0,
        wood_ft3=section_area_in2(case) * 12.0 / 1728.0,
    )
    parts.spot_refinish(work)
    work.task("Hold the barge and fascia, lift the roof edge 1 to 2 ft", 0.2, roof=1.0)
    work.task("Cut back to sound wood, scarf of twice the size of the member", 0.25, roof=1.0)
    work.task(
        "Hold point: sound all over, and clear of the bearing? If not, plates or a new beam", 0.05, roof=1.0, hold=True
    )
    parts.dry_down(case, work, parts.behind_the_cut_pct(case))
    work.task("Rods; new seasoned tail, bolts or rods bonded into one and a half sizes of sound wood", 0.3)
    work.wait("cure", "Glue sets before the tail is loaded", case.book.likely("waits", "cure.epoxy.next") / 24.0)
    work.task("Cap on the tail, roof edge and barge back, blend the finish", 0.2)
    work.buy("tail_renew.fixings")
    work.wood(
        "tail",
        wood_form(case),
        thickness_in=case.section_in,
        width_in=case.other_in,
        length_in=length_in,
        net_ft3=section_area_in2(case) * length_in / 1728.0,
        waste="waste.log" if case.round else "waste.timber",
    )
    parts.glue(case, work)
    work.joint("round the scarf", 4.0 * case.section_in, 0.25)
    work.sound_wood_ft3 = SCARF_SIZES * case.section_in / 2.0 * section_area_in2(case) / 1728.0
    near = either(
        both(case.tail_in < 1e5, case.tail_in - decay_up_in(case) < case.section_in), case.to_joint_in <= case.section_in
    )
    letter_where(work, near)


def _title(case: Case) -> str:
    """What is new: nobody calls a joist a beam."""
    return f"new {case.element.name}" if case.element.code in SAWN else ""


def _lasts_as(case: Case) -> str:
    """A new joist of a deck stands in the rain, and lasts no longer than a new deck does (B8)."""
    return "joist_outdoors" if case.element.code in SAWN and case.element.family == "deck" else ""


METHODS = (
    Method("beam_replace", _beam_replace_fits, _beam_replace_scope, lives_as=_lasts_as, title_of=_title),
    Method("sister", _sister_fits, _sister_scope),
    Method("tail_renew", _tail_renew_fits, _tail_renew_scope),
)
