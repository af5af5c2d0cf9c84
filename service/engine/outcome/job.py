"""The job and the whole answer as they go out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from service.engine.outcome.defect import DefectAnswer
from service.engine.outcome.plan import Clocks, Conditional, PriceLine
from service.engine.outcome.values import Measure, Price, Slip


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

    headline: str
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
    wood_notes: tuple[str, ...]
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
