"""What changed lines do to a job: together, and each alone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.application.effects import Effect, PlanKey, effects
from service.application.line_sense import nonsense
from service.application.preview import Below, left_out, reached, share, together
from service.engine.rates import RateBook
from service.engine.survey import Survey
from tests.engine.baskets import basket
from tests.engine.books import book, with_line
from tests.engine.pricing_desk import priced

JOBS = [basket()[n] for n in (3, 4, 6)]
LINES = sorted(book().lines)


def may_be(key: tuple[str, str], factor: float) -> bool:
    """Whether a draft would take the line, moved so far."""
    line = with_line(book(), *key, factor).lines[key]
    return not any(list(nonsense(*key, line.unit, number)) for number in (line.low, line.likely, line.high))


MOVES = [(key, factor) for key in LINES for factor in (0.5, 0.9, 1.1, 1.5) if may_be(key, factor)]
TREBLED = [key for key in LINES if may_be(key, 3.0)]


def effect_of(survey: Survey, before: RateBook, after: RateBook, runs: int = 1000) -> Effect:
    (found,) = effects([survey], before, after, priced, runs=runs)
    return found


def wholes(survey: Survey, rates: RateBook) -> Mapping[PlanKey, Decimal]:
    """Whole prices straight from the quote."""
    answer = priced(survey, rates)
    return {
        (d.index, f.pieces, o.method, o.variant): o.whole.as_described
        for d in answer.defects for f in d.findings for o in f.options
    }


@settings(max_examples=15, deadline=None)
@given(
    job=st.sampled_from(JOBS),
    moves=st.lists(st.sampled_from(MOVES), min_size=1, max_size=40, unique_by=lambda move: move[0]).map(dict),
)
def test_both_sides_and_each_line_alone_are_what_a_quote_says(job: Survey, moves: dict[tuple[str, str], float]) -> None:
    before, after = book(), book()
    for key, factor in moves.items():
        after = with_line(after, *key, factor)
    found = effect_of(job, before, after)
    assert {key: place.whole for key, place in found.before.plans.items()} == wholes(job, before)
    assert {key: place.whole for key, place in found.after.plans.items()} == wholes(job, after)
    assert found.after.total == priced(job, after).job.total.as_described
    assert {alone.key for alone in found.alone} == found.used
    for alone in found.alone:
        single = with_line(before, *alone.key, moves[alone.key])
        assert alone.total == priced(job, single).job.total.as_described - found.before.total
        new = wholes(job, single)
        assert all(new[key] - found.before.plans[key].whole == change for key, change in alone.plans.items())
    assert found.before.total + sum(a.total for a in found.alone) + together(found) == found.after.total


@settings(max_examples=10, deadline=None)
@given(job=st.sampled_from(JOBS), key=st.sampled_from(TREBLED))
def test_a_line_that_a_job_does_not_read_does_nothing_to_it(job: Survey, key: tuple[str, str]) -> None:
    found = effect_of(job, book(), with_line(book(), *key, 3.0))
    if key not in found.used:
        assert wholes(job, with_line(book(), *key, 3.0)) == wholes(job, book())
        assert found.before is found.after


def test_what_there_was_no_time_for_is_said() -> None:
    after = book()
    for key in LINES:
        if key[0] == "resources":
            after = with_line(after, *key, 1.1)
    found = effect_of(JOBS[1], book(), after, runs=3)
    assert len(found.alone) == 3
    assert set(left_out(found)) == found.used - {alone.key for alone in found.alone}
    assert len(left_out(found)) > 3
    assert together(found) != 0


def test_the_lines_that_moved_most_are_looked_at_first() -> None:
    after = with_line(with_line(with_line(book(), "resources", "lead", 1.05), "resources", "carpenter", 2.0), "resources",
                      "slab_dry", 0.9)
    found = effect_of(JOBS[1], book(), after, runs=1)
    assert [alone.key for alone in found.alone] == [("resources", "carpenter")]


def test_a_line_that_is_gone_is_named_and_leaves_no_price() -> None:
    lines = {key: line for key, line in book().lines.items() if key != ("resources", "slab_dry")}
    found = effect_of(JOBS[1], book(), replace(book(), lines=lines))
    assert found.after.missing == ("resources", "slab_dry")
    assert share(found) == float("inf")
    assert found.alone[0].missing == ("resources", "slab_dry")


def test_nothing_moves_where_nothing_changes() -> None:
    found = effect_of(JOBS[0], book(), replace(book()))
    assert (found.used, found.alone, found.moves_ranks, share(found)) == (frozenset(), (), False, 0.0)


@pytest.mark.parametrize(("locked", "counts"), [((), {"a": 1, "b": 1, "c": 2}), (("x",), {"a": 2, "b": 2, "c": 2})])
def test_moved_lines_count_below_until_somebody_overrides_them(locked: tuple[str, ...], counts: dict[str, int]) -> None:
    x, y = ("norms", "x"), ("norms", "y")
    below = [
        Below("a", "top", frozenset({x})), Below("c", "top", frozenset()), Below("b", "a", frozenset({("norms", "z")})),
    ]
    assert reached({x, y}, {("norms", code) for code in locked}, below) == counts
