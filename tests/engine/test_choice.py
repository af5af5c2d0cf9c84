"""Which plans are offered, which only for comparison, which as a stop-gap, and in which order."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from service.engine.findings import inquire
from service.engine.outcome import Findings
from service.engine.registry import all_methods
from service.engine.survey import Defect, Wishes
from service.engine.worlds import groups_of
from tests.engine.books import DAY, book
from tests.engine.cases import FT, knowledge, make_defect, make_survey
from tests.engine.properties.asking import ask, stating

JUNE, JANUARY = date(2026, 6, 15), date(2026, 1, 12)
OUTER = {"side": "outer", "inner_face": "sound"}


FACTS = {"depth": 3.0, "length": 96.0, "section": 12.0, "clear_length": 24 * FT, "height": 3.0}


def band(**numbers: float) -> Defect:
    """A band under a window, deep enough for a new face and no deeper."""
    return stating(make_defect("under_window", "band", words=OUTER), **{**FACTS, **numbers})


def pocket() -> Defect:
    """A pocket that a filler would do."""
    return make_defect(
        "wall_mid", "pocket_deep", depth=2.0, length=6.0, width=4.0, section=10.0, clear_length=20 * FT, words=OUTER
    )


def found(defect: Defect, *, day: date = JUNE, wishes: Wishes | None = None) -> Findings:
    survey = make_survey(defect, day=day)
    (answer,) = ask(replace(survey, wishes=wishes or Wishes())).defects
    return answer.findings[0]


def methods(one: Findings) -> list[str]:
    return [o.method for o in one.options]


def test_a_replacement_beside_a_lighter_plan_that_lasts_is_shown_for_comparison_behind_it() -> None:
    """R6."""
    options = found(band()).options
    compared = [o for o in options if o.comparison_only]
    assert [o.method for o in compared] == ["log_partial"]
    assert options[0].method == "face_veneer"
    assert "comparison" in compared[0].why


def test_of_two_replacements_only_one_is_compared_with() -> None:
    """R6: the partial one where it can be placed; the other is more than it needs."""
    one = found(band())
    assert "log_full" not in methods(one)
    assert [r.kind for r in one.ruled_out if r.method == "log_full"] == ["more_than_it_needs"]


def test_where_nothing_lighter_holds_the_replacement_is_the_plan_itself() -> None:
    through = make_defect("wall_mid", "through", section=10.0, length=60.0, clear_length=20 * FT)
    first = found(through).options[0]
    assert knowledge().methods[first.method].is_replacement
    assert not first.comparison_only


def test_a_stop_gap_stands_behind_whatever_lasts() -> None:
    """B9."""
    options = found(band()).options
    gaps = [o.rank for o in options if o.stop_gap]
    lasting = [o.rank for o in options if not o.stop_gap]
    assert gaps
    assert min(gaps) > max(lasting)


def test_a_plan_that_changes_the_look_ranks_after_its_twin_unless_the_look_does_not_matter() -> None:
    """R7: a sill in masonry in place of wood."""
    sill = make_defect("sill_log", "through", section=12.0, length=120.0, joists=4.0, clear_length=20 * FT)
    order = methods(found(sill))
    assert order.index("sill_needle") < order.index("sill_to_masonry")


def test_in_winter_the_same_plan_is_offered_now_in_a_heated_tent_and_later_in_the_warm() -> None:
    """R12: cold makes a plan wait, it does not rule it out."""
    options = [o for o in found(pocket(), day=JANUARY).options if o.method == "epoxy_fill"]
    assert {o.variant for o in options} == {"", "heated"}
    later = next(o for o in options if not o.variant)
    now = next(o for o in options if o.variant)
    assert any(d.reason == "cold" for d in later.delays)
    assert not any(d.reason == "cold" for d in now.delays)
    assert now.package.as_described > later.package.as_described
    assert later.clocks.lead_days > now.clocks.lead_days


def test_in_summer_there_is_nothing_to_heat() -> None:
    assert all(not o.variant for o in found(pocket()).options)


def test_what_cannot_be_had_before_the_latest_date_is_ruled_out_and_said() -> None:
    """R12: wood takes weeks, whatever is heated."""
    soon = Wishes(latest=JUNE + timedelta(days=3))
    one = found(band(), wishes=soon)
    assert "face_veneer" not in methods(one)
    assert [r.gate for r in one.ruled_out if r.method == "face_veneer"] == ["R12"]
    assert one.options


def test_a_latest_date_far_away_changes_nothing() -> None:
    far = Wishes(latest=JUNE + timedelta(days=700))
    assert found(band(), wishes=far).options == found(band()).options


@pytest.mark.parametrize(
    ("wishes", "terms"),
    [
        (Wishes(lifetime_cost=3.0), {"price"}),
        (Wishes(time_out_of_use=3.0), {"rooms", "roof", "use"}),
        (Wishes(look=3.0), {"match"}),
        (Wishes(heritage=3.0), {"heritage"}),
    ],
)
def test_what_the_owner_weighs_scales_its_own_terms_and_no_other(wishes: Wishes, terms: set[str]) -> None:
    """R29."""
    plain = {o.method: o for o in found(band()).options}
    wished = {o.method: o for o in found(band(), wishes=wishes).options}
    for method, option in plain.items():
        other = {t.code: t.amount for t in wished[method].score.terms}
        for one in option.score.terms:
            times = 3 if one.code in terms else 1
            assert float(other[one.code]) == pytest.approx(float(one.amount) * times, abs=0.02), (method, one.code)


def test_one_percent_away_from_every_gate_the_first_plan_stays() -> None:
    """R30."""
    plain = methods(found(band()))[0]
    for name in FACTS:
        for factor in (0.99, 1.01):
            assert methods(found(band(**{name: FACTS[name] * factor})))[0] == plain


def test_where_nothing_lasts_in_time_a_log_that_cannot_carry_is_shored_before_it_is_covered() -> None:
    """R26: a cover takes no load off."""
    soon = Wishes(latest=JUNE + timedelta(days=10))
    through = make_defect("wall_mid", "through", section=12.0, length=6 * FT, clear_length=22 * FT)
    assert methods(found(through, wishes=soon)) == ["temp_shore", "temp_cover"]
    assert methods(found(band(depth=7.0), wishes=soon))[0] == "temp_shore"


def test_where_most_of_a_log_still_carries_the_cheaper_stop_gap_stands_first() -> None:
    tail = make_defect("wall_mid", "band", section=12.0, depth=4.0, length=6 * FT, clear_length=22 * FT)
    soon = Wishes(latest=JUNE + timedelta(days=1))
    assert methods(found(tail, wishes=soon))[0] == "temp_cover"


def test_a_latest_date_never_takes_the_shore_away_and_says_what_it_took() -> None:
    """R12, R14: what could move is shored today, whatever the date; where nothing is left the sentence says why."""
    tomorrow = Wishes(latest=DAY + timedelta(days=1))
    split = replace(make_survey(make_defect("truss_bottom_chord", "split", section=12.0), level="told"), wishes=tomorrow)
    guard = replace(make_survey(make_defect("guard", "soft_wood", section=3.5), level="told"), wishes=tomorrow)
    shored = ask(split).defects[0].findings[0]
    closed = ask(guard).defects[0].findings[0]

    assert [o.method for o in shored.options] == ["temp_shore"]
    assert closed.headline.startswith("Nothing can be finished by the latest date. Today: ")


def test_a_plan_that_only_stands_once_it_is_opened_up_has_the_works_around_it_in_its_price() -> None:
    """Under a stair or a header the heavier plan waits for its permit or its wood too, on a shore, and needs the same way up."""
    for defect, heavier, parts in (
        (make_defect("stringer", "foot_rot"), "stair_replace", {"interim"}),
        (make_defect("header_log", "soft_wood"), "beam_replace", {"interim", "access"}),
    ):
        survey = make_survey(defect, level="told")
        looked = inquire(survey, defect, groups_of(defect)[0], book(), knowledge(), all_methods(), adjacent_courses=1)
        (plan_b,) = (one for one in looked.found if one.code == heavier)
        assert plan_b.likelier or not plan_b.offered
        assert plan_b.many is not None
        assert (looked.first == looked.found.index(plan_b)).any()
        assert parts <= {c.part for c in plan_b.many.charges if float(np.mean(c.amount)) > 0.0}


def test_what_is_first_in_most_cases_is_shown_with_its_price_behind_what_holds_as_described() -> None:
    """Of a visitor's post that is soft nearly a third up, a shore must not be all that he sees (R6, R13)."""
    post = make_defect("post_porch", "foot_rot", section=8.0, from_end=30.0, post_height=96.0)
    survey = make_survey(post, level="told")
    (answer,) = ask(survey).defects
    one = answer.findings[0]
    assert methods(one)[0] == "post_foot_splice"
    assert one.headline.startswith("More likely: post replaced,")
    (replaced,) = (o for o in one.options if o.method == "post_replace")
    assert replaced.comparison_only
    assert replaced.whole.range is not None
    assert "post_replace" not in {r.method for r in one.ruled_out}
    seen = found(stating(post, from_end=12.0))
    assert "post_replace" not in methods(seen)


@pytest.mark.parametrize(("area", "offered"), [(15.0, ["spot_refinish"]), (300.0, ["wall_refinish"])])
def test_a_spot_of_finish_brings_in_no_wall_though_no_finish_lasts_eight_years(area: float, offered: list[str]) -> None:
    """M38, M39: past a quarter of a wall it is blasted, below that a spot is blended in (common practice, no source)."""
    peeling = make_defect("wall_mid", "finish_fail", area=area, height=4.0, moisture=12.0)
    assert [o.method for o in found(peeling).options] == offered
