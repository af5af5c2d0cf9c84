"""The order of a job's work holds for whatever is asked together: nothing waits for itself, nothing starts too early."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import networkx as nx
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.strategies import SearchStrategy

from service.engine.outcome import JobStep
from service.engine.survey import Defect, Span, Survey
from tests.engine.cases import FT, make_defect, make_survey
from tests.engine.properties.asking import ask, tries
from tests.engine.properties.strategies import defects, numbered, surveys

ROUNDED = 0.011
"""Days of a step are written with two places."""
IN_EACH_OTHERS_WAY: Mapping[str, tuple[str, ...]] = {
    "wall": ("wall_mid", "wall_low", "sill_log", "header_log", "deck_ledger", "log_tail", "notch", "chink_line", "caulk_line"),
    "roof_area": ("truss_bottom_chord", "purlin", "rafter", "roof_deck", "post_interior"),
}
"""Members that lie on one wall or under one roof, where one has to wait for another."""


def _in_one_place(place: str, element: str) -> SearchStrategy[Defect]:
    """A defect of this member in the one place, in one of four courses or in none that anybody named."""

    def put(drawn: tuple[Defect, int]) -> Defect:
        defect, course = drawn
        numbers = {n: v for n, v in defect.numbers.items() if n not in ("course", "position")}
        if course:
            numbers["course"] = (Span(float(course), float(course)),)
        words = {n: v for n, v in defect.words.items() if n not in IN_EACH_OTHERS_WAY}
        return replace(defect, numbers=numbers, words={**words, place: ("A",)})

    return st.tuples(defects((element,), most=1), st.integers(0, 4)).map(put)


def crowded(place: str) -> SearchStrategy[Survey]:
    """A job of two to five defects that stand in each other's way."""
    one = st.sampled_from(IN_EACH_OTHERS_WAY[place]).flatmap(lambda element: _in_one_place(place, element))
    found = st.lists(one, min_size=2, max_size=5)
    return st.builds(lambda ds, level: make_survey(*numbered(ds), level=level), found, st.sampled_from(("visited", "opened")))


def is_in_order(steps: tuple[JobStep, ...]) -> None:
    """Hold a job's steps to what they wait for."""
    assert nx.is_directed_acyclic_graph(nx.DiGraph((before, step.n) for step in steps for before in step.after))
    at = {step.n: step for step in steps}
    for step in steps:
        for before in step.after:
            assert at[before].ends_day <= step.starts_day + ROUNDED, (at[before], step)


@tries(60)
@given(surveys(most=5))
def test_no_step_of_any_job_waits_for_itself_or_starts_before_what_it_waits_for(survey: Survey) -> None:
    is_in_order(ask(survey).job.order)


@tries(80)
@given(crowded("wall"))
def test_nor_does_one_where_everything_lies_on_one_wall(survey: Survey) -> None:
    is_in_order(ask(survey).job.order)


@tries(40)
@given(crowded("roof_area"))
def test_nor_does_one_where_everything_lies_under_one_roof(survey: Survey) -> None:
    is_in_order(ask(survey).job.order)


@tries(30)
@given(st.one_of(crowded("wall"), crowded("roof_area")))
def test_the_same_places_asked_in_another_order_are_the_same_job(survey: Survey) -> None:
    """P1: total, range, clocks and what is shared, to the cent and the quarter of a day."""
    plain, turned = ask(survey).job, ask(replace(survey, defects=numbered(survey.defects[::-1]))).job
    assert turned.total == plain.total
    assert turned.clocks == plain.clocks
    assert turned.parts == plain.parts
    assert [(s.what, s.together, s.alone) for s in turned.shared] == [(s.what, s.together, s.alone) for s in plain.shared]


def test_a_ledger_comes_off_before_the_log_below_it_is_cut() -> None:
    """B9: what hides the wall goes first, even where the lower course would."""
    log = make_defect(
        "wall_low", "through", section=10.0, length=72.0, clear_length=24 * FT, course=2.0, position=4.0, height=3.0,
        words={"wall": "A"},
    )
    ledger = make_defect(
        "deck_ledger", "pocket_deep", depth=1.5, length=96.0, section=9.25, course=3.0, position=4.0, words={"wall": "A"}
    )
    for both in ((log, ledger), (ledger, log)):
        steps = ask(make_survey(*numbered(both), level="opened")).job.order
        is_in_order(steps)
        main = {step.method: step for step in steps if step.phase == "main"}
        assert main["ledger_rebuild"].ends_day <= main["log_partial"].starts_day + ROUNDED
