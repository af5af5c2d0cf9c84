"""The wire shape of the job and of the whole answer."""

from __future__ import annotations

from datetime import date

from msgspec import Struct

from service.web.answers.defect import DefectAnswer
from service.web.answers.plan_parts import Clocks, Conditional, Line, Parts
from service.web.answers.values import Money, PriceRange, Quantity, Slip


class SharedCost(Struct, frozen=True, gc=False):
    """A cost that several defects share.

    Attributes:
        what: what it is.
        basis: how it was counted.
        together: what all pay.
        alone: what they would pay one by one.
        defects: places of the defects in the request, from 0.
    """

    what: str
    basis: str
    together: Money
    alone: Money
    defects: list[int]


class JobStep(Struct, frozen=True, gc=False):
    """One thing in the order of work.

    Attributes:
        n: number, from 1.
        phase: phase.
        method: code of the method.
        defects: places of the defects that it serves, from 0.
        text: what is done.
        starts_day: day on which it starts, 0 is `priced_on`.
        ends_day: day on which it is over.
        after: what must be over before.
    """

    n: int
    phase: str
    method: str
    defects: list[int]
    text: str
    starts_day: float
    ends_day: float
    after: list[int]


class Chosen(Struct, frozen=True, gc=False):
    """The plans that the job counts for one defect.

    Attributes:
        defect: its place in the request, from 0.
        methods: codes, one a group of pieces.
    """

    defect: int
    methods: list[str]


class Job(Struct, frozen=True, gc=False):
    """All priced defects together.

    Attributes:
        headline: the answer in a sentence.
        complete: whether every defect is in the total.
        completeness: what is missing, in words.
        chosen: plans that were counted.
        parts: total by parts.
        lines: lines of what is shared.
        shared: what is shared, and what that saves.
        order: order of work.
        total: total as described.
        range: range of the total; null where nothing is priced.
        stand_alone_sum: the same defects one by one.
        clocks: how long it all takes; null where nothing is priced.
        while_access_stands: what is worth doing while the access stands.
        wood_volume: all dry wood.
        wood_notes: yard pieces that several places name, though each serves once.
        cautions: codes, spelled out in `caution_texts`.
        conditional: costs that may come.
    """

    headline: str
    complete: bool
    completeness: str
    chosen: list[Chosen]
    parts: Parts
    lines: list[Line]
    shared: list[SharedCost]
    order: list[JobStep]
    total: Money
    range: PriceRange | None
    stand_alone_sum: Money
    clocks: Clocks | None
    while_access_stands: list[str]
    wood_volume: list[Quantity]
    wood_notes: list[str]
    cautions: list[str]
    conditional: list[Conditional]


class Quote(Struct, frozen=True, gc=False):
    """The whole answer. The same request with the same rates and the same engine gives the same bytes.

    Attributes:
        region: region whose rates were used.
        currency: currency of all money, ISO 4217.
        units: units of the answer.
        level: how well it is known.
        priced_on: day of the prices, and day 0 of all calendars.
        rates: revision that was used; it fixes the whole chain of books and the stock.
        engine: version of the engine.
        input_digest: SHA-256 of the request as it was understood.
        slips: facts of the building and the site that were left out.
        defects: one answer a defect, in the order of the request.
        job: all of them together.
        caution_texts: code of a caution, and its text.
    """

    region: str
    currency: str
    units: str
    level: str
    priced_on: date
    rates: str
    engine: str
    input_digest: str
    slips: list[Slip]
    defects: list[DefectAnswer]
    job: Job
    caution_texts: dict[str, str]
