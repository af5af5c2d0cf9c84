"""Changes of a region wait for each other, in their order, and not for ever."""

from __future__ import annotations

import asyncio

import pytest

from service.application.ports import NotStoredError
from service.storage.turns import Turns


async def test_changes_of_one_region_go_one_after_the_other_in_their_order() -> None:
    turns, done, inside = Turns(), list[int](), 0

    async def change(n: int) -> None:
        nonlocal inside
        async with turns.of("home"):
            inside += 1
            assert inside == 1
            await asyncio.sleep(0)
            done.append(n)
            inside -= 1

    await asyncio.gather(*(change(n) for n in range(20)))
    assert done == list(range(20))


async def test_regions_do_not_wait_for_each_other() -> None:
    turns = Turns()
    async with asyncio.timeout(5.0), turns.of("home"), turns.of("away"):
        pass


async def test_who_waits_too_long_is_told_that_nothing_was_stored_and_holds_up_nobody() -> None:
    turns = Turns(wait_s=0.02)
    async with turns.of("home"):
        with pytest.raises(NotStoredError):
            async with turns.of("home"):
                pass
    async with turns.of("home"):
        pass


async def test_a_change_that_fails_gives_its_turn_on_and_nothing_is_kept_of_its_region() -> None:
    turns = Turns()
    for _ in range(2):
        with pytest.raises(ValueError, match="no such region"):
            async with turns.of("nowhere"):
                raise ValueError("no such region")
    assert not turns._locks
    assert not turns._here
