"""What changed since a quote, on the wire."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any

import msgspec
from msgspec import UNSET, Meta, Struct, UnsetType

from service.web import limits
from service.web.answers import Money
from service.web.comparing_shapes import MovedLine, MovedPiece
from service.web.reading_shapes import Signature
from service.web.requests import REVISION_FORM, REVISION_WORDS, Day, RequestTypes

Revision = Annotated[str, Meta(
    min_length=1, max_length=limits.REVISION_CHARACTERS, description="`rates` of the quote, as its answer gave it.",
    examples=["base@1/kestrel-range@1"], extra_json_schema={"x-ref": "Revision", "pattern": REVISION_FORM},
    extra={"form": REVISION_WORDS})]


class PlanMove(Struct, frozen=True):
    """A plan under the quote's rates and under those in force.

    Attributes:
        method: code of the main method.
        variant: heated for the plan that works now in a heated tent, else empty.
        title: in words.
        rank_then: its rank under the quote's rates; null where it was not offered.
        rank_now: its rank now; null where it is not offered any more.
        whole_then: whole price as described under the quote's rates; null where it was not offered.
        whole_now: whole price as described now; null where it is not offered any more.
        change: now less then; null where it is not offered under both.
    """

    method: str
    variant: str
    title: str
    rank_then: int | None
    rank_now: int | None
    whole_then: Money | None
    whole_now: Money | None
    change: Money | None


class DefectMove(Struct, frozen=True):
    """Alike pieces of one defect under both rates.

    Attributes:
        defect: the defect, as the request calls it.
        pieces: numbers of the pieces, from 1.
        order_changes: whether plans change places, come or go.
        first_changes: whether another plan is first.
        plans: every plan of either, in the order of the quote; those that came since are last.
    """

    defect: str
    pieces: list[int]
    order_changes: bool
    first_changes: bool
    plans: list[PlanMove]


class PlanEffect(Struct, frozen=True):
    """What one moved line alone does to one plan.

    Attributes:
        defect: the defect, as the request calls it.
        pieces: numbers of the pieces, from 1.
        method: code of the main method.
        variant: heated for the plan that works now in a heated tent, else empty.
        change: what it adds to the whole price as described.
    """

    defect: str
    pieces: list[int]
    method: str
    variant: str
    change: Money


class LineEffect(Struct, frozen=True):
    """One moved line put into the quote's rates by itself.

    Attributes:
        section: part of the book; stock for the count of the yard, which is put in as a whole.
        code: its code; count for the count of the yard.
        change: what it adds to the job's total as described; null where nothing can be priced so.
        plans: what it adds to each plan; plans that it does not move are left out.
        order_changes: whether plans change places, come or go.
        first_changes: whether another plan is first anywhere.
    """

    section: str
    code: str
    change: Money | None
    plans: list[PlanEffect]
    order_changes: bool
    first_changes: bool


class LineName(Struct, frozen=True):
    """A line by its name.

    Attributes:
        section: part of the book; stock for the count of the yard.
        code: its code.
    """

    section: str
    code: str


class QuoteMove(Struct, frozen=True):
    """A quote under both rates, priced on one day, so that nothing but the rates makes a difference.

    Attributes:
        priced_on: the day.
        total_then: the job's total as described under the quote's rates.
        total_now: the same under the rates in force.
        change: now less then.
        defects: the plans of every group of alike pieces.
        effects: what each moved line does alone, the largest change first.
        together: what is left of the change: lines that work through each other, and those not looked at alone.
        not_alone: moved lines that the quote reads and that were not looked at alone, because there were too many.
    """

    priced_on: date
    total_then: Money
    total_now: Money
    change: Money
    defects: list[DefectMove]
    effects: list[LineEffect]
    together: Money
    not_alone: list[LineName]


class Changes(Struct, frozen=True):
    """What changed since a quote.

    Attributes:
        region: code of the region.
        currency: currency of all money, ISO 4217.
        day: day whose rates are compared with the quote's.
        rates_then: the quote's rates.
        rates_now: the rates in force on the day.
        summary: the answer in a sentence or a few.
        lines: lines that moved.
        stock: pieces of the yard that moved.
        counts: counts of the yard that lie between, the oldest first.
        quote: what that does to the quote; null where the request was not told.
    """

    region: str
    currency: str
    day: date
    rates_then: str
    rates_now: str
    summary: str
    lines: list[MovedLine]
    stock: list[MovedPiece]
    counts: list[Signature]
    quote: QuoteMove | None


def changes_request(types: RequestTypes) -> type[Struct]:
    """The type of a question for what changed: it holds a request for a quote as it was sent."""
    on: Any = Annotated[Day | UnsetType, Meta(
        description="Day whose rates are compared with the quote's. Left out: today, in UTC.", examples=["2026-05-04"])]
    request: Any = Annotated[types.request | UnsetType, Meta(
        description="The request that was quoted, as it was sent. Left out: only what moved is told.")]
    return msgspec.defstruct(
        "ChangesRequest", [("rates", Revision), ("on", on, UNSET), ("request", request, UNSET)], frozen=True,
        forbid_unknown_fields=True, kw_only=True, module=__name__,
        namespace={"__doc__": "A quote, by its rates and, where the caller has it, its request."},
    )
