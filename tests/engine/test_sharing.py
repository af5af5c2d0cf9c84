"""What a job pays once: by geometry, the same wall shares and another wall does not."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import box
from shapely.ops import unary_union

from service.engine.neighbours import ROOF_MARGIN_FT, Interval, union_ft2
from service.engine.outcome import Answer
from service.engine.survey import CauseSeen, Defect
from tests.engine.cases import FT, make_defect, make_survey
from tests.engine.properties.asking import ask
from tests.engine.properties.strategies import numbered

OUTER = {"side": "outer", "inner_face": "sound"}


def band(wall: str, course: float, position: float, height: float = 16.0) -> Defect:
    """A band of rot high up on a wall."""
    return make_defect(
        "wall_high", "band", depth=3.0, length=60.0, section=10.0, clear_length=24 * FT, height=height, course=course,
        position=position, words={"wall": wall, **OUTER},
    )


def chord(roof_area: str, position: float) -> Defect:
    """A chord to be renewed under an opened roof."""
    return make_defect(
        "truss_bottom_chord", "through", section=10.0, length=80.0, span=24.0, position=position, opening_area=150.0,
        words={"roof_area": roof_area, "roof_cover": "metal"}, flags={"bearing_failed": True},
    )


def job(*defects: Defect) -> Answer:
    return ask(make_survey(*numbered(defects)))


def part(answer: Answer, name: str) -> Decimal:
    return answer.job.parts.get(name, Decimal(0))


def alone(name: str, *defects: Defect) -> Decimal:
    return sum((part(job(one), name) for one in defects), Decimal(0))


def test_defects_on_one_wall_share_one_scaffold() -> None:
    two = band("A", 9.0, 2.0), band("A", 11.0, 12.0)
    assert part(job(*two), "access") < alone("access", *two)
    assert any("access" in s.what for s in job(*two).job.shared)


def test_defects_on_two_walls_pay_a_scaffold_each() -> None:
    two = band("A", 9.0, 2.0), band("B", 9.0, 2.0)
    together, apart = part(job(*two), "access"), alone("access", *two)
    assert float(together) == pytest.approx(float(apart), abs=0.05)
    assert not any("access" in s.what for s in job(*two).job.shared)


def test_one_scaffold_costs_no_less_than_the_dearer_of_the_two_would() -> None:
    low, high = band("A", 9.0, 2.0, height=12.0), band("A", 11.0, 12.0, height=18.0)
    assert part(job(low, high), "access") >= max(alone("access", low), alone("access", high)) - Decimal("0.05")


def test_mobilisation_is_paid_once_a_job_wherever_the_defects_are() -> None:
    two = band("A", 9.0, 2.0), band("B", 9.0, 2.0)
    lines = [line for line in job(*two).job.lines if line.resource == "mobilisation"]
    assert len(lines) == 1
    assert lines[0].quantity == 1


def test_what_sharing_saves_is_said_with_what_each_alone_would_have_paid() -> None:
    for row in job(band("A", 9.0, 2.0), band("A", 11.0, 12.0)).job.shared:
        assert row.together < row.alone
        assert row.basis
        assert row.defects


def test_chords_under_one_roof_area_open_it_once() -> None:
    two = chord("R", 4.0), chord("R", 10.0)
    assert part(job(*two), "roof_opening") < alone("roof_opening", *two)


def test_chords_under_two_roof_areas_open_two() -> None:
    two = chord("R", 4.0), chord("S", 4.0)
    assert float(part(job(*two), "roof_opening")) == pytest.approx(float(alone("roof_opening", *two)), abs=0.05)


def strips() -> st.SearchStrategy[tuple[Interval, float]]:
    return st.tuples(st.integers(0, 60), st.integers(0, 20), st.integers(10, 600)).map(
        lambda t: (Interval(float(t[0]), float(t[0] + t[1])), float(t[2]))
    )


@settings(max_examples=100, deadline=None, database=None)
@given(st.lists(strips(), min_size=1, max_size=6))
def test_the_union_of_roof_openings_is_that_of_their_rectangles(openings: list[tuple[Interval, float]]) -> None:
    """Against shapely: strips from one eave, torn back five feet to each side."""
    boxes = []
    for stretch, area in openings:
        left, right = stretch.start - ROOF_MARGIN_FT, stretch.end + ROOF_MARGIN_FT
        boxes.append(box(left, 0.0, right, area / (right - left)))
    assert union_ft2(openings) == pytest.approx(unary_union(boxes).area, rel=1e-9)


def test_an_opening_whose_place_nobody_gave_is_counted_in_full() -> None:
    assert union_ft2([(None, 100.0), (None, 50.0)]) == 150.0


def test_trusses_that_must_be_shored_today_pay_a_shore_each() -> None:
    """No shore holds up a truss eight feet away, and all of them stand at the same time."""
    two = chord("R", 4.0), chord("R", 12.0)
    together, apart = part(job(*two), "interim"), alone("interim", *two)
    assert 0.9 * float(apart) < float(together) < float(apart), "two alike save a little on their hours (R21)"


def test_what_lies_across_shored_trusses_is_held_from_their_towers() -> None:
    purlin = make_defect(
        "purlin", "band", section=10.0, depth=6.5, length=80.0, span=12.0, position=4.0, opening_area=120.0,
        words={"roof_area": "R", "roof_cover": "metal"},
    )
    three = chord("R", 4.0), chord("R", 12.0), purlin
    assert part(job(purlin), "interim") > 0
    shores = [s for s in job(*three).job.order if s.method == "temp_shore"]
    assert {2} < {d for s in shores for d in s.defects if 2 in s.defects} < {0, 1, 2}
    assert len(shores) == 2


def leaking(cause: str, element: str = "wall_high", **words: str) -> Defect:
    """A soft place with a cause that somebody saw."""
    return make_defect(
        element, "soft_wood", section=11.0, depth=3.0, length=30.0, words=words, causes=[CauseSeen(cause, "open")]
    )


@pytest.mark.parametrize(("places", "corrections"), [
    ([{"wall": "N"}, {"roof_area": "R1"}], 1), ([{"wall": "N"}, {}], 1), ([{}, {}], 1), ([{"wall": "N"}, {"wall": "S"}], 2),
    ([{"roof_area": "R1"}, {"roof_area": "R2"}], 2), ([{"wall": "N"}, {"wall": "S"}, {"roof_area": "R1"}], 2),
])
def test_one_leak_is_mended_once_where_nothing_says_that_it_is_another(places: list[dict[str, str]], corrections: int) -> None:
    leaks = [leaking("K10", "purlin" if "roof_area" in place else "wall_high", **place) for place in places]
    each = alone("correction", leaks[0])
    assert each > 0
    assert part(job(*leaks), "correction") == corrections * each
    assert part(job(*reversed(leaks)), "correction") == corrections * each


def test_every_window_that_leaks_gets_its_own_flashing_unless_it_is_said_to_be_the_same_place() -> None:
    one, other = leaking("K09", wall="N"), leaking("K09")
    assert part(job(one, other), "correction") == 2 * alone("correction", one)


def test_every_flat_top_gets_its_own_cap() -> None:
    tail, corner = leaking("K07", "wall_high", wall="N"), leaking("K07", "wall_mid", wall="N")
    assert part(job(tail, corner), "correction") == alone("correction", tail, corner)
