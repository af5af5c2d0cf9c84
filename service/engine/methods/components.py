"""Parts that many methods have in common: rods, surface borate, drying down, gluing, sealing, blending in."""

from __future__ import annotations

from service.engine.array import Number, ceil, maximum, where
from service.engine.case import Case, once_a_case
from service.engine.drying_down import days_to_dry
from service.engine.work import Dose, Work

CLOSE_UP_BOND_PCT = 18.0
"""Highest moisture at which wood may be bonded or filled [%] (G16; common practice, no source)."""
CLOSE_UP_COAT_PCT = 19.0
"""Highest moisture at which wood may be coated, and of seasoned wood [%] (G16, G17; common practice, no source)."""


def rods_in_pocket(case: Case) -> Number:
    """Rods around a pocket: 2 (l + w) at 6 in, at least 3 (E5; common practice, no source)."""
    return maximum(3.0, ceil(2.0 * (case.length_in + case.width_in) / 6.0))


def rods_in_recess(cut_in: Number) -> Number:
    """Rods behind a facing: two staggered rows at 6 in, together 2 a foot (E5; common practice, no source)."""
    return 2.0 * ceil(cut_in / 12.0)


def rods_in_ring(case: Case) -> Number:
    """Rods in a ring behind a cut end: one in 3.5 in of diameter, at least 3 (E5; common practice, no source)."""
    return maximum(3.0, ceil(case.section_in / 3.5))


def borate(work: Work, *, rods: Number, surface_ft2: Number, wood_ft3: Number) -> None:
    """Rods and a surface coat where wood was cut; never a cure on its own (R1)."""
    work.labour("borate_rods.per_rod", rods)
    work.buy("borate_rod", rods)
    work.labour("borate_surface.per_ft2", surface_ft2)
    work.buy("borate_liquid", surface_ft2, norm="borate.concentrate_per_ft2")
    work.doses.append(Dose(rods, surface_ft2, wood_ft3))


def dry_down(case: Case, work: Work, moisture_pct: Number, limit_pct: float = CLOSE_UP_BOND_PCT) -> None:
    """Wait until the wood that stays is dry enough to be closed up (G16): a delay, not a gate (R12)."""
    days = days_to_dry(case, moisture_pct, limit_pct)
    if not (isinstance(days, float) and days == 0.0):
        how = "with the room warm and aired" if case.on_inner_face else "under an open cover"
        work.wait("drying", f"Dry the wood that stays to {limit_pct:.0f} % {how}; read it 3/4 in deep", days)


@once_a_case
def behind_the_cut_pct(case: Case) -> Number:
    """Moisture of the wood behind a recess that goes past the rot [%]: half way to the dry inner face (R12; J).

    The rotten face is cut away with the reading that was taken in it.
    """
    dry = case.book.likely("climate", "indoor_moisture")
    inside = where(case.inner_soft, case.moisture_pct, dry)
    return (case.moisture_pct + inside) / 2.0


def glue(case: Case, work: Work) -> None:
    """Bond new wood: epoxy where it is warm, cold-rated polyurethane where it is cool (B7)."""
    floor = case.book.likely("waits", "cure.epoxy.min_temp")
    cold = case.cold_degf < floor
    material = "polyurethane_cold" if isinstance(cold, bool) and cold else "epoxy"
    work.cure(material)


def spot_refinish(work: Work, spots: Number = 1.0) -> None:
    """Blend the finish in, to a natural stop line."""
    work.labour("spot_refinish.each", spots)
    work.buy("spot_refinish.finish", spots)
