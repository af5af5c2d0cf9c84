"""Gates: the numbers that strike a method out, with the reason in the owner's words.

There are two kinds of no (R6). `cannot`: physics, safety or law. `more_than_it_needs`: a heavier method where a lighter
one holds. What only makes a plan wait (moisture, cold, snow, missing wood; R12) is not a gate.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

from service.engine.array import Number, Truth
from service.engine.words import Words

CANNOT = "cannot"
RESTS_ON: Mapping[str, frozenset[str]] = {
    "depth": frozenset(("depth",)), "length": frozenset(("length",)), "width": frozenset(("width",)),
    "size": frozenset(("section",)), "gap": frozenset(("check_width",)), "recess": frozenset(("depth",)),
    "cut": frozenset(("length",)), "volume": frozenset(("depth", "length", "width")), "up": frozenset(("from_end",)),
    "left": frozenset(("from_end", "tail")), "room": frozenset(("from_end", "tail")), "clear": frozenset(("clear_length",)),
}
"""Facts from which a number in a reason comes."""
MORE = "more_than_it_needs"


class Struck(NamedTuple):
    """A gate that struck a method out; its reason is put into words only where somebody reads it."""

    code: str
    kind: str
    words: Words
    template: str
    values: Mapping[str, Number]

    @property
    def why(self) -> str:
        """The reason in the owner's words."""
        return self.words.fill(self.template, self.values)

    def why_as_far_as(self, known: Collection[str]) -> str:
        """The same, with roughly what was guessed: nobody is told eighths of an inch that nobody measured.

        Args:
            known: facts that somebody stated.
        """
        rough = {name for name in self.values if not RESTS_ON.get(name, frozenset()) <= set(known)}
        return self.words.fill(self.template, self.values, rough)


@dataclass(slots=True)
class Gates:
    """Collects the gates of one method for one case.

    Attributes:
        words: writes lengths, moistures and temperatures in the units of the request.
        struck: gates that struck in the world as stated, in the order in which they were asked.
        out: whether the method is out; over many worlds an array.
        more: whether it is more than the case needs (only where nothing forbids it).
    """

    words: Words
    struck: list[Struck] = field(default_factory=list)
    out: Truth = False
    more: Truth = False

    def cannot(self, code: str, struck: Truth, why: str, **values: Number) -> None:
        """Strike the method out where `struck` holds.

        Args:
            code: code of the gate (G04, R9 ...).
            struck: a bool, or an array over the worlds.
            why: reason in the owner's words; `{depth:length}`, `{wet:moisture}`, `{cold:temperature}`, `{share:percent}`
                are filled from `values` in the units of the request.
        """
        if struck is not False:
            self._ask(CANNOT, code, struck, why, values)

    def more_than_it_needs(self, code: str, struck: Truth, why: str, **values: Number) -> None:
        """Mark the method as more than the case needs where `struck` holds."""
        if struck is not False:
            self._ask(MORE, code, struck, why, values)

    def _ask(self, kind: str, code: str, struck: Truth, why: str, values: dict[str, Number]) -> None:
        if not isinstance(struck, np.ndarray) and struck:
            self.struck.append(Struck(code, kind, self.words, why, values))
        if kind == CANNOT:
            self.out = self.out | struck
        else:
            self.more = self.more | struck

    @property
    def forbidden(self) -> bool:
        """Whether physics, safety or law strike it out in the world as stated."""
        return any(s.kind == CANNOT for s in self.struck)
