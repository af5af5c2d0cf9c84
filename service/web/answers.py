"""The wire shape of an answer: complete, without defaults. Each attribute's text is its description in the contract.

One long file on purpose: it is the document of the answer, read from the small shapes to the whole, and has no code.

No answer refers to itself, so the collector of cycles need not look at these (`gc=False`).
"""

from __future__ import annotations

from datetime import date
from typing import Annotated, Any

from msgspec import Meta, Struct, field

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


class Line(Struct, frozen=True, gc=False):
    """One line of a price: quantity x rate x (1 + markup), rounded once.

    Attributes:
        part: package, interim, correction, access, roof_opening, shared, refinish, contingency or tax.
        step: number of the step that it belongs to; null for what belongs to none.
        resource: code of the line in the rate book.
        what: what it is.
        quantity: how much, in the unit of the rate book, so that the line can be worked out again.
        rate: price of one unit.
        markup: added on top, 0.2 is a fifth.
        amount: the line's sum.
        from_region: region whose book has the rate.
        norm: code of the norm that gave the hours; null where none did.
    """

    part: str
    step: int | None
    resource: str
    what: str
    quantity: Quantity
    rate: Money
    markup: DecimalText
    amount: Money
    from_region: str = field(name="from")
    norm: str | None


class Parts(Struct, frozen=True, gc=False):
    """The price by parts. They add up to the whole.

    Attributes:
        package: the main method with all that it needs.
        interim: shores and covers until then.
        correction: what keeps it from coming back.
        access: ladders, scaffold, lifts.
        roof_opening: opening and closing the roof.
        shared: travel, set-up, disposal.
        refinish: new finish beyond the spot.
        contingency: for what nobody sees; from a visit on.
        tax: tax.
    """

    package: Money
    interim: Money
    correction: Money
    access: Money
    roof_opening: Money
    shared: Money
    refinish: Money
    contingency: Money
    tax: Money


class Step(Struct, frozen=True, gc=False):
    """One step of a plan.

    Attributes:
        n: number in the plan, from 1.
        phase: interim, correction, main or finish.
        method: code of the method that the step belongs to.
        text: what is done.
        crew: trades.
        hours: person-hours in all.
        after: steps that must be over before.
        starts_day: day of the calendar on which it starts, 0 is `priced_on`.
        ends_day: day on which it is over.
        critical: whether the plan takes longer if this step does.
        hold_point: whether work stops here until somebody has looked.
    """

    n: int
    phase: str
    method: str
    text: str
    crew: list[str]
    hours: float
    after: list[int]
    starts_day: float
    ends_day: float
    critical: bool
    hold_point: bool


class Clocks(Struct, frozen=True, gc=False):
    """The six clocks and the whole path, in days. They are never added together.

    Attributes:
        days_from_today: the whole path.
        lead_days: the longest wait, for wood, engineer, permit, consent or season.
        crew_days: days with somebody on site.
        calendar_days: site days, cures, weather and drying.
        room_out_days: days without the room.
        roof_open_days: days with an open roof.
        load_restricted_days: days on which it may not carry.
        calendar_range: calendar days from short to long.
        earliest_start: first day of work.
        finish: day on which all is over.
    """

    days_from_today: float
    lead_days: float
    crew_days: float
    calendar_days: float
    room_out_days: float
    roof_open_days: float
    load_restricted_days: float
    calendar_range: list[float]
    earliest_start: date
    finish: date


class Delay(Struct, frozen=True, gc=False):
    """What makes a plan wait.

    Attributes:
        reason: code.
        days: how long.
        until: until when.
        text: in words.
    """

    reason: str
    days: float
    until: date
    text: str


class WoodPiece(Struct, frozen=True, gc=False):
    """Dry wood that has to be on the truck.

    Attributes:
        piece: what it becomes.
        count: how many.
        form: log, slab, timber, board.
        thickness: depth of the section; the diameter of a round piece.
        width: width of the section; the flat back of a slab.
        length: length in place.
        stock_length: length to order.
        volume: the same wood in each unit of volume.
        species: code of the species.
        moisture_max: wettest that it may be.
        grain: any, or quarter sawn.
        waste: share that becomes offcuts.
        met_by: from where it comes.
        yard: codes of the yard pieces that it comes from. Nothing is reserved: hold them for the job.
        ready_in_days: 0 when it is there.
        green_instead: what green wood would do.
    """

    piece: str
    count: int
    form: str
    thickness: Quantity
    width: Quantity
    length: Quantity
    stock_length: Quantity
    volume: list[Quantity]
    species: str
    moisture_max: Quantity
    grain: str
    waste: float
    met_by: str
    yard: list[str]
    ready_in_days: float
    green_instead: str


class Preservative(Struct, frozen=True, gc=False):
    """A dose of borate.

    Attributes:
        product: kind of product.
        rods: number of rods.
        liquid: amount of liquid.
        boric_acid_equivalent_g: boric acid equivalent [g].
        retention_kg_m3: retention in the wood [kg/m3].
        note: why so much, and whose word governs.
    """

    product: str
    rods: int
    liquid: Quantity
    boric_acid_equivalent_g: float
    retention_kg_m3: float
    note: str


class Joint(Struct, frozen=True, gc=False):
    """A sealant joint.

    Attributes:
        where: where it runs.
        length: length.
        gap: width of the gap.
        backer: diameter of the backer rod.
        bead_depth: depth of the bead.
        movement: movement that it has to take.
        tubes: tubes of sealant.
    """

    where: str
    length: Quantity
    gap: Quantity
    backer: Quantity
    bead_depth: Quantity
    movement: Quantity
    tubes: int


class Life(Struct, frozen=True, gc=False):
    """Service life in years: low, likely, high.

    Attributes:
        corrected: with the cause corrected.
        not_corrected: with the cause left as it is.
        used: which of them the plan was ranked by.
    """

    corrected: list[float]
    not_corrected: list[float]
    used: str


class CostAYear(Struct, frozen=True, gc=False):
    """Equivalent annual cost.

    Attributes:
        corrected: with the cause corrected.
        not_corrected: with the cause left as it is.
    """

    corrected: Money
    not_corrected: Money


class Term(Struct, frozen=True, gc=False):
    """One term of a score.

    Attributes:
        code: stable code.
        what: in words.
        amount: money a year.
    """

    code: str
    what: str
    amount: Money


class Score(Struct, frozen=True, gc=False):
    """Money a year by which plans are ranked.

    Attributes:
        terms: they add up to the total.
        total: money a year.
    """

    terms: list[Term]
    total: Money


class IfMore(Struct, frozen=True, gc=False):
    """What more of it costs.

    Attributes:
        what: of what.
        unit: by which unit, as in the rate book.
        price: one more of it.
    """

    what: str
    unit: str
    price: Money


class FollowUp(Struct, frozen=True, gc=False):
    """When somebody looks again.

    Attributes:
        on: the day.
        what: at what.
    """

    on: date
    what: str


class Conditional(Struct, frozen=True, gc=False):
    """A cost that may come: outside the sum, inside the range.

    Attributes:
        code: stable code.
        what: in words.
        price: what it costs if it comes.
        probability: how likely it is, 0 to 1.
    """

    code: str
    what: str
    price: Money
    probability: float


class Fork(Struct, frozen=True, gc=False):
    """Plan A if ..., plan B if not, both priced now.

    Attributes:
        plan_a: method of plan A.
        plan_b: method of plan B.
        decides: fact that decides.
        threshold: where it tips; null where no number decides.
        probability_b: how likely plan B is, 0 to 1.
        price_a: whole price of plan A.
        price_b: whole price of plan B.
        expected: both, weighed.
        open_up_first: whether opening up first pays.
        text: in words.
    """

    plan_a: str
    plan_b: str
    decides: str
    threshold: Quantity | None
    probability_b: float
    price_a: Money
    price_b: Money
    expected: Money
    open_up_first: bool
    text: str


class Option(Struct, frozen=True, gc=False):
    """One plan.

    Attributes:
        method: code of the main method.
        variant: heated for the plan that works now in a heated tent, else empty.
        title: in words.
        rank: 1 is first.
        comparison_only: more than it needs, shown to compare.
        stop_gap: holds only until the main work.
        provisional: whether the price waits for a sign-off or for opening up.
        holds: share of the possible worlds in which it still fits once opened up, 0 to 1.
        otherwise: method that takes over where it does not; null where it always fits.
        fork: both plans, priced; null where there is no fork.
        package: price of the package part.
        whole: price of all parts.
        parts: price by parts.
        lines: every line of the price.
        conditional: costs that may come.
        if_more: what more of it costs.
        steps: steps in order.
        clocks: how long what takes.
        delays: what makes it wait.
        wood: dry wood, piece by piece.
        preservative: doses of borate.
        joints: sealant joints.
        life: service life.
        cost_a_year: equivalent annual cost.
        life_cycle: cost over the horizon of the rate book, in today's money; null where nothing is mended, as by a shore,
            a cover or a watch.
        score: why it ranks where it does.
        sign_off: none, lead, engineer_letter or engineer_stamp.
        match: 1 poor to 5 invisible.
        heritage: A liked, B accepted, C last resort, X avoid.
        follow_up: when somebody looks again.
        price_good_until: last day of the price.
        warranty: whether it comes with a warranty.
        waiver: what the owner signs where a cause is declined; null where none is.
        cautions: codes, spelled out in `caution_texts`.
        notes: what goes with the plan, in sentences.
        why: why it ranks where it does, in a sentence for the owner.
    """

    method: str
    variant: str
    title: str
    rank: int
    comparison_only: bool
    stop_gap: bool
    provisional: bool
    holds: float
    otherwise: str | None
    fork: Fork | None
    package: Price
    whole: Price
    parts: Parts
    lines: list[Line]
    conditional: list[Conditional]
    if_more: list[IfMore]
    steps: list[Step]
    clocks: Clocks
    delays: list[Delay]
    wood: list[WoodPiece]
    preservative: list[Preservative]
    joints: list[Joint]
    life: Life
    cost_a_year: CostAYear
    life_cycle: Money | None
    score: Score
    sign_off: str
    match: int
    heritage: str
    follow_up: list[FollowUp]
    price_good_until: date
    warranty: bool
    waiver: str | None
    cautions: list[str]
    notes: list[str]
    why: str


class RuledOut(Struct, frozen=True, gc=False):
    """A method that was struck out. It has no price.

    Attributes:
        method: code.
        title: in words.
        gate: code of the gate.
        kind: cannot, or more than it needs.
        why: in the owner's words.
    """

    method: str
    title: str
    gate: str
    kind: str
    why: str


class Check(Struct, frozen=True, gc=False):
    """A timber-design check with its assumptions.

    Attributes:
        name: what was checked.
        stress: the stress.
        allowable: what is allowed.
        ratio: one over the other; above 1 it fails.
        assumptions: everything that was assumed.
    """

    name: str
    stress: Quantity
    allowable: Quantity
    ratio: float
    assumptions: list[str]


class Section(Struct, frozen=True, gc=False):
    """What is left of the section.

    Attributes:
        area: area left.
        second_moment: second moment of area left.
        section_modulus: section modulus left, at the far face.
        area_left: share of the sound area.
        second_moment_left: share of the sound second moment.
        section_modulus_left: share of the sound section modulus.
        strength_left: share of the strength for what it does.
        governed_by: what governs.
    """

    area: Quantity
    second_moment: Quantity
    section_modulus: Quantity
    area_left: float
    second_moment_left: float
    section_modulus_left: float
    strength_left: float
    governed_by: str


class Waiting(Struct, frozen=True, gc=False):
    """What it is like after some years of waiting.

    Attributes:
        years: from now.
        depth: depth of the decay then.
        length: length of the decay then.
        method: first plan then.
        whole: its whole price.
    """

    years: int
    depth: Quantity
    length: Quantity
    method: str
    whole: Money


class Spread(Struct, frozen=True, gc=False):
    """How fast decay spreads in a year.

    Attributes:
        depth: into the wood.
        length: along the grain.
    """

    depth: Quantity
    length: Quantity


class Assessment(Struct, frozen=True, gc=False):
    """What is the matter, before anything is chosen.

    Attributes:
        urgency: U0 today, U1 within weeks, U2 this season, U3 can wait.
        urgency_words: the sentence to read to the owner.
        depth_ratio: depth over thickness; null where there is no decay.
        section: what is left of it; null where no wood is lost.
        checks: timber-design checks, where the loads are known.
        moisture_words: moisture in words.
        equilibrium_moisture: moisture that wood comes to there.
        fibre_saturation: moisture from which decay can live.
        hazard_index: decay-climate index.
        hazard_zone: its zone.
        hazard_words: in words, with the local detail.
        suspects: neighbours to probe.
        spread_a_year: how fast it spreads.
        waiting: what waiting does.
        best_plan_ends_in_years: after how many years the best plan stops being possible; null where it does not.
        waiting_words: in words.
    """

    urgency: str
    urgency_words: str
    depth_ratio: float | None
    section: Section | None
    checks: list[Check]
    moisture_words: str
    equilibrium_moisture: Quantity
    fibre_saturation: Quantity
    hazard_index: float
    hazard_zone: str
    hazard_words: str
    suspects: list[str]
    spread_a_year: Spread
    waiting: list[Waiting]
    best_plan_ends_in_years: int | None
    waiting_words: str


class Question(Struct, frozen=True, gc=False):
    """A missing fact worth asking for.

    Attributes:
        fact: name of the fact.
        ask: how to ask.
        narrows: share of the whole range (missing facts, prices and norms together) that the answer would remove, 0 to 1:
            of the variance of the whole price of whatever is first, what goes with this fact.
        because: why it is asked.
    """

    fact: str
    ask: str
    narrows: float
    because: str


class Group(Struct, frozen=True, gc=False):
    """The answer for alike pieces of a defect whose pieces differ.

    Attributes:
        pieces: numbers of the pieces, from 1.
        headline: the answer in a sentence.
        facts: facts that it rests on.
        assessment: what is the matter.
        options: plans, first one first.
        ruled_out: methods that were struck out.
        questions: what to ask.
    """

    pieces: list[int]
    headline: str
    facts: list[Fact]
    assessment: Assessment
    options: list[Option]
    ruled_out: list[RuledOut]
    questions: list[Question]


class CauseAnswer(Struct, frozen=True, gc=False):
    """A cause, likely first.

    Attributes:
        code: code.
        title: in words.
        likelihood: from the evidence, 0 to 1.
        state: how it stands.
        assumed: whether the state is assumed.
        by: who corrects it; null where nobody said.
        on: when; null where nobody said.
        test: how to make sure.
        correction: what to do.
        price: what that costs; null where it is only words.
        priced: where the price stands.
    """

    code: str
    title: str
    likelihood: float
    state: str
    assumed: bool
    by: str | None
    on: date | None
    test: str
    correction: str
    price: Money | None
    priced: str


class Escalation(Struct, frozen=True, gc=False):
    """Who else must look.

    Attributes:
        code: stable code.
        send_to: who.
        before: before what.
        text: in words.
    """

    code: str
    send_to: str
    before: str
    text: str


class DefectAnswer(Struct, frozen=True, gc=False):
    """The answer for one defect. Where its pieces differ, `groups` has the plans and the lists beside it are empty.

    Attributes:
        id: the caller's id, or its number from 1.
        element: member, as sent.
        damage: damage, as sent.
        status: priced, provisional or rejected.
        headline: the answer in a sentence.
        pieces: numbers of the pieces, from 1.
        slips: values that cannot be, or that were left out.
        notes: what was noticed and what was made of it.
        facts: facts that it rests on.
        assessment: what is the matter; null where pieces differ or nothing could be priced.
        options: plans, first one first.
        ruled_out: methods that were struck out.
        questions: what to ask, at most three.
        groups: one entry for all alike pieces, where pieces differ.
        causes: causes, likely first.
        cautions: codes, spelled out in `caution_texts`.
        escalations: who else must look.
    """

    id: str
    element: str
    damage: str
    status: str
    headline: str
    pieces: list[int]
    slips: list[Slip]
    notes: list[str]
    facts: list[Fact]
    assessment: Assessment | None
    options: list[Option]
    ruled_out: list[RuledOut]
    questions: list[Question]
    groups: list[Group]
    causes: list[CauseAnswer]
    cautions: list[str]
    escalations: list[Escalation]


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
