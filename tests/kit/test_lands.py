"""A flange that follows steps and arched ends closes like a flat one, and says where it cannot."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely
from manifold3d import Manifold

from sumpwright.body.land_findings import land_findings as body_says
from sumpwright.body.rail_shape import uneven_rail
from sumpwright.findings import Verdict
from sumpwright.geometry.arcs import outline_area
from sumpwright.kit.arc_outlines import rounds_of, with_arcs
from sumpwright.kit.check import check
from sumpwright.kit.land_parts import on_lands
from sumpwright.kit.metal import chords
from sumpwright.kit.model import is_flange
from sumpwright.kit.rebuild import measure, sheet_of
from sumpwright.kit.rebuild_check import GAP_LIMIT
from sumpwright.kit.saddle_formulas import rolled_length
from sumpwright.kit.solve import solve
from sumpwright.kit.unfolding import folded
from sumpwright.rail import Land, Seal
from tests.kit.hand_bodies import body_of, box
from tests.kit.made_bodies import kit_inputs, rounded_rectangle

MAIN = Land("main", "flat", Seal("liquid sealant", 0.0003))
HANGS = Land(
    "front arch", "arch", Seal("end seal", 0.003), -0.012, 0.030, 0.012, "h6", "h7", middle=(0.316, 0.1)
)
STANDS = replace(HANGS, height=0.012)
REAR = Land("rear", "step", Seal("gasket", 0.0005), -0.012, from_hole="h12", to_hole="h1")
ONE_SIDE = replace(REAR, from_line=((-0.03, 0.17), (0.01, 0.17)), to_line=((-0.03, 0.03), (0.01, 0.03)))
END = replace(REAR, from_hole="h11", to_hole="h2", from_line=((0.03, -0.03), (0.03, 0.3)))

RAILS = {
    "an arch that hangs": (MAIN, HANGS),
    "an arch that stands up": (MAIN, STANDS),
    "a step on one side": (MAIN, ONE_SIDE),
    "a step too small for risers": (MAIN, replace(ONE_SIDE, height=-0.004)),
    "a step at one end": (MAIN, END),
    "a step and an arch": (MAIN, END, HANGS),
}


def on(lands, solid=None):
    """A body on a rail of these lands; its ring runs h1 to h14 round 332 x 232 mm."""
    body = body_of(box() if solid is None else solid)
    pattern = replace(body.pattern, lands=lands)
    return replace(body, pattern=pattern, uneven=uneven_rail(pattern, body.cavity))


@cache
def kit_on(name):
    return solve(kit_inputs(etched=name == "an arch that hangs"), on(RAILS[name]))


@pytest.mark.parametrize("name", RAILS)
@pytest.mark.expected_from("property", "on any rail: shut, nothing collides, no look gets out")
def test_a_kit_on_lands_closes(name):
    kit = kit_on(name)
    assert kit.lands.trouble == ()
    assert not kit.rebuild.refused, kit.rebuild
    assert kit.rebuild.worst_gap <= GAP_LIMIT
    assert kit.rebuild.escapes == 0
    names = {part.name for part in kit.parts}
    assert all(joint.part_a in names and joint.part_b in names for joint in kit.joints)
    holes = [hole.label for part in kit.parts for hole in part.holes]
    assert sorted(holes) == sorted(kit.body.pattern.names)


@pytest.mark.expected_from("property", "a kit with a plate missing is open")
@pytest.mark.parametrize(
    ("name", "gone"),
    [
        ("an arch that hangs", "saddle plate front arch"),
        ("an arch that stands up", "saddle plate front arch"),
        ("a step on one side", "flange riser rear 1"),
        ("a step at one end", "flange rear"),
    ],
)
def test_a_missing_plate_is_found(name, gone):
    body = on(RAILS[name])
    flat = solve(kit_inputs(etched=False), replace(body, uneven=None))
    flange = next(part for part in flat.parts if is_flange(part))
    laid = on_lands(body, body.cavity, body.uneven, flat.parts[:-1], flange, flat.joints)
    assert not measure(body, laid.flats, 1, 20_000, block=laid.block, top=laid.top).refused
    left = [part for part in laid.flats if part.name != gone]
    assert measure(body, left, 1, 20_000, block=laid.block, top=laid.top).refused


@pytest.mark.expected_from("closed form", "a wall lowered by 12.2 mm: 12 mm step, seals of 0.3 and 0.5 mm")
def test_seals_count_in_the_height_of_a_land():
    kit = kit_on("a step on one side")
    plate = next(part for part in kit.parts if part.name == "flange rear")
    assert plate.frame.origin[2] == pytest.approx(-0.010 - 0.0122)
    rear = next(part for part in kit.parts if part.face is not None and len(part.outline.points) == 8)
    heights = np.unique(np.round(rear.outline.points[:, 1], 9))
    assert heights[-1] - heights[-2] == pytest.approx(0.0122)


@pytest.mark.expected_from("closed form", "arc of a 3 mm strip on R 33")
def test_length_of_a_saddle_plate():
    strip = next(part for part in kit_on("an arch that hangs").parts if part.roll is not None)
    # Block R 30 and 3 mm of seal; crown 12 mm down, 0.3 mm of sealant on the rail, 3 mm of seal.
    axis = 33.0 - (12.0 - 0.3 + 3.0)
    turn = 2.0 * math.acos(axis / 36.0)
    length, width = np.ptp(strip.outline.points, axis=0)
    assert length == pytest.approx(1e-3 * turn * 34.5, abs=1e-9)
    assert rolled_length(turn, 0.0345) == pytest.approx(1e-3 * turn * 34.5)
    assert width == pytest.approx(0.316 + 0.006 - 0.300)
    standing = next(part for part in kit_on("an arch that stands up").parts if part.roll is not None)
    axis = 27.0 - (12.0 + 0.3 - 3.0)
    assert np.ptp(standing.outline.points[:, 0]) == pytest.approx(
        2e-3 * math.acos(axis / 27.0) * 25.5, abs=1e-9
    )


@pytest.mark.expected_from("closed form", "between two circles, cut off by the flange's face")
def test_metal_of_a_saddle_as_fitted():
    strip = next(part for part in kit_on("an arch that hangs").parts if part.roll is not None)
    axis = 33.0 - 14.7

    def below_face(radius):
        half = math.acos(axis / radius)
        return radius**2 * half - axis * radius * math.sin(half)

    (sheet,) = folded(strip)
    section = 1e-6 * (below_face(36.0) - below_face(33.0))
    assert sheet.outline.area == pytest.approx(section, rel=2e-3)  # chords, 0.02 mm off
    assert sheet.solid().volume() == pytest.approx(section * 0.022, rel=2e-3)


@pytest.mark.expected_from("property", "seams under plates and saddle go once round the opening")
def test_seams_under_the_plates_go_round_the_opening():
    for name in ("an arch that hangs", "a step on one side", "a step at one end"):
        kit = kit_on(name)
        under = [joint for joint in kit.joints if joint.kind == "wall under flange" and joint.legs is None]
        run = sum(joint.length for joint in under)
        for arch in kit.body.uneven.arches:
            run += 2.0 * math.sqrt((arch.radius + 0.003) ** 2 - arch.centre[1] ** 2)
        assert run == pytest.approx(2.0 * (0.3 + 0.2), abs=1e-6)


@pytest.mark.expected_from("property", "the bead lies in the open, its legs on the skins of metal")
def test_seams_of_risers_and_saddles_can_be_seen():
    for name in RAILS:
        kit = kit_on(name)
        solids = [sheet.solid() for part in kit.parts for sheet in folded(part)]
        for joint in kit.joints:
            if joint.legs is None:
                continue
            middle = 0.5 * (np.array(joint.start) + np.array(joint.end))
            out = np.array(joint.legs[0]) + np.array(joint.legs[1])
            out = out / np.linalg.norm(out)
            ball = Manifold.sphere(4e-4, 12)
            torch = ball.translate(tuple(middle + 1.5e-3 * out))
            beveled = joint.groove_angle < math.radians(70.0)
            assert beveled or all((torch ^ solid).volume() < 1e-15 for solid in solids), joint
            for leg in joint.legs:
                beside = ball.translate(tuple(middle + 1.5e-3 * np.array(leg)))
                near = sum((beside ^ solid).volume() for solid in solids) / ball.volume()
                assert beveled or 0.005 < near < 0.9, joint


@pytest.mark.expected_from("closed form", "area of a rectangle with rounded corners, cut straight")
def test_arcs_survive_a_cut():
    outline = rounded_rectangle(0.0, 0.0, 0.2, 0.1, 0.02)
    ring = shapely.Polygon(chords(outline)).intersection(shapely.box(-1.0, -1.0, 0.15, 1.0))
    back = with_arcs(np.array(shapely.orient_polygons(ring).exterior.coords)[:-1], rounds_of((outline,)))
    whole = 0.2 * 0.1 - (4.0 - math.pi) * 0.02**2
    gone = 0.05 * 0.1 - 0.5 * (4.0 - math.pi) * 0.02**2
    assert outline_area(back) == pytest.approx(whole - gone, abs=1e-12)
    assert np.count_nonzero(back.bulges) == 2


@pytest.mark.parametrize(
    ("land", "says"),
    [
        (replace(HANGS, height=0.0), "crown of unknown height"),
        (replace(HANGS, height=-0.045), "more than half a round"),
        (replace(HANGS, width=0.060), "reaches over the oil"),
        (replace(HANGS, radius=0.500), "wider than the wall"),
        (replace(HANGS, radius=None), "no radius or width"),
        (replace(HANGS, middle=(0.316, 0.5)), "does not lie over a wall"),
        (replace(REAR, height=0.004), "stands above the datum plane"),
        (replace(REAR, height=math.nan), "no usable height"),
        (replace(REAR, to_hole="h13"), "no hole of its own"),
        (replace(END, from_line=((0.2, -0.03), (0.2, 0.3))), "not parted from the rest"),
    ],
)
def test_what_cannot_be_followed_is_named(land, says):
    body = on((MAIN, land))
    assert [each.land for each in body.uneven.trouble] == [land.name]
    (said,) = [f for f in body_says(body) if f.code == "BODY-15"]
    assert said.verdict is Verdict.CANNOT_SAY
    assert says in said.says
    assert said.do
    kit = solve(kit_inputs(etched=False), body)
    assert kit.lands is None
    assert len([part for part in kit.parts if is_flange(part)]) == 1


@pytest.mark.parametrize(
    ("land", "solid", "says"),
    [
        (HANGS, box(depth=25.0), "too low to carry its saddle"),
        (replace(HANGS, height=-0.0298), box(), "end in needles"),
        (replace(ONE_SIDE, to_line=((-0.05, 0.00), (0.05, 0.06))), box(), "askew"),
        (END, box(depth=18.0), "stands in the"),
    ],
)
def test_what_the_parts_cannot_follow_is_named(land, solid, says):
    body = on((MAIN, land), solid)
    kit = solve(kit_inputs(etched=False), body)
    assert [says in each.what for each in kit.lands.trouble] == [True], kit.lands
    said = [f for f in check(kit_inputs(), kit).findings if f.code == "KIT-53"]
    assert [f.verdict for f in said] == [Verdict.CANNOT_SAY]


def test_places_not_read_cannot_be_said():
    for land in (REAR, replace(HANGS, middle=None)):
        body = on((MAIN, land))
        assert body.uneven.trouble == ()
        said = body_says(body)
        assert [f.verdict for f in said] == [Verdict.CANNOT_SAY]
        assert "measure" in said[0].do
        assert not solve(kit_inputs(etched=False), body).rebuild.refused


def test_dabs_saddles_and_risers_are_told():
    told = {}
    for name in RAILS:
        kit = kit_on(name)
        for finding in check(kit_inputs(), kit).findings:
            told.setdefault(finding.code, []).append(name)
        per_crossing = 2 * (len(kit.body.uneven.steps) + len(kit.body.uneven.arches))
        assert len(kit.lands.spots) == per_crossing
    assert len(told["KIT-54"]) == 3
    assert len(told["KIT-55"]) == 3
    assert len(told["KIT-56"]) == len(RAILS)
    (said,) = [
        f
        for f in check(kit_inputs(flange_in_segments=True), kit_on("a step at one end")).findings
        if f.code == "KIT-57"
    ]
    assert said.verdict is Verdict.CANNOT_SAY


def test_a_rail_in_one_plane_has_no_lands():
    assert on((MAIN,)).uneven is None
    assert on((MAIN, replace(REAR, height=-0.0002))).uneven is None


@pytest.mark.expected_from("property", "OpenCASCADE, true arcs: they touch and share nothing")
def test_a_saddle_in_another_modeller():
    pytest.importorskip("OCP", reason="the extra 'step' is not installed")
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Common, BRepAlgoAPI_Cut
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakeWire
    from OCP.BRepExtrema import BRepExtrema_DistShapeShape
    from OCP.BRepGProp import BRepGProp
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox, BRepPrimAPI_MakeCylinder, BRepPrimAPI_MakePrism
    from OCP.GC import GC_MakeArcOfCircle
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt, gp_Vec
    from OCP.GProp import GProp_GProps

    def volume(shape):
        props = GProp_GProps()
        BRepGProp.VolumeProperties_s(shape, props)
        return props.Mass()

    kit = kit_on("an arch that hangs")
    wall = next(p for p in kit.parts if p.face is not None and np.any(p.outline.bulges != 0.0))
    strip = next(p for p in kit.parts if p.roll is not None)
    at = sheet_of(wall).frame
    wire = BRepBuilderAPI_MakeWire()
    points = np.asarray(wall.outline.points)
    for k, bulge in enumerate(wall.outline.bulges):
        a, b = points[k], points[(k + 1) % len(points)]
        ends = [gp_Pnt(*map(float, 1e3 * p)) for p in at.to_space(np.array([a, b]))]
        if bulge == 0.0:
            wire.Add(BRepBuilderAPI_MakeEdge(*ends).Edge())
            continue
        chord = b - a
        middle = 0.5 * (a + b) + 0.5 * float(bulge) * np.array([chord[1], -chord[0]])
        on_arc = gp_Pnt(*map(float, 1e3 * at.to_space(middle[None])[0]))
        wire.Add(BRepBuilderAPI_MakeEdge(GC_MakeArcOfCircle(ends[0], on_arc, ends[1]).Value()).Edge())
    face = BRepBuilderAPI_MakeFace(wire.Wire(), True).Face()
    metal = BRepPrimAPI_MakePrism(face, gp_Vec(*map(float, 3.0 * at.normal))).Shape()

    y, z = strip.roll.centre
    axis = gp_Ax2(gp_Pnt(300.0, 1e3 * y, 1e3 * z), gp_Dir(1.0, 0.0, 0.0))
    rounds = [BRepPrimAPI_MakeCylinder(axis, r, 22.0).Shape() for r in (36.0, 33.0)]
    below = BRepPrimAPI_MakeBox(gp_Pnt(200.0, 0.0, -100.0), gp_Pnt(400.0, 200.0, 0.0)).Shape()
    saddle = BRepAlgoAPI_Common(BRepAlgoAPI_Cut(*rounds).Shape(), below).Shape()

    assert volume(BRepAlgoAPI_Common(metal, saddle).Shape()) == pytest.approx(0.0, abs=1e-6)
    assert BRepExtrema_DistShapeShape(metal, saddle).Value() == pytest.approx(0.0, abs=1e-6)
    (sheet,) = folded(strip)
    assert 1e9 * sheet.solid().volume() == pytest.approx(volume(saddle), rel=2e-3)
    assert volume(metal) == pytest.approx(1e9 * 0.003 * outline_area(wall.outline), rel=1e-9)
