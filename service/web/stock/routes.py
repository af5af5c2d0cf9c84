"""Wood in the yard over HTTP: what there is, what came in, what is held, what was used, and the counts that say so."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, NoReturn

import msgspec
from litestar import Response, delete, get, patch, post, put
from litestar.handlers import HTTPRouteHandler
from litestar.params import FromPath

from service.application.nonsense import NonsenseError
from service.application.ports import Books, UnknownRegionError
from service.application.stock import Changed, Edit, Known, Piece, StockRoom, count_tag
from service.application.stock_edits import alter, check_count, come_in, use_up, whole_count
from service.application.stock_sense import nonsense
from service.engine.knowledge import Knowledge
from service.engine.wood import LEADS
from service.engine.words import Words
from service.web import limits
from service.web.access import asker_of
from service.web.area import Area
from service.web.conditions import check_digest, once_of, state_named
from service.web.decoding import pointer, read_body
from service.web.http import (
    CSV,
    JSON,
    MERGE_PATCH,
    NO_STORE,
    RATES,
    Asked,
    check_json,
    conditional,
    etag_of,
    is_sheet,
    media_asked,
    parameters,
    sheet,
)
from service.web.paging import next_page, page_of, paged
from service.web.params import (
    DECIMAL,
    EMPTY,
    NUMBER,
    comma_wanted,
    day_check,
    day_of,
    empty_meant,
    region_named,
    text_check,
    text_of,
)
from service.web.problems import Fault, ProblemError, problem
from service.web.sheets import CellFault, nothing_left, refused
from service.web.stock import contract
from service.web.stock.pieces import WIRE, RangeError, SheetRead, Shown, changes_of, piece_of, pieces_in, sheet_of
from service.web.stock.shapes import CountSent, PieceChange, PieceSent, StockChange, YardPiece
from service.web.stock.views import counts_view, stock_view

Path = tuple[str | int, ...]
PAGE = 50
"""Most counts in a page: each is held against the one before it."""


@dataclass(frozen=True, slots=True)
class YardDoor:
    """What the addresses of a yard ask.

    Attributes:
        today: the day on which a change is in force.
    """

    room: StockRoom
    books: Books
    knowledge: Knowledge
    today: Callable[[], date]

    async def units(self, region: str) -> str:
        """Units in which a region is answered. Raises UnknownRegionError."""
        records = await self.books.regions()
        for record in records:
            if record.code == region:
                return record.units
        raise UnknownRegionError(region, tuple(record.code for record in records))

    def known(self, units: str) -> Known:
        """What a piece can be, its faults said in these units."""
        return Known(tuple(LEADS), frozenset(self.knowledge.species), Words(units))

    async def nonsense(self, region: str, read: SheetRead) -> list[CellFault]:
        """What makes no sense in the rows of a sheet that can be read, so that all its faults are named at once."""
        today, known = self.today(), self.known(await self.units(region))
        before = {p.code: p for p in (await self.room.own_yard(region, today)).pieces}
        found = (
            nonsense(p, known, today, before=before.get(p.code), index=k) for k, p in enumerate(read.pieces)
        )
        return [read.fault(one) for some in found for one in some]

    async def check_empty(self, region: str, seen: str) -> None:
        """Ask whether an empty sheet is meant to empty the yard that was seen.

        Raises:
            ProblemError: 422 where something lies in it.
            YardChangedError.
        """
        yard = await self.room.own_yard(region, self.today())
        check_count(seen, yard)
        if yard.pieces:
            raise nothing_left(len(yard.pieces), "pieces of the yard")

    async def change(self, request: Asked, region: str, edit: Edit, code: str = "") -> StockChange:
        """Make a change, once however often it is sent."""
        units, day = await self.units(region), self.today()

        def said(changed: Changed) -> bytes:
            return msgspec.json.encode(_change_said(changed, code, Shown(units, day, region)))

        body = await request.body()
        made = await self.room.change(asker_of(request), region, day, edit, once_of(request, body), said)
        return msgspec.json.decode(made, type=StockChange)


def stock_area(door: YardDoor) -> Area:
    """The addresses of wood in the yard."""
    return Area(
        tag="stock", about="Wood in the yard, held for jobs and counted; supply with its lead times.",
        routes=[*_reading(door), *_counting(door), *_one_piece(door)], paths=contract.paths(),
        shapes=contract.SHAPES,
    )


def _reading(door: YardDoor) -> list[HTTPRouteHandler]:
    @get("/v1/regions/{region:str}/stock",
         opt={"scope": "rates:read", "parameters": {"on": day_check(), **DECIMAL}, "media": (JSON, CSV)})
    async def read_stock(request: Asked, region: FromPath[str]) -> Response[bytes]:
        asked = parameters(request)
        day, comma = day_of(asked.get("on"), door.today), comma_wanted(asked)
        units = await door.units(region_named(region))
        yard = await door.room.yard(region, day)
        number = yard.number if yard.region == region else 0
        if media_asked(request) == CSV:
            rows = sheet_of(yard.pieces, units, comma=comma)
            return sheet(request, rows, cache=RATES, etag=_tag(number, rows))
        book = (await door.books.book(region, day)).book
        body = msgspec.json.encode(stock_view(yard, book, Shown(units, day, yard.region)))
        return conditional(request, body, etag=_tag(number, body), cache=RATES)

    @get("/v1/regions/{region:str}/stock/counts", opt={"scope": "rates:read", "parameters": paged(NUMBER.pattern)})
    async def list_counts(request: Asked, region: FromPath[str]) -> Response[bytes]:
        page = page_of(parameters(request), NUMBER.pattern)
        most = min(page.limit, PAGE)
        found = await door.room.counts(region_named(region), None if page.after is None else int(page.after), most + 1)
        cursor = str(found[most - 1].number) if len(found) > most else None
        body = msgspec.json.encode(counts_view(found[:most], cursor))
        return conditional(request, body, etag=etag_of(body), cache=RATES, headers=next_page(request, cursor))

    @get("/v1/regions/{region:str}/stock/{code:str}", opt={"scope": "rates:read"})
    async def read_piece(request: Asked, region: FromPath[str], code: FromPath[str]) -> Response[bytes]:
        units = await door.units(region_named(region))
        day = door.today()
        yard = await door.room.yard(region, day)
        piece = Shown(units, day, yard.region).piece(yard.piece(code))
        return conditional(request, msgspec.json.encode(piece), etag=piece.etag, cache=RATES)

    return [read_stock, list_counts, read_piece]


def _counting(door: YardDoor) -> list[HTTPRouteHandler]:
    @put("/v1/regions/{region:str}/stock", status_code=200,
         opt={"scope": "rates:write", "parameters": {"why": text_check("why"), **EMPTY}})
    async def count_stock(request: Asked, region: FromPath[str]) -> Response[bytes]:
        check_json(request, (JSON, CSV))
        seen, why = state_named(request), text_of(parameters(request), "why")
        units = await door.units(region_named(region))
        body = await request.body()
        check_digest(request, body)
        read: SheetRead | None = None
        if is_sheet(request):
            read = pieces_in(body)
            pieces: Sequence[Piece] = read.pieces
            if not (pieces or read.faults or empty_meant(parameters(request))):
                await door.check_empty(region, seen)
            if read.faults:
                raise refused([*read.faults, *await door.nonsense(region, read)])
        else:
            sent = read_body(body, CountSent)
            pieces = _pieces([(one, ("pieces", k)) for k, one in enumerate(sent.pieces)])
        try:
            made = await door.change(request, region, whole_count(pieces, seen, door.known(units), door.today(), why))
        except NonsenseError as fault:
            _refuse(fault, "pieces", read)
        return _answer(made, 200)

    @post("/v1/regions/{region:str}/stock", status_code=201, opt={"scope": "rates:write"})
    async def add_piece(request: Asked, region: FromPath[str]) -> Response[bytes]:
        check_json(request)
        units = await door.units(region_named(region))
        piece = _pieces([(read_body(await request.body(), PieceSent), ())])[0]
        try:
            made = await door.change(request, region, come_in(piece, door.known(units), door.today()), piece.code)
        except NonsenseError as fault:
            _refuse(fault)
        return _answer(made, 201, {"Location": f"/v1/regions/{region}/stock/{piece.code}"})

    return [count_stock, add_piece]


def _one_piece(door: YardDoor) -> list[HTTPRouteHandler]:
    @patch("/v1/regions/{region:str}/stock/{code:str}", status_code=200, opt={"scope": "rates:write"})
    async def alter_piece(request: Asked, region: FromPath[str], code: FromPath[str]) -> Response[bytes]:
        check_json(request, (MERGE_PATCH, JSON))
        seen = state_named(request)
        units = await door.units(region_named(region))
        try:
            changes = changes_of(read_body(await request.body(), PieceChange))
        except RangeError as fault:
            raise _ranges(_named(fault, ())) from None
        try:
            made = await door.change(request, region, alter(code, seen, changes, door.known(units), door.today()), code)
        except NonsenseError as fault:
            _refuse(fault)
        return _answer(made, 200)

    @delete("/v1/regions/{region:str}/stock/{code:str}", status_code=200,
            opt={"scope": "rates:write", "parameters": {"job": text_check("job")}})
    async def use_piece(request: Asked, region: FromPath[str], code: FromPath[str]) -> Response[bytes]:
        seen, job = state_named(request), text_of(parameters(request), "job")
        return _answer(await door.change(request, region_named(region), use_up(code, seen, job)), 200)

    return [alter_piece, use_piece]


def _change_said(changed: Changed, code: str, shown: Shown) -> StockChange:
    piece: YardPiece | None = None
    tag = count_tag(changed.yard.number)
    if code:
        piece = shown.piece(changed.yard.piece(code))
        tag = piece.etag
    d = changed.difference
    return StockChange(
        count=changed.yard.number, etag=tag, added=list(d.added), removed=list(d.removed), changed=list(d.changed), piece=piece
    )


def _answer(made: StockChange, status: int, headers: dict[str, str] | None = None) -> Response[bytes]:
    given = {"ETag": made.etag, **NO_STORE, **(headers or {})}
    return Response(msgspec.json.encode(made), status_code=status, media_type=JSON, headers=given)


def _tag(number: int, body: bytes) -> str:
    return count_tag(number, etag_of(body)[1:17])


def _pieces(sent: Sequence[tuple[PieceSent, Path]]) -> list[Piece]:
    """Pieces that were sent, each with its place in the body.

    Raises:
        ProblemError: 422, with every size that is a range.
    """
    pieces: list[Piece] = []
    faults: list[Fault] = []
    for one, path in sent:
        try:
            pieces.append(piece_of(one))
        except RangeError as fault:
            faults += _named(fault, path)
    if faults:
        raise _ranges(faults)
    return pieces


def _named(fault: RangeError, path: Path) -> list[Fault]:
    detail = "must be one number: a piece in the yard has been measured."
    return [Fault(detail, pointer((*path, name)), None) for name in fault.names]


def _ranges(faults: Sequence[Fault]) -> ProblemError:
    return ProblemError(problem("implausible", "A piece has one size, not a range.", errors=faults[: limits.ERRORS]))


def _refuse(fault: NonsenseError, where: str = "", read: SheetRead | None = None) -> NoReturn:
    """422 with every value that cannot be, each with its place."""
    if read is not None:
        raise refused([read.fault(one) for one in fault.faults]) from None
    errors = []
    for one in fault.faults[: limits.ERRORS]:
        path: tuple[Any, ...] = (where, one.index) if where else ()
        errors.append(Fault(one.reason, pointer((*path, WIRE.get(one.name, one.name))), None))
    what = "1 value" if len(fault.faults) == 1 else f"{len(fault.faults)} values"
    raise ProblemError(problem("implausible", f"{what} cannot be. Nothing was stored.", errors=errors)) from None
