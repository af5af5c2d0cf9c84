"""What runs beside the requests ends when the application ends."""

from __future__ import annotations

import asyncio
from typing import Any, cast

import pytest

from service.web.beside import running

NOBODY = cast("Any", None)


async def test_work_that_forgets_one_cancellation_is_asked_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """A driver that loses its connection while it is cancelled reports the loss and goes on."""
    monkeypatch.setattr("service.web.beside.ASKED_AGAIN_S", 0.01)
    asked = 0

    async def forgetful() -> None:
        nonlocal asked
        while True:
            try:
                await asyncio.sleep(600)
            except asyncio.CancelledError:
                asked += 1
                if asked > 2:
                    raise

    async with asyncio.timeout(5), running([forgetful])(NOBODY):
        await asyncio.sleep(0)
    assert asked == 3


async def test_all_work_is_gone_before_the_connections_are_closed() -> None:
    ended: list[str] = []

    async def work(name: str) -> None:
        try:
            await asyncio.sleep(600)
        finally:
            ended.append(name)

    async with running([lambda: work("one"), lambda: work("two")])(NOBODY):
        await asyncio.sleep(0)
        assert ended == []
    assert sorted(ended) == ["one", "two"]
