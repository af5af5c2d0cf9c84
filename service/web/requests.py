"""The wire shape of a request, made from the facts that the reference data know.

A fact has one home, the reference data: its name, its dimension and how it is asked for. The fields of a defect, of the
building and of the site are those facts, so a fact that is added there can be sent at once.

No type here carries a pattern that msgspec would hold: in 0.22.0 a pattern in a union with a list corrupts memory. Patterns
stand in the published schema only, and `decoding` holds them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Annotated, Any, Literal

import msgspec
from msgspec import UNSET, Meta, Struct, UnsetType

from service.application.plain_text import UNSEEN
from service.engine.knowledge import FactRecord, Knowledge
from service.web import limits
from service.web.quantities import DIMENSIONS, MOST_CHARACTERS, pattern_of

SITE_FACTS = frozenset((
    "distance", "drive_hours", "access", "month", "wood_temperature", "forecast_low", "forecast_high", "snow",
    "ground_snow", "snow_country",
))
"""Facts of the house that belong to the place and the time and not to the building."""
WITH_THE_METER = frozenset(("wood_temperature",))
"""Facts of the site that may also be stated beside one defect's meter reading."""
LEVELS = ("told", "photos", "visited", "opened", "cut_out")

NO_CONTROL = f"^[^{UNSEEN}]*$"
REGION_FORM = "^[a-z0-9][a-z0-9-]*$"
REVISION_FORM = "^[a-z0-9@/+_.-]+$"
REGION_WORDS = "the code of a region, such as kestrel-range"
REVISION_WORDS = "the rates that a quote names, such as base@1+stock@1/kestrel-range@1+stock@1"
CODE_WORDS = "a code of small letters, digits, _ and points, such as log_dry_10_12"
Code = Annotated[
    str,
    Meta(max_length=limits.CODE_CHARACTERS, extra_json_schema={"x-ref": "Code", "pattern": NO_CONTROL}),
]
Text = Annotated[
    str,
    Meta(max_length=limits.TEXT_CHARACTERS, extra_json_schema={"x-ref": "Text", "pattern": NO_CONTROL}),
]
Day = Annotated[
    date,
    Meta(extra_json_schema={"pattern": "^20[0-9]{2}-", "x-ref": "Day"}),
]
Whole = Annotated[
    int,
    Meta(ge=-limits.WHOLE, le=limits.WHOLE, extra_json_schema={"x-ref": "Whole"}),
]
Number = Annotated[
    float,
    Meta(ge=-limits.NUMBER, le=limits.NUMBER, extra_json_schema={"x-ref": "Number"}),
]
Weight = Annotated[
    float,
    Meta(ge=0.0, le=limits.WEIGHT, description="What multiplies this term of the score: 1 as usual, 0 not at all.",
         examples=[1.0]),
]


def quantity_type(dimension: str) -> Any:
    """Text with a unit of that dimension."""
    d = DIMENSIONS[dimension]
    return Annotated[
        str,
        Meta(
            max_length=MOST_CHARACTERS, extra={"dimension": dimension},
            extra_json_schema={"x-ref": d.title, "pattern": pattern_of(dimension)},
        ),
    ]


if TYPE_CHECKING:
    Length = str
    Moisture = str
else:
    Length, Moisture = quantity_type("length"), quantity_type("moisture")


class Cause(Struct, frozen=True, forbid_unknown_fields=True):
    """A cause of moisture that somebody saw, and how it stands."""

    code: Annotated[Code, Meta(description="Code of the cause.", examples=["K09"])]
    state: Annotated[
        Literal["open", "suspected", "corrected", "in_price", "by_others", "declined"] | UnsetType,
        Meta(description="open and suspected are what was seen; the others say who corrects it. Left out: open."),
    ] = UNSET
    by: Annotated[Text | UnsetType, Meta(description="Who corrects or corrected it.", examples=["the roofer"])] = UNSET
    on: Annotated[Day | UnsetType, Meta(description="When it was or will be corrected.", examples=["2026-06-01"])] = UNSET


class Wood(Struct, frozen=True, forbid_unknown_fields=True):
    """Wood that is at hand, of one kind and size."""

    form: Annotated[Code, Meta(description="log, slab, timber, board or beam.", examples=["log"])]
    section: Annotated[Length, Meta(description="Diameter or thickness.", examples=["12 in"])]
    length: Annotated[Length, Meta(description="Length of one piece.", examples=["10 ft"])]
    moisture: Annotated[
        Moisture | UnsetType, Meta(description="What a meter says of it.", examples=["14 %"])
    ] = UNSET
    species: Annotated[Code | UnsetType, Meta(description="Code of the species.", examples=["lodgepole_pine"])] = UNSET
    count: Annotated[Whole | UnsetType, Meta(description="How many pieces. Left out: one.", examples=[2])] = UNSET
    core_checked: Annotated[
        bool | UnsetType, Meta(description="Whether the meter was read in its core too.", examples=[True])
    ] = UNSET


class Wishes(Struct, frozen=True, forbid_unknown_fields=True):
    """What the owner weighs. Each weight multiplies its term of the score; left out it is 1. First cost counts above 1."""

    first_cost: Weight | UnsetType = UNSET
    lifetime_cost: Weight | UnsetType = UNSET
    time_out_of_use: Weight | UnsetType = UNSET
    look: Weight | UnsetType = UNSET
    heritage: Weight | UnsetType = UNSET
    latest: Annotated[
        Day | UnsetType, Meta(description="Latest day on which the work may be finished.", examples=["2026-10-31"])
    ] = UNSET


@dataclass(frozen=True)
class RequestTypes:
    """The types of one request, and the facts behind their fields in a steady order."""

    request: type[Struct]
    defect: type[Struct]
    building: type[Struct]
    site: type[Struct]
    defect_facts: tuple[FactRecord, ...]
    building_facts: tuple[FactRecord, ...]
    site_facts: tuple[FactRecord, ...]


def request_types(knowledge: Knowledge) -> RequestTypes:
    """The types of a request, with one field a fact."""
    facts = tuple(knowledge.facts.values())
    of_defect = tuple(f for f in facts if f.scope in ("defect", "both") or f.name in WITH_THE_METER)
    of_house = tuple(f for f in facts if f.scope in ("house", "both"))
    building_facts = tuple(f for f in of_house if f.name not in SITE_FACTS)
    site_facts = tuple(f for f in of_house if f.name in SITE_FACTS)
    wood = (
        "wood",
        Annotated[
            Annotated[list[Wood], Meta(max_length=limits.WOOD)] | UnsetType, Meta(description="Wood at hand.")
        ],
        UNSET,
    )
    defect = _struct(
        "Defect", "One damaged place, or several alike pieces.",
        [*_defect_head(), *(_field(f, a_piece=True) for f in of_defect), *_defect_tail(), wood],
    )
    building = _struct(
        "Building", "Facts of the building that all defects share.",
        [*(_field(f, a_piece=False) for f in building_facts), wood],
    )
    site = _struct("Site", "Facts of the place and the season.", [_field(f, a_piece=False) for f in site_facts])
    request = _struct("QuoteRequest", "What was seen.", _request_fields(defect, building, site))
    return RequestTypes(request, defect, building, site, of_defect, building_facts, site_facts)


def _struct(name: str, doc: str, fields: Iterable[Any]) -> type[Struct]:
    return msgspec.defstruct(
        name, fields, frozen=True, forbid_unknown_fields=True, kw_only=True, namespace={"__doc__": doc},
        module=__name__,
    )


def _defect_head() -> list[Any]:
    return [
        ("id", Annotated[Text | UnsetType, Meta(description="The caller's own name for it, echoed.", examples=["A-7"])],
         UNSET),
        ("element", Annotated[Code, Meta(description="Which part of the building, a member of the catalogue.",
                                         examples=["under_window"])]),
        ("damage", Annotated[Code, Meta(description="What it looks like, a damage of the catalogue.",
                                        examples=["soft_wood"])]),
        ("count", Annotated[Whole | UnsetType, Meta(
            description="How many pieces are damaged. Left out: as many as the longest list has values, or one.",
            examples=[1])], UNSET),
    ]


def _defect_tail() -> list[Any]:
    causes = Annotated[list[Cause], Meta(max_length=limits.CAUSES)] | UnsetType
    return [("causes", Annotated[causes, Meta(description="Causes of moisture that were seen, with their state.")], UNSET)]


def _field(fact: FactRecord, *, a_piece: bool) -> Any:
    """A fact as a field: absent means that nobody said."""
    one = _value(fact)
    said = fact.ask
    if fact.choices:
        said += f" One of: {', '.join(fact.choices)}."
    if a_piece and fact.dimension not in ("flag", "words"):
        listed: Any = list[one]  # type: ignore[valid-type]  # made at run time
        one = one | Annotated[listed, Meta(min_length=1, max_length=limits.PIECES)]
        said += " A list has one value a piece."
    return fact.name, Annotated[one | UnsetType, Meta(description=said, examples=[_example(fact)])], UNSET


def _value(fact: FactRecord) -> Any:
    match fact.dimension:
        case "flag":
            return bool
        case "words":
            return Annotated[list[Code], Meta(max_length=limits.CODES)]
        case "word":
            return Code
        case "text":
            return Text
        case "year":
            return Whole
        case "number":
            # The hand of a clock may stand between two hours; everything else is counted.
            return Number if fact.name == "clock" else Whole
        case dimension:
            return quantity_type(dimension)


def _example(fact: FactRecord) -> Any:
    match fact.dimension:
        case "flag":
            return True
        case "words":
            return [fact.choices[0]]
        case "word":
            return fact.choices[0] if fact.choices else "lodgepole_pine"
        case "text":
            return fact.name.replace("_", " ") + " 1"
        case "year":
            return 1936
        case "number":
            return 2
        case dimension:
            return DIMENSIONS[dimension].examples[0]


def _request_fields(defect: type[Struct], building: type[Struct], site: type[Struct]) -> list[Any]:
    revision = Annotated[str, Meta(
        min_length=1, max_length=limits.REVISION_CHARACTERS,
        extra_json_schema={"x-ref": "Revision", "pattern": REVISION_FORM}, extra={"form": REVISION_WORDS})]
    region = Annotated[str, Meta(
        min_length=1, max_length=limits.CODE_CHARACTERS,
        extra_json_schema={"x-ref": "RegionCode", "pattern": REGION_FORM}, extra={"form": REGION_WORDS})]
    listed: Any = Annotated[list[defect], Meta(min_length=1, max_length=limits.DEFECTS)]  # type: ignore[valid-type]
    return [
        ("region", Annotated[region, Meta(description="Region whose rates and climate are used.",
                                           examples=["kestrel-range"])]),
        ("defects", Annotated[listed, Meta(description="What was seen, one entry a place.")]),
        ("building", Annotated[building | UnsetType, Meta(description="Facts of the building.")], UNSET),
        ("site", Annotated[site | UnsetType, Meta(description="Facts of the place and the season.")], UNSET),
        ("wishes", Annotated[Wishes | UnsetType, Meta(description="What the owner weighs.")], UNSET),
        ("level", Annotated[Literal["told", "photos", "visited", "opened", "cut_out"] | UnsetType, Meta(
            description="How well it is known: told on the phone, photos, visited, opened up, cut out. Left out: told.",
            examples=["told"])], UNSET),
        ("units", Annotated[Literal["imperial", "metric"] | UnsetType, Meta(
            description="Units of the answer. Left out: the region's.", examples=["imperial"])], UNSET),
        ("priced_on", Annotated[Day | UnsetType, Meta(
            description="Day of the prices, and day 0 of all calendars. Left out: today, in UTC.",
            examples=["2026-05-04"])], UNSET),
        ("rates", Annotated[revision | UnsetType, Meta(
            description="A revision to price by, in place of the one in force that day, as an answer named it.",
            examples=["base@1/kestrel-range@1"])], UNSET),
        ("job", Annotated[Text | UnsetType, Meta(
            description="The caller's name for the job. Wood in the yard that is held for it may be used for it.",
            examples=["the Alder house"])], UNSET),
        ("view", Annotated[Literal["full", "summary"] | UnsetType, Meta(
            description="full has everything; summary is small, for forms and phones. Left out: full.",
            examples=["full"])], UNSET),
    ]
