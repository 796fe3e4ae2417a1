import math

import numpy as np
import pytest

from sumpwright.kit.flange_formulas import (
    bow_between_bolts,
    bow_on_wall,
    clamp_footprint,
    ellipse_reach,
    film_shear,
    greatest_bolt_pitch,
    hole_for_clearance,
    largest_hole_under_washer,
    needed_radial_clearance,
    thermal_slip,
    thickness_for_pitch,
)
from sumpwright.kit.flange_holes import (
    flange_holes,
    measuring_reach,
    relative_covariance,
    slip_anchor,
)
from tests.kit.made_bodies import bolt, bucket, cutter, dowel, kit_inputs, pan_body, pattern, rectangle

REACH_95 = math.sqrt(-2.0 * math.log(0.05))


@pytest.mark.expected_from("published", "A29: grey iron 11.4, 6061 23.6 um/(m K), 500 mm, 100 K: 0.610 mm")
def test_a29_thermal_slip():
    assert thermal_slip(0.5, 23.6e-6, 11.4e-6, 100.0) == pytest.approx(0.000610, abs=1e-6)
    # 304 and mild steel on iron, from the same expansion tables
    assert thermal_slip(0.5, 17.2e-6, 11.4e-6, 100.0) == pytest.approx(0.000290, abs=1e-6)
    assert 0.000014 < thermal_slip(0.5, 11.7e-6, 11.4e-6, 100.0) < 0.00003


@pytest.mark.expected_from(
    "closed form", "radial sums 0.305 + 0.10 + 0.25 = 0.655 and 0.61 + 0.10 + 0.25 = 0.96 mm"
)
@pytest.mark.parametrize(("slip", "needed"), [(0.305e-3, 0.655e-3), (0.61e-3, 0.96e-3)])
def test_needed_radial_clearance(slip, needed):
    assert needed_radial_clearance(0.10e-3, 0.25e-3, slip) == pytest.approx(needed, abs=1e-9)


def _two_holes(fasteners, u):
    return pan_body(
        pattern([(0.0, 0.0), (0.5, 0.0)], fasteners, u=u),
        bucket(rectangle(0.02, -0.05, 0.48, 0.05), 0.1),
        None,
    )


@pytest.mark.expected_from(
    "published", "aluminium flange on iron, 500 mm, 100 K: 0.66 mm radial anchored in the middle"
)
def test_anchored_in_the_middle_half_goes_to_each_end():
    # Two holes laid on each other share one length error: u / sqrt(2) at each end.
    u = 0.10e-3 / REACH_95 * math.sqrt(2.0)
    body = _two_holes([bolt("M8", 0.008), bolt("M8", 0.008)], u)
    for hole in flange_holes(kit_inputs(flange_cutter=cutter(0.25e-3)), body):
        assert hole.from_heat == pytest.approx(0.305e-3, abs=1e-7)
        assert hole.from_measuring == pytest.approx(0.10e-3, abs=1e-7)
        assert round(hole.needed * 1000, 2) == pytest.approx(0.66, abs=0.0051)
        assert hole.diameter == pytest.approx(0.0094)  # 8 + 2 x 0.655 = 9.31, next tenth


@pytest.mark.expected_from(
    "published", "the same flange with a dowel at one end: 0.96 mm radial at the far end"
)
def test_anchored_at_one_end_the_far_end_takes_all():
    u = 0.10e-3 / REACH_95 / math.sqrt(2.0)
    body = _two_holes([dowel(), bolt("M8", 0.008)], u)
    near, far = flange_holes(kit_inputs(flange_cutter=cutter(0.25e-3)), body)
    assert far.from_heat == pytest.approx(0.610e-3, abs=1e-7)
    assert far.needed == pytest.approx(0.96e-3, abs=1e-6)
    assert far.diameter == pytest.approx(0.0100)  # 8 + 2 x 0.96 = 9.92
    assert near.from_heat == 0.0
    assert near.from_measuring == pytest.approx(0.0, abs=1e-9)
    assert near.diameter == pytest.approx(0.0081)


@pytest.mark.expected_from(
    "published", "ISO 273 medium M6 6.6 and ASME B18.2.8 normal 5/16 0.344 in as minimum"
)
def test_well_measured_holes_stay_at_the_standard_size():
    mild = {"expansion_pan": 11.7e-6, "flange_cutter": cutter(0.0001)}
    body = _two_holes([bolt(), bolt("5/16-18", 0.0079375)], 1e-5)
    metric, inch = flange_holes(kit_inputs(**mild), body)
    assert metric.diameter == pytest.approx(0.0066)
    assert inch.diameter == pytest.approx(0.344 * 0.0254)


@pytest.mark.expected_from(
    "closed form", "5/16 in bolt, 0.655 mm radial: 9.25 mm, next 64th 24/64 in = 9.525 mm"
)
def test_inch_holes_grow_in_drill_steps():
    u = 0.10e-3 / REACH_95 * math.sqrt(2.0)
    body = _two_holes([bolt("5/16-18", 0.0079375)] * 2, u)
    for hole in flange_holes(kit_inputs(flange_cutter=cutter(0.25e-3)), body):
        assert hole.diameter == pytest.approx(24 / 64 * 0.0254)


@pytest.mark.expected_from(
    "published", "ISO 9013 class 1, 10 mm plate: 0.30 to 125 mm, 0.35 to 315, 0.45 to 1000"
)
def test_a_tolerance_class_counts_from_the_anchor():
    import dataclasses

    of_class = dataclasses.replace(cutter(0.45e-3), tolerance_class=1)
    points = [(0.0, 0.0), (0.05, 0.0), (0.2, 0.0), (0.45, 0.0), (0.003, 0.1)]
    body = pan_body(
        pattern(points, [dowel()] + [bolt()] * 4), bucket(rectangle(0.02, -0.05, 0.48, 0.05), 0.1), None
    )
    got = [hole.from_cutter * 1e3 for hole in flange_holes(kit_inputs(flange_cutter=of_class), body)]
    assert got == pytest.approx([0.30, 0.30, 0.35, 0.45, 0.30])
    own = flange_holes(kit_inputs(flange_cutter=cutter(0.1e-3)), body)
    assert {hole.from_cutter for hole in own} == {0.1e-3}


@pytest.mark.expected_from("closed form", "9 mm bolt, cutter 0.2 mm: 9.4 mm")
def test_unknown_thread_is_sized_by_its_need_alone():
    body = _two_holes([bolt("M9", 0.009), bolt("M9", 0.009)], 0.0)
    hole = flange_holes(kit_inputs(temperature_rise=0.0), body)[0]
    assert hole.standard_clearance == 0.0
    assert hole.diameter == pytest.approx(0.0094)


@pytest.mark.expected_from("property", "laying the flange on its anchor leaves no trace of the datum chosen")
@pytest.mark.parametrize("dowels", [0, 1, 2, 3])
def test_relative_covariance_does_not_depend_on_the_datum(dowels):
    rng = np.random.default_rng(11)
    xy = rng.uniform(-0.2, 0.2, (7, 2))
    fasteners = [dowel()] * dowels + [bolt()] * (7 - dowels)
    root = rng.normal(size=(14, 14)) * 1e-5
    cov = root @ root.T
    # any rigid motion that depends on the readings is another datum for the same shape
    freedoms = np.zeros((14, 3))
    freedoms[0::2, 0], freedoms[1::2, 1] = 1.0, 1.0
    freedoms[0::2, 2], freedoms[1::2, 2] = -xy[:, 1], xy[:, 0]
    other = np.eye(14) + freedoms @ rng.normal(size=(3, 14))
    one = relative_covariance(pattern(xy, fasteners, covariance=cov))
    two = relative_covariance(pattern(xy, fasteners, covariance=other @ cov @ other.T))
    assert two == pytest.approx(one, abs=1e-6 * np.abs(one).max())


@pytest.mark.expected_from("property", "a random pattern laid on its dowels by least squares, 20,000 draws")
@pytest.mark.parametrize("dowels", [0, 1, 2])
def test_relative_covariance_against_draws(dowels):
    rng = np.random.default_rng(3)
    xy = np.array([[0.0, 0.0], [0.0, 0.15], [0.4, 0.0], [0.4, 0.2], [0.2, -0.03]])
    fasteners = [dowel()] * dowels + [bolt()] * (5 - dowels)
    u = 5e-5
    draws = xy + rng.normal(scale=u, size=(20000, 5, 2))
    fixed = list(range(dowels)) or list(range(5))
    target = xy - xy[fixed].mean(axis=0)
    here = draws - draws[:, fixed].mean(axis=1, keepdims=True)
    # best turn of each draw onto the true holes (two-dimensional Procrustes)
    a, b = here, target
    angle = np.arctan2(
        (a[..., 0] * b[:, 1] - a[..., 1] * b[:, 0]).sum(axis=1),
        (a[..., 0] * b[:, 0] + a[..., 1] * b[:, 1]).sum(axis=1),
    )
    c, s = np.cos(angle)[:, None], np.sin(angle)[:, None]
    laid = np.stack([c * here[..., 0] - s * here[..., 1], s * here[..., 0] + c * here[..., 1]], axis=-1)
    sampled = np.cov((laid - target).reshape(20000, 10).T)
    computed = relative_covariance(pattern(xy, fasteners, u=u))
    assert computed == pytest.approx(sampled, abs=0.03 * np.abs(sampled).max())


@pytest.mark.expected_from("closed form", "95 % of a round two-dimensional normal lies within 2.4477 sigma")
def test_ellipse_reach():
    assert ellipse_reach(1.0, 1.0, 0.0) == pytest.approx(2.4477, abs=1e-4)
    assert ellipse_reach(4.0, 1.0, 0.0) == pytest.approx(2 * 2.4477, abs=1e-4)
    assert ellipse_reach(1.0, 1.0, 1.0) == pytest.approx(math.sqrt(2) * 2.4477, abs=1e-4)
    rng = np.random.default_rng(5)
    inside = np.hypot(*rng.normal(size=(2, 200000))) < ellipse_reach(1.0, 1.0, 0.0)
    assert inside.mean() == pytest.approx(0.95, abs=0.002)


@pytest.mark.expected_from("closed form", "mean of the anchoring holes")
def test_anchor_is_the_dowels_middle_or_the_bolts_middle():
    body = pattern([(0, 0), (0.1, 0), (0.3, 0.2)], [dowel(), dowel(), bolt()])
    assert slip_anchor(body) == pytest.approx([0.05, 0.0])
    body = pattern([(0, 0), (0.1, 0), (0.2, 0.3)], [bolt()] * 3)
    assert slip_anchor(body) == pytest.approx([0.1, 0.1])


@pytest.mark.expected_from("property", "a flange laid on one hole cannot miss it")
def test_one_hole_alone_is_certain_where_it_is():
    assert measuring_reach(pattern([(0.1, 0.2)], [bolt()], u=1e-4)) == pytest.approx([0.0])


@pytest.mark.expected_from(
    "published",
    "M6, 8 mm flange: gasketed pitch 60 mm at m 0.5 and 44 at m 1.0; footprint 19 to 26 mm (A.F. 10)",
)
def test_pitch_and_footprint():
    assert greatest_bolt_pitch(0.006, 0.008, 0.5) == pytest.approx(0.060)
    assert greatest_bolt_pitch(0.006, 0.008, 1.0) == pytest.approx(0.044)
    assert thickness_for_pitch(0.006, 0.060, 0.5) == pytest.approx(0.008)
    low, high = (clamp_footprint(0.010, 0.008, math.radians(angle)) for angle in (30, 45))
    assert (round(low * 1000), round(high * 1000)) == (19, 26)


@pytest.mark.expected_from(
    "published",
    "clamped beam, 5 N/mm, 70 mm, 20 mm wide: steel 3/5/6/8 mm 34/7.2/4.2/1.8 um, aluminium 8 mm 5.3 um",
)
@pytest.mark.parametrize(
    ("modulus", "t", "bow"),
    [(207e9, 3, 34), (207e9, 5, 7.2), (207e9, 6, 4.2), (207e9, 8, 1.8), (69e9, 8, 5.3)],
)
def test_bow_between_bolts(modulus, t, bow):
    assert bow_between_bolts(5000.0, 0.070, modulus, 0.020, t / 1000) * 1e6 == pytest.approx(bow, rel=0.02)


@pytest.mark.expected_from(
    "closed form", "no wall: the strip alone; equal strips on edge: parallel axes by hand"
)
def test_bow_on_wall():
    alone = bow_between_bolts(5000.0, 0.1, 70e9, 0.02, 0.008)
    assert bow_on_wall(5000.0, 0.1, 70e9, 0.02, 0.008, 0.003, 0.0) == pytest.approx(alone)
    # 20 x 8 flange over a 3 x 40 wall: centres 24 apart, areas 160 and 120
    inertia = 20 * 8**3 / 12 + 3 * 40**3 / 12 + 160 * 120 / 280 * 24**2
    expected = 5000.0 * 0.1**4 / (384 * 70e9 * inertia * 1e-12)
    assert bow_on_wall(5000.0, 0.1, 70e9, 0.02, 0.008, 0.003, 0.040) == pytest.approx(expected)


@pytest.mark.expected_from("closed form", "M6 under a 6.4 x 12 washer: (12 + 12 - 6.4)/2 = 8.8 mm")
def test_largest_hole_under_washer():
    assert largest_hole_under_washer(0.006, 0.0064, 0.012) == pytest.approx(0.0088)


@pytest.mark.expected_from("closed form", "0.305 mm creep over 0.61 mm film: 0.5")
def test_film_shear():
    assert film_shear(0.305e-3, 0.61e-3) == pytest.approx(0.5)


@pytest.mark.expected_from("closed form", "next tenth of a millimetre at or above d + 2 c")
@pytest.mark.parametrize(("need", "hole"), [(0.3, 6.6), (0.3001, 6.7), (0.655, 7.4), (0.0, 6.0)])
def test_hole_for_clearance(need, hole):
    assert hole_for_clearance(0.006, need / 1000, 1e-4) * 1000 == pytest.approx(hole)
