"""The order of a job's work: one at a time where cutting two at once would bring something down (G26, R27)."""

from __future__ import annotations

from itertools import pairwise

import networkx as nx
import pytest

from service.engine.outcome import JobStep
from service.engine.survey import CauseSeen, Defect
from tests.engine.cases import FT, make_defect, make_survey
from tests.engine.properties.asking import ask
from tests.engine.properties.strategies import numbered


def log(course: float, wall: str = "A") -> Defect:
    """A log rotted through, to be cut out over part of its length."""
    return make_defect(
        "wall_low", "through", section=10.0, length=72.0, clear_length=24 * FT, course=course, position=4.0, height=3.0,
        words={"wall": wall},
    )


def post() -> Defect:
    return make_defect("post_porch", "through", section=8.0, length=60.0, from_end=70.0, post_height=96.0)


def truss(position: float, roof_area: str = "R") -> Defect:
    return make_defect(
        "truss_bottom_chord", "through", section=10.0, length=80.0, span=24.0, position=position, opening_area=150.0,
        words={"roof_area": roof_area, "roof_cover": "metal"}, flags={"bearing_failed": True},
    )


def order(*defects: Defect) -> tuple[JobStep, ...]:
    return ask(make_survey(*numbered(defects), level="opened")).job.order


def main_days(steps: tuple[JobStep, ...], defect: int) -> tuple[float, float]:
    """First and last day of the main work on a defect."""
    mine = [s for s in steps if s.defects == (defect,) and s.phase in ("main", "finish")]
    return min(s.starts_day for s in mine), max(s.ends_day for s in mine)


def overlap(steps: tuple[JobStep, ...], one: int, other: int) -> bool:
    (a, b), (c, d) = main_days(steps, one), main_days(steps, other)
    return a < d - 0.011 and c < b - 0.011


@pytest.mark.parametrize(
    "defects",
    [(log(2.0), log(3.0)), (log(3.0), log(2.0)), (log(2.0), log(3.0), log(4.0)), (post(), post()),
     (truss(4.0), truss(12.0))],
    ids=["courses", "courses, upper named first", "three courses", "posts", "trusses"],
)
def test_neighbouring_courses_posts_and_trusses_are_cut_one_after_the_other(defects: tuple[Defect, ...]) -> None:
    steps = order(*defects)
    for one in range(len(defects)):
        for other in range(one):
            assert not overlap(steps, one, other)


def test_the_lower_course_is_finished_before_the_upper_is_cut_whichever_is_named_first() -> None:
    for upper, defects in ((1, (log(2.0), log(3.0))), (0, (log(3.0), log(2.0)))):
        steps = order(*defects)
        assert main_days(steps, 1 - upper)[1] <= main_days(steps, upper)[0] + 0.011


def test_courses_of_two_walls_may_be_open_at_once() -> None:
    """One crew works elsewhere while a cure or the wood runs, so nothing has to wait for the other wall."""
    steps = order(log(2.0, "A"), log(3.0, "B"))
    first_of = {s.n: s.defects for s in steps}
    for step in steps:
        assert all(first_of[before] == step.defects for before in step.after)


def test_water_is_stopped_before_wood_is_closed_in() -> None:
    """B9, G23."""
    leak = make_defect(
        "under_window", "band", depth=3.0, length=96.0, section=12.0, clear_length=24 * FT, height=3.0,
        words={"side": "outer", "inner_face": "sound"}, causes=[CauseSeen("K09", "in_price")],
    )
    steps = order(leak, log(2.0))
    mended = max(s.ends_day for s in steps if s.phase == "correction" and s.defects == (0,))
    assert mended <= main_days(steps, 0)[0] + 0.011


def test_no_step_of_a_job_starts_before_those_that_it_waits_for_are_over() -> None:
    steps = order(log(2.0), log(3.0), post(), truss(4.0))
    assert nx.is_directed_acyclic_graph(nx.DiGraph((b, s.n) for s in steps for b in s.after))
    at = {s.n: s for s in steps}
    for step in steps:
        assert all(at[b].ends_day <= step.starts_day + 0.011 for b in step.after)
    assert all(one.starts_day <= other.starts_day for one, other in pairwise(steps))


def test_a_lower_log_carries_before_one_two_courses_up_is_cut() -> None:
    """Wall logs are replaced bottom up, the new one loaded before the next is cut, whatever lies between them (G26)."""
    steps = order(log(4.0), log(2.0))
    assert main_days(steps, 1)[1] <= main_days(steps, 0)[0] + 0.011


def test_what_could_give_way_today_is_shored_before_anything_else_is_covered_or_shored() -> None:
    """U0 is to be shored today (R14), wherever it stands in the list of who asks."""
    leak = make_defect("wall_low", "band", depth=7.0, length=72.0, section=12.0, clear_length=24 * FT, moisture=30.0, height=3.0)
    interim = [s for s in order(leak, truss(4.0)) if s.phase == "interim"]
    assert {d for s in interim for d in s.defects} == {0, 1}
    assert interim[0].defects == (1,)


def test_wood_under_a_shared_leak_waits_until_the_leak_is_mended_on_another_plan() -> None:
    """Water first, whoever's price holds it (G23)."""
    shower = [CauseSeen("K14", "in_price")]
    low, high = (
        make_defect(
            "wall_low", "through", section=10.0, length=72.0, clear_length=24 * FT, course=course, position=position,
            height=3.0, words={"wall": "A"}, causes=shower,
        )
        for course, position in ((2.0, 0.0), (2.0, 14.0))
    )
    steps = order(low, high)
    (mended,) = (s for s in steps if s.phase == "correction")
    assert mended.defects == (0, 1)
    for defect in (0, 1):
        first = min((s for s in steps if s.defects == (defect,) and s.phase == "main"), key=lambda s: s.starts_day)
        assert mended.n in first.after
