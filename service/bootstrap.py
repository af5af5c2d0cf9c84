"""The only file that knows everything: it builds the parts and hands them to each other."""

from __future__ import annotations

import gc
import math
import os
import signal
import time
from collections.abc import Awaitable, Callable
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from granian.constants import Interfaces
from granian.server import Server
from sqlalchemy.ext.asyncio import AsyncConnection, AsyncEngine

from service.application.books import BookShelf
from service.application.comparing import Comparer
from service.application.gates import DoorGate
from service.application.hours_desk import HoursDesk
from service.application.keys import KeyDesk
from service.application.quota import Quotas
from service.application.reading import RateReader
from service.application.ring import KeyRing
from service.settings import Settings, from_environment
from service.storage import schema, seed
from service.storage.audit_log import PostgresAudit
from service.storage.books import PostgresBooks
from service.storage.database import asking, make_engine
from service.storage.drafts import PostgresDrafts
from service.storage.history import PostgresHistory
from service.storage.hours import PostgresHours
from service.storage.keys import PostgresKeys
from service.storage.notices import BOOKS, KEYS, Notices
from service.storage.press import PostgresPress
from service.storage.quotas import PostgresCounter
from service.storage.reading import PostgresLayers
from service.storage.rebasing import PostgresRebaser
from service.storage.stock import PostgresStock
from service.storage.trials import PostgresTrials
from service.storage.turns import Turns

if TYPE_CHECKING:
    from service.application.quotes import QuoteDesk
    from service.engine.knowledge import Knowledge
    from service.identity.tokens import TokenGate
    from service.web.area import Area
    from service.web.front import Front
    from service.web.requests import RequestTypes

T = TypeVar("T")

LAST_ANSWERS_S = 30
"""How long a worker that was told to stop may take to give its last answers, before it is ended [s]."""


def today() -> date:
    """The day on which a request without a date is priced: UTC, so that every replica says the same."""
    return datetime.now(UTC).date()


def app_from_environment() -> object:
    """The ASGI application, set up from the environment. What a server process calls."""
    app = create_app(from_environment(os.environ))
    settle_memory()
    return app


def settle_memory() -> None:
    """Look for cycles seldom, and never among what lives as long as the process.

    An answer is thousands of values that are made together, go together and point in no circles: a collector that runs
    every few hundred of them takes a tenth of the time of a large job and finds nothing.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 50)


def create_app(settings: Settings) -> Front:
    """The ASGI application. Nothing is connected until the first request needs it."""
    # Here, because the commands that make no app need neither the engine nor the web.
    from service.application.quotes import QuoteDesk
    from service.engine.registry import all_methods
    from service.reference.load import load_knowledge
    from service.web.app import build_app
    from service.web.keys.routes import keys_area
    from service.web.requests import request_types

    engine = make_engine(settings.database_url, pool_size=settings.database_pool)
    shelf = BookShelf(PostgresBooks(engine, settings.database_patience_s), time.monotonic, settings.check_books_s)
    notices = Notices(engine, settings.database_patience_s)
    notices.on(BOOKS, shelf.stale)
    ring = _ring(settings, engine)
    notices.on(KEYS, ring.stale)
    keys = ring if settings.key_secret else None
    people = _people(settings)
    knowledge = load_knowledge()
    desk, types = QuoteDesk(shelf, knowledge, all_methods()), request_types(knowledge)
    return build_app(
        quotes=desk,
        books=shelf,
        knowledge=knowledge,
        today=today,
        gate=DoorGate(settings.open_scopes, keys=keys, tokens=people),
        origins=keys,
        quotas=_quotas(settings, engine),
        trusted_proxies=settings.trusted_proxies,
        areas=[keys_area(_key_desk(settings, engine, ring.ended)), *_areas(settings, engine, shelf, knowledge, desk, types)],
        types=types,
        public_url=settings.public_url,
        on_shutdown=[ring.close, *([people.keys.close] if people else []), engine.dispose],
        beside=[notices.run, lambda: shelf.keep_up(today)],
    )


def _ring(settings: Settings, engine: AsyncEngine) -> KeyRing:
    """All keys that are valid now. Without a secret there are none, and it is never asked."""
    keys = PostgresKeys(engine, settings.database_patience_s)
    return KeyRing(
        keys, settings.key_secret.encode(), time.monotonic, _now, settings.check_keys_s, settings.keep_keys_s
    )


def _people(settings: Settings) -> TokenGate | None:
    """The gate for people's tokens, where an identity provider is set."""
    if not settings.oidc_issuer:
        return None
    # Here, because most services have none, and what checks signatures is large.
    from service.identity.signing import SigningKeys, fetcher
    from service.identity.tokens import TokenGate

    keys = SigningKeys(fetcher(settings.oidc_jwks_url), time.monotonic, settings.keep_keys_s)
    return TokenGate(keys, settings.oidc_issuer, settings.oidc_audience, _now)


def _now() -> datetime:
    return datetime.now(UTC)


def _quotas(settings: Settings, engine: AsyncEngine) -> Quotas:
    """How often callers may ask."""
    return Quotas(
        PostgresCounter(engine, settings.database_patience_s), time.monotonic,
        per_key=settings.quota_per_key, per_form_key=settings.quota_per_form_key, per_address=settings.quota_per_address,
    )


def _areas(
    settings: Settings, engine: AsyncEngine, books: BookShelf, knowledge: Knowledge, desk: QuoteDesk, types: RequestTypes
) -> list[Area]:
    """The areas of the API beside quotes, reference, operations and keys."""
    from service.web.audit import audit_area
    from service.web.drafts.routes import drafts_area
    from service.web.hours.routes import hours_area
    from service.web.stock.routes import YardDoor, stock_area

    patience_s = settings.database_patience_s
    turns = Turns()
    drafts = PostgresDrafts(engine, patience_s, today, turns)
    return [
        _publishing(settings, engine, books, desk, types, turns),
        _reading(settings, engine, desk, types),
        audit_area(PostgresAudit(engine, patience_s)),
        drafts_area(drafts),
        hours_area(HoursDesk(PostgresHours(engine, patience_s), books, drafts, knowledge, today)),
        stock_area(YardDoor(PostgresStock(engine, patience_s, books.stale), books, knowledge, today)),
    ]


def _publishing(
    settings: Settings, engine: AsyncEngine, books: BookShelf, desk: QuoteDesk, types: RequestTypes, turns: Turns
) -> Area:
    """Trying drafts and publishing them."""
    from service.application.preview import PreviewDesk
    from service.reference.basket import load_basket
    from service.web.publishing.preview import preview_door
    from service.web.publishing.routes import publishing_area

    patience_s = settings.database_patience_s
    previews = PreviewDesk(PostgresTrials(engine, patience_s), desk.priced, today)
    return publishing_area(
        PostgresPress(engine, patience_s, today, books.stale, turns), PostgresRebaser(engine, patience_s, today, turns),
        preview_door(previews, types, load_basket()),
    )


def _reading(settings: Settings, engine: AsyncEngine, desk: QuoteDesk, types: RequestTypes) -> Area:
    """Reading rates line by line, and what changed since a quote."""
    from service.application.since import SinceQuote
    from service.web.reading.area import reading_area
    from service.web.reading.door import ReadingDoor
    from service.web.reading.since import since_door

    patience_s = settings.database_patience_s
    reader = RateReader(desk.books, PostgresLayers(engine, patience_s))
    history = PostgresHistory(engine, patience_s)
    comparer = Comparer(reader, history)
    since = since_door(SinceQuote(reader, comparer, desk.priced), desk, types, today)
    return reading_area(ReadingDoor(reader, history, comparer, today), since)


def _key_desk(settings: Settings, engine: AsyncEngine, ended: Callable[[str], None] = lambda _: None) -> KeyDesk:
    """Where keys are made, and who is told of those that end."""
    return KeyDesk(
        PostgresKeys(engine, settings.database_patience_s), settings.key_secret.encode(), _now,
        usual={"server": settings.quota_per_key, "form": settings.quota_per_form_key}, ended=ended,
    )


def contract() -> dict[str, object]:
    """The API's contract. It depends on no setting and asks no database: the address below is never used."""
    from service.web.app import openapi

    return openapi(create_app(Settings(database_url="postgresql://localhost/none")))


def serve(settings: Settings) -> None:
    """Serve until SIGINT or SIGTERM, in as many worker processes as are set."""
    workers_end_while_they_start()
    Server(
        "service.bootstrap:app_from_environment",
        factory=True,
        address=settings.host,
        port=settings.port,
        interface=Interfaces.ASGI,
        workers=settings.workers,
        respawn_failed_workers=True,
        workers_kill_timeout=LAST_ANSWERS_S,
    ).serve()


def workers_end_while_they_start() -> None:
    """Have a worker that is told to stop before it listens for that end at once.

    A forked worker inherits handlers that only its starter looks at: it would go on, until it is killed after
    `LAST_ANSWERS_S`. No request to stop comes between the fork and the change, because it is held back meanwhile.
    """
    told = {signal.SIGTERM}

    def in_worker() -> None:
        signal.signal(signal.SIGTERM, signal.SIG_DFL)
        # A key press reaches all processes; the starter hears it and tells the workers.
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        signal.pthread_sigmask(signal.SIG_UNBLOCK, told)

    os.register_at_fork(
        before=lambda: signal.pthread_sigmask(signal.SIG_BLOCK, told),
        after_in_parent=lambda: signal.pthread_sigmask(signal.SIG_UNBLOCK, told),
        after_in_child=in_worker,
    )


async def migrate(settings: Settings, to: str = "head") -> None:
    """Bring the database's schema to a revision: "head", "base" or one by name."""
    step = schema.downgrade if to == "base" else schema.upgrade
    await _with_engine(settings, lambda engine: step(engine, to))


async def with_keys(settings: Settings, use: Callable[[KeyDesk], Awaitable[T]]) -> T:
    """What somebody does where keys are made."""
    return await _with_engine(settings, lambda engine: use(_key_desk(settings, engine)))


async def with_connection(settings: Settings, use: Callable[[AsyncConnection], Awaitable[T]]) -> T:
    """What somebody does with a connection of their own, without a limit of time.

    Raises:
        BooksUnavailableError: the database does not answer.
    """

    async def ask(engine: AsyncEngine) -> T:
        async with asking(engine, math.inf) as connection:
            return await use(connection)

    return await _with_engine(settings, ask)


async def load(settings: Settings, folder: Path) -> tuple[seed.Loaded, ...]:
    """Load the region folders below `folder`. Raises FolderError."""
    return await _with_engine(settings, lambda engine: seed.load(engine, folder))


async def _with_engine(settings: Settings, use: Callable[[AsyncEngine], Awaitable[T]]) -> T:
    engine = make_engine(settings.database_url, pool_size=1)
    try:
        return await use(engine)
    finally:
        await engine.dispose()
