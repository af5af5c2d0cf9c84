"""Boards that come off whole: log siding, trim, treads, guard parts."""

from __future__ import annotations

from service.engine.array import Number, ceil, maximum, negate
from service.engine.case import Case
from service.engine.gates import Gates
from service.engine.method import Method
from service.engine.methods.surface import coat_of_borate
from service.engine.work import CARPENTER, CARPENTER_HELPER, FINISHER, Work

MARGIN_IN = 12.0
"""Board taken past the decay at each end, to the next nailing [in] (J: studs at 16 in)."""
FACE_IN = 6.0
"""Least face of a board, where only its thickness was said [in] (J)."""

SIDE_BY_SIDE = ("deck", "tread")
"""Members whose pieces lie side by side in one place (J)."""
TITLES = {
    "tread": "new tread", "rail_post": "new guard post", "guard": "new guard part", "threshold": "new threshold",
    "trim": "new trim board", "deck": "new deck boards",
}
"""What the owner gets, by the member."""


def board_length_in(case: Case) -> Number:
    """Length of new board [in]: the decay to the next nailing each way, and never a short piece (J)."""
    least = case.book.likely("norms", "board_replace.least_ft") * 12.0
    return maximum(case.length_in + 2.0 * MARGIN_IN, least)


def boards(case: Case) -> Number:
    """Boards across the width of the decay."""
    return maximum(ceil(case.width_in / maximum(case.other_in, FACE_IN)), 1.0)


def _board_fits(case: Case, gate: Gates) -> None:
    gate.cannot(
        "B2", case.element.family == "wall" and not case.siding,
        "This is a log, not a board on a frame: nothing comes off whole.",
    )
    gate.cannot(
        "R2", negate(case.boards_only) if case.element.code == "deck" else False,
        "Nobody counted the soft boards, or half of them are soft: then look at the joists too, and renew the deck.",
    )
    heritage_joinery = case.heritage and case.element.family == "frame"
    gate.more_than_it_needs(
        "M36", case.length_in < 18.0 if heritage_joinery else False,
        "{length:length} of old joinery: a let-in patch comes before a new board.", length=case.length_in,
    )


def _board_scope(case: Case, work: Work) -> None:
    people = case.element.carries_people
    each, length = boards(case), board_length_in(case)
    thick, wide = maximum(case.section_in, 0.75), maximum(case.other_in, FACE_IN)
    net_ft3 = thick * wide * length / 1728.0
    out = 1.0 if people else 0.0
    work.stage("board_replace", CARPENTER_HELPER if case.siding else CARPENTER)
    deck, one_place = case.element.code == "deck", case.element.code in SIDE_BY_SIDE
    # Set out once a place, however many boards lie side by side (R21).
    work.labour("board_replace.fixed", once=one_place)
    work.labour("board_replace.per_ft", each * length / 12.0)
    work.task("Free the board, pull its nails; save what can be used again", 0.25, load=out)
    work.task("Hold point: is what lies behind sound and dry? If not, that comes first", 0.1, load=out, hold=True)
    coat_of_borate(work, each * length * wide / 144.0, waits=not people)
    below = "tape over the joists" if deck else "flash over the joint below"
    work.task(f"Back-prime and seal every cut end; {below}", 0.25, load=out)
    work.task("Set the new board with a gap that drains; fix it so that it can move", 0.4, load=out)
    work.buy("board_replace.fixings", each * length / 12.0)
    durable = people
    row, quantity = _bought(case, length, net_ft3)
    work.wood(
        "board", "board", thickness_in=thick, width_in=wide, length_in=length, net_ft3=net_ft3, waste="waste.decking",
        grain="clear" if case.element.code == "trim" else "any", treated=durable, each=each, bought_as=(row, quantity),
    )
    work.sound_wood_ft3 = maximum(each * net_ft3 - case.punky_in3 / 1728.0, 0.0)
    work.stage("spot_refinish", FINISHER, phase="finish")
    work.labour("spot_refinish.each", once=one_place)
    work.buy("spot_refinish.finish", once=one_place)
    work.task("Finish it like the boards beside it", 1.0)
    if people:
        # Treated wood may stand bare over a winter, a gap where people fall may not.
        work.note("In frost it goes in all the same; its coat and finish follow once the wood is warm and dry.")
        work.note("Nobody stands or leans on it until it is in: the whole part comes out, no filling, no patch.")
    else:
        work.cure("stain")
    if deck:
        work.note("Probe every joist, hanger and the ledger while the boards are off: they are not in this price.")
    if case.siding:
        work.note("Log siding is a board on a frame: look at the sheathing and the studs while it is off.")


def _bought(case: Case, length_in: Number, net_ft3: Number) -> tuple[str, Number]:
    """Row of the book that such a board is bought by, and the net quantity in its unit."""
    if case.siding:
        return "log_siding_board", length_in / 12.0
    if case.element.code == "trim":
        return "trim_board", length_in / 12.0
    return "lumber_treated", net_ft3 * 12.0


def _title(case: Case) -> str:
    """What is new, by the member."""
    if case.siding:
        return "new siding boards" if float(boards(case)) * case.count > 1.0 else "new siding board"
    return TITLES.get(case.element.code, "new board")


METHODS = (Method("board_replace", _board_fits, _board_scope, title_of=_title),)
