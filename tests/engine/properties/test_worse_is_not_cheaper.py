"""Deeper, longer or higher: nothing gets cheaper, no light method comes back, nothing becomes less urgent."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import NamedTuple

from hypothesis import assume, given
from hypothesis import strategies as st
from hypothesis.strategies import DrawFn

from service.engine.outcome import DefectAnswer, Option
from service.engine.survey import Survey
from tests.engine.cases import knowledge
from tests.engine.properties.asking import ask, by_plan, single, stating, tries, with_defect
from tests.engine.properties.strategies import defects, surveys, tape

DECAY = tuple(c for c, d in knowledge().damages.items() if d.decayed and c != "through")


class Pair(NamedTuple):
    """The same survey twice, once worse."""

    better: Survey
    worse: Survey


@st.composite
def deeper(draw: DrawFn) -> Pair:
    """The same place, rotten deeper."""
    survey = draw(surveys(one=defects(damages=DECAY, most=1)))
    size = draw(tape(3.0, 18.0))
    first = draw(tape(0.125, size))
    second = draw(tape(first, size))
    if draw(st.booleans()):
        second = size
    base = stating(single(survey), section=size)
    base = replace(base, numbers={k: v for k, v in base.numbers.items() if k not in ("section_other", "section_loss")})
    return Pair(
        with_defect(survey, stating(base, depth=first)), with_defect(survey, stating(base, depth=second))
    )


@st.composite
def longer(draw: DrawFn) -> Pair:
    """The same place, rotten further along the grain."""
    survey = draw(surveys(one=defects(damages=DECAY, most=1)))
    first = draw(tape(1.0, 160.0))
    second = draw(tape(first, 200.0))
    bare = single(survey)
    bare = replace(bare, numbers={k: v for k, v in bare.numbers.items() if k not in ("stop_left", "stop_right")})
    base = stating(bare, clear_length=max(second, 6.0) + draw(tape(0.0, 150.0)))
    return Pair(
        with_defect(survey, stating(base, length=first)), with_defect(survey, stating(base, length=second))
    )


@st.composite
def higher(draw: DrawFn) -> Pair:
    """The same place, higher up."""
    survey = draw(surveys(one=defects(most=1)))
    first = draw(tape(0.0, 40.0))
    second = draw(tape(first, 40.0))
    base = single(survey)
    return Pair(
        with_defect(survey, stating(base, height=first)), with_defect(survey, stating(base, height=second))
    )


def both_plans(pair: Pair) -> list[tuple[Option, Option]]:
    """Plans that are offered in both."""
    (better,), (worse,) = (ask(s).defects[0].findings for s in pair)
    first, second = by_plan(better), by_plan(worse)
    return [(first[key], second[key]) for key in first if key in second]


def a_cent_a_line(option: Option) -> Decimal:
    """What rounding may move."""
    return Decimal("0.01") * (len(option.lines) + 1)


def answered(survey: Survey) -> DefectAnswer:
    """The one defect's answer, where nothing in it was a contradiction."""
    answer = ask(survey).defects[0]
    assume(answer.status == "priced")
    return answer


def not_cheaper(pair: Pair) -> None:
    for better, worse in both_plans(pair):
        least = better.package.as_described - a_cent_a_line(better)
        assert worse.package.as_described >= least, (better.method, better.package, worse.package)


@tries(70)
@given(deeper())
def test_the_same_method_is_never_cheaper_on_deeper_rot(pair: Pair) -> None:
    not_cheaper(pair)


@tries(70)
@given(longer())
def test_the_same_method_is_never_cheaper_on_longer_rot(pair: Pair) -> None:
    not_cheaper(pair)


@tries(70)
@given(st.one_of(deeper(), longer()))
def test_a_light_method_that_was_not_enough_never_comes_back(pair: Pair) -> None:
    (better,), (worse,) = (answered(s).findings for s in pair)
    offered = {o.method for o in worse.options}
    for out in better.ruled_out:
        record = knowledge().methods[out.method]
        if out.kind == "cannot" and record.role == "main" and not record.is_replacement:
            assert out.method not in offered, (out, [r for r in worse.ruled_out if r.method == out.method])


@tries(40)
@given(st.one_of(deeper(), longer()))
def test_urgency_and_escalations_never_go_away_when_it_gets_worse(pair: Pair) -> None:
    """P2 and P8."""
    better, worse = (answered(s) for s in pair)
    assert worse.findings[0].assessment.urgency <= better.findings[0].assessment.urgency
    assert {e.code for e in better.escalations} <= {e.code for e in worse.escalations}


@tries(70)
@given(higher())
def test_higher_up_is_never_cheaper_and_access_is_a_part_of_its_own(pair: Pair) -> None:
    """P3."""
    for better, worse in both_plans(pair):
        low, high = better.parts.get("access", Decimal(0)), worse.parts.get("access", Decimal(0))
        slack = a_cent_a_line(better)
        assert high >= low - slack, (better.method, low, high)
        assert worse.package.as_described >= better.package.as_described - slack, better.method
        assert all((line.norm or line.resource).startswith(("scaffold", "boom", "rope")) for line in worse.lines
                   if line.part == "access")
