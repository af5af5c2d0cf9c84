"""Wood in the yard on the wire: what is sent of a piece, what is answered of a yard, its supply and its counts."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated

from msgspec import UNSET, Meta, Struct, UnsetType, field

from service.web import limits
from service.web.answers import Quantity
from service.web.reading_shapes import Person
from service.web.regions import RateLine
from service.web.requests import CODE_WORDS, Code, Day, Length, Moisture, Text

PieceCode = Annotated[
    str, Meta(max_length=80, extra_json_schema={"x-ref": "PieceCode", "pattern": "^[a-z0-9_.]{1,80}$"},
              extra={"form": CODE_WORDS})
]


class PieceSent(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A piece of wood as somebody found it."""

    code: Annotated[PieceCode, Meta(description="Its mark.", examples=["kr_011"])]
    form: Annotated[Code, Meta(description="What it is, as repairs ask for it: log, slab, timber and so on.", examples=["log"])]
    section: Annotated[Length, Meta(description="Diameter or thickness.", examples=["12 in"])]
    second: Annotated[
        Length | UnsetType | None, Meta(description="Width of what is sawn; a log has none.", examples=["9 1/4 in"])
    ] = UNSET
    length: Annotated[Length, Meta(description="Length.", examples=["16 ft"])]
    moisture: Annotated[Moisture, Meta(description="Last reading.", examples=["14 %"])]
    moisture_depth: Annotated[
        Length | UnsetType | None,
        Meta(description="How deep it was read: a thick log is known to be dry only where it was read deep.", examples=["5 in"]),
    ] = UNSET
    read_on: Annotated[Day | UnsetType | None, Meta(description="When it was read.", examples=["2026-03-02"])] = UNSET
    species: Annotated[Code, Meta(description="Code of the species.", examples=["lodgepole_pine"])]
    cut: Annotated[Code, Meta(description="How it was cut: round, hewn, flat, rift or quarter.", examples=["round"])]
    where: Annotated[Text, Meta(description="Where it lies.", examples=["open shed, bay 1"])]
    held_for: Annotated[
        Text | UnsetType | None, Meta(description="Job that it is held for.", examples=["the Alder house"])
    ] = UNSET
    held_until: Annotated[
        Day | UnsetType | None, Meta(description="Last day on which it is held. Left out: until it is let go.",
                                     examples=["2026-06-30"])
    ] = UNSET


class PieceChange(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """What changes of a piece (RFC 7396): a field that is left out stays, null takes it away.

    A new hold begins without the day of the old one. A new reading is of today and of unknown depth unless it says otherwise.
    """

    form: Annotated[Code | UnsetType, Meta(description="What it is.", examples=["timber"])] = UNSET
    section: Annotated[Length | UnsetType, Meta(description="Diameter or thickness.", examples=["8 in"])] = UNSET
    second: Annotated[Length | UnsetType | None, Meta(description="Width of what is sawn.", examples=["8 in"])] = UNSET
    length: Annotated[Length | UnsetType, Meta(description="Length that is left of it.", examples=["7 ft 6 in"])] = UNSET
    moisture: Annotated[Moisture | UnsetType, Meta(description="A new reading.", examples=["13 %"])] = UNSET
    moisture_depth: Annotated[Length | UnsetType | None, Meta(description="How deep it was read.", examples=["5 in"])] = UNSET
    read_on: Annotated[Day | UnsetType | None, Meta(description="When it was read.", examples=["2026-05-04"])] = UNSET
    species: Annotated[Code | UnsetType, Meta(description="Code of the species.", examples=["lodgepole_pine"])] = UNSET
    cut: Annotated[Code | UnsetType, Meta(description="How it was cut.", examples=["flat"])] = UNSET
    where: Annotated[Text | UnsetType, Meta(description="Where it lies now.", examples=["open shed, bay 2"])] = UNSET
    held_for: Annotated[
        Text | UnsetType | None, Meta(description="Job that it is held for; null lets it go.", examples=["the Alder house"])
    ] = UNSET
    held_until: Annotated[
        Day | UnsetType | None, Meta(description="Last day on which it is held; null for until it is let go.",
                                     examples=["2026-06-30"])
    ] = UNSET


class CountSent(Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A whole count: every piece that is in the yard."""

    pieces: Annotated[
        Annotated[list[PieceSent], Meta(max_length=limits.YARD)], Meta(description="All pieces. What is not here is gone.")
    ]


class YardPiece(Struct, frozen=True):
    """A piece of wood in the yard.

    Attributes:
        code: its mark.
        form: what it is, as repairs ask for it.
        section: diameter or thickness.
        second: width of what is sawn; null for a log.
        length: length.
        moisture: last reading.
        moisture_depth: how deep it was read; null where nobody said.
        read_on: when; null where nobody said.
        species: code of the species.
        cut: how it was cut.
        where: where it lies.
        held_for: job that it is held for; null for none.
        held_until: last day on which it is held; null for until it is let go.
        held: whether it is held on the day that was asked for.
        unfit: what keeps it from any repair that wants seasoned wood; null for nothing.
        from_region: region whose yard it is in.
        etag: state of the piece, for If-Match.
    """

    code: str
    form: str
    section: Quantity
    second: Quantity | None
    length: Quantity
    moisture: Quantity
    moisture_depth: Quantity | None
    read_on: date | None
    species: str
    cut: str
    where: str
    held_for: str | None
    held_until: date | None
    held: bool
    unfit: str | None
    from_region: str = field(name="from")
    etag: str


class YardCount(Struct, frozen=True):
    """The count that a yard is known by.

    Attributes:
        from_region: region whose yard it is: the asked one's, else the nearest parent's.
        number: its number; 0 where nobody ever counted.
        effective: first day on which it is in force; null where nobody ever counted.
        counted_at: when it was signed; null where nobody ever counted.
        who: who signed it, as people call them.
        why: why.
        by: who signed it, by id and name; both empty where nobody ever counted.
    """

    from_region: str = field(name="from")
    number: int
    effective: date | None
    counted_at: datetime | None
    who: str
    why: str
    by: Person


class Supply(Struct, frozen=True):
    """Where seasoned wood comes from that is not in the yard. These are lines of the region's rates.

    Attributes:
        leads: weeks until it is there.
        prices: what it costs, markup not in.
        how: how they are changed, in words.
    """

    leads: list[RateLine]
    prices: list[RateLine]
    how: str


class Stock(Struct, frozen=True):
    """Wood in the yard of a region on a day, and what can be bought.

    Attributes:
        region: code of the region.
        day: the day.
        count: which count.
        pieces: by code.
        supply: what can be bought.
        note: what to mind, in words.
    """

    region: str
    day: date
    count: YardCount
    pieces: list[YardPiece]
    supply: Supply
    note: str


class StockChange(Struct, frozen=True):
    """What a change made of the yard.

    Attributes:
        count: number of the count that is in force now.
        etag: the new state of what was changed, for If-Match.
        added: codes of pieces that came.
        removed: codes of pieces that went.
        changed: codes of pieces that are otherwise than before.
        piece: the piece that was changed; null for a whole count and for a piece that was taken out.
    """

    count: int
    etag: str
    added: list[str]
    removed: list[str]
    changed: list[str]
    piece: YardPiece | None


class StockCount(Struct, frozen=True):
    """A count, and what changed since the one before it.

    Attributes:
        number: its number, as `rates` names it.
        effective: first day on which it was to be in force.
        in_force_from: first day on which quotes use it; null where another count took its place on the same day.
        in_force_until: the day after the last; null for until further notice, or where it is not in force.
        counted_at: when it was signed.
        who: who signed it, as people call them.
        why: why.
        pieces: how many there were.
        added: codes of pieces that came.
        removed: codes of pieces that went.
        changed: codes of pieces that are otherwise than before.
        by: who signed it, by id and name.
    """

    number: int
    effective: date
    in_force_from: date | None
    in_force_until: date | None
    counted_at: datetime
    who: str
    why: str
    pieces: int
    added: list[str]
    removed: list[str]
    changed: list[str]
    by: Person


class StockCounts(Struct, frozen=True):
    """A page of counts.

    Attributes:
        counts: the newest first.
        next_cursor: where the next page begins; null on the last.
    """

    counts: list[StockCount]
    next_cursor: str | None


