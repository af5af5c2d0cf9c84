"""A yard as a sheet and back, in both systems of units, whatever its pieces are called."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.application.nonsense import Nonsense, NonsenseError
from service.application.plain_text import unseen_in
from service.application.stock import Known, Piece, Yard, YardChangedError, difference_of
from service.application.stock_edits import alter, check_count, come_in, use_up, whole_count
from service.application.stock_sense import nonsense
from service.engine.words import Words
from service.web.stock.pieces import pieces_in, sheet_of

TODAY = date(2026, 5, 4)
KNOWN = Known(("log", "slab", "timber"), frozenset(("pine", "white_oak")), Words("imperial"))
DECIMALS = st.decimals("0.25", "48", places=3)
WORDS = st.text(
    st.characters(exclude_categories=("Cs", "Cc", "Zl", "Zp"), exclude_characters="\x7f"), min_size=1, max_size=40
).map(str.strip).filter(lambda t: bool(t) and not unseen_in(t))
DAYS = st.dates(date(2020, 1, 1), TODAY)


@st.composite
def pieces(draw: st.DrawFn) -> Piece:
    """A piece of any size, its texts as hostile as can be typed into a cell."""
    held = draw(st.none() | WORDS)
    return Piece(
        code=draw(st.from_regex(r"[a-z0-9_.]{1,20}", fullmatch=True)), form=draw(st.sampled_from(("log", "slab"))),
        section_in=draw(DECIMALS), second_in=draw(st.none() | DECIMALS), length_ft=draw(DECIMALS),
        moisture_pct=draw(st.decimals("0", "300", places=2)), moisture_depth_in=draw(st.none() | DECIMALS),
        read_on=draw(st.none() | DAYS), species=draw(WORDS), cut=draw(WORDS), where=draw(WORDS), held_for=held,
        held_until=draw(st.none() | DAYS) if held else None,
    )


YARDS = st.lists(pieces(), max_size=6, unique_by=lambda p: p.code).map(
    lambda some: Yard("home", 3, TODAY, None, "", "", tuple(sorted(some, key=lambda p: p.code)))
)


@given(YARDS, st.sampled_from(("imperial", "metric")), st.booleans())
def test_what_comes_out_goes_in_and_changes_nothing(yard: Yard, units: str, comma: bool) -> None:
    """Not even a piece whose hold is over, or that no rule of today would admit: it is not questioned again."""
    read = pieces_in(sheet_of(yard.pieces, units, comma=comma))
    assert read.faults == ()
    edited = whole_count(read.pieces, '"y3-0a"', KNOWN, TODAY, "")(yard)
    assert edited.pieces == yard.pieces
    assert not difference_of(yard.pieces, edited.pieces)


@given(YARDS, st.sampled_from(("imperial", "metric")))
def test_a_sheet_says_the_same_again(yard: Yard, units: str) -> None:
    sheet = sheet_of(yard.pieces, units)
    assert sheet_of(pieces_in(sheet).pieces, units) == sheet


@given(pieces(), pieces())
def test_a_tag_tells_pieces_apart_and_not_ways_of_writing_a_number(one: Piece, other: Piece) -> None:
    assert (one.tag == other.tag) == (one == other)


def good(**changed: object) -> Piece:
    """A piece that nobody would question."""
    plain = Piece(
        code="a", form="log", section_in=Decimal(12), second_in=None, length_ft=Decimal(20), moisture_pct=Decimal(14),
        moisture_depth_in=Decimal(5), read_on=TODAY, species="pine", cut="round", where="bay 1", held_for=None, held_until=None,
    )
    return replace(plain, **changed)  # type: ignore[arg-type]  # by name


YARD = Yard("home", 3, TODAY, None, "", "", (good(), good(code="b")))


def test_a_good_piece_is_not_questioned() -> None:
    assert list(nonsense(good(), KNOWN, TODAY)) == []
    assert list(nonsense(good(held_for="x", held_until=TODAY), KNOWN, TODAY)) == []


@pytest.mark.parametrize(
    ("changed", "name"),
    [
        ({"section_in": Decimal("2.99")}, "section_in"), ({"section_in": Decimal("48.01")}, "section_in"),
        ({"length_ft": Decimal("0.49")}, "length_ft"), ({"length_ft": Decimal("80.01")}, "length_ft"),
        ({"moisture_pct": Decimal("-0.1")}, "moisture_pct"), ({"moisture_pct": Decimal("300.1")}, "moisture_pct"),
        ({"moisture_depth_in": Decimal("12.01")}, "moisture_depth_in"), ({"read_on": date(2026, 5, 5)}, "read_on"),
        ({"second_in": Decimal(12)}, "second_in"), ({"form": "slab"}, "second_in"),
        ({"form": "plank", "second_in": Decimal(4)}, "form"),
        ({"species": "moon"}, "species"), ({"cut": "odd"}, "cut"), ({"where": " "}, "where"), ({"code": "counts"}, "code"),
        ({"held_until": TODAY}, "held_until"), ({"held_for": " "}, "held_for"),
        ({"held_for": "x", "held_until": date(2026, 5, 3)}, "held_until"),
    ],
)
def test_what_is_just_past_its_limit_is_questioned(changed: dict[str, object], name: str) -> None:
    found: list[Nonsense] = list(nonsense(good(**changed), KNOWN, TODAY))
    assert [f.name for f in found if f.name == name] == [name]


def test_a_slip_of_the_unit_is_guessed() -> None:
    (wrong,) = nonsense(good(section_in=Decimal(305)), KNOWN, TODAY)
    assert "millimetres" in wrong.reason
    (wrong,) = nonsense(good(length_ft=Decimal(240)), KNOWN, TODAY)
    assert "inches" in wrong.reason
    (wrong,) = nonsense(good(section_in=Decimal(1), moisture_depth_in=None), KNOWN, TODAY)
    assert "Were" not in wrong.reason


@pytest.mark.parametrize("seen", ['"y2"', '"y4-aa"', '"d3-1"', '"y"', '"y3-"', '""'])
def test_another_count_than_the_present_one_is_refused(seen: str) -> None:
    with pytest.raises(YardChangedError) as refused:
        check_count(seen, YARD)
    assert refused.value.tag == '"y3"'


def test_the_tag_of_the_whole_yard_serves_for_one_piece_too() -> None:
    for seen in (YARD.pieces[0].tag, '"y3"', '"y3-beef"'):
        assert alter("a", seen, {"where": "bay 2"}, KNOWN, TODAY)(YARD).pieces[0].where == "bay 2"
        assert use_up("a", seen, "")(YARD).pieces == (YARD.pieces[1],)
    with pytest.raises(YardChangedError) as refused:
        alter("a", YARD.pieces[1].tag, {}, KNOWN, TODAY)(YARD)
    assert refused.value.tag == YARD.pieces[0].tag


def test_a_piece_cut_shorter_is_described_anew_and_keeps_its_hold() -> None:
    held = Yard("home", 3, TODAY, None, "", "", (good(held_for="x", held_until=date(2026, 1, 1)),))
    edited = alter("a", '"y3"', {"length_ft": Decimal(9)}, KNOWN, TODAY)(held)
    assert edited.why == "a described anew"
    assert edited.pieces[0].held_for == "x"


def test_pieces_of_one_mark_are_named_both() -> None:
    with pytest.raises(NonsenseError) as refused:
        whole_count([good(), good(code="c"), good()], '"y3"', KNOWN, TODAY, "")(YARD)
    (fault,) = refused.value.faults
    assert (fault.index, fault.name) == (2, "code")
    assert "piece 1" in fault.reason


def test_what_came_in_is_questioned_like_all_else() -> None:
    with pytest.raises(NonsenseError):
        come_in(good(code="new", section_in=Decimal(300)), KNOWN, TODAY)(YARD)
