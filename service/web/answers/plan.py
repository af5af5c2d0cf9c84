"""The wire shape of a plan, and of what happens where it does not hold."""

from __future__ import annotations

from datetime import date

from msgspec import Struct

from service.web.answers.plan_parts import (
    Clocks,
    Conditional,
    CostAYear,
    Delay,
    FollowUp,
    IfMore,
    Joint,
    Life,
    Line,
    Parts,
    Preservative,
    Score,
    Step,
    WoodPiece,
)
from service.web.answers.values import Money, Price, Quantity


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
