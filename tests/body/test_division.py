"""The cavity parted by inner walls: volumes, surfaces, openings and their directions."""

from __future__ import annotations

from dataclasses import replace

import manifold3d as m3
import numpy as np
import pytest
import trimesh

from sumpwright.body import Cavity, PanBody, Pickup
from sumpwright.body.check import check
from sumpwright.body.division import divide
from sumpwright.body.solve import solve
from sumpwright.body.wall_model import Division, InnerWall, WallCut
from sumpwright.findings import Verdict
from sumpwright.geometry import FlatFrame
from sumpwright.outputs.words import finding_words
from sumpwright.quantities.units import frozen_array
from tests.body.hand_lumps import MM, body_of, box, inputs_of, pattern_round, plan
from tests.body.hand_walls import before, door, roof, slot, upright, window
from tests.body.random_bodies import near_real_body, random_body

TRAY = plan("tray", box(0, 400, 0, 200), 60)
SUMP = plan("sump", box(150, 400, 0, 200), 140)
MOUTH = np.array([280, 100, -130]) * MM


def with_walls(*walls: InnerWall) -> PanBody:
    pickup = Pickup(frozen_array(MOUTH), 0.03)
    return body_of(TRAY, SUMP, walls=walls, pickup=pickup)


def division_of(*walls: InnerWall) -> Division:
    division = with_walls(*walls).division
    assert division is not None
    return division


def assert_sound(division: Division, cavity: Cavity) -> None:
    """Every compartment is a closed surface; together they are the cavity."""
    for compartment in division.compartments:
        mesh = trimesh.Trimesh(compartment.surface.vertices, compartment.surface.triangles, process=False)
        assert mesh.is_watertight
        assert mesh.is_winding_consistent
        assert mesh.volume == pytest.approx(compartment.volume, rel=1e-9)
        np.testing.assert_allclose(mesh.center_mass, compartment.centre, atol=1e-9)
        normals = compartment.plane_normals
        corners = compartment.surface.vertices[compartment.surface.triangles]
        off = np.einsum("ijk,ik->ij", corners - corners[:, :1], normals)
        assert float(np.abs(off).max()) < 1e-14
    whole = sum(compartment.volume for compartment in division.compartments)
    assert whole == pytest.approx(cavity.volume, rel=1e-12)


@pytest.mark.expected_from("closed form", "a wall across the sump 275 mm along: boxes by hand")
def test_one_wall_across_the_sump() -> None:
    body = with_walls(upright("A", (275, 0), (275, 200), window("w1", 20, 60, -120, -90), top=-70))
    division, cavity = body.division, body.cavity
    assert division is not None
    assert cavity is not None
    assert_sound(division, cavity)
    front, rear = sorted(division.compartments, key=lambda one: -one.centre[0])
    assert front.volume == pytest.approx(125 * 200 * 140e-9, rel=1e-12)
    assert rear.volume == pytest.approx((150 * 200 * 60 + 125 * 200 * 140) * 1e-9, rel=1e-12)
    assert front.name == "around the pickup"
    cut, over = division.openings
    assert (cut.kind, cut.passes, cut.reaches_rail) == ("window", "both", False)
    assert cut.area == pytest.approx(40 * 30e-6, rel=1e-9)
    assert cut.hydraulic_diameter == pytest.approx(4 * 40 * 30 / 140 * MM, rel=1e-9)
    np.testing.assert_allclose(cut.centre, np.array([275, 40, -105]) * MM, atol=1e-9)
    np.testing.assert_allclose(cut.normal, [1, 0, 0], atol=1e-12)
    assert (cut.from_compartment, cut.to_compartment) == (rear.index, front.index)
    assert (over.kind, over.reaches_rail) == ("past the wall", True)
    assert over.area == pytest.approx(200 * 70e-6, rel=1e-9)
    (wall,) = division.walls
    assert wall.area == pytest.approx((200 * 70 - 40 * 30) * 1e-6, rel=1e-9)
    assert wall.displaced == pytest.approx(wall.area * 1.5 * MM, rel=1e-12)
    assert sorted(side.meets for side in wall.sides) == [
        "",
        "sump floor",
        "sump left wall",
        "sump right wall",
    ]


@pytest.mark.expected_from("closed form", "a wall flush with the sump's rear wall, up through the tray")
def test_a_wall_flush_with_a_face() -> None:
    body = with_walls(upright("F", (150, 0), (150, 200), window("w", 20, 60, -50, -30)))
    assert body.division is not None
    assert body.cavity is not None
    assert_sound(body.division, body.cavity)
    volumes = sorted(one.volume for one in body.division.compartments)
    assert volumes == pytest.approx([150 * 200 * 60e-9, 250 * 200 * 140e-9], rel=1e-12)
    (wall,) = body.division.walls
    assert wall.area == pytest.approx((200 * 60 - 40 * 20) * 1e-6, rel=1e-9)


def box_of_doors(passes: str = "with normal") -> tuple[InnerWall, ...]:
    """Four walls round the pickup with a door each in three, open at the top."""
    return (
        upright(
            "rear", (220, 60), (220, 140), door("d1", 20, 50, -135, -100, "with normal"), top=-60, ends=True
        ),
        upright("front", (330, 140), (330, 60), door("d2", 20, 50, -135, -100, passes), top=-60, ends=True),
        upright("right", (330, 60), (220, 60), slot("s1", 20, 50, -145, -130), top=-60, ends=True),
        upright("left", (220, 140), (330, 140), door("d3", 20, 50, -135, -100), top=-60, ends=True),
    )


@pytest.mark.expected_from("closed form", "a box of four walls round the pickup: 110 x 80 mm, up to the rail")
def test_a_box_of_walls_leaves_two_compartments() -> None:
    body = with_walls(*box_of_doors())
    division = body.division
    assert division is not None
    assert body.cavity is not None
    assert not division.trouble
    assert_sound(division, body.cavity)
    assert len(division.compartments) == 2
    inner = next(one for one in division.compartments if one.name == "around the pickup")
    assert inner.volume == pytest.approx(110 * 80 * 140e-9, rel=1e-12)
    kinds = sorted(opening.kind for opening in division.openings)
    assert kinds == ["door"] * 3 + ["drain slot"] + ["past the wall"] * 4
    (drain,) = (opening for opening in division.openings if opening.kind == "drain slot")
    assert drain.area == pytest.approx(30 * 10e-6, rel=1e-9)  # 5 mm of it hang below the floor
    past = sum(opening.area for opening in division.openings if opening.kind == "past the wall")
    assert past == pytest.approx(2 * (110 + 80) * 60e-6, rel=1e-9)


@pytest.mark.expected_from("closed form", "normal = x_axis cross y_axis; doors pass with or against it")
def test_doors_open_into_the_box() -> None:
    for passes, inwards in (("with normal", True), ("against normal", False)):
        division = division_of(*box_of_doors(passes))
        inner = next(one.index for one in division.compartments if one.name == "around the pickup")
        (way,) = (opening for opening in division.openings if opening.name == "d2 of front")
        goes_to = way.to_compartment if way.passes == "forward" else way.from_compartment
        # The front wall runs from left to right: its normal looks to the rear, into the box.
        normal = np.asarray(next(w for w in box_of_doors() if w.name == "front").frame.normal)
        assert normal[0] == pytest.approx(-1.0)
        assert (goes_to == inner) is inwards


@pytest.mark.expected_from("closed form", "a roof baffle in the plane of the tray's floor shuts the box")
def test_a_roof_baffle_flush_with_the_trays_floor() -> None:
    body = with_walls(*box_of_doors(), roof("lid", 60, window("hole", 230, 260, 80, 120)))
    division = body.division
    assert division is not None
    assert body.cavity is not None
    assert not division.trouble
    assert_sound(division, body.cavity)
    volumes = sorted(one.volume for one in division.compartments)
    inner, above = 110 * 80 * 80e-9, 400 * 200 * 60e-9
    assert volumes == pytest.approx([inner, 250 * 200 * 80e-9 - inner, above], rel=1e-12)
    assert not any(opening.kind == "past the wall" for opening in division.openings)
    lid = next(wall for wall in division.walls if wall.wall.name == "lid")
    assert lid.area == pytest.approx((250 * 200 - 30 * 40) * 1e-6, rel=1e-9)
    rear = next(wall for wall in division.walls if wall.wall.name == "rear")
    assert sorted(side.meets for side in rear.sides) == ["left", "lid", "right", "sump floor"]


@pytest.mark.expected_from("published", "manifold3d: split by plane and volume")
@pytest.mark.parametrize("generator", [near_real_body, random_body])
def test_slanted_walls_through_random_bodies(generator: object) -> None:
    parted = 0
    for seed in range(10):
        inputs, pattern = generator(seed)  # type: ignore[operator]
        cavity = solve(inputs, pattern).cavity
        assert cavity is not None
        rng = np.random.default_rng(seed)
        middle = cavity.vertices.mean(axis=0)
        heading = rng.uniform(0.0, np.pi)
        along = np.array([np.cos(heading), np.sin(heading), 0.0])
        up = np.array([0.0, 0.0, 1.0]) + rng.uniform(-0.15, 0.15) * np.cross(along, [0.0, 0.0, 1.0])
        up /= np.linalg.norm(up)
        frame = FlatFrame(frozen_array(middle), frozen_array(along), frozen_array(up))
        wall = InnerWall("slant", "wall", frame, 0.0015)
        division = divide(cavity, (wall,), None, 2e-6, 2e-4)
        assert not division.trouble
        assert_sound(division, cavity)
        whole = m3.Manifold(m3.Mesh64(np.array(cavity.vertices), np.array(cavity.triangles, dtype=np.uint64)))
        normal = np.asarray(frame.normal)
        halves = whole.split_by_plane(tuple(normal), float(normal @ middle))
        expected = sorted(
            part.volume() for half in halves for part in half.decompose() if part.volume() > 1e-10
        )
        assert sorted(one.volume for one in division.compartments) == pytest.approx(expected, rel=1e-9)
        (placed,) = division.walls
        # Metal from side to side is the whole section: nothing is open.
        assert not division.openings
        lines = whole.transform(_to_frame(frame)).slice(0.0)
        assert placed.area == pytest.approx(lines.area(), rel=1e-6)
        parted += len(division.compartments) > 1
    assert parted == 10


def _to_frame(frame: FlatFrame) -> np.ndarray:
    rows = np.stack([frame.x_axis, frame.y_axis, frame.normal])
    return np.column_stack([rows, -rows @ frame.origin])


@pytest.mark.expected_from("property", "two half walls a tenth of a micrometre apart are one plane")
def test_walls_in_one_plane_and_walls_that_cross_the_tray() -> None:
    # Two half walls in one plane leave a gap between them, as one wall with a window would.
    halves = (
        upright("a", (275, 0), (275, 80), ends=True),
        upright("b", (275.0000001, 120), (275, 200), ends=True),
    )
    division = division_of(*halves)
    assert len(division.compartments) == 2
    (way,) = division.openings
    assert way.kind == "past the wall"
    assert way.area == pytest.approx(40 * 140e-6, rel=1e-6)


def across(*cuts: WallCut, x: float = 275.0, name: str = "A", top: float | None = None) -> InnerWall:
    return upright(name, (x, 0), (x, 200), *cuts, top=top)


def stub_that_parts_nothing() -> tuple[InnerWall, ...]:
    """A wall in the tray that ends in the open, over a sump wall that ends below it."""
    stub = upright("C", (0, 100), (200, 100), ends=True)
    stub = replace(stub, limits=(*stub.limits, before((0.0, 0.0, -1.0), 60.0)))
    return stub, across(x=200, top=-60), roof("lid", 60, window("hole", 230, 260, 80, 120))


TROUBLE: dict[str, tuple[tuple[InnerWall, ...], str]] = {
    "beside the pan": ((across(x=600),), "misses the oil space"),
    "below everything": ((across(), across(x=300, name="B", top=-200)), "leave nothing"),
    "two that cross": (
        (across(top=-70), upright("B", (160, 100), (390, 100), top=-70, ends=True)),
        "runs through wall 'A'",
    ),
    "window beyond the wall": ((across(window("w", 180, 230, -120, -90)),), "reaches beyond the wall"),
    "window beside the wall": ((across(window("w", 300, 330, -20, -9)),), "lies beside"),
    "door wider than its wall": ((across(door("d", -10, 210, -120, -90)),), "reaches beyond the wall"),
    "cut in two": ((across(slot("s", -10, 210, -100, -90)),), "cut it in two"),
    "overlapping": (
        (across(window("v", 20, 60, -90, -70), window("w", 50, 80, -80, -60)),),
        "overlaps another",
    ),
    "parts nothing": (stub_that_parts_nothing(), "parts nothing"),
}


@pytest.mark.parametrize("name", TROUBLE)
def test_trouble_with_walls_is_said(name: str) -> None:
    walls, what = TROUBLE[name]
    body = with_walls(*walls)
    assert body.division is not None
    assert any(what in said for _, said, _ in body.division.trouble), body.division.trouble
    findings = [f for f in check(body).findings if f.code == "BODY-20"]
    assert findings
    for finding in findings:
        assert finding.verdict is Verdict.FAILS
        assert finding.do
        assert finding_words(finding, "mm").says


def test_a_compartment_without_a_way_in_or_out_is_said() -> None:
    shut = with_walls(upright("A", (275, 0), (275, 200)))
    assert [f.verdict for f in check(shut).findings if f.code == "BODY-22"] == [Verdict.FAILS] * 2
    one_way = with_walls(upright("A", (275, 0), (275, 200), door("d", 20, 60, -120, -90)))
    said = [f.says for f in check(one_way).findings if f.code == "BODY-22"]
    assert len(said) == 2
    assert any("no way in" in line for line in said)
    assert any("no way out" in line for line in said)
    open_one = with_walls(upright("A", (275, 0), (275, 200), window("w", 20, 60, -120, -90)))
    assert not [f for f in check(open_one).findings if f.code == "BODY-22"]


def test_without_walls_there_is_no_division() -> None:
    inputs = inputs_of(TRAY, SUMP)
    assert solve(inputs, pattern_round(0, 400, 0, 200)).division is None
    assert solve(replace(inputs, walls=()), pattern_round(0, 400, 0, 200)).division is None


@pytest.mark.expected_from(
    "property", "a roof baffle lets oil down and air up, or a finding says which it does not"
)
def test_a_roof_baffle_without_openings_is_told() -> None:
    def said(*cuts: WallCut) -> list[str]:
        body = body_of(plan("sump", box(0, 300, 0, 200), 120), walls=(roof("lid", 60, *cuts),))
        return [f.says for f in check(body).findings if f.code == "BODY-23"]

    (shut,) = said()
    assert "oil cannot come down" in shut
    assert "air cannot go up" in shut
    assert not said(window("hole", 100, 200, 50, 150))
    ways = [said(door("flap", 100, 200, 50, 150, way)) for way in ("with normal", "against normal")]
    assert sorted(("oil" in one[0], "air" in one[0]) for one in ways) == [(False, True), (True, False)]
