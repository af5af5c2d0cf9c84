"""Works that hold until the repair. Amounts: common practice, no source."""

from __future__ import annotations

from functools import partial

import pytest

from service.engine.methods.interim import METHODS, cover, heated_tent, shore, shored_as
from tests.engine.cases import FT, make_case
from tests.engine.methods.readings import bought, dictated, forbidden_by, hours, money, named, tasks

SHORE, COVER = (named(METHODS, c) for c in ("temp_shore", "temp_cover"))

WALL = make_case("wall_mid", "band", section=14.0, depth=11.0, length=15.0 * FT, clear_length=18.0 * FT)
POCKET = make_case("wall_low", "pocket_deep", section=14.0, depth=3.0, length=10.0, width=6.0, wood_temperature=25.0)


@pytest.mark.parametrize(
    ("element", "bears", "what"),
    [
        ("wall_mid", (), "wall"),
        ("wall_mid", ("truss",), "roof"),
        ("sill_log", ("joists",), "wall"),
        ("purlin", (), "roof"),
        ("truss_bottom_chord", (), "roof"),
        ("girder", (), "floor"),
        ("deck_ledger", (), "floor"),
        ("stringer", (), "floor"),
        ("post_porch", (), "post"),
    ],
)
def test_what_stands_above_decides_the_hours_of_a_shore(element: str, bears: tuple[str, ...], what: str) -> None:
    assert shored_as(make_case(element, "soft_wood", bears=bears)) == what


def test_a_shore_takes_four_to_forty_hours_and_more_under_a_roof() -> None:
    """10 hours, 4 to 40 (common practice, no source)."""
    by_element = {
        e: hours(dictated(make_case(e, "soft_wood"), partial(shore, months=1.0)))
        for e in ("post_porch", "wall_mid", "girder", "purlin")
    }
    assert all(4.0 <= h <= 40.0 for h in by_element.values())
    assert by_element["post_porch"] < by_element["wall_mid"] < by_element["purlin"]


def test_holding_a_wall_until_its_log_is_dry_costs_what_restorers_charge() -> None:
    """Shore and cover for ten weeks: $700 to 2,200 (common practice, no source)."""
    held = [dictated(WALL, partial(f, months=2.4)) for f in (shore, cover)]
    assert 700.0 < sum(float(money(w, "interim")) for w in held) < 2200.0


def test_one_beam_holds_a_row_of_rafters_and_each_purlin_stands_on_its_own() -> None:
    """R21: set-up counts once where one set-up serves; a tower is no use to the next purlin (common practice, no source)."""
    def times_dearer(element: str) -> float:
        one, three = (dictated(make_case(element, "soft_wood", count=n), partial(shore, months=1.0)) for n in (1, 3))
        return float(bought(three, "temp_shore.pads") / bought(one, "temp_shore.pads"))

    assert times_dearer("rafter") == pytest.approx(1.0)
    assert times_dearer("purlin") == pytest.approx(3.0)


@pytest.mark.parametrize(("months", "charged"), [(0.2, 1.0), (1.0, 1.0), (1.1, 2.0), (2.4, 3.0)])
def test_shores_are_rented_by_whole_months(months: float, charged: float) -> None:
    assert bought(dictated(WALL, partial(shore, months=months)), "shore_rent_month") == charged


def test_a_shore_lifts_nothing_and_leaves_loads_and_pads_to_the_engineer() -> None:
    work = dictated(make_case("purlin", "soft_wood"), partial(shore, months=1.0))
    assert any("no lifting" in s.text for s in tasks(work))
    assert any("for the engineer" in n for n in work.notes)
    assert any("before an engineer has said where" in n for n in work.notes)
    assert any("ends on its date" in n for n in work.notes)


def test_interim_works_leave_the_part_as_they_found_it() -> None:
    for what in (shore, cover):
        work = dictated(WALL, partial(what, months=1.0))
        assert work.part == "package"
        assert {c.part for c in work.charges} == {"interim"}
        assert {s.phase for s in work.stages} == {"interim"}


def test_a_cover_costs_what_restorers_charge_and_rods_go_in_first() -> None:
    """$100 to 400 (common practice, no source)."""
    work = dictated(POCKET, partial(cover, months=4.0))
    assert 100.0 < float(money(work, "interim")) < 400.0
    assert "Rods" in tasks(work)[0].text
    assert "open at the bottom" in tasks(work)[1].text


def test_a_cover_holds_for_one_winter_and_is_then_renewed() -> None:
    one, two = (dictated(POCKET, partial(cover, months=m)) for m in (9.0, 9.5))
    assert bought(one, "temp_cover.materials") == 1.0
    assert bought(two, "temp_cover.materials") == 2.0


def test_a_cover_over_a_long_band_does_not_fill_it_with_rods() -> None:
    assert bought(dictated(WALL, partial(cover, months=1.0)), "borate_rod") == 6.0


def test_a_heated_tent_adds_what_restorers_charge_and_says_what_kills() -> None:
    """$800 to 2,400 for three to five days (common practice, no source)."""
    for days in (3.0, 5.0):
        assert 800.0 < float(money(dictated(POCKET, partial(heated_tent, days=days)))) < 2400.0
    notes = " ".join(dictated(POCKET, partial(heated_tent, days=4.0)).notes)
    assert all(word in notes for word in ("carbon monoxide", "Fire", "solvent", "water"))


def test_a_tail_that_carries_nothing_is_not_shored() -> None:
    assert forbidden_by(SHORE, make_case("trim", "soft_wood")) == ["M25"]
    assert not forbidden_by(SHORE, make_case("purlin", "soft_wood"))
    assert forbidden_by(SHORE, make_case("truss_bottom_chord", "end_rot", flags={"ornamental_only": True})) == ["M25"]


def test_nothing_that_people_walk_on_is_only_covered() -> None:
    assert forbidden_by(COVER, make_case("tread", "soft_wood")) == ["M26"]
    assert forbidden_by(COVER, make_case("wall_mid", "band", words={"side": "inner"})) == ["M26"]
    assert not forbidden_by(COVER, POCKET)
