"""What goes wrong in the database is logged without what was to be stored: prices and digests of keys are nobody's."""

from __future__ import annotations

import traceback

import pytest
from sqlalchemy import insert
from sqlalchemy.exc import DBAPIError

from service.storage.database import make_engine
from service.storage.tables import api_key


async def test_a_fault_of_the_database_tells_nothing_of_what_was_to_be_stored(database_url: str) -> None:
    engine = make_engine(database_url)
    row = {
        "id": "a1b2c3d4e5f6", "owner": "a1b2c3d4e5f6", "sort": "neither", "name": "a name of nobody", "digest": b"digest-of-key",
        "scopes": ["quote"], "regions": None, "origins": [], "per_minute": 0, "made_by": "tests",
    }
    with pytest.raises(DBAPIError) as failed:
        async with engine.begin() as connection:
            await connection.execute(insert(api_key).values(**row))
    await engine.dispose()
    said = "".join(traceback.format_exception(failed.value))
    assert "api_key" in said
    for kept in ("digest-of-key", b"digest-of-key".hex(), "a name of nobody"):
        assert kept not in said
