"""Seams from the kit's joints: where the bead lies, between what, and how much metal it takes."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sumpwright.weld import formulas
from sumpwright.weld.seams import find_seams
from tests.weld.made_pans import pan_kit, weld_inputs

RECTANGLE = [(0.0, 0.0), (0.3, 0.0), (0.3, 0.2), (0.0, 0.2)]
THICK, FLANGE = 0.003, 0.010


@pytest.fixture(scope="module")
def box():
    kit = pan_kit(RECTANGLE, 0.1)
    return kit, find_seams(weld_inputs(), kit)


@pytest.mark.expected_from(
    "closed form", "a box with an open top has four sides, four corners and four floor edges"
)
def test_a_box_has_twelve_seams(box):
    _, seams = box
    kinds = [seam.kind for seam in seams]
    assert kinds.count("wall under flange") == 4
    assert kinds.count("open corner") == 8
    assert [seam.number for seam in seams] == list(range(1, 13))


@pytest.mark.expected_from("closed form", "the groove between two walls ends at the flange's underside")
def test_corner_seams_end_at_the_flange(box):
    _, seams = box
    upright = [seam for seam in seams if seam.kind == "open corner" and np.ptp(seam.path[:, 2]) > 0.01]
    assert len(upright) == 4
    for seam in upright:
        assert seam.length == pytest.approx(0.1 - FLANGE, abs=6e-4)
        assert seam.path[:, 2].max() == pytest.approx(-FLANGE, abs=6e-4)


@pytest.mark.expected_from("closed form", "a square groove filled flat takes half the thickness squared")
def test_weld_metal_of_square_corners(box):
    _, seams = box
    for seam in seams:
        if seam.kind == "open corner":
            assert seam.fill_area == pytest.approx(0.5 * THICK**2)
            assert seam.fill_volume == pytest.approx(0.5 * THICK**2 * seam.length)


@pytest.mark.expected_from("closed form", "outer skin of the wall meets the flange's underside")
def test_the_bead_under_the_flange_lies_outside(box):
    _, seams = box
    for seam in seams:
        if seam.kind != "wall under flange":
            continue
        assert np.allclose(seam.path[:, 2], -FLANGE)
        outside = np.maximum(seam.path[:, 0] - 0.3, -seam.path[:, 0])
        outside = np.maximum(outside, np.maximum(seam.path[:, 1] - 0.2, -seam.path[:, 1]))
        assert np.allclose(outside, THICK)
        legs = sorted(float(leg[2]) for leg in (seam.ways[0].leg_a[0], seam.ways[0].leg_b[0]))
        assert legs == pytest.approx([-1.0, 0.0])


@pytest.mark.expected_from(
    "closed form", "t squared tan(g/2): t squared at a right angle, twice the flat fill"
)
def test_sharp_corner_takes_twice_the_flat_fill():
    assert formulas.sharp_corner_fill(0.5 * math.pi, 0.002) == pytest.approx(4e-6)


@pytest.mark.expected_from("closed form", "Pappus: area times the way of its centroid")
def test_ring_of_weld_metal():
    # a triangle 3 x 3 mm round a 30 mm boss, by slices
    z = np.linspace(0.0, 0.003, 20001)
    middle = 0.5 * (z[1:] + z[:-1])
    slices = math.pi * ((0.015 + 0.003 - middle) ** 2 - 0.015**2)
    assert formulas.ring_fill_volume(0.003, 0.030) == pytest.approx(
        float(np.sum(slices * np.diff(z))), rel=1e-6
    )


@pytest.mark.expected_from("closed form", "area times length; gap times thickness")
def test_straight_fill_and_gap():
    assert formulas.fill_volume(4.5e-6, 0.2) == pytest.approx(9e-7)
    assert formulas.gap_fill(0.0002, 0.003) == pytest.approx(6e-7)


@pytest.mark.expected_from(
    "published", "common practice: a 25 mm cup at 45 deg needs at least 12.5 mm stick-out"
)
def test_cup_in_a_right_angle():
    assert formulas.least_stick_out(0.025, 0.5 * math.pi) == pytest.approx(0.0125)
    assert formulas.least_torch_angle(0.025, 0.0125) == pytest.approx(math.radians(45.0))


@pytest.mark.expected_from(
    "property", "an edge that is bent is not welded; every other joint is, once or on both sides"
)
def test_every_joint_that_is_no_bend_has_its_seam(box):
    kit, seams = box
    welded = {seam.joint for seam in seams}
    for index, joint in enumerate(kit.joints):
        assert (index in welded) == (joint.kind != "bend")


@pytest.mark.expected_from("property", "no parts, no seams")
def test_a_refused_kit_has_no_seams():
    from dataclasses import replace

    kit = pan_kit(RECTANGLE, 0.1)
    assert find_seams(weld_inputs(), replace(kit, parts=(), joints=())) == ()


@pytest.mark.expected_from(
    "closed form", "two independent limits add by their squares: 0.2 and 0.2 mm give 0.283"
)
def test_gap_of_two_cut_edges():
    assert formulas.edge_gap(0.0002) == pytest.approx(0.000282842712)
