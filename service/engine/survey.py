"""What was seen: the facts of one request, in the engine's own units, nothing assumed yet.

A fact that nobody stated is absent here. It becomes a distribution in `worlds`, never a silent default.

Units: lengths in inches (floats made from whole nanometres at the door, so that 3/4 in and 19.05 mm are the same
number), areas in square feet, temperature in degF, moisture in percent, loads in pounds, distance in miles.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date


@dataclass(frozen=True, slots=True)
class Span:
    """What somebody said of one number: both ends alike when it is known, apart when it is "not known better"."""

    low: float
    high: float

    @property
    def middle(self) -> float:
        """The value of the world as stated (R13: a range at its middle)."""
        return (self.low + self.high) / 2.0

    @property
    def is_exact(self) -> bool:
        """Whether it is one number and not a range."""
        return self.low == self.high


@dataclass(frozen=True, slots=True)
class CauseSeen:
    """A cause of moisture that somebody reported (B4), with its state (R17)."""

    code: str
    state: str
    by: str | None = None
    on: date | None = None


@dataclass(frozen=True, slots=True)
class WoodOnHand:
    """A piece that the owner or the yard has, as the caller stated it."""

    form: str
    section_in: float
    length_in: float
    moisture_pct: float | None
    species: str | None
    count: int = 1
    core_checked: bool = False


@dataclass(frozen=True, slots=True)
class Defect:
    """One defect, of one or more pieces.

    Attributes:
        index: position in the request, from 0.
        id: the caller's own name for it, echoed.
        element: member code (B2).
        damage: damage code (B3).
        numbers: fact name -> one span for all pieces, or one a piece.
        words: fact name -> one code for all pieces, or one a piece.
        flags: fact name -> yes or no, as stated.
        many: fact name -> several codes at once (what bears on it, neighbours found soft).
        count: number of pieces.
        causes: causes seen.
        wood: wood on hand for this defect.
        listed: facts that were sent as one value a piece; a list of one is a list (R35).
    """

    index: int
    id: str | None
    element: str
    damage: str
    numbers: Mapping[str, tuple[Span, ...]] = field(default_factory=dict)
    words: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    flags: Mapping[str, bool] = field(default_factory=dict)
    many: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    count: int = 1
    causes: tuple[CauseSeen, ...] = ()
    wood: tuple[WoodOnHand, ...] = ()
    listed: tuple[str, ...] = ()

    @property
    def most_groups(self) -> int:
        """Most groups of alike pieces that it can fall into: each of them is as much work as a defect of its own."""
        told_apart = [said for said in (*self.numbers.values(), *self.words.values()) if len(said) > 1]
        return len(set(zip(*told_apart, strict=False))) or 1


@dataclass(frozen=True, slots=True)
class Wishes:
    """What the owner weighs: multipliers on the terms of the score, 1 where nothing was said."""

    first_cost: float = 1.0
    lifetime_cost: float = 1.0
    time_out_of_use: float = 1.0
    look: float = 1.0
    heritage: float = 1.0
    latest: date | None = None


@dataclass(frozen=True, slots=True)
class House:
    """Facts of the building and the site that every defect shares. Same mappings as in `Defect`."""

    numbers: Mapping[str, Span] = field(default_factory=dict)
    words: Mapping[str, str] = field(default_factory=dict)
    flags: Mapping[str, bool] = field(default_factory=dict)
    many: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    wood: tuple[WoodOnHand, ...] = ()


@dataclass(frozen=True, slots=True)
class Survey:
    """One request, ready for the engine.

    Attributes:
        level: how well it is known: told, photos, visited, opened or cut_out.
        units: "imperial" or "metric", the units in which sentences are written.
        priced_on: the day of the prices, and day 0 of every calendar.
        job: the caller's name for the job, by which wood in the yard is held; "" for none.
    """

    defects: tuple[Defect, ...]
    house: House
    wishes: Wishes
    level: str
    units: str
    priced_on: date
    job: str = ""

    @property
    def most_groups(self) -> int:
        """Most groups of alike pieces that its defects can fall into: what working it out costs goes by them."""
        return sum(defect.most_groups for defect in self.defects)
