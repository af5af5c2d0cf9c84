"""What runs beside the requests: started with the application, and gone before its connections are closed."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import AsyncIterator, Callable, Coroutine, Sequence
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from typing import Any

from litestar import Litestar

LOG = logging.getLogger("service.web")
ASKED_AGAIN_S = 0.5
"""How long work may take to end before it is cancelled again [s]."""


def running(
    works: Sequence[Callable[[], Coroutine[Any, Any, None]]],
) -> Callable[[Litestar], AbstractAsyncContextManager[None]]:
    """A part of the application's life in which these run, each until it is cancelled."""

    @asynccontextmanager
    async def life(_: Litestar) -> AsyncIterator[None]:
        tasks = [asyncio.create_task(work()) for work in works]
        for task in tasks:
            task.add_done_callback(_say_if_it_failed)
        try:
            yield
        finally:
            await _end(tasks)

    return life


async def _end(tasks: Sequence[asyncio.Task[None]]) -> None:
    """Cancel them until they are gone.

    Asked once is not enough: a driver that loses its connection in that very moment reports the loss and forgets the
    cancellation, and where service and database are stopped together that moment is likely.
    """
    going = set(tasks)
    while going:
        for task in going:
            task.cancel()
        _, going = await asyncio.wait(going, timeout=ASKED_AGAIN_S)


def _say_if_it_failed(task: asyncio.Task[None]) -> None:
    if not task.cancelled() and task.exception() is not None:
        LOG.error("work beside the requests failed", exc_info=task.exception())
