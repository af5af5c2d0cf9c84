"""Decks, stairs and roof decking: ledger (M30), stringer foot (M37), whole stair, whole deck, roof decking."""

from __future__ import annotations

from service.engine.array import Number, Truth, both, ceil, maximum, where
from service.engine.case import Case
from service.engine.gates import Gates
from service.engine.method import Method
from service.engine.methods import components as parts
from service.engine.methods.beams import SOUND_SIDE
from service.engine.methods.framing import decay_up_in, letter, member_length_in, open_roof, section_area_in2
from service.engine.work import CARPENTER, CARPENTER_HELPER, LEAD_CARPENTER, Work

FOOT_UP_TO_IN = 12.0
"""Highest decay that a stringer foot replaces [in] (R11)."""
RISE_IN = 7.5
"""Rise of a step [in] (J)."""
FLIGHT_PER_RISE = 1.72
"""Length of stringer by rise: 10 1/2 in run to 7 1/2 in rise (J)."""
LEAST_RISE_FT = 2.0
"""Least rise that is priced as a stair [ft] (J)."""
JOIST_SPACING_FT = 16.0 / 12.0
"""Spacing of deck joists where the area of the deck is not known [ft] (J)."""
HALF_OF_THEM = 0.5
"""Share of the joists from which a new deck is no more than it needs (J)."""
BOARD_IN = 1.5
"""Nominal thickness of decking [in] (J)."""


def _keep_a_way_out(case: Case, work: Work, what: str = "stair") -> None:
    """The only way out is not taken before another one stands (R33)."""
    if case.flag("only_exit"):
        work.buy("temporary_stair", once=True)
        work.task("A temporary stair stands before anything is taken from the old one", 0.1)
        work.note(f"It is the only way out: the old {what} closes when the temporary stair is in use, not before.")
    else:
        work.task("Make sure that another way out is open and marked", 0.1)
        work.note(f"Keep another way out while the {what} is closed.")


# ---- M30 ---------------------------------------------------------------------------------------------------------


def _ledger_rebuild_fits(case: Case, gate: Gates) -> None:
    gate.cannot(
        "M30",
        case.element.family != "deck",
        "A deck beam stands in for a ledger; nothing here is carried by one.",
    )


def ledger_feet(case: Case) -> Number:
    """Length of the deck edge along the wall [ft]: a soft ledger is renewed from end to end."""
    return member_length_in(case) / 12.0


def _ledger_rebuild_scope(case: Case, work: Work) -> None:
    feet = ledger_feet(case)
    spacing = case.book.likely("norms", "ledger_rebuild.footing_spacing")
    footings = ceil(feet / spacing) + 1.0
    work.stage("ledger_rebuild", LEAD_CARPENTER)
    work.labour("ledger_rebuild.fixed")
    work.labour("ledger_rebuild.per_ft", feet)
    work.task("Close the deck; shore the joists to solid ground, no lifting", 0.25, load=1.0)
    work.task("Footings dug and poured 12 to 18 in off the wall, clear of the drip line", 0.25, load=1.0)
    days = case.book.likely("waits", "cure.concrete.load")
    work.wait("cure", "Footings gain strength before they carry", days, load=1.0)
    work.task("Old ledger off", 0.1, load=1.0)
    work.task(
        "Hold point: are the logs behind it sound? If not, they are repaired before anything covers them",
        0.05,
        load=1.0,
        hold=True,
    )
    work.task("Posts and treated beam under the joists, joists tied down and braced against sway", 0.25, load=1.0)
    work.task("Shores out, joists cut clear of the wall, gap flashed behind the log drip", 0.1, load=1.0)
    work.buy("ledger_rebuild.footing", footings)
    work.wood(
        "beam and posts",
        "lumber",
        thickness_in=4.0,
        width_in=10.0,
        length_in=12.0 * feet,
        net_ft3=40.0 * 12.0 * feet / 1728.0,
        waste="waste.timber",
        treated=True,
        bought_as=("ledger_rebuild.timber", feet),
    )
    work.cure("concrete")
    letter(work)
    work.buy("permit", once=True)
    work.lead("lead.permit")
    work.note("Nobody on or under the deck until it is done.")
    work.note("A free-standing beam 12 to 18 in off the wall is preferred: logs settle, the deck does not.")
    work.note("A ledger on the wall instead needs stand-offs, flashing, ties and the engineer's pattern of screws.")


# ---- M37 ---------------------------------------------------------------------------------------------------------


def _only_foot(case: Case) -> Truth:
    """Soft no more than 12 in up, and no tread notch touched (R11)."""
    return both(decay_up_in(case) <= FOOT_UP_TO_IN, not case.flag("tread_notch"))


def _stringer_foot_fits(case: Case, gate: Gates) -> None:
    up = decay_up_in(case)
    gate.cannot(
        "R11",
        up > FOOT_UP_TO_IN,
        "The stringer is soft {up:length} up; past 12 in there is not enough left below the treads.",
        up=up,
    )
    gate.cannot("R11", case.flag("tread_notch"), "The rot has reached a tread notch: the stair itself is not sound.")


def _stringer_foot_scope(case: Case, work: Work) -> None:
    work.stage("stringer_foot", CARPENTER)
    work.labour("stringer_foot.each")
    parts.borate(
        work,
        rods=parts.rods_in_ring(case),
        surface_ft2=2.0 * section_area_in2(case) / 144.0,
        wood_ft3=section_area_in2(case) * 12.0 / 1728.0,
    )
    _keep_a_way_out(case, work)
    work.task("Shore the stringer to solid ground, no lifting; soft foot off to sound wood", 0.25, load=1.0)
    work.task("Hold point: sound within 12 in, no tread notch touched? If not, a new stair", 0.05, load=1.0, hold=True)
    work.task("Raised pad, precast or poured, and stand-off clear of the soil", 0.35, load=1.0)
    work.task(
        "Foot borne on the stand-off, hardware, shores out; look at guard and top fixing while there", 0.25, load=1.0
    )
    work.buy("stringer_foot.materials")
    work.note("In frost the pad is a precast one on gravel; fresh concrete must not freeze.")
    work.note("A new foot is spliced on where the cut would change a rise by more than 3/8 in.")
    work.note("No filler in anything people stand on.")


# ---- whole stair -------------------------------------------------------------------------------------------------


def rise_ft(case: Case) -> Number:
    """Rise of the stair [ft]: from its treads, else its height."""
    return maximum(where(case.treads > 0.0, case.treads * RISE_IN / 12.0, case.height_ft), LEAST_RISE_FT)


def _stair_replace_fits(case: Case, gate: Gates) -> None:
    foot = case.element.code == "stringer" and case.rotten
    gate.more_than_it_needs(
        "M37",
        both(foot, _only_foot(case)),
        "Only the foot is soft, {up:length} up, and the tread notches are sound: a new foot on a raised pad does it.",
        up=decay_up_in(case),
    )


def _stair_replace_scope(case: Case, work: Work) -> None:
    rise = rise_ft(case)
    treads = where(case.treads > 0.0, case.treads, ceil(rise * 12.0 / RISE_IN))
    flight_ft = FLIGHT_PER_RISE * rise
    one_of = 1.0 / case.batch
    work.stage("stair_replace", LEAD_CARPENTER)
    work.labour("stair_replace.fixed", once=True)
    work.labour("stair_replace.per_tread", treads, once=True)
    _keep_a_way_out(case, work)
    work.task("Old stair out", 0.15, load=1.0)
    work.task("Hold point: is what it hangs on at the top sound?", 0.05, load=1.0, hold=True)
    work.task("Raised pads and stand-offs, new stringers", 0.35, load=1.0)
    work.task("Treads, handrail and guard to code height", 0.35, load=1.0)
    work.wood(
        "stringers",
        "lumber",
        thickness_in=4.0,
        width_in=12.0,
        length_in=12.0 * flight_ft,
        net_ft3=48.0 * 12.0 * flight_ft / 1728.0,
        waste="waste.timber",
        treated=True,
        each=2.0 * one_of,
        bought_as=("stair_replace.stringers", flight_ft / 2.0),
    )
    work.wood(
        "treads",
        "lumber",
        thickness_in=2.0,
        width_in=12.0,
        length_in=42.0,
        net_ft3=2.0 * 12.0 * 42.0 / 1728.0,
        waste="waste.timber",
        treated=True,
        each=treads * one_of,
        bought_as=("stair_replace.tread", 1.0),
    )
    work.buy("stair_replace.hardware", once=True)
    work.buy("permit", once=True)
    work.lead("lead.permit")
    work.note("In frost the pads are precast ones on gravel; fresh concrete must not freeze.")
    work.sound_wood_ft3 = (96.0 * flight_ft + 7.0 * treads) * 12.0 / 1728.0 * one_of
    work.note("Stand-offs under the new stringers: back on bare soil they rot the same way.")


# ---- whole deck --------------------------------------------------------------------------------------------------


def deck_area_ft2(case: Case) -> Number:
    """Area of the deck [ft2]: as stated, else all its joists at 16 in over their span (J)."""
    joists = maximum(case.of, float(case.batch))
    span_ft = member_length_in(case) / 12.0
    return where(case.area_ft2 > 0.0, case.area_ft2, joists * JOIST_SPACING_FT * span_ft)


def _deck_replace_fits(case: Case, gate: Gates) -> None:
    few = both(case.batch < HALF_OF_THEM * case.of, case.section_loss <= 1.0 - SOUND_SIDE)
    gate.more_than_it_needs(
        "M22",
        both(case.element.code != "deck", few),
        "Joists that are soft: {bad:number}. Below half of them, new ones beside the old do it.",
        bad=float(case.batch),
    )
    gate.more_than_it_needs(
        "R2", case.boards_only, "{bad:number} boards out of {all:number} are soft: new boards do it where the joists are sound.",
        bad=float(case.batch), all=case.of,
    )


def _deck_replace_scope(case: Case, work: Work) -> None:
    area = deck_area_ft2(case)
    span_ft = member_length_in(case) / 12.0
    joists = maximum(ceil(area / JOIST_SPACING_FT / span_ft), 1.0)
    one_of = 1.0 / case.batch
    work.stage("deck_replace", CARPENTER_HELPER)
    work.labour("deck_replace.fixed", once=True)
    work.labour("deck_replace.per_ft2", area, once=True)
    _keep_a_way_out(case, work, "deck")
    work.task("Boards and joists out, beam and posts stay where they are sound", 0.25, load=1.0)
    work.task("Hold point: are ledger, beam and the logs behind sound?", 0.05, load=1.0, hold=True)
    work.task("New treated joists, hangers, tape over the tops", 0.3, load=1.0)
    work.task("Boards with a drained gap at the wall, guard back to code height", 0.3, load=1.0)
    board_ft3 = BOARD_IN / 12.0 * area / joists
    work.wood(
        "joists and boards",
        "lumber",
        thickness_in=2.0,
        width_in=10.0,
        length_in=12.0 * span_ft,
        net_ft3=20.0 * 12.0 * span_ft / 1728.0 + board_ft3,
        waste="waste.decking",
        treated=True,
        each=joists * one_of,
        bought_as=("deck_replace.materials", area / joists),
    )
    work.buy("permit", once=True)
    work.lead("lead.permit")
    rotten = case.length_in * case.section_loss * case.batch / 12.0
    work.sound_wood_ft3 = maximum(joists * span_ft - rotten, 0.0) * 20.0 / 144.0 * one_of
    work.note("Deck wood from before 2004 may hold arsenic: do not sand or burn it.")


# ---- roof decking ------------------------------------------------------------------------------------------------


def _roof_deck_fits(case: Case, gate: Gates) -> None:
    gate.cannot("M42", case.element.code != "roof_deck", "Only decking is renewed this way, not what carries it.")


def _roof_deck_scope(case: Case, work: Work) -> None:
    area = case.area_ft2
    opening = maximum(case.opening_ft2, area)
    work.stage("roof_deck_replace", LEAD_CARPENTER)
    work.labour("roof_deck_replace.fixed", once=True)
    work.labour("roof_deck_replace.per_ft2", area)
    work.task("Strip the roofing; close it with a tarp every evening", 0.2, roof=1.0)
    work.task("Soft decking out", 0.2, roof=1.0)
    work.task("Hold point: rafters, purlins and chords under it sound?", 0.05, roof=1.0, hold=True)
    work.task("New dry decking, nailed off; rafter tops borated", 0.4, roof=1.0)
    work.task("Membrane and roofing back", 0.15, roof=1.0)
    work.buy("roof_deck_replace.fixings", area)
    thick = case.section_in
    work.wood(
        "roof decking",
        "decking",
        thickness_in=thick,
        width_in=6.0,
        length_in=24.0 * area,
        net_ft3=thick * area / 12.0,
        waste="waste.decking",
        bought_as=("roof_decking", area),
    )
    open_roof(case, work, opening)
    work.note("Nobody walks on soft decking; fall protection from 6 ft.")


METHODS = (
    Method("ledger_rebuild", _ledger_rebuild_fits, _ledger_rebuild_scope),
    Method("stringer_foot", _stringer_foot_fits, _stringer_foot_scope),
    Method("stair_replace", _stair_replace_fits, _stair_replace_scope),
    Method("deck_replace", _deck_replace_fits, _deck_replace_scope),
    Method("roof_deck_replace", _roof_deck_fits, _roof_deck_scope),
)
