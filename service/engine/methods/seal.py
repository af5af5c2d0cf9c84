"""Keeping water out of joints: checks sealed (M27), caulk (M34), chink (M35), flat tops sloped or capped (M28)."""

from __future__ import annotations

from service.engine.array import Number, Truth, both, ceil, maximum, negate, where
from service.engine.case import Case
from service.engine.gates import Gates
from service.engine.method import Method
from service.engine.methods import components as parts
from service.engine.methods.framing import at_an_end, decay_up_in
from service.engine.methods.surface import SHALLOW_IN, SHALLOW_RATIO, coat_of_borate, is_split
from service.engine.science.joints import bead_depth_in, sealant_feet_per_unit
from service.engine.urgency import LEAST_CHECK_IN
from service.engine.work import CARPENTER, FINISHER, Work

UP_TO_CLOCK = 2.5
"""Last position on the clock at which a check on the outside holds water: half past two (G18)."""
SMALL_TUBE_IN3 = 18.2
"""Content of a 10-oz cartridge [in3] (E6)."""
LARGE_TUBE_IN3 = 52.3
"""Content of a 29-oz cartridge [in3] (E6)."""
PAIL_IN3 = 1155.0
"""Content of a 5-gal pail [in3] (E6)."""
CHINK_IN = 3.0
"""Width of chink for which the norm holds [in] (M35)."""
CHINK_THICK_IN = 0.375
"""Thickness of flexible chink [in] (M35)."""
DAUB_THICK_IN = 2.0
"""Thickness of lime daub between logs [in] (J)."""


def _tubes(case: Case, work: Work, length_in: Number, gap_in: Number) -> None:
    """Whole cartridges for all pieces together: one small one, or as many large ones as it takes (E6)."""
    depth = bead_depth_in(gap_in)
    feet = length_in / 12.0 * case.count
    small = feet / sealant_feet_per_unit(SMALL_TUBE_IN3, gap_in, depth)
    large = feet / sealant_feet_per_unit(LARGE_TUBE_IN3, gap_in, depth)
    work.buy("sealant_10oz", where(small <= 1.0, 1.0, 0.0) / case.count)
    work.buy("sealant_29oz", where(small <= 1.0, 0.0, ceil(large)) / case.count)


def _backer(case: Case, work: Work, length_in: Number) -> None:
    waste = 1.0 + case.book.likely("norms", "waste.sealant")
    work.buy("backer_rod", length_in / 12.0 * waste)


def _dry_day(case: Case, work: Work) -> None:
    hours = case.book.likely("waits", "weather.rain_free_sealant")
    work.wait("weather", "No rain on it for a day, above freezing", hours / 24.0)


# ---- M27 ---------------------------------------------------------------------------------------------------------


def _check_seal_fits(case: Case, gate: Gates) -> None:
    indoors = case.word("side") == "inner" or case.element.code == "post_interior"
    gate.cannot("G18", indoors, "Indoors no rain gets in: leave the check open.")
    gate.cannot(
        "R8", is_split(case), "The crack runs through a joint or both faces: it is a split; sealing would hide it."
    )
    gate.cannot(
        "G18", case.check_width_in < LEAST_CHECK_IN,
        "{gap:length} wide; below 1/4 in a penetrating finish does, sealant would not hold.", gap=case.check_width_in,
    )
    gate.cannot(
        "G18", both(case.clock > UP_TO_CLOCK, case.clock < 12.0),
        "It opens sideways or down and drains by itself; sealed, it would hold the water that comes from above.",
    )


def _check_seal_scope(case: Case, work: Work) -> None:
    wet = case.moisture_pct > parts.CLOSE_UP_BOND_PCT
    rods = where(wet, maximum(ceil(case.length_in / 12.0), 1.0), 0.0)
    gap = maximum(case.check_width_in, LEAST_CHECK_IN)
    work.stage("check_seal", CARPENTER)
    work.labour("check_seal.fixed", once=True)
    work.labour("check_seal.per_ft", case.length_in / 12.0)
    parts.borate(
        work, rods=rods, surface_ft2=case.length_in * 2.0 / 144.0, wood_ft3=case.length_in * 4.0 / 1728.0
    )
    work.task("Rake out and blow clean; borate; rods below the check where the wood is wet", 0.4)
    parts.dry_down(case, work, case.moisture_pct)
    work.task("Closed-cell backer a quarter larger than the gap, so that the sealant is half as deep as wide", 0.2)
    work.task("Seal, tool it to shed; leave the lower end open to drain", 0.4)
    _dry_day(case, work)
    _backer(case, work, case.length_in)
    _tubes(case, work, case.length_in, gap)
    work.joint("check", case.length_in, gap)
    work.note("Never hard filler and never foam in a check: the log moves, and foam holds water.")
    work.note("Alone it costs the least charge for a visit; many checks on one day cost a fraction of that each.")


# ---- M34 ---------------------------------------------------------------------------------------------------------


def _joint_length_in(case: Case) -> Number:
    return maximum(case.length_in, 1.0)


def _recaulk_fits(case: Case, gate: Gates) -> None:
    chinked = case.element.code == "masonry_interface" and case.word("wall_system") == "chinked"
    gate.more_than_it_needs("M34", chinked and case.heritage, "Old daub is mended with daub, not with sealant.")


def _recaulk_scope(case: Case, work: Work) -> None:
    length = _joint_length_in(case)
    gap = maximum(case.width_in, LEAST_CHECK_IN)
    work.stage("recaulk", FINISHER)
    work.labour("recaulk.fixed", once=True)
    work.labour("recaulk.per_ft", length / 12.0)
    work.task("Rake out all of the old sealant, down to clean wood", 0.5)
    parts.dry_down(case, work, case.moisture_pct)
    work.task("Backer rod or bond-breaker tape, so that only two sides hold", 0.2)
    work.task("Elastomeric sealant twice as wide as deep, tooled; after blasting, before the last coat", 0.3)
    _dry_day(case, work)
    _backer(case, work, length)
    _tubes(case, work, length, gap)
    work.joint("seam between logs", length, gap)
    work.note("Look at it once a year: the wood moves, and one edge may let go.")


# ---- M35 ---------------------------------------------------------------------------------------------------------


def old_daub(case: Case) -> bool:
    """Whether the chink is old daub on protected fabric: synthetic chink stays off it (M35)."""
    return case.heritage and case.word("wall_system") in ("chinked", "")


def _rechink_fits(case: Case, gate: Gates) -> None:
    caulked = case.element.code == "masonry_interface" and case.word("wall_system") in ("caulked", "scribed")
    gate.cannot("M35", caulked, "Logs fitted tight leave no room for chink; the joint is caulked.")


def _rechink_scope(case: Case, work: Work) -> None:
    length = _joint_length_in(case)
    feet = length / 12.0
    wide = maximum(case.width_in, 1.0)
    work.stage("rechink", FINISHER)
    work.labour("rechink.fixed", once=True)
    if old_daub(case):
        _daub(work, feet, wide)
        return
    work.labour("rechink.per_ft", feet * maximum(wide / CHINK_IN, 1.0))
    work.task("Cut failed chink back to sound; test old mineral mix before it is disturbed", 0.35)
    parts.dry_down(case, work, case.moisture_pct)
    work.task("Backer with a bond breaker, so that only the two logs hold", 0.15)
    work.task("3/8 in of flexible chink, lower edge flush or proud of the log below, never a shelf", 0.5)
    _dry_day(case, work)
    _backer(case, work, length)
    # Part of a pail is charged: a pail once opened is closed again and goes on to the next wall.
    work.buy("chink_pail", feet / sealant_feet_per_unit(PAIL_IN3, wide, CHINK_THICK_IN))
    work.cure("chink")
    work.note("It skins in a day and is through in 2 to 6 weeks; shade it from the sun. Look at it once a year.")


def _daub(work: Work, feet: Number, wide_in: Number) -> None:
    """Lime or clay daub like the old one, over laths, kept damp while it sets."""
    work.labour("rechink.daub_per_ft", feet * maximum(wide_in / CHINK_IN, 1.0))
    work.task("Take samples; pick out only what is loose, by hand", 0.35)
    work.task("Laths or wedges like the old ones, wetted", 0.15)
    work.task("Daub to the old recipe in two coats, tooled to shed", 0.5)
    hours = work.case.book.likely("waits", "cure.lime_daub.next")
    work.wait("cure", "Daub sets, kept damp, shaded, and free of frost", hours / 24.0)
    work.buy("daub_lime", feet * wide_in / 12.0 * DAUB_THICK_IN / 12.0)
    work.cure("lime_daub")
    work.lead("lead.lab")
    work.note("No synthetic chink over lime or clay daub: it holds damp in the logs and cannot be taken off again.")


# ---- M28 ---------------------------------------------------------------------------------------------------------


def flat_top(case: Case) -> bool:
    """Whether there is a flat top that holds water: seen, or the cause of what is wrong."""
    return case.flag("holds_water") or case.word("side") == "top" or case.cause("K07")


def _cap_slope_fits(case: Case, gate: Gates) -> None:
    gate.cannot("M28", not flat_top(case), "Nothing here holds water; there is no flat top to slope or to cap.")
    if case.rotten:
        gate.cannot(
            "R1", negate(_shallow(case)),
            "{depth:length} of the top is soft; a cap over rot keeps it damp. Mend the wood, then cap it.",
            depth=decay_up_in(case) if at_an_end(case) else case.depth_in,
        )


def _shallow(case: Case) -> Truth:
    """Whether the decay is within what is cleaned back and left (G03); at an end it is measured along the grain (R9)."""
    if at_an_end(case):
        return decay_up_in(case) <= SHALLOW_IN
    return both(case.depth_in <= SHALLOW_IN, case.depth_ratio <= SHALLOW_RATIO)


def _cap_slope_scope(case: Case, work: Work) -> None:
    work.stage("cap_slope", CARPENTER, phase="correction" if work.part == "correction" else "main")
    work.labour("cap_slope.each")
    if case.rotten and work.part == "package":
        work.labour("clean_leave.each")
        work.buy("clean_leave.abrasives")
    area = maximum(case.length_in * case.width_in / 144.0, 1.0)
    coat_of_borate(work, area)
    work.task("Clean back to bright wood; borate", 0.4)
    work.task("Cut it to 15 degrees or more, or set a cap with a 1-in drip over a vented gap", 0.6)
    work.buy("cap_slope.cap", area)
    work.note("Metal or cold-applied membrane only: no torch near log walls, voids or old fabric.")


METHODS = (
    Method("check_seal", _check_seal_fits, _check_seal_scope),
    Method("recaulk", _recaulk_fits, _recaulk_scope),
    Method("rechink", _rechink_fits, _rechink_scope),
    Method("cap_slope", _cap_slope_fits, _cap_slope_scope),
)
