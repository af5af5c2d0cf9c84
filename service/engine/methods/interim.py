"""Works that hold until the real repair: a temporary shore (M25), a temporary cover (M26), a heated tent.

They open a plan and carry a date on which they end; alone they are only a named stop-gap (R1).
"""

from __future__ import annotations

from service.engine.array import Number, ceil, maximum, minimum
from service.engine.case import Case
from service.engine.gates import Gates
from service.engine.method import Method
from service.engine.methods import components as parts
from service.engine.methods.framing import outdoors, sag_at_rest
from service.engine.work import HELPER, LEAD_HELPER, Dose, Work

RODS_AHEAD = 6.0
"""Rods set under a cover, ahead of the main work, at most (J: wood that is cut away later needs none)."""
THIN = ("frame", "siding", "roof_deck", "guard")
"""Families of boards and joinery: no rod of three inches goes into them (J)."""
MONTHS_A_YEAR = 12.0
ROOF_LOADS = ("truss", "purlin", "roof", "plate")

DRY_PCT = 18.0
"""Moisture below which decay sleeps and a cover keeps nothing off (B1; common practice, no source) [%]."""

def shored_as(case: Case) -> str:
    """What is shored: a roof, a floor, a post or a wall; each has its own hours."""
    if case.element.family == "truss" or case.element.code in ("purlin", "ridge", "rafter", "plate_log"):
        return "roof"
    if case.element.family == "post":
        return "post"
    if case.element.family in ("beam", "deck", "stair", "guard"):
        return "floor"
    return "roof" if any(b in ROOF_LOADS for b in case.bears) else "wall"


def shore(case: Case, work: Work, months: Number) -> None:
    """A temporary shore to solid ground, standing for so many months.

    Args:
        case: the piece that is shored.
        work: takes it down, under part "interim".
        months: how long it stands; rent is charged by the month.
    """
    what = shored_as(case)
    one_set = what in ("post", "floor") or case.element.code == "rafter"  # one beam holds a row of rafters
    room = 0.0 if outdoors(case) or case.element.family == "post" else 1.0
    load = 1.0 - room
    before, work.part = work.part, "interim"
    work.stage("temp_shore", LEAD_HELPER, phase="interim")
    work.labour(f"temp_shore.{what}", once=one_set)
    work.task(
        "Find solid ground under the shore, through the floor if need be; pads for the engineer",
        0.3,
        room=room,
        load=load,
    )
    work.task(
        "Posts, cribs and screw jacks set and drawn snug; take the load only, no lifting", 0.6, room=room, load=load
    )
    work.task("Mark level and date on the shore; owner told what to look for", 0.1, room=room, load=load)
    work.buy("temp_shore.pads", once=one_set)
    work.buy("shore_rent_month", maximum(ceil(months), 1.0), once=one_set)
    work.part = before
    work.note("The shore is looked at every week, later every month, and it is not a repair: it ends on its date.")
    work.note("Shore loads and pads: for the engineer; at most 1,500 lb a square foot on unknown soil.")
    if what in ("roof", "floor") or case.bears:
        work.note("No shore goes under a roof, a floor or a point load before an engineer has said where.")


def cover(case: Case, work: Work, months: Number) -> None:
    """A temporary cover: rain off, air in, open at the bottom.

    Args:
        case: the piece that is covered.
        work: takes it down, under part "interim".
        months: how long; past one winter the cover is renewed.
    """
    holds = MONTHS_A_YEAR * float(case.book.line("lives", "temp_cover.not_corrected").high)
    covers = maximum(ceil(months / holds), 1.0)
    before, work.part = work.part, "interim"
    work.stage("temp_cover", HELPER, phase="interim", climbs=True)
    takes_rods = case.rotten and case.element.family not in THIN
    if takes_rods:
        rods = minimum(parts.rods_in_pocket(case), RODS_AHEAD)
        work.labour("borate_rods.per_rod", rods)
        work.buy("borate_rod", rods)
        work.doses.append(Dose(rods, 0.0, rods / 4.0))
        work.task("Rods into the wet wood round the place", 0.2)
    above = "the course above" if case.element.family in ("wall", "sill", "header", "notch") else "what is above it"
    work.labour("temp_cover.each", covers)
    work.buy("temp_cover.materials", covers)
    work.task(
        f"Membrane or metal over laths, lapped under {above}, open at the bottom", 0.8 if takes_rods else 1.0
    )
    work.part = before
    work.note("The cover is looked at every month and stays for one winter at most. Never wrap wet wood tight.")


def heated_tent(case: Case, work: Work, days: Number) -> None:
    """A tent with heat, for wood that is too cold for what has to cure.

    Args:
        case: the piece under the tent.
        work: takes it down, in the part that is open (the package).
        days: days of heat, preheating in.
    """
    work.buy("heated_tent_setup", once=True)
    work.buy("heated_tent_day", days, once=True)
    work.note("The temperature of the wood counts, not of the air: preheat for a day and measure in the wood.")
    work.note("Electric or ducted heat only: an open flame puts water into the wood and carbon monoxide into the tent.")
    work.note("Fire and solvent vapour: no heater or flame near solvent consolidant; alarm and extinguisher at hand.")
    if case.flag("asthma"):
        work.note("Asthma in the house: nobody with it stays there while solvent or epoxy cures in the tent.")


def _shore_fits(case: Case, gate: Gates) -> None:
    ornament = case.flag("ornamental_only")
    carries = (case.element.structural and not ornament) or case.flag("on_loaded_joint") or bool(case.bears)
    gate.cannot("M25", not carries, "It carries nothing: there is no load to take off it.")
    gate.cannot("M25", case.boards_only, "The boards are soft and not what carries them: block them off.")
    gate.cannot("M25", sag_at_rest(case), "The sag is old or slight, and the wood is sound: there is nothing to hold up.")


def _cover_fits(case: Case, gate: Gates) -> None:
    gate.cannot(
        "M26", case.damage.code == "foot_rot",
        "The foot drinks from below: a cover over it keeps nothing dry.",
    )
    gate.cannot(
        "M26",
        case.damage.code == "termite_dry" or (case.damage.kind in ("fire", "mechanical") and case.damage.code != "woodpecker"),
        "No rain feeds this: a cover would keep nothing off.",
    )
    gate.cannot(
        "R8",
        case.damage.kind == "split" and (case.structural or case.element.role == "column"),
        "It is split where it carries: it is held up, and a cover would hold nothing.",
    )
    gate.more_than_it_needs(
        "M26",
        case.element.family == "tail",
        "The end sticks out into the rain: it is trimmed, capped or spliced, and a cover is as much work.",
    )
    gate.cannot(
        "M26",
        case.element.family in ("stair", "guard"),
        "People walk or lean on it: a cover would hide how weak it is.",
    )
    gate.cannot(
        "M26",
        case.moisture_pct < DRY_PCT if "moisture" in case.known else False,
        "The wood is dry ({wet:moisture}): there is no water to keep off.",
        wet=case.moisture_pct,
    )
    gate.cannot(
        "M26",
        case.word("side") == "inner",
        "It is on the inside: there is no rain to keep off.",
    )


def _months_of_stop_gap(case: Case, method: str) -> float:
    return MONTHS_A_YEAR * case.book.likely("lives", f"{method}.not_corrected")


def _shore_scope(case: Case, work: Work) -> None:
    shore(case, work, _months_of_stop_gap(case, "temp_shore"))


def _cover_scope(case: Case, work: Work) -> None:
    cover(case, work, _months_of_stop_gap(case, "temp_cover"))


METHODS = (
    Method("temp_shore", _shore_fits, _shore_scope, holds_up=True),
    Method("temp_cover", _cover_fits, _cover_scope),
)
