"""What a repair method is to the engine."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from service.engine.case import Case
from service.engine.gates import Gates
from service.engine.work import Work


@dataclass(frozen=True, slots=True)
class Method:
    """A repair method: when it fits and what has to be done.

    Attributes:
        code: stable code, key of its row in the reference data and of its lines in the rate book.
        fits: asks the gates. Called with a case in one world or in many.
        scope: dictates the work for ONE piece of the group; the recorder knows how many there are.
        alone: whether it can be a plan; components and corrections only go beside one (R1).
        lives_as: code whose life rows it uses on such a member, where it has none of its own or it lasts otherwise there;
            "" where it lasts as it does elsewhere.
        holds_up: whether a stop-gap takes the load off the member.
        leaves_as_is: whether a repair leaves the member as weak as it is.
        title_of: what it is called on such a member, where that differs; "" where it does not.
    """

    code: str
    fits: Callable[[Case, Gates], None]
    scope: Callable[[Case, Work], None]
    alone: bool = True
    lives_as: Callable[[Case], str] | None = None
    holds_up: bool = False
    leaves_as_is: bool = False
    title_of: Callable[[Case], str] | None = None

    def life_row(self, case: Case) -> str:
        """Code of the life rows."""
        return (self.lives_as(case) if self.lives_as else "") or self.code
