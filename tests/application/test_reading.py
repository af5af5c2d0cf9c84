"""How lines stand in a chain of books, and whose edit moves one, for any books at all."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, date, datetime
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from service.application.history import change_of, culprit, differing, sticks_moved
from service.application.inheritance import LineKey, laid_over
from service.application.ports import Shelved
from service.application.reading import ORDERS, STANDINGS, Layer, Read, Signed, Wanted, ratio_of
from service.engine.rates import Line, RateBook, Stick

REGIONS = ("top", "middle", "bottom")
KEYS: tuple[LineKey, ...] = (("resources", "lead"), ("resources", "helper"), ("norms", "each"), ("terms", "tax"))


def a_line(key: LineKey, region: str, likely: Decimal, *, locked: bool = False) -> Line:
    kind = "labour" if key[0] == "resources" else ""
    return Line(*key, "h", likely - 1, likely, likely + 1, kind, region, "a source", f"words of {key[1]}", locked)


@st.composite
def own_lines(draw: st.DrawFn, region: str) -> Mapping[LineKey, Line]:
    """What one region's own book may hold: any of the lines, some locked."""
    held = draw(st.dictionaries(st.sampled_from(KEYS), st.tuples(st.integers(-3, 3), st.booleans())))
    return {key: a_line(key, region, Decimal(likely), locked=locked) for key, (likely, locked) in held.items()}


@st.composite
def chains(draw: st.DrawFn, depth: int) -> tuple[Layer, ...]:
    """Layers of a chain of so many regions."""
    signed = [Signed(r, 1, date(2026, 1, 1), datetime(2026, 1, 1, tzinfo=UTC), "who", "why", "name") for r in REGIONS[:depth]]
    return tuple(Layer(one, draw(own_lines(one.region))) for one in signed)


PAIRS = st.integers(1, 3).flatmap(lambda depth: st.tuples(chains(depth), chains(depth)))


def effective(layers: tuple[Layer, ...]) -> Mapping[LineKey, Line]:
    lines: Mapping[LineKey, Line] = {}
    for layer in layers:
        lines = laid_over(lines, layer.lines)
    return lines


def read(layers: tuple[Layer, ...]) -> Read:
    book = RateBook(
        region=REGIONS[len(layers) - 1], region_name="", currency="USD", units="imperial", revision="any",
        day=date(2026, 5, 4), lines=effective(layers), yard=(), holidays=frozenset(),
    )
    return Read(Shelved(book, degraded=False, age_s=0.0), layers)


@given(st.integers(1, 3).flatmap(chains))
def test_every_line_stands_in_one_way_that_its_books_bear_out(layers: tuple[Layer, ...]) -> None:
    made = read(layers)
    own = layers[-1].lines
    assert sorted(p.key for p in made.lines()) == sorted(effective(layers))
    for placed in made.lines():
        assert placed == made.line(placed.key)
        above = effective(layers[:-1]).get(placed.key)
        match placed.standing:
            case "own":
                assert (placed.line, above) == (own[placed.key], None)
            case "overridden":
                assert (placed.line, placed.inherited) == (own[placed.key], above)
            case "inherited":
                assert (placed.line, placed.key in own) == (above, False)
            case "locked":
                assert above is not None and above.locked and placed.line == above
                assert placed.set_aside == own.get(placed.key)


@given(st.integers(1, 3).flatmap(chains), st.sampled_from(ORDERS))
def test_every_order_holds_every_line_once_and_every_standing_is_a_filter(layers: tuple[Layer, ...], order: str) -> None:
    made = read(layers)
    whole = made.lines()
    ordered = made.lines(order=order)  # type: ignore[arg-type]  # drawn from the orders
    assert sorted(p.key for p in ordered) == sorted(p.key for p in whole)
    parted = [p for standing in STANDINGS for p in made.lines(Wanted(standings=frozenset({standing})))]
    assert sorted(p.key for p in parted) == sorted(p.key for p in whole)


@given(PAIRS)
def test_taking_back_the_edit_that_is_named_takes_the_move_back(pair: tuple[tuple[Layer, ...], tuple[Layer, ...]]) -> None:
    old, new = pair
    was, now = effective(old), effective(new)
    for key in differing(was, now):
        region = culprit(old, new, key, (was.get(key), now.get(key)))
        at = REGIONS.index(region)
        assert old[at].lines.get(key) != new[at].lines.get(key)
        undone = {k: v for k, v in new[at].lines.items() if k != key}
        if key in old[at].lines:
            undone[key] = old[at].lines[key]
        without = (*new[:at], Layer(new[at].signed, undone), *new[at + 1 :])
        assert effective(without).get(key) != now.get(key)


@given(PAIRS)
def test_what_differs_is_the_same_both_ways_and_nothing_else_does(pair: tuple[tuple[Layer, ...], tuple[Layer, ...]]) -> None:
    was, now = map(effective, pair)
    moved = differing(was, now)
    assert moved == differing(now, was)
    assert all(was[key] == now[key] for key in was.keys() & now.keys() if key not in moved)
    assert was.keys() ^ now.keys() <= set(moved)
    for key in moved:
        there, back = change_of(was.get(key), now.get(key)), change_of(now.get(key), was.get(key))
        turned = {"added": "taken_out", "taken_out": "added", "changed": "changed", "reworded": "reworded"}
        assert turned[there] == back


def test_a_ratio_is_told_only_of_numbers_that_have_one() -> None:
    key = KEYS[0]
    one, two, none, frost = (a_line(key, "top", Decimal(n)) for n in (1, 2, 0, -2))
    assert ratio_of(one, two) == 2.0
    assert ratio_of(frost, a_line(key, "top", Decimal(-1))) == 0.5
    assert [ratio_of(*pair) for pair in ((one, none), (none, one), (one, frost), (None, one), (one, None))] == [None] * 5


def test_pieces_of_the_yard_move_by_region_and_code() -> None:
    def stick(code: str, length: float, region: str) -> Stick:
        return Stick(code, "log", 12.0, None, length, 14.0, None, None, "pine", "round", "shed", None, region)

    moved = sticks_moved([stick("a", 100, "top"), stick("b", 90, "top")], [stick("b", 80, "top"), stick("c", 70, "top")])
    assert [(m.code, m.old and m.old.length_in, m.new and m.new.length_in) for m in moved] == [
        ("a", 100, None), ("b", 90, 80), ("c", None, 70)]
