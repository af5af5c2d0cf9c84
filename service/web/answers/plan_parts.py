"""The wire shape of what a plan consists of: lines, steps, clocks, wood, preservative, joints, life and score."""

from __future__ import annotations

from datetime import date

from msgspec import Struct, field

from service.web.answers.values import DecimalText, Money, Quantity


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
