"""The order of the work of a job, and what a face of a wall shares (E16, B9)."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import Any

from service.engine.outcome import Job, JobStep
from service.engine.quote import quote
from service.engine.registry import all_methods
from service.engine.survey import Defect, Span
from tests.engine.books import book
from tests.engine.cases import FT, knowledge, make_defect, make_survey


def job_of(*defects: Defect) -> Job:
    """The roll-up of these defects, numbered in their order."""
    numbered = [replace(d, index=k, id=str(k)) for k, d in enumerate(defects)]
    return quote(make_survey(*numbered), book(), knowledge(), all_methods()).job


def on_north(element: str, damage: str, **numbers: Any) -> Defect:
    """A defect on the north wall."""
    return make_defect(element, damage, words={"wall": "north", "finish": "film"}, **numbers)


FACE = on_north("wall_low", "band", section=12.0, depth=3.0, length=6 * FT, clear_length=24 * FT, moisture=16.0)
FINISH = on_north("wall_mid", "finish_fail", area=500.0)
CHINK = on_north("chink_line", "seal_fail_coh", length=60 * FT, height=5.0)


def step_of(job: Job, method: str) -> JobStep:
    """The main step of a method."""
    return next(s for s in job.order if s.method == method and s.phase == "main")


def test_wood_comes_before_blasting_and_blasting_before_sealant_whatever_the_order_of_asking() -> None:
    """Wood, blast, stain, then sealant and chink (B9)."""
    for defects in ((CHINK, FINISH, FACE), (FACE, FINISH, CHINK)):
        job = job_of(*defects)
        wood, blast, chink = (step_of(job, m) for m in ("face_veneer", "wall_refinish", "rechink"))
        assert wood.ends_day <= blast.starts_day
        assert blast.ends_day <= chink.starts_day


def test_another_wall_is_finished_without_waiting_for_the_wood_of_this_one() -> None:
    south = make_defect("wall_mid", "finish_fail", words={"wall": "south", "finish": "film"}, area=500.0)
    job = job_of(FACE, south)
    assert step_of(job, "wall_refinish").starts_day < step_of(job, "face_veneer").ends_day


def test_a_wall_that_is_finished_as_a_whole_pays_for_no_blended_spots() -> None:
    """One refinish a face (E16)."""
    shared = next(s for s in job_of(FACE, FINISH).shared if s.what == "spot finish")
    assert shared.together == 0
    assert shared.alone > 0


def test_one_scaffold_is_put_up_for_all_work_on_a_face() -> None:
    high = [on_north("wall_high", "pocket_deep", section=11.0, depth=2.0, length=9.0, width=6.0, height=h) for h in (14.0, 15.0)]
    job = job_of(*high)
    scaffold = [s for s in job.order if s.phase == "access"]
    assert len(scaffold) == 1
    assert all(scaffold[0].ends_day <= s.starts_day for s in job.order if s.phase == "main")


def test_labour_of_a_job_is_named_by_its_trade() -> None:
    labour = [line for line in job_of(FACE, FINISH).lines if line.resource in ("lead", "carpenter", "finisher")]
    assert labour
    assert all(line.what == book().line("resources", line.resource).what for line in labour)


def test_posts_of_one_porch_are_done_one_after_the_other_and_none_is_left_half_cut() -> None:
    """One at a time (G26, R27), whatever else the crew could go to."""
    posts = replace(
        make_defect("post_porch", "foot_rot", section=8.0, post_height=96.0, count=3),
        numbers={"section": (Span(8.0, 8.0),), "from_end": tuple(Span(x, x) for x in (5.0, 7.0, 9.0))},
    )
    job = job_of(posts, on_north("sill_log", "band", section=12.0, depth=9.0, length=9 * FT, moisture=31.0))
    feet = sorted((s.starts_day, s.ends_day) for s in job.order if s.method == "post_foot_splice" and s.phase == "main")
    assert len(feet) == 3
    assert all(ends <= starts for (_, ends), (starts, _) in pairwise(feet))
    assert all(ends - starts < 5.0 for starts, ends in feet)


def test_the_ledger_comes_off_before_the_wall_behind_it_is_worked_on() -> None:
    """Never the ledger after the wall that it hides (B9)."""
    wall = on_north("wall_low", "band", section=12.0, depth=8.0, length=6 * FT, clear_length=24 * FT, position=4.0)
    for position, waits in ((4.0, True), (14.0, False)):
        ledger = on_north("deck_ledger", "soft_wood", length=6 * FT, position=position)
        job = job_of(wall, ledger)
        assert (step_of(job, "ledger_rebuild").n in step_of(job, "log_partial").after) is waits


def test_the_roof_deck_is_closed_after_the_ends_and_rafters_under_it_are_mended() -> None:
    """B9: structure bottom up, the deck that closes it last."""
    def under(element: str, damage: str, **numbers: Any) -> Defect:
        return make_defect(element, damage, words={"roof_area": "north"}, height=13.0, **numbers)

    deck = under("roof_deck", "soft_wood", area=60.0)
    tail = under("purlin", "end_rot", from_end=5.0, tail=20.0, section=10.0)
    rafters = under("rafter", "soft_wood", count=2, depth=1.0, length=36.0, section=8.0)
    for defects in ((deck, tail, rafters), (rafters, tail, deck)):
        job = job_of(*defects)
        closed = step_of(job, "roof_deck_replace").starts_day
        assert all(step_of(job, method).ends_day <= closed for method in ("tail_renew", "sister"))
