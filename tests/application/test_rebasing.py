"""Moving a draft onto a newer revision."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.application.inheritance import LineKey, Lines
from service.application.rebasing import Choice, ConflictsError, merged
from service.engine.rates import Line

CODES = ("a", "b", "c", "d")


def key(code: str) -> LineKey:
    return "resources", code


def book(values: dict[str, int]) -> Lines:
    return {key(code): row(code, value) for code, value in values.items()}


def row(code: str, value: int) -> Line:
    number = Decimal(value)
    return Line("resources", code, "h", number, number, number, "labour", "office", "test", code)


books = st.dictionaries(st.sampled_from(CODES), st.integers(1, 3)).map(book)


@given(base=books, mine=books, theirs=books, data=st.data())
def test_every_line_is_as_the_side_has_it_that_changed_it(base: Lines, mine: Lines, theirs: Lines, data: st.DataObject) -> None:
    both = [k for k in map(key, CODES) if mine.get(k) not in (base.get(k), theirs.get(k)) and theirs.get(k) != base.get(k)]
    keep = frozenset(data.draw(st.sets(st.sampled_from(both)))) if both else frozenset()
    choice = Choice(keep, frozenset(both) - keep)
    found = merged(base, mine, theirs, choice)
    for k in map(key, CODES):
        stands = mine.get(k) if k in keep or theirs.get(k) == base.get(k) else theirs.get(k)
        if mine.get(k) == theirs.get(k):
            stands = mine.get(k)
        assert found.lines.get(k) == stands
    assert set(found.kept) == keep
    assert set(found.came) == {k for k in map(key, CODES) if found.lines.get(k) != mine.get(k)}


@given(base=books, mine=books, theirs=books)
def test_nothing_is_decided_for_anybody(base: Lines, mine: Lines, theirs: Lines) -> None:
    both = {k for k in map(key, CODES) if mine.get(k) not in (base.get(k), theirs.get(k)) and theirs.get(k) != base.get(k)}
    if not both:
        merged(base, mine, theirs, Choice())
        return
    with pytest.raises(ConflictsError) as asked:
        merged(base, mine, theirs, Choice())
    assert {conflict.key for conflict in asked.value.conflicts} == both


@given(base=books, theirs=books)
def test_a_draft_without_changes_becomes_the_newer_revision(base: Lines, theirs: Lines) -> None:
    assert merged(base, base, theirs, Choice()).lines == theirs


@given(base=books, mine=books)
def test_on_a_revision_that_changed_nothing_a_draft_stays_as_it_is(base: Lines, mine: Lines) -> None:
    found = merged(base, mine, base, Choice())
    assert (found.lines, found.came, found.kept) == (mine, (), ())


def test_a_line_cannot_be_kept_and_taken() -> None:
    base, mine, theirs = book({"a": 1}), book({"a": 2}), book({"a": 3})
    both = frozenset({key("a")})
    with pytest.raises(ConflictsError):
        merged(base, mine, theirs, Choice(both, both))
    with pytest.raises(ConflictsError):
        merged(base, mine, base, Choice(both))
