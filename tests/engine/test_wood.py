"""Which wood is good enough: dry right through, long enough, thick enough, alike, and nobody else's."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

import pytest

from service.engine.outcome import WoodPiece
from service.engine.rates import RateBook, Stick
from service.engine.survey import WoodOnHand
from service.engine.wood import named_twice, pieces_of, wait_for_wood, why_unfit
from service.engine.words import Words
from service.engine.work import Work
from tests.engine.books import DAY, book
from tests.engine.cases import FT, make_case

GOOD = WoodOnHand("log", 12.0, 10 * FT, 14.0, None, core_checked=True)
STICK = Stick(
    code="L-7", form="log", section_in=12.0, second_in=None, length_in=12 * FT, moisture_pct=15.0, moisture_depth_in=4.0,
    read_on=None, species="softwood_unknown", cut="dead standing", where="shed", held_for=None, region="base",
)


def piece(
    *hand: WoodOnHand, yard: Sequence[Stick] = (), form: str = "log", pieces: int = 1, species: str = "", job: str = ""
) -> tuple[WoodPiece, float]:
    """Where a log of 12 in and 8 ft is met from, and how long it takes."""
    rates: RateBook = replace(book(), yard=tuple(yard))
    words = {"species": species} if species else {}
    case = replace(
        make_case(section=12.0, length=72.0, depth=8.0, clear_length=20 * FT, rates=rates, count=pieces, words=words), wood=hand,
        job=job,
    )
    work = Work(case, 1.0)
    thick = 12.0 if form == "log" else 3.0
    work.stage("log_partial", ("lead",))
    work.wood(
        "log", form, thickness_in=thick, width_in=12.0, length_in=8 * FT, net_ft3=6.0, waste="waste.log",
    )
    (found,), (days, _) = pieces_of(work, Words("imperial")), wait_for_wood(work)
    return found, days


def test_a_dry_log_of_the_right_size_on_hand_takes_no_time() -> None:
    found, days = piece(GOOD)
    assert (found.met_by, found.ready_in_days, days) == ("on hand", 0.0, 0.0)


@pytest.mark.parametrize(
    "bad",
    [
        replace(GOOD, moisture_pct=19.5),
        replace(GOOD, moisture_pct=None),
        replace(GOOD, core_checked=False),
        replace(GOOD, length_in=8 * FT - 1.0),
        replace(GOOD, section_in=13.0),
        replace(GOOD, section_in=11.0),
        replace(GOOD, form="board"),
    ],
    ids=["too wet", "never read", "core not read", "too short", "too thick", "too thin", "a board"],
)
def test_a_piece_that_is_not_good_enough_is_left_and_the_log_comes_from_supply(bad: WoodOnHand) -> None:
    found, days = piece(bad)
    assert found.met_by.startswith("supply")
    assert days == book().likely("waits", "lead.log_dry") * 7.0


def test_nineteen_percent_is_seasoned() -> None:
    """G17."""
    assert piece(replace(GOOD, moisture_pct=19.0))[0].met_by == "on hand"


def test_a_thin_log_needs_no_reading_of_its_core() -> None:
    slab = replace(GOOD, form="slab", section_in=4.0, core_checked=False)
    assert piece(slab, form="slab")[0].met_by == "on hand"


def test_the_yard_is_asked_after_what_is_on_hand() -> None:
    assert piece(yard=(STICK,))[0].met_by == "yard piece L-7 in shed (softwood unknown)"
    assert piece(GOOD, yard=(STICK,))[0].met_by == "on hand"


@pytest.mark.parametrize(
    "bad", [replace(STICK, held_for="another job"), replace(STICK, moisture_depth_in=1.0), replace(STICK, moisture_pct=24.0)],
    ids=["held", "read at the skin only", "too wet"],
)
def test_a_yard_piece_that_is_held_wet_or_read_at_its_skin_is_left(bad: Stick) -> None:
    assert piece(yard=(bad,))[0].met_by.startswith("supply")


def test_wood_of_the_same_species_is_taken() -> None:
    assert piece(replace(GOOD, species="white_oak"), species="white_oak")[0].met_by == "on hand"


def test_a_green_log_at_hand_is_said_to_take_longer_than_supply() -> None:
    found, _ = piece(replace(GOOD, moisture_pct=40.0))
    assert "to season" in found.met_by


def test_green_wood_is_refused_with_a_number() -> None:
    """A 12 in log that dries from fibre saturation closes by more than a quarter of an inch."""
    assert "shrink" in piece()[0].green_instead
    assert any(ch.isdigit() for ch in piece()[0].green_instead)


def test_volume_is_said_in_board_feet_and_in_cubic_feet_waste_in() -> None:
    found, _ = piece()
    board, cubic = found.volume
    assert board.value == pytest.approx(cubic.value * 12.0)
    assert cubic.value == pytest.approx(6.0 * (1.0 + book().likely("norms", "waste.log")))
    assert found.stock_length.value >= found.length.value


def test_each_piece_of_a_group_needs_its_own_log() -> None:
    assert piece(pieces=3)[0].count == 3


def test_one_log_on_hand_serves_one_piece_and_the_others_wait_for_supply() -> None:
    found, days = piece(GOOD, pieces=3)
    assert found.met_by.startswith("1 on hand; 2 supply")
    assert days > 0.0


def test_three_logs_on_hand_serve_three_pieces() -> None:
    assert piece(replace(GOOD, count=3), pieces=3)[0].met_by == "on hand"
    found, _ = piece(replace(GOOD, count=2), pieces=3, yard=(STICK,))
    assert found.met_by == "2 on hand; 1 yard piece L-7 in shed (softwood unknown)"


def test_oak_serves_no_house_of_pine_but_may_serve_one_of_which_nobody_said_what_it_is() -> None:
    """G17, M07: the same species; where it is not known the piece is named, so that somebody compares."""
    oak = replace(STICK, species="white_oak")
    assert piece(yard=(oak,), species="lodgepole_pine")[0].met_by.startswith("supply")
    assert piece(yard=(oak,))[0].met_by == "yard piece L-7 in shed (white oak)"


HELD = replace(STICK, held_for="The Alder house", held_until=DAY)


def test_a_piece_is_held_on_the_last_day_and_free_on_the_next() -> None:
    assert piece(yard=(HELD,))[0].met_by.startswith("supply")
    assert piece(yard=(replace(HELD, held_until=DAY - timedelta(days=1)),))[0].yard == ("L-7",)


def test_a_piece_that_is_held_without_a_day_is_held_until_it_is_let_go() -> None:
    assert piece(yard=(replace(HELD, held_until=None),))[0].yard == ()


def test_a_held_piece_serves_the_job_that_it_is_held_for_before_any_other() -> None:
    found, days = piece(yard=(replace(STICK, code="L-1"), HELD), job=" the  ALDER house ")
    assert (found.met_by, days) == ("yard piece L-7 in shed (softwood unknown, held for this job)", 0.0)
    assert piece(yard=(HELD,), job="the Birch house")[0].yard == ()


def test_a_piece_whose_hold_is_over_is_not_said_to_be_held() -> None:
    over = replace(HELD, held_until=DAY - timedelta(days=1))
    assert "held" not in piece(yard=(over,), job="the Alder house")[0].met_by


def test_a_reading_older_than_a_year_is_said_with_its_day() -> None:
    old, young = DAY - timedelta(days=366), DAY - timedelta(days=365)
    assert f"last read {old}: read it again" in piece(yard=(replace(STICK, read_on=old),))[0].met_by
    assert "read" not in piece(yard=(replace(STICK, read_on=young),))[0].met_by


def test_a_green_log_that_is_held_for_another_job_is_not_at_hand() -> None:
    green = replace(HELD, moisture_pct=40.0)
    assert "to season" not in piece(yard=(green,))[0].met_by
    assert "to season" in piece(yard=(green,), job="the Alder house")[0].met_by


@pytest.mark.parametrize(
    ("stick", "said"),
    [
        (STICK, ""),
        (replace(STICK, moisture_pct=19.0), ""),
        (replace(STICK, moisture_pct=19.5), "19.5 % is not seasoned"),
        (replace(STICK, moisture_depth_in=2.0), "76 mm"),
        (replace(STICK, moisture_depth_in=None), "76 mm"),
        (replace(STICK, form="slab", moisture_depth_in=None), ""),
        (replace(STICK, section_in=9.0, moisture_depth_in=None), ""),
    ],
)
def test_a_piece_that_no_quote_can_use_says_why(stick: Stick, said: str) -> None:
    why = why_unfit(stick, Words("metric"))
    assert said in why
    assert bool(said) == bool(why)


def test_that_a_piece_which_would_do_is_held_is_said_without_saying_for_whom() -> None:
    said = piece(yard=(HELD,))[0].met_by
    assert said.endswith(f"; a yard piece that would do is held for another job until {DAY}")
    assert "Alder" not in said
    assert "held" not in piece(yard=(replace(HELD, moisture_pct=30.0),))[0].met_by


def test_a_piece_that_two_plans_name_is_said_to_serve_once() -> None:
    found, other = piece(yard=(STICK,))[0], piece(yard=(replace(STICK, code="L-8"),))[0]
    assert named_twice([(0, [found]), (1, [other])]) == ()
    (said,) = named_twice([(0, [found]), (2, [other, found])])
    assert said.startswith("Yard piece L-7 is named for defects 1 and 3 and serves once")
    (said,) = named_twice([(1, [found]), (1, [found])])
    assert "several pieces of defect 2" in said
