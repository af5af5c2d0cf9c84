"""Layers of a chain from PostgreSQL. A published revision never changes, so one that was read is kept and needs no database."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any

from sqlalchemy import Select, select
from sqlalchemy.ext.asyncio import AsyncConnection, AsyncEngine

from service.application.ports import UnknownRevisionError
from service.application.reading import Layer, Signed
from service.storage.chains import parsed
from service.storage.database import asking
from service.storage.lines import line_of
from service.storage.tables import book_revision, rate_line, region

ROOM = 200
"""Most layers that are kept. One of the top region holds some 700 lines, one of the others some 100."""


@dataclass(frozen=True, slots=True)
class PostgresLayers:
    """Layers in PostgreSQL. Implements `LayerSource`."""

    engine: AsyncEngine
    patience_s: float
    _kept: OrderedDict[tuple[str, int], Layer] = field(default_factory=OrderedDict)

    async def layers(self, revision: str) -> tuple[Layer, ...]:
        """The layers of a chain, the top first; the database is asked for those that were not read before."""
        wanted = [(link.region, link.book) for link in parsed(revision)]
        missing = [one for one in wanted if one not in self._kept]
        found = {one: self._kept[one] for one in wanted if one not in missing}
        if missing:
            async with asking(self.engine, self.patience_s) as connection:
                for code, number in missing:
                    found[code, number] = await layer_of(connection, code, number)
        self._keep(found)
        return tuple(found[one] for one in wanted)

    def _keep(self, found: dict[tuple[str, int], Layer]) -> None:
        for one, layer in found.items():
            self._kept[one] = layer
            self._kept.move_to_end(one)
        while len(self._kept) > ROOM:
            self._kept.popitem(last=False)


async def layer_of(connection: AsyncConnection, code: str, number: int) -> Layer:
    """One region's own published book.

    Raises:
        UnknownRevisionError: it has none of that number.
    """
    rows = (await connection.execute(_layer(code, number))).all()
    if not rows:
        raise UnknownRevisionError(f"{code}@{number}", f"{code} has no published book number {number}")
    held = [row for row in rows if row.section is not None]
    return Layer(
        signed=signed_of(rows[0], code),
        lines=MappingProxyType({(row.section, row.code): line_of(row, code) for row in held}),
    )


def signed_of(row: Any, code: str) -> Signed:
    """A row of a revision as who signed it."""
    return Signed(code, row.number, row.effective_from, row.published_at, row.who, row.why, row.name)


def _layer(code: str, number: int) -> Select[Any]:
    """A published revision with its lines; one row without a section if it holds none."""
    r = book_revision.c
    return (
        select(
            r.number, r.effective_from, r.published_at, r.who, r.name, r.why,
            *(c for c in rate_line.c if c.name != "revision_id"),
        )
        .select_from(book_revision)
        .join(region, region.c.id == r.region_id)
        .outerjoin(rate_line, rate_line.c.revision_id == r.id)
        .where(region.c.code == code, r.number == number)
    )
