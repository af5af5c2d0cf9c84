"""What a restorer does on site: what is watched together, sawn to a rule, capped, left hollow, coated last."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from decimal import Decimal

import pytest

from service.engine.fork import said_price
from service.engine.outcome import Findings, Job, Option, Price, Range
from service.engine.quote import quote
from service.engine.registry import all_methods
from service.engine.survey import Defect, Survey, Wishes
from service.engine.words import Words
from tests.engine.books import DAY, book
from tests.engine.cases import FT, knowledge, make_defect, make_survey

OUTER = {"side": "outer", "inner_face": "sound"}


def found_for(survey: Survey) -> Findings:
    return quote(survey, book(), knowledge(), all_methods()).defects[0].findings[0]


def found(defect: Defect) -> Findings:
    return found_for(make_survey(defect))


def job_of(*defects: Defect) -> Job:
    numbered = [replace(d, index=k, id=str(k)) for k, d in enumerate(defects)]
    return quote(make_survey(*numbered), book(), knowledge(), all_methods()).job


def offered(one: Findings) -> list[str]:
    return [o.method for o in one.options]


def reason(one: Findings, method: str) -> str:
    return next(r.why for r in one.ruled_out if r.method == method)


# ---- watching --------------------------------------------------------------------------------------------------


def checks(count: int) -> Defect:
    """Drying checks that open downwards: they drain and are only looked at."""
    return make_defect("wall_mid", "check", section=12.0, check_width=0.3, length=24.0, clock=5.0, height=4.0, count=count)


def test_who_looks_at_one_check_looks_at_all_of_them() -> None:
    """Half an hour for the first (M00), six minutes for each further one (J): 12 cost less than 4 apart."""
    one, twelve = (found(checks(n)).options[0].whole.as_described for n in (1, 12))
    assert one < twelve < 4 * one


# ---- cut lists -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("units", "step"), [("imperial", 1.0 / 16.0), ("metric", 1.0 / 25.4)])
def test_a_cut_list_says_nothing_that_no_rule_shows(units: str, step: float) -> None:
    band = make_defect("wall_low", "band", words=OUTER, section=11.0, depth=2.6, length=67.3, clear_length=20 * FT)
    survey = replace(make_survey(band), units=units)
    [slab] = next(o for o in found_for(survey).options if o.method == "face_veneer").wood
    for size in (slab.thickness, slab.width, slab.length, slab.stock_length):
        assert size.value / step == pytest.approx(round(size.value / step), abs=1e-6)
    assert slab.thickness.value >= 3.1
    assert slab.thickness.value < 3.1 + step
    assert slab.length.value == pytest.approx(79.3, abs=0.125)


# ---- plugs -----------------------------------------------------------------------------------------------------


def patch(across: float, **words: str) -> Option:
    """A let-in patch for holes of this size, cut out."""
    holes = make_defect(
        "wall_mid", "woodpecker", words={**OUTER, **words}, section=12.0, depth=2.0, length=across, width=across, height=4.0,
        count=6,
    )
    return next(o for o in found_for(make_survey(holes, level="cut_out")).options if o.method == "dutchman")


def hours_of(option: Option, norm: str) -> Decimal:
    return sum((line.quantity for line in option.lines if line.norm == norm), Decimal(0))


def test_a_small_hole_is_bored_out_and_plugged_and_a_larger_one_takes_a_cut_patch() -> None:
    """Six 2 in holes: 6 x 1.25 h less 15 % for the batch (R21; the hours and the 4 in are J); a cut patch starts at 3 h (M06)."""
    assert hours_of(patch(2.0), "dutchman.plug") == pytest.approx(Decimal("6.375"), abs=Decimal("0.01"))
    assert hours_of(patch(2.0), "dutchman.fixed") == 0
    assert hours_of(patch(4.1), "dutchman.fixed") == pytest.approx(Decimal("15.3"), abs=Decimal("0.01"))
    assert hours_of(patch(4.1), "dutchman.plug") == 0
    assert any(step.text.startswith("Bore it out round") for step in patch(2.0).steps)


def test_tool_marks_are_carried_on_by_a_cut_patch_however_small_the_hole() -> None:
    assert hours_of(patch(2.0, profile="hewn"), "dutchman.plug") == 0


# ---- flat ends -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("soft_in", "capped"), [(0.5, True), (1.0, False)])
def test_an_end_that_is_hardly_soft_along_the_grain_may_be_capped(soft_in: float, *, capped: bool) -> None:
    """End decay is measured along the grain (R9); as deep as what is ground back and left (G03)."""
    tail = make_defect("log_tail", "end_rot", section=12.0, from_end=soft_in, tail=16.0, flags={"holds_water": True})
    assert ("cap_slope" in offered(found(tail))) is capped


# ---- hollow logs -----------------------------------------------------------------------------------------------


def hollow(across: float, length: float = 48.0) -> Defect:
    return make_defect("wall_mid", "core", section=14.0, depth=across, length=length, clear_length=20 * FT)


def test_a_log_with_a_sound_shell_is_left_in_its_place_and_nothing_is_let_into_the_shell() -> None:
    """B3: a shell under 2 in carries little; a face would have to be cut past the hollow, more than half through (G07)."""
    one = found(hollow(6.0))
    assert offered(one)[0] == "leave_hollow"
    for method in ("face_veneer", "dutchman", "epoxy_fill"):
        assert method not in offered(one)
    assert reason(one, "face_veneer").startswith("The cut would go 10 1/2 in into a 14 in log")
    assert one.options[0].wood == ()


@pytest.mark.parametrize(("across", "left"), [(9.9, True), (10.1, False)])
def test_a_log_with_a_thin_shell_is_renewed(across: float, *, left: bool) -> None:
    one = found_for(make_survey(hollow(across), level="cut_out"))
    assert ("leave_hollow" in offered(one)) is left
    assert ("log_partial" in offered(one))


@pytest.mark.parametrize(("across", "length", "letter"), [(6.0, 90.0, False), (6.0, 100.0, True), (7.5, 48.0, True)])
def test_an_engineer_looks_at_a_long_or_wide_hollow(across: float, length: float, *, letter: bool) -> None:
    """B2: the lead signs for a wall log up to 8 ft and half its depth."""
    first = next(o for o in found(hollow(across, length=length)).options if o.method == "leave_hollow")
    assert any("engineer_letter" in line.resource for line in first.lines) is letter


# ---- reasons ---------------------------------------------------------------------------------------------------


def test_what_nobody_needs_is_not_called_late() -> None:
    """R12 says what a date takes away, not what would not be done without it."""
    survey = make_survey(make_defect("wall_mid", "through", section=12.0, length=6 * FT, clear_length=22 * FT))
    one = found_for(replace(survey, wishes=Wishes(latest=DAY + timedelta(days=10))))
    assert reason(one, "inplace_bypass").startswith("Nothing keeps this log in its place")
    assert reason(one, "log_partial").startswith("Not possible by the latest date.")


def test_a_face_that_is_too_long_for_the_rot_as_described_stays_out_and_its_price_once_opened_up_is_said() -> None:
    """R6, R13: for 10 in of rot it would look cheaper than the patch; the headline says what it comes to when it is due."""
    high = make_defect(
        "wall_mid", "pocket_deep", words=OUTER, section=11.0, depth=2.5, length=10.0, width=6.0, height=30.0,
    )
    one = found(high)
    assert "face_veneer" not in offered(one)
    assert "too short for a new face" in reason(one, "face_veneer")
    assert one.headline.startswith("More likely: new half-log face, about $")


# ---- the last coat ---------------------------------------------------------------------------------------------


def test_the_last_coat_of_a_wall_comes_after_its_caulk_and_its_checks_are_in() -> None:
    """Wood, blast, borate, stain, caulk and chink, last coat (M39, B9)."""
    on_north = {"wall": "north", "finish": "film"}
    job = job_of(
        make_defect("wall_mid", "finish_fail", words=on_north, area=500.0),
        make_defect("caulk_line", "seal_fail_adh", words=on_north, length=60 * FT, height=5.0),
        make_defect("wall_low", "check", words=on_north, section=12.0, check_width=0.44, length=24.0, clock=1.0, height=3.0),
    )
    blast, coat = (s for s in job.order if s.method == "wall_refinish")
    for method in ("recaulk", "check_seal"):
        seal = next(s for s in job.order if s.method == method)
        assert blast.ends_day <= seal.starts_day
        assert seal.ends_day <= coat.starts_day
        assert blast.n in seal.after
        assert seal.n in coat.after
    assert coat.text.startswith("Last coat")


def test_a_wall_that_has_nothing_to_seal_is_coated_at_one_go() -> None:
    only = make_defect("wall_mid", "finish_fail", words={"wall": "north", "finish": "film"}, area=500.0)
    elsewhere = make_defect("caulk_line", "seal_fail_adh", words={"wall": "south"}, length=60 * FT, height=5.0)
    assert len([s for s in job_of(only, elsewhere).order if s.method == "wall_refinish"]) == 1


def test_a_patch_in_a_wall_that_is_finished_as_a_whole_has_no_step_for_its_own_spot() -> None:
    on_north = {"wall": "north", "finish": "film"}
    patch = make_defect(
        "wall_low", "pocket_deep", words={**on_north, **OUTER}, section=12.0, depth=2.0, length=8.0, width=5.0, height=3.0,
    )
    finish = make_defect("wall_mid", "finish_fail", words=on_north, area=500.0)
    assert "spot_refinish" in {s.method for s in job_of(patch).order}
    assert "spot_refinish" not in {s.method for s in job_of(patch, finish).order}


# ---- what a job knows ------------------------------------------------------------------------------------------


def test_one_visit_looks_at_all_that_is_watched_in_a_job() -> None:
    """The first look counts once for the job, the other places count as further ones (M00; J)."""
    apart = (checks(2), checks(3))
    together = job_of(*apart)
    alone = sum(found(d).options[0].whole.as_described for d in apart)
    assert max(found(d).options[0].whole.as_described for d in apart) <= together.total.as_described < alone
    assert [row.what for row in together.shared] == ["watching"]


def test_a_corner_below_is_rebuilt_before_the_plate_above_it_is_cut_though_nobody_gave_its_course() -> None:
    """Bottom up (B9, G26): where the course is not known, the height says which is lower."""
    plate = make_defect(
        "plate_log", "band", words={"wall": "east", **OUTER}, bears=("roof",), section=11.0, depth=3.0, length=60.0, height=10.0,
    )
    corner = make_defect("notch", "notch_rot", words={"wall": "east"}, section=11.0, course=2.0, height=2.0)
    for defects in ((plate, corner), (corner, plate)):
        order = job_of(*defects).order
        rebuilt = next(s for s in order if s.method == "notch_rebuild")
        cut = next(s for s in order if s.method == "log_partial")
        assert rebuilt.ends_day <= cut.starts_day


def test_a_patch_that_only_heat_brings_in_by_the_date_is_not_called_less_likely_than_a_cover() -> None:
    """R12: in January the same patch in a heated tent is what fits, in the world as stated and in every other."""
    pocket = make_defect(
        "wall_mid", "pocket_deep", words=OUTER, section=11.0, depth=2.0, length=10.0, width=5.0, height=3.0,
    )
    winter = make_survey(pocket, day=DAY.replace(month=1, day=10))
    one = found_for(replace(winter, wishes=Wishes(latest=winter.priced_on + timedelta(days=50))))
    assert (one.options[0].method, one.options[0].variant) == ("dutchman", "heated")
    assert one.headline.startswith("Let-in patch, now, in a heated tent")


def test_a_price_above_its_range_is_said_to_hold_contingency() -> None:
    """A range holds no contingency, the price as described does (R18)."""
    words = Words("imperial")
    narrow, wide = (Range(Decimal(low), Decimal(low), Decimal(high)) for low, high in (("772.54", "772.65"), ("772.54", "790")))
    assert said_price(Price(Decimal("803.77"), narrow), words) == "$804"
    assert said_price(Price(Decimal("803.77"), wide), words) == "$804 with contingency ($773 to $790 without)"
    assert said_price(Price(Decimal(700), wide), words) == "about $773 ($773 to $790); $700 if it is no larger than described"
