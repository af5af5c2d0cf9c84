"""One defect as it goes out: what is the matter with it, its plans, its causes, what to ask."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from service.engine.outcome.plan import Option, RuledOut
from service.engine.outcome.values import FactUsed, Measure, Slip


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
    """A missing fact worth asking for: what it would narrow, computed and not listed by hand.

    Attributes:
        narrows: share of the whole range that the answer would remove, 0 to 1: of the variance of the whole price that
            comes from missing facts, prices and norms together, what goes with this fact.
    """

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
