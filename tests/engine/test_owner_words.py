"""What is read to the owner: headlines, reasons, questions."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest

from service.engine.outcome import Findings
from service.engine.quote import quote
from service.engine.registry import all_methods
from service.engine.survey import House, Survey, Wishes
from service.engine.words import Words
from tests.engine.books import DAY, book
from tests.engine.cases import FT, knowledge, make_defect, make_survey

BAND = make_defect("wall_low", "band", section=12.0, depth=3.0, length=6 * FT, moisture=16.0)


def found_for(survey: Survey) -> Findings:
    """Findings of the only defect of a survey."""
    return quote(survey, book(), knowledge(), all_methods()).defects[0].findings[0]


def test_plan_b_is_said_at_its_whole_price_beside_the_whole_price_of_plan_a() -> None:
    """A package beside a whole price would make the dearer plan look cheap."""
    found = found_for(make_survey(BAND))
    fork = found.options[0].fork
    assert fork is not None
    said = float(found.headline.rsplit("$", 1)[1].replace(",", ""))
    assert said > float(fork.price_b)


def test_the_chance_of_plan_b_is_not_that_of_everything_past_plan_a() -> None:
    """Where a whole log is nearly as likely as a part of it, the sentence says `more than that` and names the commonest."""
    deep = make_defect(
        "under_window", "band", words={"side": "outer", "inner_face": "sound"}, section=12.0, depth=4.0, length=8 * FT,
        width=9.0, clear_length=24 * FT, moisture=17.0, height=3.0,
    )
    told, seen = found_for(make_survey(deep, level="told")), found_for(make_survey(deep, level="visited"))
    fork = told.options[0].fork
    assert fork is not None
    assert fork.probability_b > max(o.holds for o in told.options if o.method == fork.plan_b)
    assert "takes more than that, most often part of the log replaced, at about $" in told.headline
    assert "that it takes Plan B, part of the log replaced, at about $" in seen.headline


def test_a_stop_gap_mends_nothing_carries_no_warranty_and_is_not_renewed_for_decades() -> None:
    """It carries an expiry date (M25, M26)."""
    through = make_defect("wall_mid", "through", section=12.0, length=6 * FT, clear_length=22 * FT)
    found = found_for(replace(make_survey(through), wishes=Wishes(latest=DAY + timedelta(days=10))))
    for option in found.options:
        assert option.stop_gap
        assert option.warranty is False
        assert option.life_cycle is None
    assert found.assessment.waiting_words.startswith("Nothing is mended by it")
    lasting = found_for(make_survey(BAND)).options[0]
    assert lasting.warranty is True
    assert lasting.life_cycle is not None
    assert lasting.life_cycle >= lasting.whole.as_described


def test_what_cannot_be_done_in_time_is_not_called_likelier() -> None:
    through = make_defect("wall_mid", "through", section=12.0, length=6 * FT, clear_length=22 * FT)
    survey = replace(make_survey(through), wishes=Wishes(latest=DAY + timedelta(days=10)))
    found = found_for(survey)
    assert {o.method for o in found.options} == {"temp_cover", "temp_shore"}
    assert "More likely" not in found.headline
    assert found.options[0].why.startswith("Nothing that lasts can be done as things stand")
    assert any("Not possible by the latest date." in r.why for r in found.ruled_out)


def test_what_waits_for_warmth_past_the_latest_date_is_not_called_likelier_either() -> None:
    cold = make_defect("wall_low", "pocket_deep", section=14.0, depth=3.0, length=10.0, width=6.0, wood_temperature=25.0)
    found = found_for(replace(make_survey(cold), wishes=Wishes(latest=DAY + timedelta(days=4))))
    assert [o.method for o in found.options] == ["temp_cover"]
    assert "More likely" not in found.headline


@pytest.mark.parametrize(
    ("element", "damage"), [("wall_mid", "uv_grey"), ("wall_low", "band"), ("wall_mid", "fire_char"), ("gable_log", "woodpecker")]
)
def test_nothing_is_asked_for_its_price_that_hardly_moves_it(element: str, damage: str) -> None:
    for question in found_for(make_survey(make_defect(element, damage), level="told")).questions:
        assert question.narrows >= 0.05 or "price" not in question.because


@pytest.mark.parametrize(("element", "damage"), [("wall_low", "ants"), ("wall_mid", "finish_fail")])
def test_a_treatment_and_a_coat_are_no_stop_gaps(element: str, damage: str) -> None:
    """They are renewed by their nature; only a repair of decay that lasts under eight years is a stop-gap (B9)."""
    first = found_for(make_survey(make_defect(element, damage), level="told")).options[0]
    assert not first.stop_gap
    assert "stop-gap" not in first.why.lower()


def test_work_on_the_inner_face_takes_the_room() -> None:
    inner = make_defect("wall_low", "band", section=12.0, depth=3.0, length=5 * FT, words={"side": "inner", "room": "bathroom"})
    first = found_for(make_survey(inner)).options[0]
    assert first.method == "face_veneer"
    assert first.clocks.room_out_days >= first.clocks.crew_days
    assert not any("drip" in s.text for s in first.steps)
    assert found_for(make_survey(BAND)).options[0].clocks.room_out_days == 0.0


def test_a_joint_is_as_wide_as_joints_are() -> None:
    """80 ft of caulk, 1/2 in wide: three or four large cartridges and not sixty (E6)."""
    joint = make_defect("caulk_line", "seal_fail_adh", length=80 * FT)
    tubes = [line for line in found_for(make_survey(joint)).options[0].lines if line.resource == "sealant_29oz"]
    assert 2 <= sum(line.quantity for line in tubes) <= 8


def test_volumes_are_said_in_the_units_of_the_request() -> None:
    metric = found_for(replace(make_survey(BAND), units="metric"))
    filled = next(r.why for r in metric.ruled_out if r.method == "epoxy_fill")
    assert "litres" in filled or "cubic" not in filled


def test_rot_that_stops_in_the_tail_of_a_beam_is_no_reason_to_shore_a_roof() -> None:
    tail: dict[str, Any] = {"section": 12.0, "from_end": 8.0, "span": 16.0}
    free = found_for(make_survey(make_defect("ridge", "end_rot", tail=24.0, **tail)))
    assert free.assessment.urgency == "U2"
    assert free.options[0].method == "tail_renew"
    assert not any(s.method == "temp_shore" for s in free.options[0].steps)
    unknown = found_for(make_survey(make_defect("ridge", "end_rot", **tail)))
    assert unknown.assessment.urgency == "U1"


def test_a_post_in_a_lived_in_house_is_warm_in_winter_and_one_in_an_empty_house_is_not() -> None:
    post = make_defect("post_interior", "foot_rot", section=10.0, from_end=4.0, post_height=108.0, load=3000.0)
    january = replace(make_survey(post), priced_on=DAY.replace(month=1))
    assert not any(o.variant == "heated" for o in found_for(january).options)
    empty = replace(january, house=House(flags={"vacant": True}))
    assert any(o.variant == "heated" for o in found_for(empty).options)


@pytest.mark.parametrize(
    ("element", "title"),
    [("tread", "new tread"), ("rail_post", "new guard post"), ("trim", "new trim board"), ("log_siding", "new siding board")],
)
def test_a_new_part_is_called_by_its_name(element: str, title: str) -> None:
    found = found_for(make_survey(make_defect(element, "soft_wood", depth=1.0, length=20.0)))
    assert next(o.title for o in found.options if o.method == "board_replace") == title


@pytest.mark.parametrize(
    ("fact", "element", "word"),
    [
        ("width", "chink_line", "joint"), ("width", "wall_low", "face"), ("tail", "rafter_tail", "wall"),
        ("tail", "purlin", "bears"),
    ],
)
def test_a_question_is_put_in_words_that_fit_the_member(fact: str, element: str, word: str) -> None:
    known = knowledge()
    assert word in known.facts[fact].asked_of(known.elements[element])


def test_a_load_that_was_said_along_the_member_is_not_asked_for_again() -> None:
    beam = make_defect("girder", "pocket_deep", section=12.0, depth=2.5, length=20.0, span=14.0, line_load=420.0, to_joint=40.0)
    assert "load" not in [q.fact for q in found_for(make_survey(beam)).questions]


def test_what_can_still_be_mended_in_years_is_no_leave_to_wait_under_a_truss() -> None:
    """R14: out from under it today; the years ahead speak of the repair alone."""
    truss = found_for(make_survey(make_defect("truss_bottom_chord", "soft_wood", section=12.0, depth=4.0)))
    wall = found_for(make_survey(make_defect("wall_mid", "band", section=12.0, depth=2.0, length=60.0)))
    assert "not used as before" in truss.assessment.waiting_words
    assert "not used as before" not in wall.assessment.waiting_words


def test_more_to_do_each_year_is_said_only_where_it_costs_more_to_wait() -> None:
    frame = found_for(make_survey(make_defect("buck_window", "soft_wood", section=2.0, depth=1.0, length=10.0))).assessment
    soft = make_defect("wall_low", "band", section=12.0, depth=2.0, length=5 * FT, moisture=24.0)
    wall = found_for(make_survey(soft)).assessment
    for seen, dearer in ((frame, False), (wall, True)):
        assert seen.best_plan_ends_in_years is None
        assert (float(seen.waiting[-1].whole) > float(seen.waiting[0].whole) * 1.001) is dearer
        assert ("more to do each year" in seen.waiting_words) is dearer
        assert ("at about the same price, but the rot goes on" in seen.waiting_words) is not dearer


@pytest.mark.parametrize(
    ("inches", "said"),
    [(3.0, "3 in"), (0.19, "0.19 in"), (5.25, "5 1/4 in"), (4.625, "4 5/8 in"), (2.4361, "2 3/8 in"), (0.7480315, "3/4 in"),
     (11.02, "11.02 in"), (6.998, "7 in"), (0.031, "0.03 in")],
)
def test_a_length_that_no_tape_shows_is_said_to_the_nearest_mark(inches: float, said: str) -> None:
    """Nobody measures 2.44 in with an awl; what lies on a mark is said by its mark, other hundredths stay as they were said."""
    assert Words("imperial").length(inches) == said
