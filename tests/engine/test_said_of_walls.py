"""What a restorer would not send to a customer: guesses as measurements, tests that nobody needs, covers for three weeks."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from service.engine.cautions import waiver_words
from service.engine.outcome import Findings, Option
from service.engine.quote import quote
from service.engine.registry import all_methods
from service.engine.survey import CauseSeen, Defect, House, Span, Survey, Wishes, WoodOnHand
from service.engine.words import Words
from tests.engine.books import DAY, book
from tests.engine.cases import FT, knowledge, make_defect, make_survey


def found_for(survey: Survey, region: str = "base") -> Findings:
    return quote(survey, book(region), knowledge(), all_methods()).defects[0].findings[0]


def plan(found: Findings, method: str) -> Option:
    return next(o for o in found.options if o.method == method)


def reason(found: Findings, method: str) -> str:
    return next(r.why for r in found.ruled_out if r.method == method)


def band(**facts: float) -> Defect:
    numbers: dict[str, Any] = {"section": 11.0, "depth": 3.0, "length": 6 * FT, "moisture": 26.0, "height": 2.0} | facts
    return make_defect("wall_low", "band", words={"side": "outer", "inner_face": "sound"}, **numbers)


# ---- guesses ---------------------------------------------------------------------------------------------------


def test_a_depth_that_nobody_measured_is_said_roughly() -> None:
    """Nobody is told eighths of an inch over the phone."""
    told = found_for(make_survey(make_defect("wall_low", "soft_wood", length=4 * FT), level="told"))
    assert reason(told, "clean_leave").startswith("About 2 1/2 in deep is a cup")
    assert reason(told, "inlay_full_qs").startswith("The rot is about 2 1/2 in deep")
    assert reason(told, "dutchman").startswith("4 ft is too long")


def test_a_depth_that_somebody_measured_is_said_as_it_was() -> None:
    seen = found_for(make_survey(band(depth=3.375)))
    assert reason(seen, "clean_leave").startswith("3 3/8 in deep is a cup")


def test_a_guess_is_rounded_as_people_guess() -> None:
    """A quarter inch up to a foot, an inch up to four feet, half a foot beyond; 5, 10 and 100 mm."""
    template = "{length:length} of rot in a {size:length} log"
    said = [
        Words(units).fill(template, {"length": length, "size": 11.3}, {"length", "size"})
        for units, length in (("imperial", 20.3), ("imperial", 61.0), ("metric", 20.3), ("metric", 61.0))
    ]
    assert said == [
        "About 20 in of rot in an 11 1/4 in log", "About 5 ft of rot in an 11 1/4 in log",
        "About 520 mm of rot in a 285 mm log", "About 1.5 m of rot in a 285 mm log",
    ]


@pytest.mark.parametrize(
    ("inches", "said"), [(8.0, "an 8 in log"), (11.0, "an 11 in log"), (11.5, "an 11 1/2 in log"), (12.0, "a 12 in log"),
                         (18.0, "an 18 in log"), (80 / 25.4, "a 3 1/8 in log")],
)
def test_the_article_goes_with_the_number(inches: float, said: str) -> None:
    assert Words("imperial").fill("a {size:length} log", {"size": inches}) == said
    assert Words("imperial").fill("A {size:length} log", {"size": inches}) == f"A{said[1:]}"


def test_the_article_goes_with_the_number_in_metric_too() -> None:
    assert Words("metric").fill("it is a {size:length} log", {"size": 80 / 25.4}) == "it is an 80 mm log"


# ---- hazards ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("element", "damage", "method"), [
    ("wall_mid", "beetle_old", "monitor"), ("wall_low", "band", "temp_cover"), ("buck_window", "soft_wood", "temp_cover"),
])
def test_nobody_tests_old_coatings_to_watch_or_to_cover(element: str, damage: str, method: str) -> None:
    """G20 asks for tests before anything is ground, blasted or cut; here nothing is."""
    defect = make_defect(element, damage, length=30.0)
    unknown = plan(found_for(make_survey(defect)), method)
    old = House(numbers={"year_built": Span(1938, 1938)}, words={"finish": "paint"})
    known = plan(found_for(make_survey(defect, house=old)), method)
    assert not {c.code for c in unknown.conditional} & {"lead", "penta", "asbestos"}
    assert not [x for x in known.lines if x.resource in ("lead_test", "hazard_lab_test")]


def test_they_are_tested_before_anything_is_cut() -> None:
    old = House(numbers={"year_built": Span(1938, 1938)}, words={"finish": "paint"})
    cut = plan(found_for(make_survey(make_defect("buck_window", "soft_wood", length=30.0), house=old)), "buck_trim")
    assert {"lead_test", "hazard_lab_test"} <= {x.resource for x in cut.lines}


# ---- covers and shores -----------------------------------------------------------------------------------------


def interim(option: Option) -> set[str]:
    return {s.method for s in option.steps if s.phase == "interim"}


@pytest.mark.parametrize(("days", "over"), [(27, False), (28, False), (29, True)])
def test_what_rotted_for_years_is_covered_and_shored_only_over_more_than_four_weeks(days: int, over: bool) -> None:
    """R26; J for the four weeks."""
    by_then = CauseSeen("K02", "by_others", "the roofer", DAY + timedelta(days=days))
    found = found_for(make_survey(replace(band(depth=7.0), causes=(by_then,))), "kestrel-range")
    assert interim(plan(found, "log_partial")) == ({"temp_cover", "temp_shore"} if over else set())


def test_a_sill_that_lets_the_floor_down_is_shored_over_three_weeks() -> None:
    """U1: what moved does not wait for long."""
    sill = make_defect("sill_log", "band", section=12.0, depth=7.0, length=6 * FT, floor_drop=1.0, joists=4.0)
    assert "temp_shore" in interim(plan(found_for(make_survey(sill), "kestrel-range"), "sill_needle"))


def test_a_cover_is_for_the_time_until_others_stop_the_water_and_does_not_wait_for_them() -> None:
    late = CauseSeen("K02", "by_others", "the roofer", DAY + timedelta(days=60))
    found = found_for(make_survey(replace(band(), causes=(late,))))
    assert plan(found, "temp_cover").clocks.lead_days == 0.0
    assert plan(found, "face_veneer").clocks.lead_days >= 60.0


def test_nobody_covers_a_log_end() -> None:
    """Cutting it back takes no longer than a cover."""
    tail = make_defect("log_tail", "end_rot", count=3, from_end=5.0, tail=20.0, section=12.0)
    found = found_for(make_survey(tail))
    assert "temp_cover" not in {o.method for o in found.options}
    assert all(not interim(o) for o in found.options)


# ---- sentences -------------------------------------------------------------------------------------------------


def test_the_headline_says_that_the_date_is_what_leaves_only_a_stop_gap() -> None:
    survey = replace(make_survey(band(depth=7.0)), wishes=Wishes(latest=DAY + timedelta(days=10)))
    assert found_for(survey).headline.startswith("Nothing that lasts can be finished by the latest date. Until then: temp")


def test_a_coat_does_its_work_and_is_no_stop_gap() -> None:
    grey = make_defect("wall_mid", "uv_grey", area=200.0)
    coat = plan(found_for(make_survey(grey)), "wall_refinish")
    assert coat.rank > 1
    assert coat.why.startswith("Does it for about 4 years")


def test_what_was_described_goes_on_in_the_middle_of_a_sentence() -> None:
    sill = found_for(make_survey(make_defect("sill_log", "soft_wood"), level="told"))
    assert "As described: new half-log face" in sill.headline


def test_only_rot_has_more_length_of_decay() -> None:
    check = make_defect("wall_mid", "check_up", length=6 * FT, check_width=0.375, clear_length=20 * FT)
    assert plan(found_for(make_survey(check)), "check_seal").if_more[0].what == "more length of it"
    assert plan(found_for(make_survey(band())), "face_veneer").if_more[0].what == "more length of decay"


@pytest.mark.parametrize(("damage", "wet"), [("ants", True), ("beetle_live", False), ("bees", False)])
def test_only_ants_say_that_it_is_wet(damage: str, wet: bool) -> None:
    words = found_for(make_survey(make_defect("wall_mid", damage))).assessment.urgency_words
    assert ("wet" in words) is wet


def test_two_causes_feed_and_one_feeds() -> None:
    assert "splash feeds this damage, and I do not want it corrected" in waiver_words(["splash"])
    assert "splash and soil feed this damage, and I do not want them corrected" in waiver_words(["splash", "soil"])


def test_half_a_week_is_said_in_days() -> None:
    """lead.lumber is half a week in the base book."""
    board = plan(found_for(make_survey(make_defect("log_siding", "soft_wood", length=6 * FT))), "board_replace")
    assert board.wood[0].met_by == "supply, 4 days"


# ---- siding ----------------------------------------------------------------------------------------------------


def siding(width: float, length_ft: float) -> Option:
    defect = make_defect("log_siding", "soft_wood", section=1.5, section_other=7.0, length=length_ft * FT, width=width)
    return plan(found_for(make_survey(defect)), "board_replace")


def test_several_boards_are_called_boards() -> None:
    assert siding(6.0, 6.0).title == "new siding board"
    assert siding(14.0, 6.0).title == "new siding boards"


def test_a_patch_of_siding_costs_what_a_carpenter_takes_for_it() -> None:
    """Twenty feet of two courses, 26 square feet: 35 to 70 a square foot with board, nails, prime and finish (J)."""
    price = float(siding(14.0, 20.0).package.as_described)
    assert 35.0 * 25.7 <= price <= 70.0 * 25.7


def test_a_winter_day_is_told_from_a_summer_day() -> None:
    """The same log: sealed at once in June, in spring where it comes in December."""
    summer, winter = (
        quote(make_survey(band(depth=7.0), day=day), book("base", day), knowledge(), all_methods()).defects[0].findings[0]
        for day in (date(2026, 6, 15), date(2026, 11, 10))
    )
    assert "once it is warm" not in summer.headline
    assert "once it is warm" in winter.headline


# ---- milled logs -----------------------------------------------------------------------------------------------


def milled_log(wood: tuple[WoodOnHand, ...] = ()) -> Option:
    defect = make_defect(
        "wall_low", "band", section=6.0, section_other=8.0, depth=3.0, length=7 * FT, clear_length=20 * FT,
        words={"profile": "d_log", "inner_face": "sound"},
    )
    return plan(found_for(make_survey(defect, house=House(wood=wood))), "log_partial")


def test_a_d_log_is_renewed_by_both_its_sizes() -> None:
    """A 6 x 8 that stands 8 in high in its course is not replaced by a round of 6 in."""
    piece = milled_log().wood[0]
    assert (piece.thickness.value, piece.width.value) == (6.0, 8.0)
    assert piece.volume[1].value == pytest.approx(6.0 * 8.0 / 144.0 * 9.0 * 1.12, rel=1e-3)


def test_a_d_log_at_hand_serves_for_a_d_log() -> None:
    at_hand = WoodOnHand(form="log", section_in=6.0, length_in=12 * FT, moisture_pct=13.0, species=None)
    assert milled_log((at_hand,)).wood[0].met_by == "on hand"
    assert milled_log().wood[0].met_by.startswith("supply")


# ---- what is no rot --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("damage", ["fire_char", "mech_damage", "termite_dry"])
def test_nothing_is_covered_that_no_rain_feeds(damage: str) -> None:
    found = found_for(make_survey(make_defect("wall_mid", damage, depth=0.5, length=30.0)))
    assert all("temp_cover" not in interim(o) for o in found.options)
    assert "temp_cover" not in {o.method for o in found.options}


def test_char_does_not_grow() -> None:
    burnt = found_for(make_survey(make_defect("wall_mid", "fire_char", depth=0.25, length=30.0))).assessment
    assert [m.value for m in burnt.spread_a_year] == [0.0, 0.0]
    assert burnt.waiting_words.startswith("This does not get worse by itself")
    assert not any("decay" in s for s in burnt.suspects)


def test_green_wood_shrinks_by_marks_of_a_tape() -> None:
    words = plan(found_for(make_survey(band(section=10.0, depth=6.0))), "log_partial").wood[0].green_instead
    assert "by about 3/8 in across 10 in" in words


def test_nobody_is_sure_of_a_closed_log() -> None:
    """A facing at the very edge of its gate: past it in all worlds, and yet nobody says 100 %."""
    hewn = {"profile": "hewn", "inner_face": "sound"}
    edge = make_defect("wall_low", "band", section=8.0, depth=3.5, length=6 * FT, words=hewn)
    headline = found_for(make_survey(edge)).headline
    assert "100%" not in headline
    assert "More likely" in headline


# ---- more of what is read out ----------------------------------------------------------------------------------


def test_a_crack_that_is_too_fine_to_seal_is_not_called_urgent() -> None:
    """G18: below a quarter of an inch a penetrating finish does; at a quarter it is sealed this season."""
    urgency = {}
    for width in (0.125, 0.25):
        up = make_defect("wall_mid", "check_up", length=48.0, check_width=width)
        urgency[width] = found_for(make_survey(up)).assessment.urgency
    assert urgency == {0.125: "U3", 0.25: "U2"}


def test_two_declined_causes_are_two_causes_in_the_waiver() -> None:
    assert waiver_words(["splash"]).count("that cause") == 1
    assert "decay from those causes" in waiver_words(["splash", "soil"])


def test_the_only_door_is_not_taken_out_before_another_way_stands() -> None:
    """R33."""
    only, one_of_two = (
        plan(found_for(make_survey(make_defect("buck_door", "soft_wood", length=30.0, flags={"only_exit": said}))), "buck_trim")
        for said in (True, False)
    )
    assert "egress" in only.cautions
    assert "egress" not in one_of_two.cautions


def test_a_patch_in_a_room_needs_no_slope_and_dries_in_the_room() -> None:
    patches = {
        side: plan(found_for(make_survey(make_defect(
            "wall_low", "pocket_deep", section=10.0, depth=2.0, length=14.0, width=6.0, moisture=26.0, words={"side": side},
        ))), "dutchman")
        for side in ("inner", "outer")
    }
    said = {side: " ".join(s.text for s in patch.steps) for side, patch in patches.items()}
    assert "sloped" not in said["inner"]
    assert "room warm and aired" in said["inner"]
    assert "sloped 10 to 15 degrees out" in said["outer"]
    assert "under an open cover" in said["outer"]


def test_masonry_that_is_tied_in_is_called_masonry() -> None:
    sill = make_defect("sill_log", "band", section=12.0, depth=6.0, length=48.0, flags={"masonry_tied": True})
    answer = quote(make_survey(sill), book(), knowledge(), all_methods()).defects[0]
    text = next(e.text for e in answer.escalations if e.code == "engineer")
    assert text.startswith("Masonry is tied to it")


@pytest.mark.parametrize(("level", "said"), [("told", True), ("visited", True), ("opened", False)])
def test_behind_a_failed_patch_more_is_expected_until_it_is_opened(level: str, *, said: bool) -> None:
    """B3: the hole is two to four times the patch."""
    patch = make_defect("wall_mid", "old_patch_fail", section=11.0, depth=2.0, length=9.0, width=6.0)
    notes = quote(make_survey(patch, level=level), book(), knowledge(), all_methods()).defects[0].notes
    assert any(n.startswith("Behind a failed patch") for n in notes) is said


def test_a_wall_log_that_spans_an_opening_is_answered_as_a_header() -> None:
    """B2, R9: it bends there; a new face is a skin and no strength."""
    wall = make_defect("wall_mid", "band", section=11.0, depth=4.0, length=48.0, words={"inner_face": "sound"})
    answer = quote(make_survey(replace(wall, flags={"over_opening": True})), book(), knowledge(), all_methods()).defects[0]
    assert answer.element == "header_log"
    assert any("spans an opening" in note for note in answer.notes)
    assert "face_veneer" not in {o.method for o in answer.findings[0].options}
    assert any(e.code == "engineer" for e in answer.escalations)
    plain = quote(make_survey(wall), book(), knowledge(), all_methods()).defects[0]
    assert plain.element == "wall_mid"
    assert plain.findings[0].options[0].method == "face_veneer"


def test_no_rod_goes_into_a_board() -> None:
    """A rod is three inches long; a siding board is one and a half thick."""
    covers = {
        element: plan(found_for(make_survey(make_defect(element, "soft_wood", length=40.0))), "temp_cover")
        for element in ("wall_low", "log_siding", "buck_window")
    }
    rods = {element: [x for x in cover.lines if x.resource == "borate_rod"] for element, cover in covers.items()}
    assert rods["wall_low"]
    assert not rods["log_siding"]
    assert not rods["buck_window"]
    assert "the course above" in covers["wall_low"].steps[-1].text
    assert "course" not in covers["buck_window"].steps[-1].text


@pytest.mark.parametrize("damage", ["check", "check_down", "uv_grey", "mould_stain", "finish_fail", "mech_damage"])
@pytest.mark.parametrize(("softness", "soft"), [("crumbles", True), ("hollow", True), ("hard", False), ("dents", False)])
def test_what_crumbles_is_rot_whatever_it_looks_like(damage: str, softness: str, *, soft: bool) -> None:
    """G02: the probe outranks the look. A check into which the awl sinks is no drying crack."""
    seen = make_defect("wall_mid", damage, section=12.0, depth=2.0, length=36.0, words={"softness": softness})
    answer = quote(make_survey(seen), book(), knowledge(), all_methods()).defects[0]
    assert (answer.damage == "soft_wood") is soft
    assert any("answered as soft wood" in note for note in answer.notes) is soft
    assert (answer.findings[0].options[0].method == "monitor") <= (not soft)


@pytest.mark.parametrize("depth", [0.5, 1.5, 3.5])
def test_nothing_is_let_into_a_sill_from_below(depth: float) -> None:
    """M14: a wet underside is renewed on needles or in masonry, however shallow; an outer face of that depth is not."""
    lasting = {}
    for side in ("bottom", "outer"):
        sill = make_defect(
            "sill_log", "soft_wood", section=12.0, depth=depth, length=20.0, width=5.0,
            words={"side": side, "inner_face": "sound"},
        )
        lasting[side] = {o.method for o in found_for(make_survey(sill)).options if not o.stop_gap and not o.comparison_only}
    assert lasting["bottom"] == {"sill_needle", "sill_to_masonry"}
    assert lasting["outer"] & {"clean_leave", "dutchman", "epoxy_fill", "face_veneer"}


def test_four_hundred_feet_of_joint_lie_above_each_other_in_one_wall() -> None:
    """R23: (18 + 3) x (40 + 4) ft of scaffold, x 1.6 on a slope; not a scaffold of 404 ft. A short joint is as long as it is."""
    faces = {}
    for length_ft in (30.0, 150.0, 400.0):
        joint = make_defect("chink_line", "seal_fail_adh", length=length_ft * FT, width=3.0, height=18.0, ground_slope=20.0)
        chinked = plan(found_for(make_survey(joint)), "rechink")
        faces[length_ft] = sum(float(x.quantity) for x in chinked.lines if x.norm == "scaffold.erect_per_ft2") / 0.03
    assert faces[30.0] == pytest.approx(21.0 * 34.0 * 1.6, rel=0.01)
    assert faces[150.0] == pytest.approx(21.0 * 44.0 * 1.6, rel=0.01)
    assert faces[400.0] == pytest.approx(faces[150.0])


def test_a_job_of_joints_pays_no_longer_scaffold_than_its_wall() -> None:
    joints = [
        replace(make_defect("chink_line", "seal_fail_adh", length=300.0 * FT, width=3.0, height=18.0, ground_slope=20.0,
                            words={"wall": "north"}), index=n, id=str(n))
        for n in range(2)
    ]
    job = quote(make_survey(*joints), book(), knowledge(), all_methods()).job
    alone = quote(make_survey(joints[0]), book(), knowledge(), all_methods()).job
    assert float(job.parts["access"]) <= 2.0 * float(alone.parts["access"])
    assert float(job.parts["access"]) < 15000.0
