"""What is left of a member, how wet it is, how fast it goes on: against hand calculations and published figures."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from service.engine.assess import assess, moisture_words, overload_words
from service.engine.case import Case
from service.engine.design_checks import unchecked_because
from service.engine.outcome import Assessment
from service.engine.remains import remains_of
from service.engine.season import decay_index
from service.engine.survey import CauseSeen, House, Span
from service.engine.words import Words
from tests.engine.books import book
from tests.engine.cases import knowledge, make_case


def look(case: Case) -> Assessment:
    return assess(case, Words("imperial"), knowledge())


@pytest.mark.parametrize(
    ("depth", "area", "inertia", "far"),
    [(1, 108.5958, 880.7075, 152.4762), (3, 90.9867, 512.2900, 103.0342), (6, 56.5487, 142.2450, 41.1884)],
)
def test_a_face_off_a_12_in_log_leaves_the_segment_and_the_far_face_governs(
    depth: float, area: float, inertia: float, far: float
) -> None:
    """Source: closed form checked against polygon integrals (engineering figures for a 12 in circle), 7 digits."""
    section = look(make_case("header_log", "band", section=12, depth=depth)).section
    assert section is not None
    assert section.area.value == pytest.approx(area, rel=1e-5)
    assert section.second_moment.value == pytest.approx(inertia, rel=1e-5)
    assert section.section_modulus.value == pytest.approx(far, rel=1e-5)
    assert section.strength_left == pytest.approx(far / 169.646, rel=1e-4)


@pytest.mark.parametrize(("hollow", "modulus", "area"), [(6, 0.9375, 0.75), (8, 0.8025, 0.5556), (10, 0.5177, 0.3056)])
def test_a_hollow_heart_costs_area_more_than_stiffness(hollow: float, modulus: float, area: float) -> None:
    """Source: 1 - (d/D)^4 and 1 - (d/D)^2 for D = 12 in (Roark), 4 digits."""
    section = look(make_case("purlin", "core", section=12, depth=hollow)).section
    assert section is not None
    assert section.section_modulus_left == pytest.approx(modulus, abs=6e-5)
    assert section.area_left == pytest.approx(area, abs=6e-5)


def test_both_faces_take_twice_the_segment() -> None:
    """Source: geometry; a 12 in log less two segments of 3 in, strip integrated by hand to 4 digits."""
    left = remains_of(make_case("wall_mid", "band", section=12, depth=3, words={"side": "both"}))
    assert left is not None
    steps = 20000
    strip = 6.0 / steps
    ys = [-3.0 + (k + 0.5) * strip for k in range(steps)]
    widths = [2.0 * math.sqrt(36.0 - y * y) for y in ys]
    assert left.rest.area_in2 == pytest.approx(sum(widths) * strip, rel=1e-6)
    inertia = sum(w * y * y for w, y in zip(widths, ys, strict=True)) * strip
    assert left.rest.inertia_in4 == pytest.approx(inertia, rel=1e-6)


def test_a_squared_member_loses_its_face() -> None:
    """Source: rectangle b h, b h^3 / 12, b h^2 / 6."""
    case = make_case("header_log", "band", section=10, section_other=8, depth=2, words={"profile": "hewn"})
    section = look(case).section
    assert section is not None
    assert section.area.value == pytest.approx(8 * 8)
    assert section.second_moment.value == pytest.approx(8 * 8**3 / 12)
    assert section.section_modulus.value == pytest.approx(8 * 8**2 / 6)


def test_a_share_that_was_stated_goes_before_the_depth() -> None:
    section = look(make_case("truss_bottom_chord", "soft_wood", section=12, section_loss=40)).section
    assert section is not None
    assert section.area_left == pytest.approx(0.60, abs=1e-6)


def test_a_tie_whose_load_passes_beside_what_is_left_has_less_than_its_area() -> None:
    """Source: 1 / (A0 (1/A + e/S)) by hand: 12 in round cut 3 in, A 90.9867, e 1.0280, S 103.0342."""
    section = look(make_case("truss_bottom_chord", "soft_wood", section=12, depth=3)).section
    assert section is not None
    assert section.strength_left == pytest.approx(1 / (113.0973 * (1 / 90.9867 + 1.0280 / 103.0342)), rel=1e-3)


def test_rotten_through_leaves_nothing() -> None:
    section = look(make_case("wall_mid", "through", section=12)).section
    assert section is not None
    assert (section.area_left, section.section_modulus_left, section.strength_left) == (0.0, 0.0, 0.0)


def test_a_stated_loss_and_the_depth_beside_it_are_one_number() -> None:
    """Source: geometry by hand: 40 % off a squared post is 4 of its 10 in; a depth that was measured stays."""
    square = {"profile": "square"}
    said = make_case("post_porch", "soft_wood", section=10, section_other=8, section_loss=40, words=square)
    assert look(said).depth_ratio == pytest.approx(0.40)
    both = make_case("post_porch", "soft_wood", section=10, section_other=8, depth=3, section_loss=40, words=square)
    assert look(both).depth_ratio == pytest.approx(0.30)


def test_damage_that_takes_no_wood_leaves_no_section_to_speak_of() -> None:
    found = look(make_case("wall_mid", "check_down", section=12))
    assert (found.section, found.depth_ratio) == (None, None)
    assert [m.value for m in found.spread_a_year] == [0.0, 0.0]


def test_the_clear_length_of_a_beam_is_taken_as_its_span_and_said() -> None:
    """The clear length is at least the span, so the check errs on the safe side (statics of a simple beam)."""
    loaded: dict[str, Any] = {"section": 10, "section_other": 8, "depth": 2, "line_load": 300}
    by_length = look(make_case("girder", "band", words={"profile": "square"}, clear_length=168, **loaded)).checks
    by_span = look(make_case("girder", "band", words={"profile": "square"}, span=14, **loaded)).checks
    assert [c.ratio for c in by_length] == [c.ratio for c in by_span] != []
    assert any("its clear length" in said for said in by_length[0].assumptions)
    moment_in_lb = 300.0 / 12.0 * 168.0**2 / 8.0
    assert by_length[0].stress.value == pytest.approx(moment_in_lb / (8.0 * 8.0**2 / 6.0))  # 8 x 8 in is left


def test_a_depth_that_nobody_measured_is_said_beside_the_check_and_the_alarm() -> None:
    """R34: every assumption stands beside a check; R13: what is missing stands at its median."""
    foot: dict[str, Any] = {"section": 8, "section_other": 8, "post_height": 96, "from_end": 7, "load": 6000}
    guessed = look(make_case("post_porch", "foot_rot", words={"profile": "square"}, **foot))
    measured = look(make_case("post_porch", "foot_rot", words={"profile": "square"}, depth=4.9, **foot))
    assert any("nobody has measured it" in said for said in guessed.checks[0].assumptions)
    assert "measure it" in guessed.urgency_words
    assert not any("nobody has measured it" in said for said in measured.checks[0].assumptions)


def test_a_round_joist_is_a_log_and_not_a_board() -> None:
    """By hand: 60 lb a foot over 12 ft bend it with 12,960 in lb; what is left of 8 in round less 3 in is checked."""
    joist: dict[str, Any] = {"section": 8, "depth": 3, "span": 12, "line_load": 60}
    one = look(make_case("floor_joist", "soft_wood", words={"profile": "round"}, **joist))
    assert one.section is not None
    assert one.checks[0].stress.value == pytest.approx(60 / 12 * 144**2 / 8 / one.section.section_modulus.value)
    assert one.section.section_modulus.value < 50.27  # pi 8^3 / 32


@pytest.mark.parametrize("element", ["header_log", "flyway_log"])
def test_a_log_that_is_longer_than_what_it_spans_is_asked_for_its_span(element: str) -> None:
    """A header goes on past its opening, and a cantilever past its seat."""
    assert look(make_case(element, "band", section=12, depth=3, clear_length=240, line_load=300)).checks == ()


def test_a_beam_with_span_and_load_is_checked_with_its_assumptions_beside_it() -> None:
    """Source: w L^2 / 8 over S by hand: 500 plf on 9 ft, S 103.0342 in3 -> 589.6 psi; V = wL/2, 4V/3A -> 32.97 psi."""
    case = make_case("header_log", "band", section=12, depth=3, span=9, line_load=500)
    bending, shear = look(case).checks
    assert bending.stress.value == pytest.approx(500 * 9**2 / 8 * 12 / 103.0342, rel=1e-4)
    assert shear.stress.value == pytest.approx(4 / 3 * 500 * 9 / 2 / 90.9867, rel=1e-4)
    assert bending.ratio == pytest.approx(bending.stress.value / bending.allowable.value)
    said = " ".join(bending.assumptions)
    for word in ("species group", "grade No.2 assumed", "moisture factor", "load duration", "NDS", "provisional"):
        assert word in said


def test_a_post_with_its_load_is_checked_as_a_column_off_its_middle() -> None:
    case = make_case("post_porch", "foot_rot", section=8, section_other=8, depth=2, load=4500, post_height=96)
    [check] = look(case).checks
    assert check.stress.value == pytest.approx(4500 / 48)
    assert check.ratio > check.stress.value / check.allowable.value, "the bending of the load comes on top"


def test_a_log_that_sticks_out_is_checked_as_a_cantilever() -> None:
    """Source: statics by hand: 2,000 lb at the tip of 4 ft and 100 plf over it; M = PL + wL^2/2, V = P + wL."""
    case = make_case("flyway_log", "soft_wood", section=12, depth=3, span=4, load=2000, line_load=100)
    bending, shear = look(case).checks
    assert bending.stress.value == pytest.approx((2000 * 48 + 100 * 4 * 24) / 103.0342, rel=1e-4)
    assert shear.stress.value == pytest.approx(4 / 3 * 2400 / 90.9867, rel=1e-4)


def test_a_post_that_is_only_crushed_is_held_against_its_column_value_itself() -> None:
    """Source: NDS 2018 3.6.3 by hand: 6,000 lb on 8 x 8 less 4 x 4, F_cE 2,643, C_P 0.962, F_c' 437.6 psi, 0.286."""
    case = make_case(
        "post_porch", "core", section=8, section_other=8, depth=4, load=6000, post_height=96, moisture=24,
        words={"profile": "square"},
    )
    [check] = look(case).checks
    assert check.allowable.value == pytest.approx(437.6, rel=1e-3)
    assert check.ratio == pytest.approx(125 / 437.6, rel=1e-3)


def test_a_post_buckles_about_the_axis_in_which_it_is_thinnest() -> None:
    """Source: by hand: what is left is 9 x 5 in, 120 in high, thinnest 5 in: slenderness 24 and not 13."""
    case = make_case(
        "post_porch", "soft_wood", section=10, section_other=5, depth=1, load=3000, post_height=120,
        words={"profile": "square"},
    )
    [check] = look(case).checks
    assert any("slenderness 24 " in said for said in check.assumptions)


@pytest.mark.parametrize("load", [4000, 6000, 9000, 20000, 1e6])
def test_a_post_past_buckling_has_a_ratio_that_can_be_read_and_grows_with_its_load(load: float) -> None:
    def ratio(pounds: float) -> float:
        [check] = look(make_case(
            "post_porch", "soft_wood", section=6, section_other=6, depth=2, load=pounds, post_height=192,
            words={"profile": "square"},
        )).checks
        return check.ratio

    assert ratio(load) == pytest.approx(load / 4000 * ratio(4000), rel=1e-6)
    assert ratio(9000) > 1


def test_a_wall_bears_on_what_is_left_between_two_soft_faces() -> None:
    """Source: by hand: 10 in less 3 in each side leaves 4 in; 1,800 lb a foot on 48 in2 is 37.5 psi."""
    case = make_case("wall_low", "band", section=10, depth=3, line_load=1800, words={"side": "both"})
    [check] = look(case).checks
    assert check.stress.value == pytest.approx(37.5)


def test_a_top_chord_is_pushed_and_not_checked_as_a_tie() -> None:
    found = look(make_case("truss_top_chord", "soft_wood", section=10, section_other=8, depth=2, load=9000))
    assert found.checks == ()
    assert found.section is not None
    assert found.section.governed_by.startswith("compression")


def test_a_load_of_nothing_is_no_load_to_check() -> None:
    assert look(make_case("header_log", "band", section=12, depth=3, span=9, line_load=0)).checks == ()


def test_nothing_is_checked_where_the_load_was_not_said() -> None:
    assert look(make_case("header_log", "band", section=12, depth=3, span=9)).checks == ()


@pytest.mark.parametrize(
    ("element", "facts", "why"),
    [
        ("floor_joist", {"section": 9.25, "section_other": 1.5, "depth": 2, "span": 12}, "tables of their own"),
        ("girder", {"section": 10, "depth": 2}, "how far it spans"),
        ("girder", {"depth": 2, "span": 12}, "how thick"),
        ("truss_top_chord", {"section": 10, "section_other": 8, "depth": 2, "load": 900}, "where it is held"),
    ],
)
def test_a_load_that_is_not_checked_says_why(element: str, facts: dict[str, Any], why: str) -> None:
    case = make_case(element, "soft_wood", **({"line_load": 100.0} | facts))
    assert look(case).checks == ()
    assert why in unchecked_because(case, knowledge())


def test_nothing_is_said_of_a_check_that_was_made_or_of_a_load_that_nobody_named() -> None:
    facts: dict[str, Any] = {"section": 12, "depth": 3, "span": 9}
    assert unchecked_because(make_case("header_log", "band", **facts, line_load=500), knowledge()) == ""
    assert unchecked_because(make_case("header_log", "band", **facts), knowledge()) == ""


def test_a_soft_seat_has_no_width_to_bear_on() -> None:
    case = make_case("wall_low", "band", section=10, depth=3, line_load=1800, words={"side": "top"})
    assert look(case).checks == ()
    assert "seat itself" in unchecked_because(case, knowledge())


def test_a_reading_in_cool_wood_is_corrected_upwards() -> None:
    """Source: common practice, no source: about a point for every 15 to 20 degF under 70."""
    cool = make_case("wall_mid", "band", moisture=18, house=House(numbers={"wood_temperature": Span(40, 40)}))
    assert "about 20 %" in moisture_words(cool, 12.0)


@pytest.mark.parametrize(
    ("moisture", "said"),
    [(34, "past fibre saturation"), (24, "too wet to bond"), (17, "look for the water"), (12, "as dry as")],
)
def test_moisture_is_held_against_fibre_saturation_and_equilibrium(moisture: float, said: str) -> None:
    warm = House(numbers={"wood_temperature": Span(70, 70)})
    assert said in moisture_words(make_case("wall_mid", "band", moisture=moisture, house=warm), 12.0)


def test_a_moisture_that_nobody_read_is_said_to_be_unread() -> None:
    assert "Nobody has read" in look(make_case("wall_mid", "band")).moisture_words


def test_ground_contact_makes_the_hazard_high_whatever_the_climate() -> None:
    """Source: Scheffer zones as published; ground contact, splash and trapped water always high."""
    assert decay_index(book()) < 35.0
    dry, buried = look(make_case("wall_mid", "band")), look(make_case("sill_log", "band", soil_above=4))
    assert (dry.hazard_zone, buried.hazard_zone) == ("low", "high")
    assert buried.spread_a_year[0].value == pytest.approx(4.0 * dry.spread_a_year[0].value)
    leak = look(make_case("wall_mid", "band", causes=[CauseSeen("K02", "open")]))
    assert leak.hazard_zone == "high"


def test_a_roof_over_it_lowers_the_hazard_by_a_step_and_a_leak_takes_that_away() -> None:
    wet = replace(make_case("purlin", "band"), book=book("heron-bayou"))
    outside = replace(make_case("wall_mid", "band"), book=book("heron-bayou"))
    assert (look(outside).hazard_zone, look(wet).hazard_zone) == ("high", "moderate")


def test_old_dry_decay_goes_on_slower_than_live_decay() -> None:
    live = look(make_case("wall_mid", "band")).spread_a_year
    old = look(make_case("wall_mid", "band", words={"activity": "old"})).spread_a_year
    assert old[0].value < live[0].value
    assert old[1].value < live[1].value


def test_neighbours_found_soft_come_first_among_the_suspects() -> None:
    case = replace(make_case("wall_mid", "band"), soft_neighbours=("above",))
    suspects = look(case).suspects
    assert suspects[0].startswith("the piece above")
    assert "log below" in suspects
    assert suspects[-1].startswith("24 in")


def test_every_member_with_every_damage_can_be_assessed_in_words() -> None:
    known = knowledge()
    for element in known.elements:
        for damage in known.damages:
            found = look(make_case(element, damage))
            words = (found.moisture_words, found.hazard_words, found.urgency_words)
            assert all(words), (element, damage)
            if found.section is not None:
                shares = (found.section.area_left, found.section.strength_left, found.section.section_modulus_left)
                assert all(0.0 <= s <= 1.0 + 1e-9 for s in shares), (element, damage, shares)


@pytest.mark.parametrize(("load", "urgency"), [(4000, "U2"), (8000, "U1"), (15000, "U0")])
def test_a_load_past_what_is_left_may_carry_makes_it_urgent(load: float, urgency: str) -> None:
    """A wall log is no alarm by itself; the sound log would carry each of these loads, what is left does not."""
    case = make_case("wall_low", "band", section=10, depth=8, line_load=load)
    [check] = look(case).checks
    assert check.ratio == pytest.approx(load / 24.0 / check.allowable.value)
    assert (check.ratio > 2.0, check.ratio > 1.0) == (urgency == "U0", urgency != "U2")
    assert look(case).urgency == urgency


def test_a_load_that_the_sound_member_would_not_carry_either_is_said_and_is_no_alarm() -> None:
    case = make_case("wall_low", "band", section=10, depth=2, line_load=60000)
    assert look(case).urgency == "U2"
    assert "Even sound" in overload_words(case, Words("imperial"), knowledge())
    assert overload_words(make_case("wall_low", "band", section=10, depth=2, line_load=800), Words("imperial"), knowledge()) == ""
