"""The rebuild check finds what was spoilt on purpose, at its place, and passes what is whole."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from manifold3d import Manifold, OpType

from sumpwright.findings import Verdict
from sumpwright.geometry import FlatFrame, Outline
from sumpwright.kit import JointChoice
from sumpwright.kit.check import check
from sumpwright.kit.corners import close_corners
from sumpwright.kit.flange import flange_part
from sumpwright.kit.joint_check import joint_findings
from sumpwright.kit.joints import choose_seams
from sumpwright.kit.panels import face_polygon, face_sheets
from sumpwright.kit.rebuild import measure, sheet_of
from sumpwright.kit.rebuild_check import rebuild_findings
from sumpwright.kit.shell import flat_part
from sumpwright.kit.solids import surface_solid
from sumpwright.kit.solve import solve
from sumpwright.quantities.units import frozen_array
from tests.kit.hand_bodies import body_of, box, drawn, l_plan, tray_and_sump
from tests.kit.made_bodies import kit_inputs

SHAPES = {
    "box": box,
    "L": l_plan,
    "tray and sump": tray_and_sump,
    "sump flush with one side": lambda: tray_and_sump(0.0, 0.0),
    "sump with draft": lambda: tray_and_sump(7.0),
}


@cache
def kit_of(name):
    return solve(kit_inputs(), body_of(SHAPES[name]()))


def spoilt(kit, name, change):
    parts = tuple(change(part) if part.name == name else part for part in kit.parts)
    return measure(kit.body, parts, 1, 20_000)


def outline_of(points):
    return Outline(frozen_array(points), frozen_array(np.zeros(len(points))))


@pytest.mark.parametrize("name", SHAPES)
@pytest.mark.expected_from(
    "property", "a kit of a plain shape goes together: shut, nothing collides, every look ends on metal"
)
def test_plain_shapes_close(name):
    report = kit_of(name).rebuild
    assert not report.refused, report
    assert report.gaps == ()
    assert report.worst_gap <= 0.0001
    assert report.escapes == 0
    assert report.rays == 100_000
    metal = sum(sheet_of(part).solid().volume() for part in kit_of(name).parts)
    assert report.overlap < 1e-6 * metal
    assert report.intrusion < 1e-6 * metal


@pytest.mark.parametrize("name", SHAPES)
@pytest.mark.expected_from("property", "one flat a face except the rail's, and the flange")
def test_every_face_is_a_flat(name):
    kit = kit_of(name)
    faces = [face.name for face in kit.body.cavity.faces if face.role != "rail"]
    assert sorted(part.name for part in kit.parts) == sorted([*faces, "flange"])


@pytest.mark.expected_from("closed form", "box of 300 x 200 x 90 mm in 3 mm: walls end under a 10 mm flange")
def test_flats_of_a_box():
    kit = kit_of("box")
    areas = sorted(sheet_of(part).outline.area for part in kit.parts if part.face is not None)
    assert areas == pytest.approx(
        sorted([0.3 * 0.2, 0.3 * 0.08, 0.3 * 0.08, 0.2 * 0.08, 0.2 * 0.08]), rel=1e-9
    )
    assert kit.weld_length == pytest.approx(2 * (0.3 + 0.2) * 2 + 4 * 0.09)


@pytest.mark.expected_from("closed form", "mass of five plates and a ring, holes taken out")
def test_mass_of_a_box():
    inputs, kit = kit_inputs(), kit_of("box")
    sheet = inputs.density * 0.003 * (0.3 * 0.2 + 2 * (0.3 + 0.2) * 0.08)
    ring = 0.344 * 0.244 - 0.3 * 0.2 - sum(np.pi / 4 * hole.diameter**2 for hole in kit.flange_holes)
    assert kit.mass == pytest.approx(sheet + inputs.flange_density * 0.010 * ring, rel=1e-9)


@pytest.mark.expected_from(
    "property", "the drawn side lies outside: metal goes from the frame's plane towards the oil"
)
def test_flats_are_seen_from_outside():
    kit = kit_of("tray and sump")
    for part in kit.parts:
        if part.face is None:
            assert part.frame.normal @ [0.0, 0.0, -1.0] == pytest.approx(1.0)
            continue
        plane = kit.body.cavity.faces[part.face].plane
        assert part.frame.normal @ plane.normal == pytest.approx(1.0)
        assert plane.normal @ part.frame.origin - plane.offset == pytest.approx(part.thickness)
        low = part.outline.points.min(axis=0)
        assert low == pytest.approx([0.0, 0.0], abs=1e-12)


@pytest.mark.expected_from("property", "a floor cut 1 mm short leaks along its short side")
def test_a_short_part_is_found():
    kit = kit_of("box")
    floor = next(part for part in kit.parts if part.name.startswith("floor"))
    points = np.array(floor.outline.points)
    points[points[:, 0] > 0.1, 0] -= 0.001
    report = spoilt(kit, floor.name, lambda part: replace(part, outline=outline_of(points)))
    assert report.refused
    gaps = [gap for gap in report.gaps if gap.kind == "gap"]
    assert gaps
    # Upper bounds: at least the millimetre, at most an eighth and a step of the search above it.
    assert 0.001 <= max(gap.size for gap in gaps) <= 0.0014
    for gap in gaps:
        assert gap.place[0] == pytest.approx(0.3, abs=1e-9)
    assert report.escapes > 0


@pytest.mark.expected_from(
    "property", "a wall 0.1 mm short stays within the gap allowed, and only looks find the slit"
)
def test_a_hairline_is_no_gap():
    kit = kit_of("box")
    floor = next(part for part in kit.parts if part.name.startswith("floor"))
    points = np.array(floor.outline.points)
    points[points[:, 0] > 0.1, 0] -= 0.0001
    report = spoilt(kit, floor.name, lambda part: replace(part, outline=outline_of(points)))
    assert not report.refused
    assert 0.0001 <= report.worst_gap <= 0.00025
    assert report.escapes == 0


@pytest.mark.expected_from(
    "closed form", "a floor moved up by 1 mm stands in the oil with its area times a millimetre"
)
def test_metal_in_the_oil_is_found():
    kit = kit_of("box")
    floor = next(part for part in kit.parts if part.name.startswith("floor"))

    def lifted(part):
        frame = part.frame
        moved = FlatFrame(frozen_array(frame.origin - 0.001 * frame.normal), frame.x_axis, frame.y_axis)
        return replace(part, frame=moved)

    report = spoilt(kit, floor.name, lifted)
    assert report.refused
    assert report.intrusion == pytest.approx(0.3 * 0.2 * 0.001, rel=1e-6)
    assert any(gap.kind == "intrusion" and gap.where == floor.name for gap in report.gaps)


@pytest.mark.expected_from(
    "closed form", "two walls that both run 3 mm past their corner share 3 x 3 x 80 mm"
)
def test_colliding_parts_are_found():
    kit = kit_of("box")
    longer = {}
    for part in kit.parts:
        if part.name.startswith("wall"):
            points = np.array(part.outline.points)
            points[points[:, 0] > 0.1, 0] += 0.003
            points[points[:, 0] < 0.1, 0] -= 0.003
            longer[part.name] = replace(part, outline=outline_of(points))
    report = measure(kit.body, tuple(longer.get(part.name, part) for part in kit.parts), 1, 20_000)
    assert report.refused
    assert report.overlap == pytest.approx(4 * 0.003 * 0.003 * 0.080, rel=1e-6)
    assert sum(gap.kind == "overlap" for gap in report.gaps) == 4


@pytest.mark.expected_from("property", "a part left out is a wide open side")
def test_a_missing_part_is_found():
    kit = kit_of("box")
    wall = next(part for part in kit.parts if part.name.startswith("wall"))
    report = measure(kit.body, tuple(part for part in kit.parts if part is not wall), 1, 20_000)
    assert report.refused
    assert report.worst_gap > 0.003
    assert report.escapes > 1000


@pytest.mark.expected_from("property", "a tongue narrower than half the sheet is named")
def test_a_narrow_tongue_is_found():
    kit = kit_of("box")
    floor = next(part for part in kit.parts if part.name.startswith("floor"))
    points = np.array(floor.outline.points)
    tongue = np.array([[0.1, 0.0], [0.1, -0.004], [0.101, -0.004], [0.101, 0.0]])
    k = next(k for k in range(4) if points[k, 1] < 1e-9 and points[(k + 1) % 4, 1] < 1e-9)
    report = spoilt(
        kit,
        floor.name,
        lambda part: replace(part, outline=outline_of(np.insert(points, k + 1, tongue, axis=0))),
    )
    assert any(gap.kind == "outline" and gap.where == floor.name for gap in report.gaps)


@pytest.mark.expected_from("property", "the same body gives the same outlines, to the last bit")
def test_repeats_exactly():
    again = solve(kit_inputs(), body_of(SHAPES["sump with draft"]()))
    for one, other in zip(kit_of("sump with draft").parts, again.parts, strict=True):
        assert np.array_equal(one.outline.points, other.outline.points)
    assert again.rebuild == kit_of("sump with draft").rebuild


@pytest.mark.expected_from(
    "property", "findings: holds for a whole kit; fails with the place for a spoilt one"
)
def test_findings():
    kit = kit_of("tray and sump")
    report = check(kit_inputs(), kit)
    rebuilt = [f for f in report.findings if f.code in ("KIT-02", "KIT-03", "KIT-04", "KIT-06")]
    assert [f.verdict for f in rebuilt] == [Verdict.HOLDS] * 4
    wall = next(part for part in kit.parts if part.name.startswith("wall"))
    parts = tuple(part for part in kit.parts if part is not wall)
    bad = replace(kit, parts=parts, rebuild=measure(kit.body, parts, 1, 20_000))
    fails = [f for f in check(kit_inputs(), bad).findings if f.code == "KIT-02"]
    assert fails
    assert all(f.verdict is Verdict.FAILS and f.place is not None and f.do for f in fails)


@pytest.mark.expected_from(
    "closed form",
    "10 mm flange, 3 mm sheet: beyond asin(3/10) = 17.46 deg a wall meets the flange's inner side",
)
def test_a_steep_wall_ends_inside_the_flange():
    lean = np.radians(22.0)
    kit = solve(kit_inputs(), body_of(drawn([(0, 0), (300, 0), (300, 200), (0, 200)], 60.0, 22.0)))
    assert not kit.rebuild.refused
    steep = [f for f in rebuild_findings(kit_inputs(), kit) if f.code == "KIT-07"]
    assert len(steep) == 4
    figures = {figure.name: figure.value for figure in steep[0].figures}
    assert np.degrees(figures["lean"]) == pytest.approx(17.4576, abs=1e-3)
    # Outer skin runs 3 mm beside the oil side, which passes the upper edge of the opening.
    assert figures["up"] == pytest.approx(0.010 - 0.003 / np.sin(lean), abs=1e-9)


@pytest.mark.expected_from(
    "closed form", "joints by choice: trims of the two sheets as the formulas give them"
)
def test_a_job_can_choose_the_joint_of_a_seam():
    names = [part.name for part in kit_of("box").parts if part.name.startswith("wall")]
    floor = next(part.name for part in kit_of("box").parts if part.name.startswith("floor"))
    choices = tuple(JointChoice(floor, wall, "full lap") for wall in names)
    kit = solve(kit_inputs(joint_choices=choices), body_of(box()))
    assert not kit.rebuild.refused
    part = next(part for part in kit.parts if part.name == floor)
    # The floor lies under all four walls and reaches their outer skins.
    assert sheet_of(part).outline.area == pytest.approx(0.306 * 0.206, rel=1e-9)
    assert {joint.kind for joint in kit.joints if floor in (joint.part_a, joint.part_b)} == {"full lap"}
    assert joint_findings(kit_inputs(joint_choices=choices), kit) == ()


@pytest.mark.expected_from(
    "property", "a joint that a corner cannot have is named, and the usual one is made"
)
def test_a_joint_that_cannot_be_is_named():
    kit = kit_of("box")
    floor = next(part.name for part in kit.parts if part.name.startswith("floor"))
    wall = next(part.name for part in kit.parts if part.name.startswith("wall"))
    inputs = kit_inputs(
        joint_choices=(JointChoice(floor, wall, "inward lap"), JointChoice(floor, "lid", "full lap"))
    )
    kit = solve(inputs, body_of(box()))
    assert [finding.verdict for finding in joint_findings(inputs, kit)] == [Verdict.FAILS, Verdict.CANNOT_SAY]
    assert not kit.rebuild.refused


@pytest.mark.parametrize("share", [0.1, 0.3])
@pytest.mark.parametrize("name", ["L", "tray and sump"])
@pytest.mark.expected_from("property", "overlapped corners close at every vertex as well")
def test_overlapped_corners_close(name, share):
    kit = solve(kit_inputs(seam_overlap=share), body_of(SHAPES[name]()))
    assert not kit.rebuild.refused
    assert kit.rebuild.worst_gap <= 0.0001
    assert "overlapped" in {joint.kind for joint in kit.joints}


@pytest.mark.parametrize("draw", [0, 1])
@pytest.mark.parametrize("name", ["L", "sump with draft"])
@pytest.mark.expected_from("property", "sheets of different thickness meet and close as well")
def test_different_thicknesses_close(name, draw):
    body = body_of(SHAPES[name]())
    cavity = body.cavity
    rng = np.random.default_rng(draw)
    thickness = {face.index: float(rng.choice([0.002, 0.003, 0.005])) for face in cavity.faces}
    assert len(set(thickness.values())) > 1
    seams = choose_seams(cavity, thickness, 0.010, 0.0)
    sheets = face_sheets(cavity, seams, thickness)
    faces = {key: face_polygon(cavity, cavity.faces[key], sheet.frame) for key, sheet in sheets.items()}
    flange = flange_part(kit_inputs(), body, ())
    solid = surface_solid(cavity.vertices, cavity.triangles)
    work = close_corners(cavity, solid, sheets, faces, sheet_of(flange), seams)
    report = measure(body, (*(flat_part("metal", s) for s in work.sheets.values()), flange), 1, 20_000)
    assert not report.refused, report
    assert report.worst_gap <= 0.0001


@pytest.mark.parametrize("depth", [8.0, 10.0])
@pytest.mark.expected_from("property", "a wall no higher than the flange is refused with its name and place")
def test_a_face_within_the_flange_is_refused(depth):
    kit = solve(kit_inputs(), body_of(box(depth=depth)))
    assert kit.rebuild.refused
    assert not kit.parts
    (gap,) = kit.rebuild.gaps
    assert gap.where.startswith("wall")
    assert gap.where in kit.rebuild.why


@pytest.mark.expected_from(
    "property", "a roof whose sheet wants the flange's place is refused with both names"
)
def test_a_roof_too_near_the_flange_is_refused():
    tray = drawn([(0, 0), (420, 0), (420, 200), (0, 200)], 120.0)
    kick_out = drawn([(100, 150), (300, 150), (300, 260), (100, 260)], 120.0)

    def with_roof(down):
        above = Manifold.cube((0.6, 0.2, down * 1e-3 + 0.1)).translate((0.0, 0.2, -down * 1e-3))
        return body_of(Manifold.batch_boolean([tray, kick_out - above], OpType.Add))

    near = solve(kit_inputs(), with_roof(11.0)).rebuild
    assert near.refused
    assert any(gap.kind == "overlap" and "flange" in gap.where and "roof" in gap.where for gap in near.gaps)
    assert not solve(kit_inputs(), with_roof(14.0)).rebuild.refused
