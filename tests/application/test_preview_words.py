"""What a draft would do, in a sentence for people."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal

from service.application.effects import Effect, Result
from service.application.inheritance import LineKey
from service.application.preview import Job, Preview, Tried
from service.application.preview_words import summary
from service.engine.rates import Line
from tests.engine.baskets import basket
from tests.engine.books import book

LOG = ("resources", "log_dry_10_12")


def tried() -> Tried:
    return Tried("d1-1", book(), book(), frozenset(), frozenset(), (), (), (), outdated=False)


def job(code: str, family: str, before: str, after: str, *, missing: LineKey | None = None) -> tuple[Job, Effect]:
    results = Result({}, Decimal(before)), Result({}, Decimal(after), missing)
    return Job(code, family, code, basket()[0]), Effect(*results, frozenset(), ())


def said(changed: Mapping[LineKey, tuple[Line | None, Line | None]], *jobs: tuple[Job, Effect]) -> str:
    return summary(Preview(tried(), changed, jobs, {}))


def line(likely: str, **more: str) -> Line:
    return replace(book().lines[LOG], likely=Decimal(likely), what="Seasoned log", **more)  # type: ignore[arg-type]  # texts


def test_one_line_is_named_with_its_change_and_the_sorts_of_work_that_it_moves_most() -> None:
    change = {LOG: (line("25"), line("28"))}
    jobs = (job("a", "wall logs", "1000", "1040"), job("b", "wall logs", "1000", "1022"), job("c", "decks", "500", "500"))
    assert said(change, *jobs) == (
        "Seasoned log (resources/log_dry_10_12) +12.0%: wall logs +3.1%; the first plan changes in 0 of 3 jobs."
    )


def test_more_than_three_sorts_of_work_are_counted() -> None:
    jobs = [job(str(n), f"sort {n}", "1000", str(1000 - 10 * n)) for n in range(1, 6)]
    told = said({LOG: (line("25"), line("20")), ("norms", "x"): (None, line("1"))}, *jobs)
    assert told.startswith("2 lines change: sort 5 -5.0%, sort 4 -4.0%, sort 3 -3.0% and 2 more sorts of work;")


def test_what_comes_goes_or_changes_its_unit_is_said_in_words() -> None:
    assert "comes:" in said({LOG: (None, line("25"))})
    assert "goes:" in said({LOG: (line("25"), None)})
    assert "from ft to each:" in said({LOG: (line("25"), line("25", unit="each"))})
    assert "in its range:" in said({LOG: (line("25"), line("25"))})
    assert "from zero to 3:" in said({LOG: (line("0"), line("3"))})


def test_nothing_is_said_plainly() -> None:
    assert said({}, job("a", "decks", "10", "10")) == (
        "No number changes: no total of a job moves; the first plan changes in 0 of 1 jobs."
    )


def test_a_job_that_cannot_be_priced_any_more_is_named() -> None:
    told = said({LOG: (line("25"), None)}, job("sill", "sill logs", "10", "0", missing=LOG))
    assert told.endswith("Not to be priced any more: sill.")
