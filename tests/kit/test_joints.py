"""Joints along one edge: closed forms against the one section rule, and against hand figures."""

from __future__ import annotations

import math

import pytest

from sumpwright.kit import formulas
from sumpwright.kit.joints import section_gap, trim_by_section

RULE = "the section rule: clip one sheet's section by the other's thickness"
PAIRS = [(0.002, 0.002), (0.003, 0.0015), (0.0015, 0.003), (0.002, 0.01)]


def degrees(*values):
    return [math.radians(v) for v in values]


@pytest.mark.expected_from("closed form", RULE)
@pytest.mark.parametrize(("t_a", "t_b"), PAIRS)
@pytest.mark.parametrize("theta", degrees(50, 75, 90, 105, 135, 165))
def test_square_edges_meeting_at_the_oil_side_never_collide(theta, t_a, t_b):
    assert trim_by_section(theta, t_a, t_b, 0.0) == pytest.approx(0.0, abs=1e-15)
    assert section_gap(theta, t_a, t_b, 0.0, 0.0) == pytest.approx(0.0, abs=1e-12)


@pytest.mark.expected_from("closed form", RULE)
@pytest.mark.parametrize(("t_a", "t_b"), PAIRS)
@pytest.mark.parametrize("theta", degrees(60, 90, 110, 140))
def test_overlapped_trim_just_clears_the_overlap(theta, t_a, t_b):
    overlap = 0.3 * min(t_a, t_b)
    trim = formulas.overlapped_trim(theta, overlap)
    assert max(0.0, trim_by_section(theta, t_a, t_b, -overlap)) == pytest.approx(trim, abs=1e-12)
    assert section_gap(theta, t_a, t_b, -overlap, trim) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.expected_from("closed form", RULE)
@pytest.mark.parametrize(("t_a", "t_b"), PAIRS[:3])
@pytest.mark.parametrize("theta", degrees(78, 90, 102))
def test_full_lap_covers_the_other_edge_flush(theta, t_a, t_b):
    reach = formulas.full_lap_reach(theta, t_b)
    trim = formulas.full_lap_trim(theta, t_b)
    assert max(0.0, trim_by_section(theta, t_a, t_b, -reach)) == pytest.approx(trim, abs=1e-12)
    # The cover's oil-side end lies on the outer skin of the covered sheet.
    assert reach * math.sin(theta) == pytest.approx(t_b)


@pytest.mark.expected_from("closed form", RULE)
@pytest.mark.parametrize(("t_a", "t_b"), PAIRS)
@pytest.mark.parametrize("phi", degrees(52, 70, 90, 110, 150))
def test_inward_cut_back_brings_both_outer_skins_to_one_line(phi, t_a, t_b):
    theta = 2.0 * math.pi - phi
    a = formulas.inward_cut_back(phi, t_a, t_b)
    b = formulas.inward_cut_back(phi, t_b, t_a)
    assert section_gap(theta, t_a, t_b, a, b) == pytest.approx(0.0, abs=1e-9)
    # Outer edges coincide: same distance from the corner for both.
    assert math.hypot(a, t_a) == pytest.approx(math.hypot(b, t_b))


@pytest.mark.expected_from("closed form", "t cot(phi/2) for equal thickness")
@pytest.mark.parametrize("phi", degrees(50, 90, 120, 170))
def test_inward_cut_back_of_equal_sheets(phi):
    assert formulas.inward_cut_back(phi, 0.003, 0.003) == pytest.approx(0.003 / math.tan(phi / 2))


@pytest.mark.expected_from("closed form", RULE)
@pytest.mark.parametrize(("t_a", "t_b"), PAIRS)
@pytest.mark.parametrize("phi", degrees(52, 75, 90, 105, 150))
def test_inward_lap_stops_on_the_runner(phi, t_a, t_b):
    theta = 2.0 * math.pi - phi
    a = formulas.inward_lap_runner(phi, t_a)
    b = formulas.inward_lap_stopper(phi, t_a, t_b)
    assert trim_by_section(theta, t_a, t_b, a) == pytest.approx(b, abs=1e-12)
    assert section_gap(theta, t_a, t_b, a, b) == pytest.approx(0.0, abs=1e-9)


@pytest.mark.expected_from("closed form", "plane geometry: a square top under a level plate")
@pytest.mark.parametrize("theta", degrees(60, 80, 90, 95, 110))
def test_wall_top_clears_the_flange(theta):
    t = 0.003
    trim = formulas.wall_under_flange_trim(theta, t)
    # Height of the top's higher corner against the line where the oil side meets the underside.
    higher = max(-trim * math.sin(theta), -trim * math.sin(theta) - t * math.cos(theta))
    assert higher == pytest.approx(0.0, abs=1e-15)


@pytest.mark.expected_from(
    "closed form", "right angle, equal sheets: half of t squared, to the sharp corner twice that"
)
def test_groove_of_a_right_angle():
    t = 0.002
    assert formulas.open_corner_groove(math.pi / 2) == pytest.approx(math.pi / 2)
    assert formulas.groove_fill(math.pi / 2, t, t, 0.0, 0.0) == pytest.approx(t * t / 2)
    assert formulas.groove_fill(math.pi / 2, t, t, -0.3 * t, 0.0) == pytest.approx(0.5 * t * 0.7 * t)
    assert formulas.fillet_fill(math.pi / 2, t) == pytest.approx(t * t / 2)


@pytest.mark.expected_from("closed form", "triangle between two sides and the angle between them")
@pytest.mark.parametrize("theta", degrees(40, 90, 130, 170))
def test_groove_fill_is_half_the_product_of_the_edges_and_the_sine(theta):
    fill = formulas.groove_fill(theta, 0.002, 0.003, 0.0, 0.0)
    assert fill == pytest.approx(0.5 * 0.002 * 0.003 * math.sin(theta))
