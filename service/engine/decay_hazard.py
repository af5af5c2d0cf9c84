"""How fast wood decays there: the climate of the region, and the detail that outweighs it."""

from __future__ import annotations

from dataclasses import dataclass

from service.engine.case import Case
from service.engine.outcome import Measure
from service.engine.rates import RateBook
from service.engine.science.decay_climate import decay_zone
from service.engine.season import decay_index

ZONES = ("low", "moderate", "high")
GROUND_CAUSES = ("K03", "K04", "K12", "K17")
TRAPPING_CAUSES = ("K07", "K16", "K19")
LEAKS = ("K02", "K08", "K09", "K10", "K11", "K14", "K20")
INDOORS = (
    "post_interior", "purlin", "ridge", "rafter", "floor_joist", "girder", "truss_top_chord", "truss_bottom_chord",
    "truss_king_post", "truss_web",
)
"""Members under the roof: sheltered as long as nothing leaks (J)."""


DEEP_OVERHANG_FT = 3.0
"""Roof overhang that keeps rain off the wall below (J) [ft]."""
SPLASH_COURSES = 4.0
"""Courses that splash from the ground reaches, whatever the roof (K03; common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Hazard:
    """Index of the region, zone of the detail, and why."""

    index: float
    zone: str
    words: str


def hazard_of(case: Case) -> Hazard:
    """Hazard of decay at this place (Scheffer 1971; ground contact, splash and trapped water are always high)."""
    index = decay_index(case.book)
    region = decay_zone(index)
    wet = _wet_detail(case)
    zone: str
    if wet:
        zone, why = decay_zone(index, ground_contact=True), f"the detail outweighs the climate: {wet}"
    elif _sheltered(case):
        zone, why = ZONES[max(ZONES.index(region) - 1, 0)], "it stands under the roof, away from rain"
    else:
        zone, why = region, "it stands in the open and sheds water"
    return Hazard(index, zone, f"Decay climate index {index:.0f}, {region} for the region; here {zone}: {why}.")


def _wet_detail(case: Case) -> str:
    """What keeps the wood wet whatever the climate, or ""."""
    if float(case.soil_above_in) > 0.0 or case.word("base") in ("soil", "buried") or case.cause("K04"):
        return "the wood touches the ground"
    if case.cause(*GROUND_CAUSES) or case.word("base") == "slab":
        return "splash or standing water keeps it wet"
    if case.flag("holds_water") or case.damage.code == "check_up" or case.cause(*TRAPPING_CAUSES):
        return "water is trapped in it"
    if case.cause(*LEAKS) or case.flag("wet_now"):
        return "a leak feeds it"
    return ""


def _sheltered(case: Case) -> bool:
    deep = "overhang" in case.known and float(case.overhang_ft) >= DEEP_OVERHANG_FT
    return case.element.code in INDOORS or case.word("side") == "inner" or (deep and float(case.course) > SPLASH_COURSES)


def spread_of(case: Case, hazard: Hazard) -> tuple[Measure, Measure]:
    """How far decay goes on in a year, inward and along the grain [in]; nothing where no wood is lost.

    Full speed where it stays wet and warm, a share of it where it is cold or dry, between them where the hazard is
    moderate; decay that is old and dry goes on at that share again (A2; common practice, no source).
    """
    if not case.rotten or case.damage.kind == "fire":  # char is no rot: it does not grow
        return Measure(0.0, "in"), Measure(0.0, "in")
    book = case.book
    share = _share(book, hazard.zone) * (1.0 if bool(case.live) else _share(book, "low"))
    inward = book.likely("norms", "spread.depth_warm") * share
    along = book.likely("norms", "spread.length_warm") * share
    return Measure(inward, "in"), Measure(along, "in")


def _share(book: RateBook, zone: str) -> float:
    least = book.likely("norms", "spread.cold_dry_share")
    return {"low": least, "moderate": (1.0 + least) / 2.0, "high": 1.0}[zone]
