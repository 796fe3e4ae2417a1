import itertools
import math

import numpy as np
import pytest
from shapely import LineString, Point, Polygon, union_all

from sumpwright.findings import Verdict
from sumpwright.kit import StockSheet
from sumpwright.kit.cutting_rules import fits_on
from sumpwright.kit.flange import flange_part
from sumpwright.kit.flange_formulas import butt_shrinkage, full_groove_area
from sumpwright.kit.flange_holes import flange_holes
from sumpwright.kit.flange_segment_check import flange_in_segments, segment_findings
from sumpwright.kit.flange_segments import (
    SegmentRules,
    allowed_cuts,
    in_segments,
    least_rectangle,
    segment_outline,
    split_flange,
)
from sumpwright.kit.marks import marks_findings, with_marks
from sumpwright.kit.metal import chords, distance_to_outline, metal_of
from sumpwright.rail import Land, Seal
from tests.kit.made_bodies import (
    bolt,
    bucket,
    cutter,
    edge_joints,
    face_parts,
    kit_inputs,
    pan_body,
    pattern,
    rectangle,
    rounded_rectangle,
    simple_body,
)


def ring(body):
    inputs = kit_inputs(expansion_pan=11.4e-6, flange_cutter=cutter(1e-4))
    return flange_part(inputs, body, flange_holes(inputs, body))


@pytest.fixture(scope="module")
def flange():
    return ring(simple_body(u=1e-6))


@pytest.fixture(scope="module")
def hole_pattern():
    return simple_body(u=1e-6).pattern


@pytest.mark.expected_from(
    "property", "joints stand 10 mm clear of every hole and corner, square across the ring"
)
def test_allowed_joints_keep_clear(flange, hole_pattern):
    cuts = allowed_cuts(flange, hole_pattern, SegmentRules())
    assert len(cuts) > 100
    for cut in cuts:
        line = LineString([cut.inner, cut.outer])
        for hole in flange.holes:
            assert line.distance(Point(hole.x, hole.y)) - 0.5 * hole.diameter >= 0.010 - 1e-12
        for corner in flange.cut_outs[0].points:
            assert math.dist(corner, cut.inner) >= 0.010 - 1e-12
        for corner in flange.outline.points:
            assert math.dist(corner, cut.outer) >= 0.010 - 1e-12
        assert cut.length == pytest.approx(0.026)


@pytest.mark.expected_from("property", "no joint beyond the arch and none within 20 mm of its end holes")
def test_no_joint_on_an_arch_or_at_its_ends():
    points = [(0, 0), (0.1, 0), (0.2, 0), (0.3, 0), (0.4, 0), (0.4, 0.2), (0.2, 0.2), (0, 0.2)]
    lands = (
        Land("main", "flat", Seal("liquid sealant", 0.0003)),
        Land("arch", "arch", Seal("end seal", 0.003), radius=0.05, from_hole="h5", to_hole="h6"),
    )
    holes = pattern(points, [bolt()] * 8, u=1e-6, lands=lands)
    body = pan_body(
        holes,
        bucket(rectangle(0.015, 0.015, 0.385, 0.185), 0.12),
        rounded_rectangle(-0.011, -0.011, 0.411, 0.211, 0.011),
    )
    cuts = allowed_cuts(ring(body), holes, SegmentRules())
    assert cuts
    for cut in cuts:
        assert max(cut.inner[0], cut.outer[0]) < 0.385
        for end in ((0.4, 0.0), (0.4, -0.2)):
            assert LineString([cut.inner, cut.outer]).distance(Point(end)) >= 0.020 - 1e-12


@pytest.mark.expected_from("property", "the segments make up the ring exactly and do not overlap")
@pytest.mark.parametrize("price", [0.0, 0.001, 0.1])
def test_segments_make_the_ring(flange, hole_pattern, price):
    split = split_flange(flange, hole_pattern, cutter(), rules=SegmentRules(joint_price=price))
    shapes = [Polygon(chords(p.outline)) for p in split.parts]
    whole = Polygon(chords(flange.outline), [chords(flange.cut_outs[0])])
    assert all(shape.is_valid and shape.exterior.is_ccw for shape in shapes)
    assert union_all(shapes).symmetric_difference(whole).area < 1e-9
    assert sum(shape.area for shape in shapes) == pytest.approx(whole.area, rel=1e-6)
    assert sum(np.count_nonzero(p.outline.bulges) for p in split.parts) == 4  # arcs stay arcs
    assert sorted(h.label for p in split.parts for h in p.holes) == sorted(h.label for h in flange.holes)


@pytest.mark.expected_from("property", "the stage-wise search finds what trying every choice finds")
def test_cheapest_split_against_every_choice(flange, hole_pattern):
    rules = SegmentRules(joint_price=0.004, candidates=9, most_segments=4)
    split = split_flange(flange, hole_pattern, cutter(), rules=rules)
    from sumpwright.kit.flange_segments import _thinned

    cuts = _thinned(allowed_cuts(flange, hole_pattern, rules), rules.candidates)
    best = math.inf
    for count in (2, 3, 4):
        for chosen in itertools.combinations(range(len(cuts)), count):
            area = sum(
                least_rectangle(chords(segment_outline(flange, cuts[a], cuts[b]), 2e-4), rules.spacing)
                for a, b in zip(chosen, (*chosen[1:], chosen[0]), strict=True)
            )
            best = min(best, area + count * rules.joint_price)
    assert split.price == pytest.approx(best)


@pytest.mark.expected_from("property", "every segment fits the sheet at hand with its margins")
def test_segments_fit_a_small_sheet(flange, hole_pattern):
    stock = (StockSheet("6061-T6", 0.010, 0.300, 0.150), StockSheet("mild", 0.010, 3.0, 1.5))
    split = split_flange(flange, hole_pattern, cutter(), stock)
    assert not split.whole_fits
    assert all(fits_on(chords(p.outline), 0.280, 0.130) for p in split.parts)
    found = {f.code: f for f in segment_findings(flange, split, stock)}
    assert found["KIT-60"].verdict is Verdict.CLOSE
    assert found["KIT-62"].verdict is Verdict.HOLDS
    assert split_flange(flange, hole_pattern, cutter(), (StockSheet("6061-T6", 0.010, 0.1, 0.1),)) is None
    (finding,) = segment_findings(flange, None, (StockSheet("6061-T6", 0.010, 0.1, 0.1),))
    assert finding.verdict is Verdict.FAILS


@pytest.mark.expected_from(
    "closed form", "pilot holes 1.5 mm under size; too small to cut: left for the drill"
)
def test_pilot_holes(flange, hole_pattern):
    split = split_flange(flange, hole_pattern, cutter())
    assert {round(h.diameter, 6) for p in split.parts for h in p.holes} == {0.0051}
    coarse = kit_inputs().flange_cutter
    import dataclasses

    split = split_flange(flange, hole_pattern, dataclasses.replace(coarse, least_hole=0.006))
    assert sorted(split.pilotless) == sorted(h.label for h in flange.holes)
    assert all(p.holes == () for p in split.parts)


def test_dear_joints_favour_the_whole_flange(flange, hole_pattern):
    split = split_flange(flange, hole_pattern, cutter(), rules=SegmentRules(joint_price=10.0))
    assert len(split.cuts) == 2
    (finding,) = [f for f in segment_findings(flange, split) if f.code == "KIT-61"]
    assert "whole is cheaper" in finding.says


@pytest.mark.expected_from("property", "a joint starts where its cut meets the opening, on the lower face")
def test_joints_lie_where_the_cuts_are(flange, hole_pattern):
    split = split_flange(flange, hole_pattern, cutter())
    names = {part.name for part in split.parts}
    for joint, cut in zip(split.joints, split.cuts, strict=True):
        assert {joint.part_a, joint.part_b} <= names
        assert joint.start == pytest.approx((cut.inner[0], -cut.inner[1], -0.010))
        assert metal_of(split.parts[0]).area > 0.0


@pytest.mark.expected_from("published", "Blodgett: 0.10 x 9 mm2 / 2 mm = 0.45 mm")
def test_butt_shrinkage():
    assert butt_shrinkage(9e-6, 2e-3) == pytest.approx(0.45e-3)


@pytest.mark.expected_from("closed form", "60 degree groove through 10 mm: 100 tan 30 = 57.7 mm2")
def test_full_groove_area():
    assert full_groove_area(0.010, math.radians(60)) == pytest.approx(57.735e-6, rel=1e-4)


@pytest.mark.expected_from("closed form", "least rectangle of a turned 40 x 10 box with 3 mm added: 43 x 13")
def test_least_rectangle():
    turned = np.array([(0, 0), (40, 0), (40, 10), (0, 10)]) @ np.array([[0.8, 0.6], [-0.6, 0.8]]) / 1000
    assert least_rectangle(turned, 0.003) == pytest.approx(43 * 13e-6)


@pytest.mark.expected_from(
    "property", "parting the walls' seams keeps their length; each part names one segment"
)
def test_a_kit_in_segments():
    body = simple_body(u=1e-6)
    inputs = kit_inputs(expansion_pan=11.4e-6, flange_cutter=cutter(1e-4), flange_in_segments=True)
    flange = flange_part(inputs, body, flange_holes(inputs, body))
    parts = (*face_parts(body.cavity), flange)
    joints = edge_joints(body.cavity)
    new_parts, new_joints = in_segments(inputs, body.pattern, parts, joints)
    segments = [part for part in new_parts if part.name.startswith("flange ")]
    assert len(new_parts) == len(parts) - 1 + len(segments)
    under = [joint for joint in new_joints if joint.kind == "wall under flange"]
    before = sum(joint.length for joint in joints if joint.kind == "wall under flange")
    assert sum(joint.length for joint in under) == pytest.approx(before)
    assert len(under) == 4 + len(segments)
    names = {part.name for part in new_parts}
    assert all({joint.part_a, joint.part_b} <= names for joint in new_joints)
    by_name = {part.name: part for part in segments}
    for joint in under:
        (name,) = {joint.part_a, joint.part_b} & set(by_name)
        middle = 0.5 * (np.array(joint.start) + np.array(joint.end))
        flat = by_name[name].frame.to_flat(middle[None, :])[0]
        assert distance_to_outline(by_name[name].outline, flat) < 1e-9
    assert sum(joint.kind == "flange joint" for joint in new_joints) == len(segments)
    marked = with_marks(new_parts, new_joints, body)
    found = {f.code: f.verdict for f in marks_findings(marked, new_joints)}
    assert found["KIT-30"] is Verdict.HOLDS
    assert found["KIT-31"] is Verdict.HOLDS


def test_segments_are_proposed_where_the_whole_fits_no_sheet():
    body = simple_body(u=1e-6)
    small = (StockSheet("6061-T6", 0.010, 0.300, 0.150),)
    inputs = kit_inputs(stock=small)
    findings, proposals = flange_in_segments(inputs, body, flange_holes(inputs, body))
    assert [f.code for f in findings] == ["KIT-60"]
    assert [(p.target, p.value) for p in proposals] == [("cutting.flange_in_segments", "true")]
    inputs = kit_inputs(stock=small, flange_in_segments=True)
    findings, proposals = flange_in_segments(inputs, body, flange_holes(inputs, body))
    assert [f.code for f in findings] == ["KIT-60", "KIT-61", "KIT-62", "KIT-63"]
    assert proposals == ()
    assert flange_in_segments(kit_inputs(), body, flange_holes(inputs, body)) == ((), ())


def test_asked_for_segments_that_cannot_be():
    body = simple_body(u=1e-6)
    inputs = kit_inputs(stock=(StockSheet("6061-T6", 0.010, 0.1, 0.1),), flange_in_segments=True)
    findings, _ = flange_in_segments(inputs, body, flange_holes(inputs, body))
    assert [(f.code, f.verdict) for f in findings] == [
        ("KIT-60", Verdict.FAILS),
        ("KIT-61", Verdict.FAILS),
    ]
