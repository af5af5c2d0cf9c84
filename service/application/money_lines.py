"""Lines whose numbers are money. A region with other money than the one above it states all of them again.

An inherited number would be taken for the region's own money: a price in dollars would be quoted as so many euros.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from service.application.inheritance import LineKey, Lines

MONEY_TERMS = frozenset({"minimum_charge", "site_management.from", "wage.lead", "wage.lead_burdened"})
PLAIN_WEIGHTS = frozenset({"fraction", "1/yr"})
"""Units of weights that are shares and factors; all others are money's worth."""


@dataclass(frozen=True, slots=True)
class OtherMoney:
    """Regions of a family that reckon in other money than the region that is looked at, by code.

    Attributes:
        above: those that it inherits from.
        below: those that inherit from it.
    """

    above: frozenset[str] = frozenset()
    below: frozenset[str] = frozenset()


def is_money(key: LineKey, unit: str) -> bool:
    """Whether the numbers of a line are money."""
    section, code = key
    return (
        section == "resources"
        or (section == "terms" and code in MONEY_TERMS)
        or (section == "weights" and unit not in PLAIN_WEIGHTS)
    )


def in_other_money(above: Lines, own: Collection[LineKey], other: OtherMoney) -> list[LineKey]:
    """Money that a region with these own lines would inherit from one that reckons in other money."""
    return sorted(
        key for key, line in above.items()
        if line.region in other.above and key not in own and is_money(key, line.unit)
    )
