"""A corner rebuilt where the rot runs inside its notch (M11)."""

from __future__ import annotations

from service.engine.array import Number, Truth, either, maximum, negate, where
from service.engine.case import Case
from service.engine.gates import Gates
from service.engine.method import Method
from service.engine.methods import components as parts
from service.engine.methods.framing import (
    decay_up_in,
    letter,
    section_area_in2,
    stamp,
    waste_of_wood,
    width_of_wood_in,
    wood_form,
)
from service.engine.methods.tails import OUTSIDE_NOTCH_IN, rot_in_notch
from service.engine.work import CREW_OF_THREE, Work

SCARF_FROM_NOTCH_IN = 24.0
"""Least distance of the scarf from the notch [in] (M11; common practice, no source)."""
RODS = "notch.rods"
HEAVY = ("plate", "purlin", "truss", "roof", "post")
"""Loads for which the shoring of a corner is a stamped design (M11)."""


def needs_rebuilding(case: Case) -> Truth:
    """Whether no splice can be made outside the notch any more (G10)."""
    if case.element.family == "notch" or case.damage.code == "notch_rot":
        return True
    return either(rot_in_notch(case), case.tail_in - decay_up_in(case) < OUTSIDE_NOTCH_IN)


def end_length_in(case: Case) -> Number:
    """Length of a new log end [in]: tail, notch, rot past it, 24 in and a scarf of one size (M11: 4 to 6 ft)."""
    tail = where(case.tail_in < 1e5, case.tail_in, 0.0)
    past = maximum(decay_up_in(case) - tail, 0.0)
    return tail + past + SCARF_FROM_NOTCH_IN + 2.0 * case.section_in


def _notch_fits(case: Case, gate: Gates) -> None:
    elsewhere = negate(needs_rebuilding(case))
    if case.element.family == "tail":
        gate.more_than_it_needs(
            "G10", elsewhere, "The rot stops in the tail, outside the corner: cutting it back or a new end does it."
        )
    else:
        gate.cannot("G10", elsewhere, "Nothing says that the rot runs into a corner: rebuilding one would not reach it.")


def _notch_scope(case: Case, work: Work) -> None:
    length_in = end_length_in(case)
    rods = case.book.likely("norms", RODS)
    work.stage("notch_rebuild", CREW_OF_THREE)
    work.labour("notch_rebuild.shoring", once=True)
    work.labour("notch_rebuild.per_end")
    parts.borate(
        work, rods=rods + 0.0 * length_in, surface_ft2=4.0 * section_area_in2(case) / 144.0,
        wood_ft3=SCARF_FROM_NOTCH_IN * section_area_in2(case) / 1728.0,
    )
    parts.spot_refinish(work)
    _notch_steps(case, work)
    work.buy("notch_rebuild.shoring", once=True)
    work.buy("notch_rebuild.fixings")
    work.wood(
        "log end with its notch", wood_form(case), thickness_in=case.section_in,
        width_in=width_of_wood_in(case), length_in=length_in,
        net_ft3=section_area_in2(case) * length_in / 1728.0, waste=waste_of_wood(case),
    )
    work.joint("round the scarf and the notch", 8.0 * case.section_in, 0.5)
    parts.glue(case, work)
    rotten = maximum(decay_up_in(case), case.length_in) if case.rotten else 0.0 * length_in
    work.sound_wood_ft3 = maximum(length_in - rotten, 0.0) * section_area_in2(case) / 1728.0
    if set(case.bears) & set(HEAVY):
        stamp(work)
    else:
        letter(work)
    work.note("Shore loads, positions and pads: for the engineer. The corner is eased by 1/8 in at most.")
    work.note("A notch cannot be probed from outside: the next logs of the corner are looked at when it is open.")


def _notch_steps(case: Case, work: Work) -> None:
    work.task("Clear the corner inside and out: trim, downspout, wires", 0.08, room=1.0)
    work.task("Shore both walls 2 to 4 ft from the corner to solid ground, ease the load off", 0.25, room=1.0)
    work.task("Hold point: the engineer has seen the shores before anything is cut", 0.02, room=1.0, hold=True)
    work.task("From below, cut back to scarfs at least 24 in inside the notch, staggered", 0.2, room=1.0)
    work.task("Hold point: scarf sound all over, crossing log sound? If not, the cut goes on", 0.03, hold=True)
    work.task("Scribe the new dry ends with their notches, shaped to shed water; rods and borate", 0.27)
    work.task("Glue and bolt the scarfs, pass the load, shores out", 0.1)
    days = case.book.likely("waits", "weather.rain_free_sealant") / 24.0
    work.wait("weather", "No rain on the fresh joints for a day", days)
    work.task("Seal, trim back, blend the finish", 0.05)


METHODS = (Method("notch_rebuild", _notch_fits, _notch_scope),)
