"""Sections left after decay, against two libraries for plane sections and the limits in Roark's formulas.

`shapely` gives areas and centroids of polygons, whose second moments are integrated here by Green's theorem;
`sectionproperties` meshes the shape by finite elements. Circles are polygons of 4000 sides, right to 1e-6.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from sectionproperties.analysis.section import Section
from sectionproperties.pre.geometry import Geometry
from shapely import Point, Polygon, box

from service.engine.science.section import (
    SectionProperties,
    circle,
    circle_cut_flat,
    circle_hollow,
    circle_with_pocket,
    equal_area_square_in,
    equal_section_diameter_in,
    rectangle,
    rectangle_cut_face,
    rectangle_with_pocket,
    section_left,
    segment_area_in2,
    segment_depth_ratio,
    segment_width_in,
)

diameters = st.floats(4.0, 24.0)
shares = st.floats(0.0, 1.0)


def disc(diameter: float, y: float = 0.0) -> Polygon:
    return Point(0.0, y).buffer(diameter / 2.0, quad_segs=1000)


def ring_moments(points: np.ndarray) -> np.ndarray:
    """Area and second moments about the origin, by Green's theorem."""
    x, y = points[:-1].T
    x2, y2 = points[1:].T
    cross = x * y2 - x2 * y
    return np.array(
        [
            cross.sum() / 2,
            (cross * (y * y + y * y2 + y2 * y2)).sum() / 12,
            (cross * (x * x + x * x2 + x2 * x2)).sum() / 12,
        ]
    )


def measured(shape: Polygon) -> SectionProperties:
    """Properties by polygon integrals, the cut at the top and the middle of the whole section at the origin."""
    total = np.abs(ring_moments(np.array(shape.exterior.coords)))
    for hole in shape.interiors:
        total = total - np.abs(ring_moments(np.array(hole.coords)))
    area, about_x, about_y = (float(v) for v in total)
    centroid = shape.centroid.y
    inertia = about_x - area * centroid**2
    left, bottom, right, top = shape.bounds
    return SectionProperties(
        area,
        centroid,
        inertia,
        about_y,
        inertia / (top - centroid),
        inertia / (centroid - bottom),
        about_y / ((right - left) / 2),
    )


def assert_same(computed: SectionProperties, reference: SectionProperties, tolerance: float = 2e-5) -> None:
    for name in SectionProperties.__slots__:
        expected = getattr(reference, name)
        assert getattr(computed, name) == pytest.approx(expected, rel=tolerance, abs=2e-4), name


@pytest.mark.parametrize("depth", [0.5, 1.0, 2.0, 3.0, 5.5, 6.0, 7.0, 9.0, 11.0])
def test_a_log_cut_flat_has_the_properties_of_its_polygon(depth: float) -> None:
    assert_same(circle_cut_flat(12.0, depth), measured(disc(12.0).intersection(box(-9.0, -9.0, 9.0, 6.0 - depth))))


@pytest.mark.parametrize(("inner", "offset"), [(4.0, 0.0), (9.0, 0.0), (4.0, 3.0), (2.0, 4.9)])
def test_a_log_with_a_pocket_has_the_properties_of_its_polygon(inner: float, offset: float) -> None:
    assert_same(circle_with_pocket(12.0, inner, offset), measured(disc(12.0).difference(disc(inner, offset))))


@pytest.mark.parametrize(("pocket_width", "pocket_depth"), [(3.0, 2.0), (5.0, 8.0), (1.0, 0.5)])
def test_a_timber_with_a_pocket_has_the_properties_of_its_polygon(pocket_width: float, pocket_depth: float) -> None:
    whole = box(-3.75, -5.75, 3.75, 5.75)
    pocket = box(-pocket_width / 2, 5.75 - pocket_depth, pocket_width / 2, 9.0)
    assert_same(rectangle_with_pocket(7.5, 11.5, pocket_width, pocket_depth), measured(whole.difference(pocket)), 1e-9)


@pytest.mark.parametrize("cut", [0.0, 1.0, 6.0, 11.0])
def test_a_timber_cut_back_has_the_properties_of_its_polygon(cut: float) -> None:
    assert_same(rectangle_cut_face(7.5, 11.5, cut), measured(box(-3.75, -5.75, 3.75, 5.75 - cut)), 1e-9)


def test_a_meshed_section_agrees_on_log_and_timber() -> None:
    """sectionproperties, mesh 0.1 in2: within 0.05 %."""
    for shape, ours in (
        (Point(0.0, 0.0).buffer(6.0, quad_segs=100).intersection(box(-9, -9, 9, 3.0)), circle_cut_flat(12.0, 3.0)),
        (box(-3.75, -5.75, 3.75, 5.75).difference(box(-1.5, 3.75, 1.5, 9)), rectangle_with_pocket(7.5, 11.5, 3.0, 2.0)),
    ):
        geometry = Geometry(shape)
        geometry.create_mesh(mesh_sizes=[0.1])
        section = Section(geometry)
        section.calculate_geometric_properties()
        ixx, iyy, _ = section.get_ic()
        top, bottom, _, _ = section.get_z()
        assert ours.area_in2 == pytest.approx(section.get_area(), rel=5e-4)
        assert ours.centroid_in == pytest.approx(section.get_c()[1], rel=5e-4)
        assert ours.inertia_in4 == pytest.approx(ixx, rel=5e-4)
        assert ours.inertia_side_in4 == pytest.approx(iyy, rel=5e-4)
        assert ours.modulus_cut_in3 == pytest.approx(top, rel=5e-4)
        assert ours.modulus_far_in3 == pytest.approx(bottom, rel=5e-4)


def test_half_a_log_is_roarks_semicircle() -> None:
    """Roark's Formulas for Stress and Strain, table of sections: centroid 4r/3pi, I = 0.1098 r^4."""
    half = circle_cut_flat(2.0, 1.0)
    assert half.centroid_in == pytest.approx(-4.0 / (3.0 * math.pi), rel=1e-12)
    assert half.inertia_in4 == pytest.approx(math.pi / 8.0 - 8.0 / (9.0 * math.pi), rel=1e-12)
    assert half.inertia_in4 == pytest.approx(0.1098, abs=5e-5)


def test_the_slab_of_the_estimators_worked_check() -> None:
    """E2, common practice, no source: 12 in, 4 in deep: 33.0 in2, 11.3 in wide, 0.229 ft3 per ft."""
    assert segment_area_in2(12.0, 4.0) == pytest.approx(33.0, abs=0.05)
    assert segment_width_in(12.0, 4.0) == pytest.approx(11.3, abs=0.05)
    assert segment_area_in2(12.0, 4.0) / 144.0 == pytest.approx(0.229, abs=0.0005)


@pytest.mark.parametrize(
    ("share", "depth"), [(0.0, 0.0), (33.0 / (math.pi * 36.0), 4.0 / 12.0), (0.5, 0.5), (1.0, 1.0)],
)
def test_the_depth_of_a_flat_follows_from_the_share_that_it_cuts_off(share: float, depth: float) -> None:
    """E2, common practice, no source: 33.0 in2 of a 12 in log lie in the outer 4 in; half lies in the outer half."""
    assert segment_depth_ratio(share) == pytest.approx(depth, abs=2e-4)


def test_a_published_joist_and_beam() -> None:
    """Residential Structural Design Guide, ex. 5.1 (2x8) and AWC worked example E1.2a (3.5 x 15.25), as transcribed."""
    joist = rectangle(1.5, 7.25)
    assert joist.modulus_in3 == pytest.approx(13.14, abs=0.005)
    assert joist.inertia_in4 == pytest.approx(47.63, abs=0.01)
    beam = rectangle(3.5, 15.25)
    assert beam.area_in2 == pytest.approx(53.375, abs=0.001)
    assert beam.modulus_in3 == pytest.approx(135.66, abs=0.01)
    assert beam.inertia_in4 == pytest.approx(1034.4, abs=0.05)


def test_a_shell_of_0_3_radius_keeps_three_quarters_of_its_section() -> None:
    """Shell rule t/R = 0.30 (from memory) keeps 76 % of the section modulus: to half a point."""
    assert section_left(circle(10.0), circle_hollow(10.0, 7.0)).modulus == pytest.approx(0.76, abs=0.005)


@given(diameters, st.floats(0.01, 0.99))
def test_the_far_face_of_a_flat_cut_log_governs(diameter: float, share: float) -> None:
    rest = circle_cut_flat(diameter, share * diameter)
    assert rest.modulus_far_in3 < rest.modulus_cut_in3
    assert rest.modulus_in3 == rest.modulus_far_in3


@given(diameters, st.floats(0.0, 0.98), st.floats(0.005, 0.02))
def test_a_deeper_cut_leaves_less(diameter: float, share: float, more: float) -> None:
    less, rest = circle_cut_flat(diameter, (share + more) * diameter), circle_cut_flat(diameter, share * diameter)
    assert less.area_in2 < rest.area_in2
    assert less.modulus_in3 < rest.modulus_in3
    assert less.inertia_in4 < rest.inertia_in4
    assert less.inertia_side_in4 < rest.inertia_side_in4


@given(diameters, shares)
def test_the_part_cut_off_and_the_part_left_make_the_log(diameter: float, share: float) -> None:
    depth = share * diameter
    both = segment_area_in2(diameter, depth) + circle_cut_flat(diameter, depth).area_in2
    assert both == pytest.approx(circle(diameter).area_in2, rel=1e-9)


@given(diameters)
def test_no_cut_leaves_the_whole_and_a_full_cut_nothing(diameter: float) -> None:
    assert_same(circle_cut_flat(diameter, 0.0), circle(diameter), 1e-9)
    assert_same(circle_cut_flat(diameter, -1.0), circle(diameter), 1e-9)
    assert_same(circle_hollow(diameter, 0.0), circle(diameter), 1e-9)
    for depth in (diameter, diameter + 3.0):
        gone = circle_cut_flat(diameter, depth)
        assert (gone.area_in2, gone.modulus_in3, gone.inertia_in4) == (0.0, 0.0, 0.0)
    assert circle_hollow(diameter, diameter).modulus_in3 == 0.0
    assert rectangle_cut_face(diameter, diameter, diameter).modulus_in3 == 0.0


@given(diameters, st.floats(0.0, 0.99))
def test_a_hollow_log_bends_like_the_thinner_solid_log_of_equal_modulus(diameter: float, share: float) -> None:
    solid = circle(equal_section_diameter_in(diameter, share * diameter))
    assert solid.modulus_in3 == pytest.approx(circle_hollow(diameter, share * diameter).modulus_in3, rel=1e-9)


@given(diameters)
def test_a_round_and_its_design_square_have_one_area_and_the_old_form_factor_between_them(diameter: float) -> None:
    """Older editions of the NDS print a form factor of 1.18 for round sections: to 0.005."""
    side = equal_area_square_in(diameter)
    assert side * side == pytest.approx(circle(diameter).area_in2, rel=1e-12)
    assert rectangle(side, side).modulus_in3 / circle(diameter).modulus_in3 == pytest.approx(1.18, abs=0.005)


def test_shares_left_and_gyration_follow_from_the_properties() -> None:
    whole, rest = rectangle(6.0, 12.0), rectangle_cut_face(6.0, 12.0, 6.0)
    left = section_left(whole, rest)
    assert (left.area, left.modulus, left.inertia) == pytest.approx((0.5, 0.25, 0.125))
    assert whole.radius_of_gyration_in == pytest.approx(12.0 / math.sqrt(12.0))


def test_samples_and_single_figures_agree(agree: Callable[..., None]) -> None:
    d, c = [12.0, 12.0, 10.0, 14.0, 8.0], [0.0, 12.0, 3.0, 9.0, 20.0]
    agree(circle, d)
    agree(circle_cut_flat, d, c)
    agree(segment_area_in2, d, c)
    agree(segment_width_in, d, c)
    agree(circle_hollow, d, c)
    agree(circle_with_pocket, d, [1.0, 2.0, 3.0, 4.0, 2.0], [0.0, 1.0, 2.0, -3.0, 1.0])
    agree(rectangle, d, c)
    agree(rectangle_cut_face, d, d, c)
    agree(rectangle_with_pocket, d, d, [1.0, 2.0, 3.0, 4.0, 2.0], c)
    agree(equal_section_diameter_in, d, [0.0, 12.0, 3.0, 9.0, 7.0])
    agree(equal_area_square_in, d)
