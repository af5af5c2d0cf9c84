"""What stands in a plan besides its main method, and how it is said."""

from __future__ import annotations

from dataclasses import replace

import pytest

from service.engine.outcome import Option
from service.engine.quote import quote
from service.engine.registry import all_methods
from service.engine.survey import Defect
from tests.engine.books import book
from tests.engine.cases import knowledge, make_defect, make_survey


def options_of(defect: Defect, level: str = "visited") -> tuple[Option, ...]:
    """Plans of one defect, the first one first."""
    answer = quote(make_survey(defect, level=level), book(), knowledge(), all_methods())
    return answer.defects[0].findings[0].options


def methods_in(option: Option) -> set[str]:
    """Methods that have a step in a plan."""
    return {s.method for s in option.steps}


def test_a_split_header_is_shored_while_the_engineer_is_awaited() -> None:
    """A split in a member that carries: a shore, the engineer, then steel (R8)."""
    plates = options_of(make_defect("header_log", "split", section=12.0, length=36.0, span=8.0))[0]
    assert plates.method == "steel_plates"
    assert plates.steps[0].method == "temp_shore"


@pytest.mark.parametrize(
    ("element", "damage"), [("girder", "soft_wood"), ("post_interior", "foot_rot"), ("post_porch", "foot_rot")]
)
def test_nothing_is_covered_that_no_rain_falls_on(element: str, damage: str) -> None:
    for option in options_of(make_defect(element, damage, section=10.0, from_end=7.0, depth=2.0, length=14.0)):
        assert "temp_cover" not in methods_in(option)


@pytest.mark.parametrize("element", ["tread", "rail_post"])
def test_what_people_step_on_or_lean_on_is_closed_and_not_shored(element: str) -> None:
    for option in options_of(make_defect(element, "soft_wood", section=3.0, depth=1.0, length=12.0)):
        assert "temp_shore" not in methods_in(option)


def test_a_wall_log_that_is_siding_is_answered_as_a_board() -> None:
    """Log siding is another trade: no face, no log, a board (B2)."""
    defect = make_defect("wall_low", "soft_wood", length=72.0, words={"profile": "log_siding"})
    answer = quote(make_survey(defect), book(), knowledge(), all_methods()).defects[0]
    assert answer.findings[0].options[0].method == "board_replace"
    assert not {"face_veneer", "log_partial", "log_full"} & {o.method for o in answer.findings[0].options}
    assert any("siding" in n for n in answer.notes)


def test_a_cheaper_plan_that_stands_second_says_why() -> None:
    """A pedestal changes the look: it stands behind the like-for-like foot and says so (R7)."""
    options = options_of(make_defect("post_porch", "foot_rot", section=8.0, from_end=7.0, post_height=96.0))
    pedestal = next(o for o in options if o.method == "post_pedestal")
    assert pedestal.rank > 1
    assert pedestal.score.total < options[0].score.total
    assert "changes how the building looks" in pedestal.why


def test_a_year_is_said_as_a_year() -> None:
    cover = next(o for o in options_of(make_defect("wall_low", "band", section=12.0, depth=3.0, length=60.0)) if
                 o.method == "temp_cover")
    assert "for about a year" in cover.why


def test_what_stands_on_a_shore_is_not_loaded_until_the_main_work_is_over() -> None:
    """Shores stay, and so does the restriction: from the shore to the end of the main work."""
    girder = options_of(make_defect("girder", "soft_wood", section=10.0, depth=6.0, span=12.0, length=30.0))[0]
    shored = [s.ends_day for s in girder.steps if s.phase == "interim" and s.method == "temp_shore"]
    relieved = [s.ends_day for s in girder.steps if s.phase == "main"]
    assert girder.clocks.load_restricted_days == pytest.approx(max(relieved) - max(shored), abs=0.3)
    assert girder.clocks.load_restricted_days > 10.0


def test_a_porch_on_its_shores_is_restricted_only_while_somebody_works_at_it() -> None:
    post = options_of(make_defect("post_porch", "foot_rot", section=8.0, from_end=7.0, post_height=96.0))[0]
    assert post.clocks.load_restricted_days < post.clocks.days_from_today / 2.0


def test_two_girders_on_shores_are_restricted_side_by_side() -> None:
    girder = make_defect("girder", "soft_wood", section=10.0, depth=6.0, span=12.0, length=30.0)
    survey = make_survey(girder, replace(girder, index=1, id="2"))
    answer = quote(survey, book(), knowledge(), all_methods())
    one = answer.defects[0].findings[0].options[0].clocks.load_restricted_days
    assert answer.job.clocks is not None
    assert answer.job.clocks.load_restricted_days == pytest.approx(one)


def letter_in(option: Option) -> bool:
    """Whether an engineer is in the price and waited for."""
    paid = any("engineer" in line.resource for line in option.lines)
    waited = any(d.reason.startswith("engineer") for d in option.delays)
    assert paid == waited
    return paid


def test_an_engineer_who_has_to_look_is_in_the_price_though_the_lead_signs_the_method() -> None:
    """A sister is signed by the lead; a joist of which two fifths are gone goes to the engineer all the same (G14)."""
    joist = make_defect("floor_joist", "soft_wood", section=9.25, section_other=1.5, depth=3.7, span=12.0, length=24.0)
    sister = next(o for o in options_of(joist, "opened") if o.method == "sister")
    assert letter_in(sister)
    assert sister.sign_off == 2


def test_a_dimple_pays_no_engineer() -> None:
    dimple = make_defect("sill_log", "pocket_shallow", section=12.0, depth=0.5, length=5.0, joists=3.0)
    assert not letter_in(options_of(dimple, "opened")[0])
