"""What goes out: the answer as values, in the engine's units, before anybody turns it into JSON.

Money is Decimal, rounded once a line to the cent. A quantity is a `Measure` in an engine unit; the web layer writes it
in the units that the request asked for.
"""

from __future__ import annotations

from service.engine.outcome.defect import (
    Assessment,
    CauseFound,
    Check,
    DefectAnswer,
    Escalation,
    Findings,
    Question,
    Section,
    Waiting,
)
from service.engine.outcome.job import (
    Answer,
    Job,
    JobStep,
    SharedCost,
)
from service.engine.outcome.plan import (
    Clocks,
    Conditional,
    Delay,
    FollowUp,
    Fork,
    Joint,
    Life,
    Option,
    Preservative,
    PriceLine,
    RuledOut,
    Score,
    Step,
    Term,
    Unit,
    WoodPiece,
)
from service.engine.outcome.values import (
    Bracket,
    FactUsed,
    Measure,
    Price,
    Range,
    Slip,
)

__all__ = [
    "Answer",
    "Assessment",
    "Bracket",
    "CauseFound",
    "Check",
    "Clocks",
    "Conditional",
    "DefectAnswer",
    "Delay",
    "Escalation",
    "FactUsed",
    "Findings",
    "FollowUp",
    "Fork",
    "Job",
    "JobStep",
    "Joint",
    "Life",
    "Measure",
    "Option",
    "Preservative",
    "Price",
    "PriceLine",
    "Question",
    "Range",
    "RuledOut",
    "Score",
    "Section",
    "SharedCost",
    "Slip",
    "Step",
    "Term",
    "Unit",
    "Waiting",
    "WoodPiece",
]
