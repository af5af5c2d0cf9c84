"""The service on a port, with books from the fixtures in place of a database: what outside graders are let loose on.

    python -m tests.contract.server PORT real|canned

`canned` answers every defect alike and at once: whole lists of 300 are about the form. `real` asks the engine.
"""

from __future__ import annotations

import sys
from datetime import date

from granian.constants import Interfaces
from granian.server import Server

from service.application.access import Caller, NotKnownError, nobody
from service.application.ports import Quotes
from service.application.quotes import QuoteDesk
from service.engine.knowledge import Knowledge
from service.engine.registry import all_methods
from service.reference.load import load_knowledge
from service.web.app import build_app
from service.web.front import Front
from tests.web.fakes import CannedQuotes, FixtureBooks

KEY = "the one key of this server"


class OneKey:
    """A gate with one key, which may quote and read everywhere."""

    async def caller(self, shown: str | None) -> Caller:
        """Who shows it."""
        if shown is None:
            return nobody(frozenset())
        if shown != KEY:
            raise NotKnownError("it is not the one")
        return Caller("server", "one", "one", frozenset({"quote", "rates:read"}), None)


def _made(quotes: Quotes, books: FixtureBooks, knowledge: Knowledge) -> Front:
    return build_app(quotes=quotes, books=books, knowledge=knowledge, today=lambda: date(2026, 5, 4), gate=OneKey())


def real() -> Front:
    """The application with the real engine."""
    books, knowledge = FixtureBooks(), load_knowledge()
    return _made(QuoteDesk(books, knowledge, all_methods()), books, knowledge)


def canned() -> Front:
    """The application with answers made by hand."""
    books = FixtureBooks()
    return _made(CannedQuotes(books), books, load_knowledge())


if __name__ == "__main__":
    Server(
        f"tests.contract.server:{sys.argv[2]}", factory=True, address="127.0.0.1", port=int(sys.argv[1]),
        interface=Interfaces.ASGI,
    ).serve()
