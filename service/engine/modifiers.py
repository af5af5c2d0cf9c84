"""What access, season, people and history do to hours on site (D3, D7; common practice, no source)."""

from __future__ import annotations

from dataclasses import dataclass

from service.engine.array import Number, where
from service.engine.case import Case

LEAD_PAINT_BEFORE = 1978
"""Coatings on houses built before this year are taken as lead paint until tested (40 CFR 745 subpart E)."""


@dataclass(frozen=True, slots=True)
class Modifier:
    """One modifier: what it is, the norm it comes from, and its factor."""

    what: str
    norm: str
    factor: float


def access_factor(case: Case, way_up: str = "") -> Number:
    """Factor on hours by height: ground, low scaffold, above 12 ft, above 24 ft; and by how near a vehicle comes.

    Whoever hangs on ropes works as slowly near the ground as high up (D3).
    """

    def row(code: str) -> float:
        return case.book.likely("access", code)

    h = case.height_ft
    by_height = where(
        h > row("limit.high"), row("factor.over_24_ft"),
        where(
            h > row("limit.low_scaffold"), row("factor.over_12_ft"),
            where(h > row("limit.ground"), row("factor.low_scaffold"), row("factor.ground")),
        ),
    )
    if way_up == "rope":
        by_height = where(h > row("limit.ground"), row("factor.rope"), row("factor.ground"))
    reach = case.word("access")
    return by_height * (row(f"factor.{reach}") if reach in ("carry_in", "no_vehicle") else 1.0)


def keeps_quiet(case: Case) -> bool:
    """Whether loud work has to wait for certain hours: said, or somebody sleeps there by day."""
    return case.flag("owner_sleeps_by_day") or case.word("quiet_hours") not in ("", "none")


def modifiers_of(case: Case, *, heated: bool) -> list[Modifier]:
    """Modifiers that hold for this case, the strongest first."""
    painted = case.word("finish") in ("paint", "solid", "film")
    old = case.year_built is not None and case.year_built < LEAD_PAINT_BEFORE
    lived_in = not case.flag("vacant")
    rows = (
        (case.heritage, "factor.historic", "historic methods"),
        (old and painted, "factor.lead", "lead-safe containment"),
        (case.hewn and not case.heritage, "factor.hewn", "hewn texture"),
        (heated, "factor.winter", "winter working"),
        (keeps_quiet(case) and lived_in, "factor.odd_hours", "work outside quiet hours"),
        (case.flag("occupied") and lived_in, "factor.occupied", "occupied room"),
        (case.element.code in ("girder", "floor_joist"), "factor.crawl", "cramped crawl space"),
    )
    found = [Modifier(what, n, case.book.likely("norms", n)) for holds, n, what in rows if holds]
    return sorted(found, key=lambda m: -m.factor)


def hours_factor(case: Case, *, heated: bool = False, way_up: str = "") -> Number:
    """All modifiers together with access; beyond the third at half, never more than three at full value (D7)."""

    def worked_out(case: Case) -> Number:
        full = int(case.book.likely("norms", "factor.full_count"))
        factor: Number = access_factor(case, way_up)
        for n, one in enumerate(modifiers_of(case, heated=heated)):
            factor = factor * (one.factor if n < full else 1.0 + (one.factor - 1.0) / 2.0)
        return factor

    ropes = "_on_ropes" if way_up == "rope" else ""
    return case.once(f"hours{'_heated' if heated else ''}{ropes}", worked_out)
