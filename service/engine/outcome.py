"""What goes out: the answer as values, in the engine's units, before anybody turns it into JSON.

Money is Decimal, rounded once a line to the cent. A quantity is a `Measure` in an engine unit; the web layer writes it
in the units that the request asked for.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class Measure:
    """A number and its engine unit.

    Units: in, ft, in2, ft2, in3, ft3, bd ft, in4, gal, fl oz, lb, lb/ft, psi, degF, %, h, d, yr, each.
    """

    value: float
    unit: str


@dataclass(frozen=True, slots=True)
class Bracket:
    """Low, likely and high of a number that nobody knows exactly."""

    low: float
    likely: float
    high: float
    unit: str


@dataclass(frozen=True, slots=True)
class Range:
    """The 10, 50 and 90 % points of a price."""

    p10: Decimal
    p50: Decimal
    p90: Decimal


@dataclass(frozen=True, slots=True)
class Price:
    """A price as described and as a range (R18). `range` is None where the plan fits in no world."""

    as_described: Decimal
    range: Range | None


@dataclass(frozen=True, slots=True)
class Slip:
    """One bad value: where, what was wrong, what would be right, and whether the defect could be priced without it."""

    path: tuple[str | int, ...]
    value: str
    wrong: str
    right: str
    code: str
    fatal: bool


@dataclass(frozen=True, slots=True)
class FactUsed:
    """A fact that the answer rests on. origin: stated, assumed, derived or dropped."""

    name: str
    value: Bracket | str
    origin: str
    why: str


@dataclass(frozen=True, slots=True)
class PriceLine:
    """One line of a price: quantity x rate x (1 + markup), rounded once to the cent."""

    part: str
    step: int | None
    resource: str
    what: str
    quantity: Decimal
    unit: str
    rate: Decimal
    markup: Decimal
    amount: Decimal
    region: str
    norm: str | None


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a plan, in order.

    Attributes:
        n: number in the plan, from 1.
        phase: interim, correction, main, finish.
        method: code of the method that the step belongs to.
        crew: trades, in order.
        hours: person-hours in all.
        after: numbers of the steps that must be over before it starts.
        starts_day, ends_day: calendar days from `priced_on`, from the critical path.
        critical: whether it lies on the critical path.
        hold_point: whether work stops here until somebody has looked.
    """

    n: int
    phase: str
    method: str
    text: str
    crew: tuple[str, ...]
    hours: float
    after: tuple[int, ...]
    starts_day: float
    ends_day: float
    critical: bool
    hold_point: bool


@dataclass(frozen=True, slots=True)
class Clocks:
    """The six clocks and the whole path (R25), in days. They are never added together."""

    days_from_today: float
    lead_days: float
    crew_days: float
    calendar_days: float
    room_out_days: float
    roof_open_days: float
    load_restricted_days: float
    calendar_range: tuple[float, float]
    earliest_start: date
    finish: date


@dataclass(frozen=True, slots=True)
class WoodPiece:
    """One piece of wood that has to be on the truck.

    Attributes:
        thickness, width: the section, both the diameter for a round piece; `width` is the flat back of a slab.
        stock_length: length to order, waste in.
        volume: the same wood in board feet and in cubic feet.
        met_by: "yard piece ...", "on hand", "supply" or "seasoning".
        ready_in_days: 0 when it is there.
        green_instead: what would happen with green wood, with a number.
    """

    piece: str
    count: int
    form: str
    thickness: Measure
    width: Measure
    length: Measure
    stock_length: Measure
    volume: tuple[Measure, ...]
    species: str
    moisture_max: Measure
    grain: str
    waste: float
    met_by: str
    ready_in_days: float
    green_instead: str


@dataclass(frozen=True, slots=True)
class Preservative:
    """Dose of borate: what, how much, why so much, and whose word governs (the label)."""

    product: str
    rods: int
    liquid: Measure
    boric_acid_equivalent_g: float
    retention_kg_m3: float
    note: str


@dataclass(frozen=True, slots=True)
class Joint:
    """A sealant joint: its gap, backer, bead and how much sealant it takes."""

    where: str
    length: Measure
    gap: Measure
    backer: Measure
    bead_depth: Measure
    movement: Measure
    tubes: int


@dataclass(frozen=True, slots=True)
class Life:
    """Service life in years, low, likely, high, with the cause corrected and not (B8), and which of them was used."""

    corrected: tuple[float, float, float]
    not_corrected: tuple[float, float, float]
    used: str


@dataclass(frozen=True, slots=True)
class Term:
    """One term of a score: what it counts, how much of it, what one is worth, and the money a year."""

    code: str
    what: str
    amount: Decimal


@dataclass(frozen=True, slots=True)
class Score:
    """Money a year by which plans are ranked (R29). The terms add up to the total."""

    terms: tuple[Term, ...]
    total: Decimal


@dataclass(frozen=True, slots=True)
class Unit:
    """What "more of it" costs: per one more foot, piece or opening."""

    what: str
    unit: str
    price: Decimal


@dataclass(frozen=True, slots=True)
class FollowUp:
    """A date on which somebody looks again, and at what."""

    on: date
    what: str


@dataclass(frozen=True, slots=True)
class Delay:
    """What makes a plan wait (R12): drying, cold, snow, wood, engineer, permit, consent."""

    reason: str
    days: float
    until: date
    text: str


@dataclass(frozen=True, slots=True)
class Conditional:
    """A cost that may come, outside the sum and inside the range (R16, R17): its price and its probability."""

    code: str
    what: str
    price: Decimal
    probability: float


@dataclass(frozen=True, slots=True)
class Fork:
    """Plan A if ..., Plan B if not: both priced now, with the number that decides (E14)."""

    plan_a: str
    plan_b: str
    decides: str
    threshold: Measure | None
    probability_b: float
    price_a: Decimal
    price_b: Decimal
    expected: Decimal
    open_up_first: bool
    text: str


@dataclass(frozen=True, slots=True)
class Option:
    """One plan: interim, corrections and one main method, priced, scheduled and ranked.

    `variant` is "heated" for the plan that works now in a heated tent, else "".
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
    parts: Mapping[str, Decimal]
    lines: tuple[PriceLine, ...]
    conditional: tuple[Conditional, ...]
    if_more: tuple[Unit, ...]
    steps: tuple[Step, ...]
    clocks: Clocks
    delays: tuple[Delay, ...]
    wood: tuple[WoodPiece, ...]
    preservative: tuple[Preservative, ...]
    joints: tuple[Joint, ...]
    life: Life
    cost_a_year: Decimal
    cost_a_year_not_corrected: Decimal
    life_cycle: Decimal
    score: Score
    sign_off: int
    match: int
    heritage: str
    follow_up: tuple[FollowUp, ...]
    price_good_until: date
    warranty: bool
    waiver: str | None
    cautions: tuple[str, ...]
    notes: tuple[str, ...]
    why: str


@dataclass(frozen=True, slots=True)
class RuledOut:
    """A method that was struck out: the gate and the reason in the owner's words. Never a price (R6)."""

    method: str
    title: str
    gate: str
    kind: str
    why: str


@dataclass(frozen=True, slots=True)
class Check:
    """A timber-design check: stress, what is allowed, the ratio, and every assumption beside it (R34)."""

    name: str
    stress: Measure
    allowable: Measure
    ratio: float
    assumptions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Section:
    """What is left of the section, as a share of the sound one; the far face governs the section modulus."""

    area: Measure
    second_moment: Measure
    section_modulus: Measure
    area_left: float
    second_moment_left: float
    section_modulus_left: float
    strength_left: float
    governed_by: str


@dataclass(frozen=True, slots=True)
class Waiting:
    """What waiting does: after so many years the decay is this big, and the best plan then costs that."""

    years: int
    depth: Measure
    length: Measure
    method: str
    whole: Decimal


@dataclass(frozen=True, slots=True)
class Assessment:
    """What is the matter with the piece, before anything is chosen."""

    urgency: str
    urgency_words: str
    depth_ratio: float | None
    section: Section | None
    checks: tuple[Check, ...]
    moisture_words: str
    equilibrium_moisture: Measure
    fibre_saturation: Measure
    hazard_index: float
    hazard_zone: str
    hazard_words: str
    suspects: tuple[str, ...]
    spread_a_year: tuple[Measure, Measure]
    waiting: tuple[Waiting, ...]
    best_plan_ends_in_years: int | None
    waiting_words: str


@dataclass(frozen=True, slots=True)
class Question:
    """A missing fact worth asking for: what it would narrow, computed and not listed by hand."""

    fact: str
    ask: str
    narrows: float
    because: str


@dataclass(frozen=True, slots=True)
class Findings:
    """The answer for one group of alike pieces (R35)."""

    pieces: tuple[int, ...]
    headline: str
    facts: tuple[FactUsed, ...]
    assessment: Assessment
    options: tuple[Option, ...]
    ruled_out: tuple[RuledOut, ...]
    questions: tuple[Question, ...]


@dataclass(frozen=True, slots=True)
class CauseFound:
    """A cause: how likely from the evidence, its test, its correction, its price and its state (R17)."""

    code: str
    title: str
    likelihood: float
    state: str
    assumed: bool
    by: str | None
    on: date | None
    test: str
    correction: str
    price: Decimal | None
    priced: str


@dataclass(frozen=True, slots=True)
class Escalation:
    """Who else must look, and before what (B10)."""

    code: str
    send_to: str
    before: str
    text: str


@dataclass(frozen=True, slots=True)
class DefectAnswer:
    """The answer for one defect. status: priced, provisional or rejected."""

    index: int
    id: str | None
    element: str
    damage: str
    status: str
    slips: tuple[Slip, ...]
    notes: tuple[str, ...]
    findings: tuple[Findings, ...]
    causes: tuple[CauseFound, ...]
    cautions: tuple[str, ...]
    escalations: tuple[Escalation, ...]


@dataclass(frozen=True, slots=True)
class SharedCost:
    """A cost that several defects share once: what it is, how it was counted, what each alone would have paid."""

    what: str
    basis: str
    together: Decimal
    alone: Decimal
    defects: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class JobStep:
    """One thing in the order of work (B9), with the defects it serves and its days on the job's critical path."""

    n: int
    phase: str
    method: str
    defects: tuple[int, ...]
    text: str
    starts_day: float
    ends_day: float
    after: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Job:
    """The roll-up of all priced defects: shared things once, the order of work, the total with its range."""

    complete: bool
    completeness: str
    chosen: Mapping[int, tuple[str, ...]]
    parts: Mapping[str, Decimal]
    lines: tuple[PriceLine, ...]
    shared: tuple[SharedCost, ...]
    total: Price
    stand_alone_sum: Decimal
    clocks: Clocks | None
    order: tuple[JobStep, ...]
    while_access_stands: tuple[str, ...]
    wood_volume: tuple[Measure, ...]
    cautions: tuple[str, ...]
    conditional: tuple[Conditional, ...]


@dataclass(frozen=True, slots=True)
class Answer:
    """The whole answer. Same survey and same book give the same answer, to the byte (R37)."""

    region: str
    currency: str
    units: str
    level: str
    priced_on: date
    rates: str
    house_slips: tuple[Slip, ...]
    defects: tuple[DefectAnswer, ...]
    job: Job
    caution_texts: Mapping[str, str]
