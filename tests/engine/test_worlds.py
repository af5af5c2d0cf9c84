"""What nobody said becomes a distribution: PERT quantiles against scipy's beta, growth, stops, groups of pieces."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from service.engine.chance import normal_below, pert_moments, pert_quantile
from service.engine.survey import Span
from service.engine.worlds import DIMENSIONS, groups_of
from tests.engine.cases import FT, knowledge, make_case, make_defect

SHAPES = ((1.0, 1.5, 2.0), (1.0, 1.6, 2.5), (8.0, 10.0, 14.0), (0.0, 0.1, 5.0), (2.0, 2.0, 9.0), (2.0, 9.0, 9.0))


def beta(low: float, likely: float, high: float) -> stats.rv_continuous:
    """The PERT as a beta of shape 4 (Malcolm et al. 1959, Operations Research 7(5); Vose, Risk Analysis, PERT)."""
    a = 1.0 + 4.0 * (likely - low) / (high - low)
    b = 1.0 + 4.0 * (high - likely) / (high - low)
    return stats.beta(a, b, loc=low, scale=high - low)


@pytest.mark.parametrize("shape", SHAPES)
def test_quantiles_are_those_of_a_beta_of_shape_four(shape: tuple[float, float, float]) -> None:
    u = np.array([0.004, 0.1, 0.25, 0.5, 0.75, 0.9, 0.996])
    got = pert_quantile(*shape, u)
    assert np.allclose(got, beta(*shape).ppf(u), rtol=0.0, atol=2e-3 * (shape[2] - shape[0]))


@pytest.mark.parametrize("shape", SHAPES)
def test_one_probability_and_many_give_the_same_quantile(shape: tuple[float, float, float]) -> None:
    many = pert_quantile(*shape, np.array([0.3, 0.5]))
    assert [pert_quantile(*shape, 0.3), pert_quantile(*shape, 0.5)] == pytest.approx(list(np.asarray(many)))


@pytest.mark.parametrize("shape", SHAPES)
def test_moments_are_those_of_a_beta_of_shape_four(shape: tuple[float, float, float]) -> None:
    mean, deviation = pert_moments(*shape)
    assert mean == pytest.approx(beta(*shape).mean(), rel=1e-12)
    assert deviation == pytest.approx(beta(*shape).std(), rel=1e-12)


def test_shares_of_a_normal_distribution_are_those_of_scipy() -> None:
    z = np.linspace(-9.0, 9.0, 3701)
    assert np.allclose(normal_below(z), stats.norm.cdf(z), rtol=0.0, atol=2e-8)


def test_far_out_there_is_nothing_or_all_of_a_normal_distribution() -> None:
    far = normal_below(np.array([[-np.inf, -1e9, -8.0], [8.0, 1e9, np.inf]]))
    assert far.tolist() == [[0.0, 0.0, 0.0], [1.0, 1.0, 1.0]]


@pytest.mark.parametrize("alike", [0.1, 0.35, 1.2, 55.0])
def test_a_number_without_spread_has_no_deviation(alike: float) -> None:
    """Thirds and sevenths of a float are not exact: what is left of them is no variance, and never a negative one."""
    mean, deviation = pert_moments(alike, alike, alike)
    assert mean == pytest.approx(alike)
    assert isinstance(deviation, float)
    assert deviation == pytest.approx(0.0, abs=1e-8)


def test_a_number_without_spread_is_itself() -> None:
    assert pert_quantile(3.0, 3.0, 3.0, 0.2) == 3.0
    assert list(np.asarray(pert_quantile(3.0, 3.0, 3.0, np.array([0.1, 0.9])))) == [3.0, 3.0]


def test_a_missing_fact_stands_at_its_median_as_stated_and_varies_over_the_worlds() -> None:
    stated, many = make_case(), make_case(many=True)
    assert isinstance(stated.depth_in, float)
    assert np.ptp(many.depth_in) > 0.5
    assert float(np.median(many.section_in)) == pytest.approx(float(stated.section_in), rel=0.02)


def test_a_range_stands_at_its_middle_as_stated_and_stays_within_its_ends_over_the_worlds() -> None:
    assert make_case(section=(10.0, 14.0)).section_in == 12.0
    many = np.asarray(make_case(many=True, section=(10.0, 14.0)).section_in)
    assert 10.0 < many.min() < 10.2
    assert 13.8 < many.max() < 14.0


def test_nothing_has_grown_in_the_world_as_stated() -> None:
    case = make_case(level="told", depth=3.0, length=60.0, section=12.0, clear_length=20 * FT)
    assert (case.depth_in, case.length_in) == (3.0, 60.0)


@pytest.mark.parametrize(("level", "most"), [("told", 2.0), ("visited", 1.5), ("opened", 1.2), ("cut_out", 1.0)])
def test_depth_grows_over_the_worlds_by_the_factors_of_its_level(level: str, most: float) -> None:
    """The ends of the rule of the trade for hidden growth of depth (R13)."""
    depth = np.broadcast_to(np.asarray(make_case(many=True, level=level, depth=3.0, section=12.0).depth_in), (128,))
    assert depth.min() >= 3.0 - 1e-9
    assert depth.max() <= 3.0 * most + 1e-9
    assert depth.max() > 3.0 + (most - 1.0) * 2.0 - 1e-9


def test_growth_stops_at_the_far_face_and_at_the_next_notch() -> None:
    case = make_case(many=True, level="told", depth=9.0, section=10.0, length=100.0, clear_length=110.0)
    assert np.max(case.depth_in) == 10.0
    assert np.max(case.length_in) == 110.0


def test_decay_and_what_is_left_each_side_add_up_to_the_log() -> None:
    case = make_case(many=True, level="told", length=60.0, clear_length=120.0, depth=3.0, section=10.0)
    assert np.allclose(case.length_in + case.stop_left_in + case.stop_right_in, 120.0)


def test_pieces_whose_facts_differ_are_groups_of_their_own_in_the_order_of_their_first() -> None:
    """R35."""
    tails = replace(
        make_defect("log_tail", "end_rot", count=3, tail=18.0),
        numbers={"from_end": (Span(3.0, 3.0), Span(9.0, 9.0), Span(3.0, 3.0))},
    )
    groups = groups_of(tails)
    assert [g.pieces for g in groups] == [(1, 3), (2,)]
    assert [g.numbers["from_end"].low for g in groups] == [3.0, 9.0]


def test_the_table_of_worlds_has_an_axis_for_every_unknown() -> None:
    table = np.array(knowledge().sobol)
    assert table.shape == (128, len(DIMENSIONS))
    assert ((table > 0.0) & (table < 1.0)).all()


def test_on_a_truss_a_distance_to_the_joint_that_nobody_gave_counts_as_none() -> None:
    """R15."""
    assert make_case("truss_bottom_chord", "pocket_deep").to_joint_in == 0.0
    assert make_case("truss_bottom_chord", "pocket_deep", to_joint=40.0).to_joint_in == 40.0


@given(pieces=st.lists(st.tuples(st.integers(1, 3), st.integers(1, 3), st.sampled_from(["outer", "inner"])), min_size=1))
def test_the_groups_of_a_defect_are_counted_before_they_are_made(pieces: list[tuple[int, int, str]]) -> None:
    depths, ends, sides = zip(*pieces, strict=True)
    defect = replace(
        make_defect(), count=len(pieces),
        numbers={
            "depth": tuple(Span(d, d) for d in depths), "from_end": tuple(Span(e, e) for e in ends), "section": (Span(8, 8),),
        },
        words={"side": sides},
    )
    assert defect.most_groups == len(groups_of(defect))


@pytest.mark.parametrize(("profile", "share", "depth"), [("square", 25.0, 3.0), ("round", 29.18, 4.0), ("round", 50.0, 6.0)])
def test_a_share_of_the_section_that_was_stated_says_how_deep_it_goes(profile: str, share: float, depth: float) -> None:
    """A quarter of a 12 in timber is 3 in; by E2's worked check 33.0 in2 of a 12 in log lie in its outer 4 in (no source)."""
    case = make_case("girder", "soft_wood", section=12.0, section_loss=share, words={"profile": profile})
    assert case.depth_in == pytest.approx(depth, abs=0.01)
    assert "depth" in case.known


def test_a_depth_that_was_measured_stands_beside_a_stated_share() -> None:
    assert make_case("girder", "soft_wood", section=12.0, section_loss=25.0, depth=5.0).depth_in == 5.0


def test_rot_that_was_measured_in_from_the_end_of_a_beam_is_as_long_as_it_goes_in() -> None:
    short, long = (make_case("girder", "end_rot", section=12.0, from_end=inches, clear_length=240.0) for inches in (8.0, 60.0))
    assert (float(short.length_in), float(long.length_in)) == (8.0, 60.0)
    said = make_case("girder", "end_rot", section=12.0, from_end=8.0, length=20.0, clear_length=240.0)
    assert float(said.length_in) == 20.0
