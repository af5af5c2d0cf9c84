"""A yard, its supply and its counts as they are answered."""

from __future__ import annotations

from collections.abc import Sequence

from service.application.stock import Count, Yard
from service.engine.rates import RateBook
from service.engine.wood import LEADS
from service.web.reading_shapes import person
from service.web.regions import line_view
from service.web.stock.pieces import Shown
from service.web.stock.shapes import Stock, StockCount, StockCounts, Supply, YardCount

RARE = "lead.log_rare"
"""Wait for a log that is not of a common size."""
HOW = (
    "These are lines of the region's rates. To change one, open a draft with POST /v1/regions/{region}/drafts, write the line "
    "and publish the draft."
)
NOTE = (
    "Quotes use what is here and is not held, and say which piece. A quote reserves nothing, and two quotes may name the same "
    "piece: hold it for its job with PATCH. A held piece serves the quotes that name its job. A region that never counted "
    "uses its nearest parent's yard; its first count takes that yard's place."
)


def stock_view(yard: Yard, book: RateBook, shown: Shown) -> Stock:
    """A yard as it is answered, with what can be bought by a book."""
    leads = sorted({*LEADS.values(), RARE})
    prices = sorted(code for section, code in book.lines if section == "resources" and _is_wood(book, code))
    return Stock(
        region=book.region, day=shown.day, count=_count_of(yard), pieces=[shown.piece(p) for p in yard.pieces],
        supply=Supply(
            leads=[line_view(book.line("waits", code)) for code in leads],
            prices=[line_view(book.line("resources", code)) for code in prices],
            how=HOW.replace("{region}", book.region),
        ),
        note=NOTE,
    )


def counts_view(counts: Sequence[Count], cursor: str | None) -> StockCounts:
    """A page of counts as it is answered."""
    return StockCounts([_counted(count) for count in counts], cursor)


def _is_wood(book: RateBook, code: str) -> bool:
    return book.line("resources", code).kind == "wood"


def _count_of(yard: Yard) -> YardCount:
    return YardCount(yard.region, yard.number, yard.effective, yard.counted_at, yard.who, yard.why, person(yard.who_id, yard.who))


def _counted(c: Count) -> StockCount:
    since, until = c.in_force or (None, None)
    d = c.difference
    return StockCount(
        number=c.number, effective=c.effective, in_force_from=since, in_force_until=until, counted_at=c.counted_at, who=c.who,
        why=c.why, pieces=c.pieces, added=list(d.added), removed=list(d.removed), changed=list(d.changed),
        by=person(c.who_id, c.who),
    )
