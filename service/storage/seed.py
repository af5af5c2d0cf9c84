"""Loading folders of fixtures. Loading twice changes nothing, and what an operator published is left alone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

from sqlalchemy import Table, insert, select, text
from sqlalchemy.ext.asyncio import AsyncConnection, AsyncEngine

from service.application.inheritance import is_locked
from service.application.money_lines import in_other_money
from service.storage.copying import copy_rows
from service.storage.folders import Folder, FolderError, read_folders
from service.storage.lines import lines_above
from service.storage.publishing import BOOK, STOCK, Kind, open_draft, publish
from service.storage.regions import other_money
from service.storage.schema import LOCK
from service.storage.tables import region

LOADER = "fixtures"
"""Who publishes what is loaded from a folder."""


@dataclass(frozen=True, slots=True)
class Loaded:
    """What loading did with one book or count: published, unchanged or left (an operator's is newer)."""

    region: str
    kind: str
    rows: int
    outcome: str


async def load(engine: AsyncEngine, root: Path) -> tuple[Loaded, ...]:
    """Load all region folders below `root` in one transaction.

    Raises:
        FolderError: with every fault found; nothing is loaded then.
    """
    done: list[Loaded] = []
    async with engine.begin() as connection:
        await connection.execute(text("SELECT pg_advisory_xact_lock(:lock)"), {"lock": LOCK})
        there = (await connection.execute(select(region.c.code))).scalars()
        folders = read_folders(root, frozenset(there))
        for folder in folders:
            code, region_id = folder.region["code"], await _region(connection, folder)
            done.append(await _load(connection, BOOK, code, region_id, folder, folder.lines))
            if folder.sticks is not None:
                done.append(await _load(connection, STOCK, code, region_id, folder, folder.sticks))
    return tuple(done)


async def _region(connection: AsyncConnection, folder: Folder) -> int:
    """The region's id; it is made if it is new, and must be the same if it is not."""
    wanted = dict(folder.region)
    parent = wanted.pop("parent")
    parent_id = None
    if parent:
        parent_id = (await connection.execute(select(region.c.id).where(region.c.code == parent))).scalar_one()
    wanted["parent_id"] = parent_id
    there = (await connection.execute(select(region).where(region.c.code == wanted["code"]))).mappings().one_or_none()
    if there is None:
        return int((await connection.execute(insert(region).values(wanted).returning(region.c.id))).scalar_one())
    differing = [name for name in wanted if name != "note" and there[name] != wanted[name]]
    if differing:
        raise FolderError(
            [f"{wanted['code']}: {', '.join(differing)} of a region never changes; old quotes rest on it"]
        )
    return int(there["id"])


async def _load(
    connection: AsyncConnection,
    kind: Kind,
    code: str,
    region_id: int,
    folder: Folder,
    rows: Sequence[Mapping[str, Any]],
) -> Loaded:
    revisions = kind.revisions
    newest = (
        await connection.execute(
            select(revisions.c.id, revisions.c.who)
            .where(revisions.c.region_id == region_id, revisions.c.status == "published")
            .order_by(revisions.c.number.desc())
            .limit(1)
        )
    ).one_or_none()
    outcome = "published"
    if newest is not None and newest.who != LOADER:
        outcome = "left"
    elif newest is not None and await _holds(connection, kind.rows, newest.id, rows):
        outcome = "unchanged"
    else:
        if kind is BOOK:
            await _check_money(connection, code, folder)
        draft = await open_draft(connection, kind, region_id, LOADER, None if newest is None else newest.id)
        await copy_rows(connection, kind.rows, [{"revision_id": draft, **row} for row in rows])
        await publish(connection, kind, draft, folder.effective, LOADER, "loaded from a folder")
    return Loaded(code, "book" if kind is BOOK else "stock", len(rows), outcome)


async def _check_money(connection: AsyncConnection, code: str, folder: Folder) -> None:
    """Refuse a book that would inherit prices in other money. Raises FolderError."""
    # As it is now, and not on a first day that may be past: a lock may have come since.
    above = await lines_above(connection, code, max(folder.effective, datetime.now(UTC).date()))
    # An own price below a lock would count for nothing.
    own = {(row["section"], row["code"]) for row in folder.lines if not is_locked(above, (row["section"], row["code"]))}
    missing = in_other_money(above, own, await other_money(connection, code))
    if missing:
        named = ", ".join("/".join(key) for key in missing[:3]) + (", ..." if len(missing) > 3 else "")
        why = f"its money is {folder.region['currency']}, not that of the region above, so all prices must stand in its folder"
        raise FolderError([f"{code}: {why}; {len(missing)} are missing, or locked above: {named}"])


async def _holds(
    connection: AsyncConnection, table: Table, revision_id: int, rows: Sequence[Mapping[str, Any]]
) -> bool:
    """Whether a revision holds exactly these rows, numbers compared as they were typed."""
    there = (await connection.execute(select(table).where(table.c.revision_id == revision_id))).mappings().all()
    names = list(rows[0]) if rows else []
    held, wanted = ({tuple(_typed(row[name]) for name in names) for row in some} for some in (there, rows))
    return held == wanted and len(there) == len(rows)


def _typed(value: object) -> str:
    """A value as it was typed: 12.50 is not 12.5, but 1E+4 is 10000."""
    return f"{value:f}" if isinstance(value, Decimal) else str(value)
