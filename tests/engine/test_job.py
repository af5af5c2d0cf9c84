"""The roll-up: one plan is itself, several share, and what could not be answered is said."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal

import pytest

from service.engine.outcome import Answer
from service.engine.survey import Defect, House, Span
from tests.engine.books import book
from tests.engine.cases import FT, make_defect, make_survey
from tests.engine.properties.asking import ask
from tests.engine.properties.strategies import numbered

OUTER = {"side": "outer", "inner_face": "sound"}


def band(wall: str = "A", course: float = 3.0) -> Defect:
    return make_defect(
        "under_window", "band", depth=3.0, length=96.0, section=12.0, clear_length=24 * FT, height=3.0, course=course,
        words={"wall": wall, **OUTER},
    )


def caulk() -> Defect:
    return make_defect("caulk_line", "seal_fail_adh", length=48.0, height=3.0)


def impossible() -> Defect:
    return replace(band(), numbers={"section": (Span(10.0, 10.0),), "depth": (Span(14.0, 14.0),)})


def job(*defects: Defect, house: House | None = None) -> Answer:
    return ask(make_survey(*numbered(defects), house=house))


def test_a_job_of_one_plan_costs_that_plan() -> None:
    answer = job(band())
    plan = answer.defects[0].findings[0].options[0]
    assert answer.job.total.as_described == plan.whole.as_described == answer.job.stand_alone_sum
    assert answer.job.parts == plan.parts
    assert answer.job.chosen == {0: ("face_veneer",)}
    assert answer.job.shared == ()


def test_a_job_of_one_plan_that_is_first_in_every_world_has_the_range_of_that_plan() -> None:
    """Near the edge of half a day, where the hours decide what is paid beside the work (R22)."""
    line = make_defect("caulk_line", "seal_fail_adh", length=(240.0, 700.0), height=3.0)
    answer = job(line)
    plan, total = answer.defects[0].findings[0].options[0].whole.range, answer.job.total.range
    assert plan is not None and total is not None
    assert [float(p) for p in (total.p10, total.p50, total.p90)] == pytest.approx(
        [float(p) for p in (plan.p10, plan.p50, plan.p90)], rel=0.01
    )


def test_a_job_that_may_turn_out_small_has_the_minimum_charge_at_its_low_end() -> None:
    line = make_defect("caulk_line", "seal_fail_adh", length=(240.0, 700.0), height=3.0)
    total = job(line).job.total.range
    assert total is not None
    assert total.p10 == book().line("terms", "minimum_charge").likely < total.p50 < total.p90


def test_what_a_job_pays_beside_its_plans_is_in_its_range_with_its_own_spread() -> None:
    """The width of a job of one plan that holds as described is at least that of its mobilisation alone."""
    answer = job(replace(band(), numbers={**band().numbers, "moisture": (Span(15.0, 15.0),)}))
    total, tariff = answer.job.total.range, book().tariff("mobilisation")
    assert total is not None
    assert float(total.p90 - total.p10) > 2.0 * 1.28 * tariff.one * tariff.sd


def test_small_jobs_together_pay_less_than_a_minimum_each() -> None:
    """R22: a job is never charged more than its small jobs added."""
    answer = job(caulk(), caulk(), caulk())
    assert answer.job.total.as_described < answer.job.stand_alone_sum


def test_two_hours_of_work_each_pay_one_road() -> None:
    far = House({"distance": Span(60.0, 60.0)})
    one = job(caulk(), house=far).job
    two = job(caulk(), caulk(), house=far).job

    def miles(lines: object) -> Decimal:
        return sum((line.quantity for line in lines if line.resource == "truck_mile"), Decimal(0))  # type: ignore[attr-defined]

    assert miles(two.lines) == miles(one.lines) == 120


def test_a_rejected_defect_is_said_and_the_rest_is_added_up() -> None:
    answer = job(band(), impossible())
    assert [d.status for d in answer.defects] == ["priced", "rejected"]
    assert answer.job.total == job(band()).job.total
    assert not answer.job.complete
    assert answer.job.completeness == "incomplete: 1 of 2 rejected"


def test_a_job_of_nothing_but_impossible_defects_costs_nothing_and_says_so() -> None:
    answer = job(impossible())
    assert answer.job.total.as_described == 0
    assert answer.job.clocks is None
    assert answer.job.completeness == "incomplete: 1 of 1 rejected"


def test_pieces_whose_facts_differ_are_groups_and_all_of_them_are_in_the_job() -> None:
    """R35."""
    tails = make_defect("log_tail", "end_rot", count=2, tail=20.0, drip_line=12.0)
    tails = replace(tails, numbers={**tails.numbers, "from_end": (Span(3.0, 3.0), Span(15.0, 15.0))})
    answer = job(tails)
    assert [f.pieces for f in answer.defects[0].findings] == [(1,), (2,)]
    assert len(answer.job.chosen[0]) == 2


def test_the_lead_of_a_job_is_the_longest_and_never_the_sum() -> None:
    answer = job(band(), caulk())
    alone = [f.options[0].clocks.lead_days for d in answer.defects for f in d.findings]
    assert answer.job.clocks is not None
    assert answer.job.clocks.lead_days == max(alone)


def test_crew_days_of_a_job_are_at_most_those_of_its_plans() -> None:
    answer = job(band(), band("A", 4.0), caulk())
    alone = [f.options[0].clocks.crew_days for d in answer.defects for f in d.findings]
    assert answer.job.clocks is not None
    assert max(alone) <= answer.job.clocks.crew_days <= sum(alone) + 0.5


def test_the_wood_of_a_job_is_that_of_all_its_plans() -> None:
    answer = job(band(), band("B"))
    feet = sum(p.volume[1].value for d in answer.defects for f in d.findings for p in f.options[0].wood)
    assert answer.job.wood_volume[1].value == feet


def test_what_is_worth_doing_while_the_access_stands_is_said_only_where_one_stands() -> None:
    high = replace(band(), numbers={**band().numbers, "height": (Span(16.0, 16.0),)})
    assert job(high).job.while_access_stands
    assert not job(band()).job.while_access_stands


def test_the_range_of_a_job_is_narrower_than_its_ranges_added() -> None:
    """Defects under different leaks do not all go wrong at once."""
    one, other = band(), make_defect("post_porch", "foot_rot", section=8.0, depth=2.0, from_end=4.0, post_height=96.0)
    together = job(one, other).job.total.range
    apart = [job(d).job.total.range for d in (one, other)]
    assert together is not None
    assert together.p90 - together.p10 < sum((r.p90 - r.p10 for r in apart if r is not None), Decimal(0))


def test_the_job_says_in_a_sentence_what_it_comes_to_and_when_it_is_over() -> None:
    answer = job(band(), caulk())
    total, clocks = answer.job.total, answer.job.clocks
    assert total.range is not None and clocks is not None
    assert answer.job.headline.startswith("2 defects together: about $")
    low, high = re.findall(r"\$([\d,]+) to \$([\d,]+)", answer.job.headline)[0]
    assert int(low.replace(",", "")) == pytest.approx(float(total.range.p10), rel=0.01)
    assert int(high.replace(",", "")) == pytest.approx(float(total.range.p90), rel=0.01)
    assert clocks.finish.isoformat() in answer.job.headline
    assert "incomplete" not in answer.job.headline


def test_the_sentence_on_a_job_says_what_is_missing() -> None:
    assert job(band(), impossible()).job.headline.endswith("incomplete: 1 of 2 rejected")
    assert job(impossible()).job.headline == "Nothing could be priced."
