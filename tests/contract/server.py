"""The service on a port, with books from the fixtures in place of a database: what outside graders are let loose on."""

from __future__ import annotations

import sys
from datetime import date

from granian.constants import Interfaces
from granian.server import Server

from service.application.quotes import QuoteDesk
from service.engine.registry import all_methods
from service.reference.load import load_knowledge
from service.web.app import build_app
from service.web.front import Front
from tests.web.fakes import FixtureBooks


def make() -> Front:
    """The application with the real engine."""
    books, knowledge = FixtureBooks(), load_knowledge()
    return build_app(
        quotes=QuoteDesk(books, knowledge, all_methods()), books=books, knowledge=knowledge, today=lambda: date(2026, 5, 4)
    )


if __name__ == "__main__":
    Server(
        "tests.contract.server:make", factory=True, address="127.0.0.1", port=int(sys.argv[1]), interface=Interfaces.ASGI
    ).serve()
