"""Answers as wholes: the same twice, whatever the order; bad values beside good ones; what may move what."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from hypothesis import assume, given
from hypothesis import strategies as st
from hypothesis.strategies import DrawFn

from service.engine.neighbours import adjacent_courses
from service.engine.outcome import DefectAnswer, Findings, Option, Price
from service.engine.survey import CauseSeen, Defect, House, Survey, Wishes, WoodOnHand
from tests.engine.books import DAY
from tests.engine.properties.asking import ask, by_plan, findings, single, tries, with_defect
from tests.engine.properties.strategies import (
    Bad,
    bad_defects,
    defects,
    numbered,
    surveys,
    wishes,
)

OWN = ("package", "interim", "correction")


@tries(40)
@given(surveys(most=3))
def test_the_same_survey_has_the_same_answer(survey: Survey) -> None:
    assert ask(survey) == ask(survey)


@tries(40)
@given(surveys(most=3), st.randoms(use_true_random=False))
def test_the_order_of_the_defects_does_not_matter(survey: Survey, chance: object) -> None:
    """P1; its other half, metric against imperial, is a matter of the wire."""
    order = list(range(len(survey.defects)))
    chance.shuffle(order)  # type: ignore[attr-defined]
    plain = ask(survey)
    turned = ask(replace(survey, defects=numbered([survey.defects[k] for k in order])))
    for place, k in enumerate(order):
        assert turned.defects[place].findings == plain.defects[k].findings
        assert turned.defects[place].causes == plain.defects[k].causes
    assert abs(turned.job.total.as_described - plain.job.total.as_described) <= Decimal("0.01") * len(plain.job.lines)


def _dearest(answers: tuple[DefectAnswer, ...]) -> Decimal:
    firsts = [f.options[0] for a in answers for f in a.findings if f.options]
    return max((sum((o.parts.get(p, Decimal(0)) for p in OWN), Decimal(0)) for o in firsts), default=Decimal(0))


@tries(40)
@given(surveys(most=4))
def test_a_job_costs_at_most_its_parts_and_at_least_its_dearest(survey: Survey) -> None:
    """P4."""
    answer = ask(survey)
    total = answer.job.total.as_described
    assert total <= answer.job.stand_alone_sum
    assert total >= _dearest(answer.defects) - Decimal("0.01") * len(answer.job.lines)
    assert total == sum((line.amount for line in answer.job.lines), Decimal(0))
    assert total == sum(answer.job.parts.values(), Decimal(0))
    span = answer.job.total.range
    assert span is None or span.p10 <= span.p50 <= span.p90


@tries(50)
@given(surveys(most=2), defects())
def test_another_defect_changes_the_others_only_where_courses_lie_together(survey: Survey, more: Defect) -> None:
    """P4: the one named interaction of options is neighbouring courses past a third."""
    grown = replace(survey, defects=numbered([*survey.defects, more]))
    alone, together = ask(survey), ask(grown)
    for k, answer in enumerate(alone.defects):
        if adjacent_courses(survey.defects, k) == adjacent_courses(grown.defects, k):
            assert together.defects[k] == answer


@st.composite
def good_and_bad(draw: DrawFn) -> tuple[Survey, Bad]:
    """A sound survey, and a defect with one bad value."""
    return draw(surveys()), draw(bad_defects())


@tries(40)
@given(good_and_bad())
def test_a_bad_value_is_named_and_the_other_defects_are_answered(both: tuple[Survey, Bad]) -> None:
    """P9."""
    survey, bad = both
    alone = ask(survey)
    mixed = ask(replace(survey, defects=numbered([single(survey), bad.defect])))
    assert mixed.defects[0].findings == alone.defects[0].findings or _neighbours(survey, bad)
    spoilt = mixed.defects[1]
    slips = [s for s in spoilt.slips if s.path[0] == bad.field]
    assert slips, (bad.field, spoilt.slips)
    assert all(s.wrong and s.right for s in slips)
    assert (spoilt.status == "rejected") is bad.fatal
    assert bool(spoilt.findings) is not bad.fatal
    assert (mixed.job.completeness == "complete") is (not bad.fatal and mixed.job.complete)


def _neighbours(survey: Survey, bad: Bad) -> bool:
    one = single(survey)
    return "course" in one.numbers and "course" in bad.defect.numbers


@tries(40)
@given(surveys(), wishes())
def test_no_plan_is_liked_for_what_it_costs(survey: Survey, wish: Wishes) -> None:
    """Every term of the score is a cost, whatever the owner weighs: a small weight makes it count less, never for the plan."""
    for found in findings(ask(replace(survey, wishes=wish))):
        assert all(term.amount >= 0 for o in found.options for term in o.score.terms)


@tries(70)
@given(surveys(), wishes())
def test_nothing_that_was_ruled_out_is_offered_whatever_the_owner_weighs(survey: Survey, wish: Wishes) -> None:
    """P10, group by group."""
    plain, wished = ask(survey), ask(replace(survey, wishes=wish))
    for one, other in zip(findings(plain), findings(wished), strict=True):
        assert {o.method for o in one.options}.isdisjoint(r.method for r in one.ruled_out)
        assert one.ruled_out == other.ruled_out
        assert by_plan(one).keys() == by_plan(other).keys()
        assert all(r.why and r.gate for r in one.ruled_out)


def forbidden(found: Findings) -> dict[str, str]:
    """What physics, safety or law strikes out, and by which gate."""
    return {r.method: r.gate for r in found.ruled_out if r.kind == "cannot"}


@tries(40)
@given(surveys(), st.integers(1, 12), st.booleans())
def test_winter_people_and_wood_on_hand_move_no_gate(survey: Survey, month: int, occupied: bool) -> None:
    """P11."""
    numbers = {k: v for k, v in survey.house.numbers.items() if k not in ("wood_temperature", "forecast_low", "month")}
    words = {k: v for k, v in survey.house.words.items() if k != "snow"}
    plain = replace(survey, house=House(numbers, words, survey.house.flags))
    dry = WoodOnHand("log", 10.0, 240.0, 12.0, None, 4, core_checked=True)
    flags = {**survey.house.flags, "occupied": occupied}
    changed = replace(plain, house=House(numbers, words, flags, {}, (dry,)), priced_on=DAY.replace(month=month))
    for one, other in zip(findings(ask(plain)), findings(ask(changed)), strict=True):
        assert forbidden(one) == forbidden(other)


@tries(40)
@given(surveys(), st.sampled_from(("registered", "eased")))
def test_a_listing_lets_nothing_through_that_physics_forbids(survey: Survey, heritage: str) -> None:
    """P11: who approves may forbid more, never less."""
    words = {k: v for k, v in survey.house.words.items() if k != "heritage"}
    plain = replace(survey, house=replace(survey.house, words=words))
    listed = replace(survey, house=replace(survey.house, words={**words, "heritage": heritage}))
    for one, other in zip(findings(ask(plain)), findings(ask(listed)), strict=True):
        by_physics = {method for method, gate in forbidden(one).items() if gate.startswith("G")}
        assert by_physics <= {r.method for r in other.ruled_out}


def relative(option: Option) -> float | None:
    """Width of the package's range against its middle."""
    span = option.package.range
    return float((span.p90 - span.p10) / span.p50) if span and span.p50 else None


@tries(50)
@given(surveys(one=defects(most=1)), st.sampled_from((("told", "visited"), ("visited", "opened"), ("opened", "cut_out"))))
def test_looking_closer_narrows_the_range_of_a_plan_that_holds_either_way(survey: Survey, levels: tuple[str, str]) -> None:
    """P5 on the width against the middle, to a tenth.

    Less growth also lowers the middle that the width is measured by, and where a stop or the size of the member ends the
    growth it lowers the low end alone. What holds without a tolerance is the test below.
    """
    far, near = (next(findings(ask(replace(survey, level=level)))) for level in levels)
    before, after = by_plan(far), by_plan(near)
    for key in before.keys() & after.keys():
        if before[key].holds == after[key].holds == 1.0:
            wide, narrow = relative(before[key]), relative(after[key])
            if wide is not None and narrow is not None:
                assert narrow <= wide * 1.10 + 1e-6, (key, wide, narrow)


def points(price: Price) -> tuple[Decimal, ...]:
    """10, 50 and 90 % point of a price, none where it has no range."""
    return (price.range.p10, price.range.p50, price.range.p90) if price.range else ()


@tries(80)
@given(surveys(one=defects(most=1)), st.sampled_from((("told", "visited"), ("visited", "opened"), ("opened", "cut_out"))))
def test_looking_closer_raises_no_point_of_the_range_of_a_plan_that_holds_either_way(
    survey: Survey, levels: tuple[str, str]
) -> None:
    """P5, exactly: the package as described stays, and all of the range comes down towards it or further below it.

    What may still be found on opening up, from the price as described to the 90 % point, only gets less. A range that is
    wider than before is so at its low end alone. The whole holds a set-up whose shape is taken to its fourth cumulant: there a
    thousandth is left to arithmetic.
    """
    far, near = (next(findings(ask(replace(survey, level=level)))) for level in levels)
    before, after = by_plan(far), by_plan(near)
    for key in before.keys() & after.keys():
        if before[key].holds == after[key].holds == 1.0:
            assert after[key].package.as_described == before[key].package.as_described
            for part, room in (("package", Decimal(1)), ("whole", Decimal("1.001"))):
                wide, narrow = points(getattr(before[key], part)), points(getattr(after[key], part))
                assert all(now <= then * room for then, now in zip(wide, narrow, strict=True)), (key, part, wide, narrow)


@tries(40)
@given(surveys(one=defects(most=1)), st.sampled_from((("visited", "opened"), ("opened", "cut_out"))))
def test_looking_closer_lowers_the_contingency(survey: Survey, levels: tuple[str, str]) -> None:
    """P5, as ruled: from the visit on; before it there is a range and no contingency."""
    told = ask(replace(survey, level="told"))
    assert all("contingency" not in o.parts for f in findings(told) for o in f.options)
    far, near = (next(findings(ask(replace(survey, level=level)))) for level in levels)
    before, after = by_plan(far), by_plan(near)
    for key in before.keys() & after.keys():
        first, second = (o[key].parts.get("contingency", Decimal(0)) for o in (before, after))
        assert second <= first
        assert second < first or first == 0


@tries(40)
@given(surveys(one=defects(most=1)), st.sampled_from(("K02", "K05", "K09", "K10")))
def test_declining_a_cause_only_takes_away(survey: Survey, code: str) -> None:
    """P6: the plan without the correction never lasts longer, and no gate moves."""
    seen = single(survey)
    mended, refused = (
        next(findings(ask(with_defect(survey, replace(seen, causes=(CauseSeen(code, state),))))))
        for state in ("in_price", "declined")
    )
    assume(mended.options)
    assert forbidden(mended) == forbidden(refused)
    before, after = by_plan(mended), by_plan(refused)
    for key in before.keys() & after.keys():
        assert after[key].life == replace(before[key].life, used="not_corrected")
        assert after[key].parts.get("correction", Decimal(0)) <= before[key].parts.get("correction", Decimal(0))
