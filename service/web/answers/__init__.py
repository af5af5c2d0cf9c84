"""The wire shape of an answer: complete, without defaults. Each attribute's text is its description in the contract.

Read from the small shapes to the whole: values, plan_parts, plan, defect, job. They are shapes only and have no code.
No answer refers to itself, so the collector of cycles need not look at these (`gc=False`).
"""

from __future__ import annotations

from service.web.answers.defect import (
    Assessment,
    CauseAnswer,
    Check,
    DefectAnswer,
    Escalation,
    Group,
    Question,
    RuledOut,
    Section,
    Spread,
    Waiting,
)
from service.web.answers.job import Chosen, Job, JobStep, Quote, SharedCost
from service.web.answers.plan import Fork, Option
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
    Term,
    WoodPiece,
)
from service.web.answers.values import (
    DecimalText,
    Fact,
    FactValue,
    Money,
    Price,
    PriceRange,
    Quantity,
    QuantityRange,
    Slip,
)

__all__ = [
    "Assessment",
    "CauseAnswer",
    "Check",
    "Chosen",
    "Clocks",
    "Conditional",
    "CostAYear",
    "DecimalText",
    "DefectAnswer",
    "Delay",
    "Escalation",
    "Fact",
    "FactValue",
    "FollowUp",
    "Fork",
    "Group",
    "IfMore",
    "Job",
    "JobStep",
    "Joint",
    "Life",
    "Line",
    "Money",
    "Option",
    "Parts",
    "Preservative",
    "Price",
    "PriceRange",
    "Quantity",
    "QuantityRange",
    "Question",
    "Quote",
    "RuledOut",
    "Score",
    "Section",
    "SharedCost",
    "Slip",
    "Spread",
    "Step",
    "Term",
    "Waiting",
    "WoodPiece",
]
