"""One group under examination: what was asked of it, and what was found on the way to the answer."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.engine.case import Case
from service.engine.causes import CauseWork
from service.engine.choice import Candidate
from service.engine.plan import Setting
from service.engine.worlds import Draw, Facts, Group


@dataclass(slots=True)
class Inquiry:
    """One group under examination: the world as stated, all worlds, and what was found on the way."""

    group: Group
    stated: Case
    many: Case
    facts: Facts
    draw: Draw
    setting: Setting
    causes: tuple[CauseWork, ...]
    corrected: bool
    found: list[Candidate]
    ranked: list[Candidate]
    first: NDArray[np.int64]
    worlds: int
