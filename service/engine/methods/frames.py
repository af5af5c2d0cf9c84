"""Window and door frames: new bucks, sill and trim in their keyways (M36)."""

from __future__ import annotations

from service.engine.array import both, negate
from service.engine.case import Case
from service.engine.gates import Gates
from service.engine.method import Method
from service.engine.methods.fill import ONE_END_IN
from service.engine.methods.wall_work import borate_in_the_hours
from service.engine.work import LEAD, Work

STOCK_THICK_IN = 2.0
"""Thickness of the stock for bucks and sills [in] (clear dry 2-in stock; common practice, no source)."""
STOCK_WIDE_IN = 6.0
"""Width in which that stock is reckoned [in] (J)."""
PARTS_OF_A_FRAME = 5.0
"""Two sides, head, sill and the trim (J)."""


def _buck_fits(case: Case, gate: Gates) -> None:
    gate.more_than_it_needs(
        "M36", case.element.code == "trim", "Only the trim is soft; a new board does it, the frame behind it stays."
    )
    gate.more_than_it_needs(
        "R11", both(case.length_in <= ONE_END_IN, negate(case.both_faces), case.damage.code not in ("split", "crush")),
        "Only {length:length} at one end of one part is soft: a let-in patch does it.", length=case.length_in,
    )


def _buck_scope(case: Case, work: Work) -> None:
    board_feet = case.book.likely("norms", "buck_trim.board_feet")
    part_in = board_feet * 144.0 / (STOCK_THICK_IN * STOCK_WIDE_IN * PARTS_OF_A_FRAME)
    faces_ft2 = part_in * STOCK_WIDE_IN * PARTS_OF_A_FRAME / 144.0
    work.stage("buck_trim", LEAD)
    work.labour("buck_trim.each")
    borate_in_the_hours(work, rods=0.0, surface=faces_ft2, wood_ft3=faces_ft2 / 6.0)
    work.task("Room cleared and sheeted off; sash or door out or held, trim off", 0.12, room=1.0)
    work.task("Old buck and sill out of the keyway", 0.13, room=1.0)
    work.task("Hold point: log faces behind sound and dry? If not, they are made good first", 0.03, room=1.0, hold=True)
    work.task("Make the new parts: sill sloped 10 degrees with a drip, ends sealed", 0.32)
    work.task("Borate on the log faces; pan and head flashing", 0.1)
    work.task("New buck in the keyway with slip fasteners, gap above packed soft; sash back", 0.15, room=1.0)
    days = case.book.likely("waits", "weather.rain_free_sealant") / 24.0
    work.wait("weather", "No rain on the fresh sealant for a day", days)
    work.task("Trim fixed to the frame or to the log, never to both; prime and seal", 0.15)
    work.buy("buck_trim.flashing")
    work.wood(
        "bucks, sill and trim", "quarter_sawn", thickness_in=STOCK_THICK_IN, width_in=STOCK_WIDE_IN, length_in=part_in,
        net_ft3=STOCK_THICK_IN * STOCK_WIDE_IN * part_in / 1728.0, waste="waste.timber", grain="clear",
        each=PARTS_OF_A_FRAME,
    )
    work.joint("round the frame, outside", PARTS_OF_A_FRAME * part_in, 0.375)
    if case.flag("moving") or case.word("stage") == "settling":
        work.note("The wall is still settling: leave 3/8 in a foot of opening above the frame.")
    else:
        work.note("The wall has settled: 1/8 in above the frame is enough; check it all the same.")
    if case.heritage:
        work.note("The heritage officer will want the old frame patched wherever it can be: keep every sound part.")


METHODS = (Method("buck_trim", _buck_fits, _buck_scope),)
