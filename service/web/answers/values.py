"""Wire values that all parts of an answer are made of: quantities, money, ranges, slips and facts."""

from __future__ import annotations

from typing import Annotated, Any

from msgspec import Meta, Struct

FactValue = Annotated[Any, Meta(extra_json_schema={"anyOf": [
    {"$ref": "#/components/schemas/Quantity"}, {"$ref": "#/components/schemas/QuantityRange"}, {"type": "string"},
]})]
"""A quantity, a range or a code: msgspec writes such a union and cannot describe it."""

Money = Annotated[
    str, Meta(max_length=24, extra_json_schema={"x-ref": "Money", "pattern": r"^-?[0-9]{1,12}\.[0-9]{2,9}$"})
]
DecimalText = Annotated[
    str, Meta(max_length=24, extra_json_schema={"x-ref": "DecimalText", "pattern": r"^-?[0-9]{1,12}(\.[0-9]{1,9})?$"})
]


class Quantity(Struct, frozen=True, gc=False):
    """A number with its unit, in the units of the answer.

    Attributes:
        value: the number.
        unit: its unit.
    """

    value: float
    unit: str


class QuantityRange(Struct, frozen=True, gc=False):
    """A number that nobody knows exactly, with its unit.

    Attributes:
        low: low end.
        likely: what the plans as described are worked out with.
        high: high end.
        unit: unit of all three.
    """

    low: float
    likely: float
    high: float
    unit: str


class PriceRange(Struct, frozen=True, gc=False):
    """The price in nine of ten, half and one of ten of the possible worlds, decimal text.

    Attributes:
        p10: one time in ten it is less.
        p50: as often less as more.
        p90: one time in ten it is more.
    """

    p10: Money
    p50: Money
    p90: Money


class Price(Struct, frozen=True, gc=False):
    """A price as described, and as a range without the contingency line.

    Attributes:
        as_described: sum of the lines.
        range: where the price ends once everything is known; null where the plan fits in no world.
    """

    as_described: Money
    range: PriceRange | None


class Slip(Struct, frozen=True, gc=False):
    """A value that cannot be, or that was left out.

    Attributes:
        pointer: JSON pointer to it in the request.
        value: the value as it was understood.
        wrong: what is wrong with it.
        right: the likely slip, or what would be right.
        code: stable code.
        fatal: whether the defect could not be priced because of it.
    """

    pointer: str
    value: str
    wrong: str
    right: str
    code: str
    fatal: bool


class Fact(Struct, frozen=True, gc=False):
    """A fact that the answer rests on.

    Attributes:
        name: name of the fact.
        value: the value, a range where it is not known, or a code.
        origin: stated, assumed, derived or dropped.
        why: where an assumed value comes from.
    """

    name: str
    value: FactValue
    origin: str
    why: str
