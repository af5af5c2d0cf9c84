"""Log ends past the corner: cut back and capped (M09), or a new end spliced on (M10)."""

from __future__ import annotations

from service.engine.array import Number, Truth, either, maximum, minimum
from service.engine.case import Case
from service.engine.gates import Gates
from service.engine.method import Method
from service.engine.methods import components as parts
from service.engine.methods.framing import (
    at_an_end,
    decay_up_in,
    section_area_in2,
    sound_wood_ft3,
    stamp,
    waste_of_wood,
    width_of_wood_in,
    wood_form,
)
from service.engine.methods.wall_work import borate_in_the_hours
from service.engine.work import CARPENTER_HELPER, LEAD_CARPENTER, Work

SOUND_LINE_IN = 1.0
"""Cut past the rot [in] (M09: 22 in of tail with 9 in of rot leaves 12 in; common practice, no source)."""
LEAST_TAIL_IN = 8.0
"""Sound tail that has to stay past the notch [in], and half of D (G09; common practice, no source)."""
OUTSIDE_NOTCH_IN = 2.0
"""The rot has to stop so far outside the notch for a splice [in] (G10; common practice, no source)."""
LAP_SIZES = 2.0
"""Length of the scarf in sizes of the log (M10; common practice, no source)."""


def tail_left_in(case: Case) -> Number:
    """Sound tail past the notch once it is cut to the sound line [in] (G09)."""
    return case.tail_in - decay_up_in(case) - SOUND_LINE_IN


def tail_needed_in(case: Case) -> Number:
    """Tail that keeps the notch from splitting out [in] (G09)."""
    return maximum(LEAST_TAIL_IN, case.section_in / 2.0)


def rot_in_notch(case: Case) -> Truth:
    """Whether the rot has run past the tail into the notch."""
    return either(case.in_notch, decay_up_in(case) > case.tail_in, case.flag("past_notch"))


def at_the_free_end(case: Case) -> bool:
    """Whether the rot sits where the member ends in the open."""
    return case.element.role == "tail" or at_an_end(case) or case.flag("ornamental_only")


def carries(case: Case) -> bool:
    """Whether something stands on this end: then it is never trimmed, and an engineer looks at a splice."""
    free = case.element.role == "tail" or case.flag("ornamental_only")
    return bool(case.bears) or not free


# ---- M09 ---------------------------------------------------------------------------------------------------------


def _trim_fits(case: Case, gate: Gates) -> None:
    gate.cannot(
        "G09", not at_the_free_end(case), "The rot is not at the free end: cutting that off would leave it where it is."
    )
    gate.cannot("G09", carries(case), "Something stands or hangs on this end; it cannot be cut shorter.")
    gate.cannot("M09", case.heritage, "The shape of the log ends is protected here, and a cut cannot be taken back.")
    gate.cannot("G09", rot_in_notch(case), "The rot runs into the corner; cutting the end would leave it there.")
    gate.cannot(
        "G09", tail_left_in(case) < tail_needed_in(case),
        "Cut to sound wood it would end {left:length} past the corner; under {least:length} the notch splits out.",
        left=maximum(tail_left_in(case), 0.0), least=tail_needed_in(case),
    )


def _trim_scope(case: Case, work: Work) -> None:
    end_ft2 = section_area_in2(case) / 144.0
    work.stage("end_trim_cap", CARPENTER_HELPER)
    work.labour_first("end_trim_cap.first", "end_trim_cap.each")
    borate_in_the_hours(work, rods=parts.rods_in_ring(case), surface=2.0 * end_ft2, wood_ft3=end_ft2)
    work.task("Drill for the sound line, mark one common line for the whole side, approve a sample cut", 0.2)
    work.task("Cut 1 in past the rot, top overhanging by 10 to 15 degrees", 0.35)
    left = "8 in and half the log left past the corner" if case.element.code == "log_tail" else "enough left past the wall"
    work.task(f"Hold point: cut face sound all over, {left}? If not, a spliced end", 0.05, hold=True)
    work.task("Rods in a ring, borate on the cut", 0.15)
    work.wait("weather", "A dry day before the end is sealed", case.book.likely("waits", "weather.dry_day"))
    work.task("End sealer that breathes, or a cap with a 1 in drip; blend the finish", 0.25)
    work.buy("end_trim_cap.cap")
    work.sound_wood_ft3 = (SOUND_LINE_IN + 0.0 * case.section_in) * section_area_in2(case) / 1728.0
    work.note("Ends should finish 12 in inside the drip line; where they cannot, cap and gutter make up for it.")
    work.note("Cut all ends of one side alike: a single short one is seen from the road.")


# ---- M10 ---------------------------------------------------------------------------------------------------------


def _splice_fits(case: Case, gate: Gates) -> None:
    gate.cannot(
        "G10", not at_the_free_end(case), "The rot is not at the free end: a new end would leave it where it is."
    )
    gate.cannot("G10", rot_in_notch(case), "The rot runs into the corner: a new end has nothing sound to hold on to.")
    gate.cannot(
        "G10", case.tail_in - decay_up_in(case) < OUTSIDE_NOTCH_IN,
        "The rot stops {room:length} outside the corner; a splice needs 2 in of sound tail.",
        room=maximum(case.tail_in - decay_up_in(case), 0.0),
    )


def stub_length_in(case: Case) -> Number:
    """Length of the new end [in]: what is lost and a scarf of twice the size, as far as the tail has room (M10)."""
    lost = decay_up_in(case) + SOUND_LINE_IN
    room = maximum(case.tail_in - lost, SOUND_LINE_IN)
    return lost + minimum(LAP_SIZES * case.section_in, room)


def _splice_scope(case: Case, work: Work) -> None:
    length_in = stub_length_in(case)
    work.stage("end_splice", LEAD_CARPENTER)
    work.labour_first("end_splice.first", "end_splice.each")
    parts.borate(
        work, rods=parts.rods_in_ring(case), surface_ft2=2.0 * section_area_in2(case) / 144.0,
        wood_ft3=section_area_in2(case) / 144.0,
    )
    parts.spot_refinish(work)
    _splice_steps(case, work, loaded=carries(case))
    work.buy("end_splice.fixings")
    work.wood(
        "log end", wood_form(case), thickness_in=case.section_in,
        width_in=width_of_wood_in(case), length_in=length_in,
        net_ft3=section_area_in2(case) * length_in / 1728.0, waste=waste_of_wood(case),
    )
    work.joint("round the splice", 4.0 * case.section_in, 0.25)
    parts.glue(case, work)
    work.sound_wood_ft3 = sound_wood_ft3(case, length_in) / 2.0
    if carries(case):
        work.labour("end_splice.shoring")
        work.buy("end_splice.shoring")
        stamp(work)
        work.note("Shore loads, positions and pads: for the engineer, whose design decides the splice.")


def _splice_steps(case: Case, work: Work, *, loaded: bool) -> None:
    out = 1.0 if loaded else 0.0
    if loaded:
        work.task("Shore what stands on this end to solid ground; take the load only", 0.1, load=out)
    work.task("Cut back to sound wood, half-lap or scarf sloped to drain", 0.25 if loaded else 0.35, load=out)
    work.task(
        "Hold point: sound, 2 in clear of the notch? If not, rebuild the corner", 0.05, load=out, hold=True
    )
    parts.dry_down(case, work, parts.behind_the_cut_pct(case))
    work.task("Rods; new dry end fitted, glued, long screws or rods bonded in on both sides", 0.45, load=out)
    days = float(case.book.line("waits", "cure.epoxy.next").likely) / 24.0
    work.wait("cure", "Glue sets before the end is worked or loaded", days, load=out)
    work.task("Shape and seal the end, blend the finish", 0.15)


METHODS = (
    Method("end_trim_cap", _trim_fits, _trim_scope),
    Method("end_splice", _splice_fits, _splice_scope),
)
