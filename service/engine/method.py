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
        lives_as: code whose life rows it uses, where it has none of its own.
        holds_up: whether a stop-gap takes the load off the member.
        leaves_as_is: whether a repair leaves the member as weak as it is.
        title_of: what it is called on such a member, where that differs; "" where it does not.
    """

    code: str
    fits: Callable[[Case, Gates], None]
    scope: Callable[[Case, Work], None]
    alone: bool = True
    lives_as: str = ""
    holds_up: bool = False
    leaves_as_is: bool = False
    title_of: Callable[[Case], str] | None = None

    @property
    def life_row(self) -> str:
        """Code of the life rows."""
        return self.lives_as or self.code
