"""Shapes of the reference data: members, damage, causes, methods, facts, species, climates.

The data lie in `service/reference/*.toml`, each value with its source; they are read once at start and handed to the
engine as one frozen `Knowledge`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Element:
    """A member of the building (B2, R2).

    Attributes:
        code: stable code.
        title: the trade's name.
        role: what it does: bearing (stacked log), bending, tension, column, people, frame, seal, skin, tail, deck.
        family: group with common gates and first guesses: wall, sill, header, notch, tail, beam, truss, post, stair,
            deck, guard, frame, seal, siding, roof_deck.
        structural: whether losing it can bring something down.
        carries_people: whether people stand, lean or walk on it.
        facing: whether a facing or filler may be thought of at all (R9).
        removable: whether it can come out at all.
        sign_off: 0 none, 1 lead, 2 engineer's letter, 3 stamped design or permit.
        round_by_default: whether its section is taken as round when nobody said.
        neighbours: what to probe beside it, in words.
        questions: fact names worth asking for it, most useful first.
        photos: what to photograph, in words.
        source: where this row comes from.
    """

    code: str
    title: str
    role: str
    family: str
    structural: bool
    carries_people: bool
    facing: bool
    removable: bool
    sign_off: int
    round_by_default: bool
    neighbours: tuple[str, ...]
    questions: tuple[str, ...]
    photos: tuple[str, ...]
    source: str

    @property
    def name(self) -> str:
        """The member in a sentence: its title without what sets it apart."""
        return self.title.split(",")[0].split(" (")[0]


@dataclass(frozen=True, slots=True)
class Damage:
    """A kind of damage (B3, R2).

    Attributes:
        decayed: whether wood is lost to rot (a residual section is worked out).
        kind: rot, check, split, seal, finish, insect, movement, surface, mechanical, fire, stain.
        families: member families on which it can be reported.
        questions: facts that settle by themselves what is first, asked wherever they are missing.
    """

    code: str
    title: str
    decayed: bool
    kind: str
    families: tuple[str, ...]
    questions: tuple[str, ...]
    signs: str
    trap: str
    source: str


@dataclass(frozen=True, slots=True)
class Cause:
    """A cause of moisture (B4) with its test, its correction and the evidence that speaks for it.

    Attributes:
        correction: method code of the correction, or "" where it is only words.
        price_line: resource code of the lump or unit price of the correction.
        unit_fact: what the unit price multiplies: "one", "opening", "ft_of_wall", "ft2_of_crawl", "piece".
        evidence: fact or member codes that make it likely -> weight.
    """

    code: str
    title: str
    tell_tale: str
    test: str
    correction_words: str
    correction: str
    price_line: str
    unit_fact: str
    evidence: Mapping[str, float]
    source: str


@dataclass(frozen=True, slots=True)
class MethodRecord:
    """The fields of a repair method that are plain data (B6 and its matrix).

    Attributes:
        role: main, interim, component or correction.
        elements: member codes on which it may be thought of; empty means all.
        damages: damage codes for which it may be thought of; empty means all.
        needs_dry_wood: whether it brings new seasoned wood (G17).
        sign_off: 0 to 3.
        match: 1 poor to 5 invisible.
        heritage: A liked, B accepted, C last resort, X avoid.
        reversible: yes, part or no.
        changes_look: whether the building looks different afterwards.
        is_replacement: whether the member comes out.
        look_again: follow-ups, in months.
        opens: what is opened: nothing, outer_face, both_faces, corner, roof, floor, porch, stair, deck, room.
        equipment: in words.
        cautions: codes of cautions that always go with it.
        owner_words: the method in one plain sentence.
    """

    code: str
    title: str
    number: str
    role: str
    elements: tuple[str, ...]
    damages: tuple[str, ...]
    needs_dry_wood: bool
    quarter_sawn: bool
    sign_off: int
    match: int
    heritage: str
    reversible: str
    changes_look: bool
    is_replacement: bool
    look_again_months: tuple[int, ...]
    opens: str
    equipment: str
    cautions: tuple[str, ...]
    owner_words: str
    source: str


@dataclass(frozen=True, slots=True)
class Caution:
    """A caution as it is printed, with whom it defers to."""

    code: str
    text: str
    source: str


@dataclass(frozen=True, slots=True)
class FirstGuess:
    """What a number is likely to be while nobody has measured it: ends and mode of a PERT distribution.

    Attributes:
        fact: fact name.
        elements, families, damages: for which it holds; empty means any. The first row that fits is taken.
        of: "" for an absolute value, or the name of a fact that low, likely and high multiply ("section").
    """

    fact: str
    families: tuple[str, ...]
    elements: tuple[str, ...]
    damages: tuple[str, ...]
    of: str
    low: float
    likely: float
    high: float
    why: str
    source: str


ACROSS_BOARDS = ("siding", "roof_deck")
"""Families of boards side by side: what is soft runs across as many as it likes."""
OF_BOARDS = ("frame", "stair")
"""Families of boards that are wider than thick: their girth is not that of a log as thick."""


@dataclass(frozen=True, slots=True)
class FactRecord:
    """A fact that can be stated: its dimension, its plausible limits, how to ask for it.

    Attributes:
        dimension: length, area, temperature, moisture, angle, load, distance, number, year, word, flag or words.
        unit: the engine's unit.
        low, high: plausible limits (None: none); outside is a slip that the price cannot survive.
        choices: allowed codes of a word.
        ask: the question, as it is read out on the phone.
        ask_for: the question in other words, by the family of the member.
        high_for: the upper limit where it is another one, by the family of the member.
        safety: whether not knowing it touches safety.
    """

    name: str
    dimension: str
    unit: str
    low: float | None
    high: float | None
    choices: tuple[str, ...]
    ask: str
    safety: bool
    scope: str
    source: str
    ask_for: Mapping[str, str] | None = None
    high_for: Mapping[str, float] | None = None

    def high_of(self, element: Element | None) -> float | None:
        """The upper limit for such a member."""
        return (self.high_for or {}).get(element.family, self.high) if element is not None else self.high

    def asked_of(self, element: Element) -> str:
        """The question as it is read out for such a member."""
        return (self.ask_for or {}).get(element.family, self.ask)


@dataclass(frozen=True, slots=True)
class Species:
    """A species or species group: shrinkage, density, strength group, natural durability.

    Attributes:
        radial_pct, tangential_pct: shrinkage green to ovendry, Wood Handbook Table 4-3.
        specific_gravity: at 12 % moisture.
        durability: "durable", "moderate" or "slight" heartwood decay resistance.
        design_group: key of a row of design values.
        price_line: resource code of the species premium, or "" for none.
    """

    code: str
    title: str
    radial_pct: float
    tangential_pct: float
    specific_gravity: float
    durability: str
    design_group: str
    premium: str
    source: str


@dataclass(frozen=True, slots=True)
class DesignValues:
    """Reference design values of visually graded timbers [psi] (ANSI/AWC NDS Supplement Table 4D)."""

    group: str
    use: str
    grade: str
    bending_psi: float
    tension_psi: float
    shear_psi: float
    compression_perp_psi: float
    compression_psi: float
    modulus_psi: float
    modulus_min_psi: float
    source: str


@dataclass(frozen=True)
class Knowledge:
    """All reference data, keyed by code."""

    elements: Mapping[str, Element]
    damages: Mapping[str, Damage]
    causes: Mapping[str, Cause]
    methods: Mapping[str, MethodRecord]
    cautions: Mapping[str, Caution]
    facts: Mapping[str, FactRecord]
    first_guesses: tuple[FirstGuess, ...]
    species: Mapping[str, Species]
    design_values: Mapping[tuple[str, str, str], DesignValues]
    sobol: tuple[tuple[float, ...], ...]
    _methods: dict[tuple[str, str], frozenset[str]] = field(default_factory=dict, init=False, repr=False, compare=False)
    _guesses: dict[tuple[str, str], dict[str, FirstGuess]] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )

    def methods_for(self, element: Element, damage: Damage) -> frozenset[str]:
        """Methods that can be thought of for such a member and such damage, gathered once."""
        found = self._methods.get((element.code, damage.code))
        if found is None:
            found = self._methods[element.code, damage.code] = frozenset(
                code for code, record in self.methods.items()
                if (not record.elements or element.code in record.elements)
                and (not record.damages or damage.code in record.damages)
            )
        return found

    def guesses_of(self, element: Element, damage: Damage) -> Mapping[str, FirstGuess]:
        """Fact -> the first row that fits this member and this damage, gathered once."""
        found = self._guesses.get((element.code, damage.code))
        if found is None:
            found = self._guesses[element.code, damage.code] = {}
            for row in self.first_guesses:
                if (
                    (not row.elements or element.code in row.elements)
                    and (not row.families or element.family in row.families)
                    and (not row.damages or damage.code in row.damages)
                ):
                    found.setdefault(row.fact, row)
        return found
