"""The one way in which a survey is priced, for tests that need neither a database nor the web."""

from __future__ import annotations

from service.application.quotes import QuoteDesk
from service.engine.outcome import Answer
from service.engine.rates import RateBook
from service.engine.registry import all_methods
from service.engine.survey import Survey
from tests.engine.cases import knowledge


def priced(survey: Survey, book: RateBook) -> Answer:
    """The quote for a survey by this very book."""
    # Its books are never asked: the book is given.
    return QuoteDesk(None, knowledge(), all_methods()).priced(survey, book)  # type: ignore[arg-type]
