"""One plan as it goes out: its lines, steps, clocks, wood, life and score."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import NamedTuple

from service.engine.outcome.values import Measure, Price


class PriceLine(NamedTuple):
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


class Step(NamedTuple):
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
        yard: codes of the yard pieces that it is met by.
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
    yard: tuple[str, ...]
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


class Term(NamedTuple):
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
    life_cycle: Decimal | None
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


class RuledOut(NamedTuple):
    """A method that was struck out: the gate and the reason in the owner's words. Never a price (R6)."""

    method: str
    title: str
    gate: str
    kind: str
    why: str
