"""Values whose form is right and that cannot be all the same."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from difflib import get_close_matches


@dataclass(frozen=True, slots=True)
class Nonsense:
    """A value that cannot be.

    Attributes:
        index: which of the things that were sent, from 0.
        name: name of the field.
        reason: what is wrong and what would be right.
    """

    index: int
    name: str
    reason: str


class NonsenseError(ValueError):
    """Values that cannot be, all of them."""

    def __init__(self, faults: Sequence[Nonsense]) -> None:
        """Keep the faults."""
        super().__init__("; ".join(f.reason for f in faults))
        self.faults = tuple(faults)


def meant(said: str, known: Collection[str]) -> str:
    """A question after the known words that are near to one that is not; "" where none is."""
    near = get_close_matches(said, sorted(known), n=2, cutoff=0.6)
    return f" Did you mean {' or '.join(near)}?" if near else ""
