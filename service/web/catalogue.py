"""The catalogue: everything that a form needs to ask and to send a request. Reference data, shaped for the wire."""

from __future__ import annotations

from msgspec import Struct

from service.engine.knowledge import Element, FactRecord, Knowledge
from service.web import limits
from service.web.quantities import DIMENSIONS
from service.web.requests import LEVELS, RequestTypes

LEVEL_WORDS = {
    "told": "told on the phone or by a form: a ballpark",
    "photos": "seen on photos: a range",
    "visited": "measured on a visit: an estimate",
    "opened": "opened up: a firm quote",
    "cut_out": "cut out, everything seen: the final price",
}
CAUSE_STATES = {
    "open": "seen, nobody corrects it yet: counted in the price, as assumed",
    "suspected": "not sure: counted in the price, as assumed",
    "corrected": "done",
    "in_price": "we correct it, in the price",
    "by_others": "somebody else corrects it",
    "declined": "it stays as it is: shorter life, no warranty",
}
SPREAD = (
    "low, likely and high of prices, hours and lives are the ends and the mode of a PERT (beta) distribution. Prices of one "
    "kind (labour, wood, other materials, hire) rise and fall together."
)
RANGES = (
    "p10, p50 and p90 are the price in the possible worlds in which the plan still fits, without the contingency line; they "
    "are not a sum of lines. as_described is the sum of the lines."
)
MONEY = "Money is decimal text in the currency of the answer, each line rounded once to the cent; tax is a part of its own."
QUANTITIES = (
    "A quantity in a request is a text with its unit: a decimal, a fraction, feet and inches, or a range from low to high "
    "that means it is not known better. A list has one value a piece. Counts, courses and clock positions are bare numbers."
)


class AskedFact(Struct, frozen=True):
    """A fact worth asking for.

    Attributes:
        fact: name of the fact.
        ask: the question.
    """

    fact: str
    ask: str


class Member(Struct, frozen=True):
    """A member of the building.

    Attributes:
        code: what `element` of a request takes.
        title: the trade's name.
        role: what it does.
        family: members that are treated alike.
        structural: whether losing it can bring something down.
        carries_people: whether people stand, lean or walk on it.
        sign_off: 0 none, 1 lead, 2 engineer's letter, 3 stamped design or permit.
        damages: codes of the damage that it can have.
        questions: what to ask, most useful first.
        photos: what to photograph.
        neighbours: what to probe beside it.
    """

    code: str
    title: str
    role: str
    family: str
    structural: bool
    carries_people: bool
    sign_off: int
    damages: list[str]
    questions: list[AskedFact]
    photos: list[str]
    neighbours: list[str]


class DamageEntry(Struct, frozen=True):
    """A kind of damage.

    Attributes:
        code: what `damage` of a request takes.
        title: in words.
        kind: rot, check, split, seal, finish, insect, movement, surface, mechanical or stain.
        decayed: whether wood is lost to rot.
        signs: how to tell.
        trap: what it is taken for.
    """

    code: str
    title: str
    kind: str
    decayed: bool
    signs: str
    trap: str


class CauseEntry(Struct, frozen=True):
    """A cause of moisture.

    Attributes:
        code: what `causes[].code` of a request takes.
        title: in words.
        tell_tale: what gives it away.
        test: how to make sure.
        correction: what to do.
    """

    code: str
    title: str
    tell_tale: str
    test: str
    correction: str


class MethodEntry(Struct, frozen=True):
    """A repair method.

    Attributes:
        code: stable code.
        number: the trade's number.
        title: in words.
        role: main, interim, component or correction.
        is_replacement: whether the member comes out.
        needs_dry_wood: whether it brings new seasoned wood.
        sign_off: 0 none, 1 lead, 2 engineer's letter, 3 stamped design or permit.
        match: 1 poor to 5 invisible.
        heritage: A liked, B accepted, C last resort, X avoid.
        reversible: yes, part or no.
        owner_words: the method in a plain sentence.
    """

    code: str
    number: str
    title: str
    role: str
    is_replacement: bool
    needs_dry_wood: bool
    sign_off: int
    match: int
    heritage: str
    reversible: str
    owner_words: str


class SpeciesEntry(Struct, frozen=True):
    """A species or a group of species.

    Attributes:
        code: what `species` of a request takes.
        title: in words.
        durability: how its heartwood resists decay: durable, moderate or slight.
    """

    code: str
    title: str
    durability: str


class FactEntry(Struct, frozen=True):
    """A fact that can be stated.

    Attributes:
        name: name of its field.
        where: defect, building, site: where it may stand.
        dimension: what it measures.
        units: units in which it may be written; none for bare numbers, codes and yes or no.
        choices: codes that it takes; none for free ones.
        plausible_low: least that is plausible, in `plausible_unit`; null for none.
        plausible_high: most that is plausible; null for none.
        plausible_unit: unit of the limits.
        one_a_piece: whether a list with one value a piece may stand there.
        ask: the question.
        safety: whether not knowing it touches safety.
    """

    name: str
    where: list[str]
    dimension: str
    units: list[str]
    choices: list[str]
    plausible_low: float | None
    plausible_high: float | None
    plausible_unit: str
    one_a_piece: bool
    ask: str
    safety: bool


class DimensionEntry(Struct, frozen=True):
    """A dimension and its closed list of units.

    Attributes:
        dimension: its name.
        units: units that are taken.
        examples: texts that are right.
    """

    dimension: str
    units: list[str]
    examples: list[str]


class Limits(Struct, frozen=True):
    """Limits of a request.

    Attributes:
        body_bytes: longest body.
        defects: most defects.
        pieces: most values in a list of one value a piece.
        groups: most groups of alike pieces in one request. A list of one value a piece can make a group of every piece.
        form_groups: the same where a form's public key asks.
        causes: most causes of one defect.
        wood: most entries of wood at hand.
        codes: most codes in a list of codes.
        code_characters: longest code.
        text_characters: longest text.
        first_day: first day that may be named.
        last_day: last day that may be named.
        lines: most lines that a region's own book, a sheet and one change of a draft may hold.
        open_drafts: most open drafts of a region.
    """

    body_bytes: int
    defects: int
    pieces: int
    groups: int
    form_groups: int
    causes: int
    wood: int
    codes: int
    code_characters: int
    text_characters: int
    first_day: str
    last_day: str
    lines: int
    open_drafts: int


class Notes(Struct, frozen=True):
    """How to read the numbers.

    Attributes:
        quantities: how quantities are written.
        spread: what low, likely and high mean.
        ranges: what p10, p50 and p90 mean.
        money: how money is written.
    """

    quantities: str
    spread: str
    ranges: str
    money: str


class Catalogue(Struct, frozen=True):
    """What a form needs.

    Attributes:
        elements: members of the building.
        damages: kinds of damage.
        causes: causes of moisture.
        cause_states: how a cause can stand.
        methods: repair methods.
        species: species.
        facts: facts that can be stated.
        dimensions: units, a dimension each.
        levels: how well it can be known.
        cautions: code of a caution, and its text.
        limits: limits of a request.
        notes: how to read the numbers.
    """

    elements: list[Member]
    damages: list[DamageEntry]
    causes: list[CauseEntry]
    cause_states: dict[str, str]
    methods: list[MethodEntry]
    species: list[SpeciesEntry]
    facts: list[FactEntry]
    dimensions: list[DimensionEntry]
    levels: dict[str, str]
    cautions: dict[str, str]
    limits: Limits
    notes: Notes


def catalogue_of(k: Knowledge, types: RequestTypes) -> Catalogue:
    """The catalogue of these reference data."""
    return Catalogue(
        elements=[_member(e, k) for e in k.elements.values()],
        damages=[DamageEntry(d.code, d.title, d.kind, d.decayed, d.signs, d.trap) for d in k.damages.values()],
        causes=[CauseEntry(c.code, c.title, c.tell_tale, c.test, c.correction_words) for c in k.causes.values()],
        cause_states=dict(CAUSE_STATES),
        methods=[
            MethodEntry(
                m.code, m.number, m.title, m.role, m.is_replacement, m.needs_dry_wood, m.sign_off, m.match, m.heritage,
                m.reversible, m.owner_words,
            )
            for m in k.methods.values()
        ],
        species=[SpeciesEntry(s.code, s.title, s.durability) for s in k.species.values()],
        facts=[_fact(f, types) for f in k.facts.values()],
        dimensions=[DimensionEntry(d.name, list(d.units), list(d.examples)) for d in DIMENSIONS.values()],
        levels={level: LEVEL_WORDS[level] for level in LEVELS},
        cautions={c.code: c.text for c in k.cautions.values()},
        limits=Limits(
            limits.BODY_BYTES, limits.DEFECTS, limits.PIECES, limits.GROUPS, limits.FORM_GROUPS, limits.CAUSES, limits.WOOD,
            limits.CODES, limits.CODE_CHARACTERS, limits.TEXT_CHARACTERS, limits.FIRST_DAY.isoformat(),
            limits.LAST_DAY.isoformat(), limits.LINES, limits.OPEN_DRAFTS,
        ),
        notes=Notes(QUANTITIES, SPREAD, RANGES, MONEY),
    )


def _member(e: Element, k: Knowledge) -> Member:
    return Member(
        code=e.code, title=e.title, role=e.role, family=e.family, structural=e.structural,
        carries_people=e.carries_people, sign_off=e.sign_off,
        damages=[d.code for d in k.damages.values() if e.family in d.families],
        questions=[AskedFact(name, k.facts[name].asked_of(e)) for name in e.questions if name in k.facts],
        photos=list(e.photos), neighbours=list(e.neighbours),
    )


def _fact(f: FactRecord, types: RequestTypes) -> FactEntry:
    places = (("defect", types.defect_facts), ("building", types.building_facts), ("site", types.site_facts))
    where = [name for name, facts in places if f in facts]
    return FactEntry(
        name=f.name, where=where, dimension=f.dimension,
        units=list(DIMENSIONS[f.dimension].units) if f.dimension in DIMENSIONS else [], choices=list(f.choices),
        plausible_low=f.low, plausible_high=f.high, plausible_unit=f.unit,
        one_a_piece="defect" in where and f.dimension not in ("flag", "words"), ask=f.ask, safety=f.safety,
    )
