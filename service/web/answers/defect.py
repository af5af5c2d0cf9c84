"""The wire shape of what is said of a defect: assessment, plans, what was ruled out, causes, questions."""

from __future__ import annotations

from datetime import date

from msgspec import Struct

from service.web.answers.plan import Option
from service.web.answers.values import Fact, Money, Quantity, Slip


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
