"""The cavity: exact planes, true volume, one graph of faces and edges, no spurious faces."""

from __future__ import annotations

from dataclasses import replace

import manifold3d as m3
import numpy as np
import pytest
import trimesh

from sumpwright.body import BodyInputs, Cavity, Lump, PanBody
from sumpwright.body.solve import solve
from sumpwright.geometry import Plane
from sumpwright.quantities.units import frozen_array
from tests.body.hand_lumps import MM, body_of, box, outline, plan, side
from tests.body.random_bodies import near_real_body, random_body

SEEDS = range(12)
GENERATORS = (near_real_body, random_body)


def counts(cavity: Cavity) -> tuple[int, int, int]:
    return len(cavity.faces), len(cavity.edges), len(cavity.vertices)


def solved(generator: object, seed: int) -> PanBody:
    inputs, pattern = generator(seed)  # type: ignore[operator]
    body = solve(inputs, pattern)
    assert body.cavity is not None
    return body


def swept_by_hand(lump: Lump) -> m3.Manifold:
    """The same lump in millimetres put together by another library's own calls: sweep, turn, trim."""
    shape = m3.CrossSection([np.asarray(lump.outline) * 1e3], m3.FillRule.NonZero)
    if lump.view == "side":
        # x stays, the outline's z becomes z, the sweep runs along y.
        swept = shape.extrude((lump.across_to - lump.across_from) * 1e3).rotate((90.0, 0.0, 0.0))
        return swept.translate((0.0, lump.across_to * 1e3, 0.0))
    assert lump.floor is not None
    swept = shape.extrude(3e3).translate((0.0, 0.0, lump.top * 1e3 - 3e3))
    return swept.trim_by_plane(tuple(-np.asarray(lump.floor.normal)), -lump.floor.offset * 1e3)


@pytest.mark.expected_from("published", "manifold3d: extrude, rotate, trim by plane, boolean and volume")
def test_volume_as_another_librarys_sweep_and_join() -> None:
    tried = 0
    for generator in GENERATORS:
        for seed in SEEDS:
            inputs, _ = generator(seed)
            if any(lump.wall_slope for lump in inputs.lumps):
                continue
            body = solved(generator, seed)
            expected = m3.Manifold()
            for lump in inputs.lumps:
                part = swept_by_hand(lump)
                expected = expected + part if lump.adds else expected - part
            expected = expected.trim_by_plane((0.0, 0.0, -1.0), 0.0)
            whole = expected.volume() * 1e-9
            assert body.cavity is not None
            assert body.cavity.volume == pytest.approx(whole, rel=1e-9)
            assert sum(change for _, change in body.cavity.lump_volumes) == pytest.approx(whole, rel=1e-9)
            tried += 1
    assert tried >= 12


@pytest.mark.expected_from("published", "trimesh: volume and tightness of the triangle surface")
@pytest.mark.parametrize("generator", GENERATORS)
def test_surface_is_closed_and_has_the_volume(generator: object) -> None:
    for seed in SEEDS:
        cavity = solved(generator, seed).cavity
        assert cavity is not None
        mesh = trimesh.Trimesh(cavity.vertices, cavity.triangles, process=False)
        assert mesh.is_watertight
        assert mesh.is_winding_consistent
        assert mesh.volume == pytest.approx(cavity.volume, rel=1e-9)


@pytest.mark.expected_from("property", "every corner lies on the planes of all its faces")
@pytest.mark.parametrize("generator", GENERATORS)
def test_corners_lie_on_their_planes(generator: object) -> None:
    for seed in SEEDS:
        cavity = solved(generator, seed).cavity
        assert cavity is not None
        for face in cavity.faces:
            for loop in face.loops:
                off = cavity.vertices[loop] @ face.plane.normal - face.plane.offset
                assert float(np.abs(off).max()) < 1e-15
            assert face.area > 0.0
        corners = np.concatenate([loop for face in cavity.faces for loop in face.loops])
        assert np.bincount(corners, minlength=len(cavity.vertices)).min() >= 3


@pytest.mark.expected_from("property", "Euler's count for a solid without tubes")
@pytest.mark.parametrize("generator", GENERATORS)
def test_face_edge_graph_closes(generator: object) -> None:
    for seed in SEEDS:
        cavity = solved(generator, seed).cavity
        assert cavity is not None
        inner = sum(len(face.loops) - 1 for face in cavity.faces)
        assert len(cavity.vertices) - len(cavity.edges) + len(cavity.faces) - inner == 2
        borders = sum(len(loop) for face in cavity.faces for loop in face.loops)
        assert borders == 2 * len(cavity.edges)
        names = [face.name for face in cavity.faces]
        assert len(set(names)) == len(names)
        # An edge lies in both its planes.
        for edge in cavity.edges:
            along = cavity.vertices[edge.end] - cavity.vertices[edge.start]
            for face in (edge.face_a, edge.face_b):
                assert abs(float(along @ cavity.faces[face].plane.normal)) < 1e-14


@pytest.mark.expected_from("property", "the triangles of a face add up to the area inside its loops")
def test_the_triangles_of_a_face_cover_its_area() -> None:
    for seed in SEEDS:
        cavity = solved(near_real_body, seed).cavity
        assert cavity is not None
        corners = cavity.vertices[cavity.triangles]
        double = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        for face in cavity.faces:
            own = double[cavity.face_of_triangle == face.index]
            assert abs(0.5 * float(own.sum(axis=0) @ face.plane.normal) - face.area) < 1e-15
            assert float((own @ face.plane.normal).min()) > -1e-15


# --- snapping --------------------------------------------------------------------------


def jittered(inputs: BodyInputs, rng: np.random.Generator, by: float) -> BodyInputs:
    """The same lumps with every number moved a little."""
    lumps = []
    for lump in inputs.lumps:
        floor = lump.floor
        if floor is not None:
            floor = Plane(floor.normal, floor.offset + rng.uniform(-by, by))
        moved = np.asarray(lump.outline) + rng.uniform(-by, by, np.shape(lump.outline))
        lumps.append(
            replace(lump, outline=frozen_array(moved), floor=floor, top=lump.top + rng.uniform(-by, by))
        )
    return replace(inputs, lumps=tuple(lumps))


@pytest.mark.expected_from("property", "rounding in the lumps makes no face more or less")
@pytest.mark.parametrize("generator", GENERATORS)
def test_jitter_makes_no_spurious_faces(generator: object) -> None:
    rng = np.random.default_rng(7)
    for seed in SEEDS:
        inputs, pattern = generator(seed)  # type: ignore[operator]
        body = solved(generator, seed)
        for by in (1e-9, 2e-7):
            again = solve(jittered(inputs, rng, by), pattern)
            assert again.cavity is not None
            assert body.cavity is not None
            assert counts(again.cavity) == counts(body.cavity)
            assert [f.name for f in again.cavity.faces] == [f.name for f in body.cavity.faces]


TOUCHING = {
    "sloping sump begun at the tray's floor, flush with its wall": (
        plan("sump", box(100, 300, 0, 200), 120, top=-60, slope_deg=6),
        (12, 26, 16),
    ),
    "sloping sump with one corner in a wall": (
        plan("sump", outline((100, 0), (300, 0), (300, 200), (100, 100)), 120, top=-60, slope_deg=6),
        (12, 26, 16),
    ),
    "sump that only butts against the tray's wall": (
        plan("sump", outline((100, 0), (50, -50), (350, -100), (300, 0)), 120),
        (12, 28, 18),
    ),
    "corner of a slanted sump on a wall": (
        plan("sump", outline((200, 0), (300, -100), (350, -100), (350, 100)), 120),
        (12, 29, 19),
    ),
    "corners touching two walls from inside": (
        plan("sump", outline((300, 0), (400, 100), (250, 150)), 120),
        (11, 23, 14),
    ),
    "slanted sump through a corner of the tray": (
        plan("sump", outline((300, 0), (500, -100), (400, 200), (250, 150)), 120),
        (10, 22, 14),
    ),
}


@pytest.mark.expected_from("property", "four planes through one point stay one corner under rounding")
@pytest.mark.parametrize("name", TOUCHING)
def test_corners_that_touch_a_wall_stay_one_corner(name: str) -> None:
    sump, expected = TOUCHING[name]
    tray = plan("tray", box(0, 400, 0, 200), 60)
    body = body_of(tray, sump)
    assert body.cavity is not None, body.trouble
    assert counts(body.cavity) == expected
    rng = np.random.default_rng(3)
    for _ in range(5):
        for by in (1e-9, 2e-7):
            again = solve(jittered(body.inputs, rng, by), body.pattern)
            assert again.cavity is not None, again.trouble
            assert counts(again.cavity) == expected


# --- turning the job -------------------------------------------------------------------


def turned(inputs: BodyInputs, angle: float, shift: np.ndarray) -> BodyInputs:
    """The same job with everything turned about the vertical and moved."""
    c, s = np.cos(angle), np.sin(angle)
    about = np.array([[c, -s], [s, c]])
    lumps = []
    for lump in inputs.lumps:
        assert lump.floor is not None
        normal = np.append(about @ lump.floor.normal[:2], lump.floor.normal[2])
        floor = Plane(frozen_array(normal), lump.floor.offset + float(normal[:2] @ shift))
        lumps.append(
            replace(lump, outline=frozen_array(np.asarray(lump.outline) @ about.T + shift), floor=floor)
        )
    up = np.append(about @ inputs.up[:2], inputs.up[2])
    return replace(inputs, lumps=tuple(lumps), up=frozen_array(up))


def areas(cavity: Cavity) -> list[float]:
    return sorted(face.area for face in cavity.faces)


def corner_angles(cavity: Cavity) -> list[float]:
    return sorted(edge.corner_angle for edge in cavity.edges)


@pytest.mark.expected_from("property", "turning and moving the whole job changes nothing")
def test_turning_the_job_changes_nothing() -> None:
    tried = 0
    for generator in GENERATORS:
        for seed in SEEDS:
            inputs, pattern = generator(seed)
            if any(lump.view == "side" for lump in inputs.lumps):
                continue
            body = solved(generator, seed).cavity
            again = solve(turned(inputs, 0.7 + 0.3 * seed, np.array([0.11, -0.07])), pattern).cavity
            assert body is not None
            assert again is not None
            assert counts(again) == counts(body)
            assert again.volume == pytest.approx(body.volume, rel=1e-12)
            np.testing.assert_allclose(
                sorted(face.area for face in again.faces),
                sorted(face.area for face in body.faces),
                rtol=1e-10,
            )
            np.testing.assert_allclose(
                sorted(edge.corner_angle for edge in again.edges),
                sorted(edge.corner_angle for edge in body.edges),
                atol=1e-10,
            )
            tried += 1
    assert tried >= 10


# --- bodies worked by hand -------------------------------------------------------------


@pytest.mark.expected_from("closed form", "a box with a smaller box under it, by hand")
def test_tray_and_sump_by_hand() -> None:
    body = body_of(plan("tray", box(0, 400, 0, 200), 60), plan("sump", box(250, 400, 50, 150), 140))
    cavity = body.cavity
    assert cavity is not None
    assert not body.trouble
    assert not body.gate
    assert cavity.volume == pytest.approx((400 * 200 * 60 + 150 * 100 * 80) * 1e-9, rel=1e-14)
    changes = dict(cavity.lump_volumes)
    assert changes["tray"] == pytest.approx(400 * 200 * 60e-9, rel=1e-12)
    assert changes["sump"] == pytest.approx(150 * 100 * 80e-9, rel=1e-12)
    by_name = {face.name: face for face in cavity.faces}
    assert set(by_name) == {
        "rail opening", "tray rear wall", "tray left wall", "tray right wall", "tray floor",
        "sump front wall", "sump rear wall", "sump left wall", "sump right wall", "sump floor",
    }  # fmt: skip
    assert by_name["tray floor"].area == pytest.approx((400 * 200 - 150 * 100) * 1e-6, rel=1e-12)
    # The front wall is one face from rail to sump floor, because both lumps end at x = 400;
    # it goes by the lump that covers most of it.
    assert by_name["sump front wall"].area == pytest.approx((200 * 60 + 100 * 80) * 1e-6, rel=1e-12)
    inward = [edge for edge in cavity.edges if edge.is_inward]
    assert len(inward) == 3
    for edge in cavity.edges:
        assert edge.corner_angle == pytest.approx(np.pi * (1.5 if edge.is_inward else 0.5), abs=1e-12)


@pytest.mark.expected_from("closed form", "frustum with a rectangular top: h/6 (2ab + ab' + a'b + 2a'b')")
def test_sloping_walls_make_a_frustum() -> None:
    body = body_of(plan("sump", box(0, 300, 0, 200), 80, slope_deg=10))
    assert body.cavity is not None
    inset = 80 * np.tan(np.radians(10))
    a, b, a2, b2, h = 300, 200, 300 - 2 * inset, 200 - 2 * inset, 80
    expected = h / 6 * (2 * a * b + a * b2 + a2 * b + 2 * a2 * b2) * 1e-9
    assert body.cavity.volume == pytest.approx(expected, rel=1e-13)


@pytest.mark.expected_from("closed form", "wedge: a floor that runs out at the rail, half the box")
def test_floor_that_runs_out_through_the_rail() -> None:
    # 0 deep at y = 0, 100 deep at y = 200: the outline reaches 50 mm beyond where the floor meets the rail.
    normal = np.array([0.0, 0.1, 0.2])
    normal = -normal / np.linalg.norm(normal)
    lump = Lump("sump", True, "plan", box(0, 300, -50, 200), Plane(frozen_array(normal), 0.0))
    body = body_of(lump)
    assert body.cavity is not None, body.trouble
    assert body.cavity.volume == pytest.approx(0.5 * 300 * 200 * 100e-9, rel=1e-12)
    assert counts(body.cavity) == (5, 9, 6)


@pytest.mark.expected_from("closed form", "a box less a tunnel across it")
def test_a_notch_across_the_floor() -> None:
    body = body_of(
        plan("tray", box(0, 400, 0, 200), 100),
        side("axle notch", outline((150, -200), (250, -200), (250, -40), (150, -40)), -500, 500),
    )
    cavity = body.cavity
    assert cavity is not None
    assert cavity.volume == pytest.approx((400 * 200 * 100 - 100 * 200 * 60) * 1e-9, rel=1e-12)
    assert dict(cavity.lump_volumes)["axle notch"] == pytest.approx(-100 * 200 * 60e-9, rel=1e-10)
    names = {face.name for face in cavity.faces}
    assert {"axle notch front wall", "axle notch rear wall", "axle notch floor"} <= names


@pytest.mark.expected_from("property", "a lump taller than the rail is cut off by it")
def test_a_lump_that_stands_above_the_rail_is_cut_off() -> None:
    low = body_of(plan("tray", box(0, 300, 0, 200), 100))
    tall = body_of(plan("tray", box(0, 300, 0, 200), 100, top=40))
    assert low.cavity is not None
    assert tall.cavity is not None
    assert counts(low.cavity) == counts(tall.cavity) == (6, 12, 8)
    assert tall.cavity.volume == pytest.approx(low.cavity.volume, rel=1e-13)


@pytest.mark.expected_from("property", "corners in line or doubled, and the way round, change nothing")
def test_outlines_may_be_given_clumsily() -> None:
    neat = body_of(plan("tray", box(0, 300, 0, 200), 100)).cavity
    clumsy = outline((0, 200), (0, 200), (150, 200), (300, 200), (300, 0), (299.9999999, 0), (0, 0), (0, 100))
    rough = body_of(plan("tray", clumsy, 100)).cavity
    assert neat is not None
    assert rough is not None
    assert counts(neat) == counts(rough)
    assert rough.volume == pytest.approx(neat.volume, rel=1e-9)


@pytest.mark.expected_from("property", "same input, same bytes")
def test_same_input_same_numbers() -> None:
    inputs, pattern = random_body(3)
    first, second = solve(inputs, pattern).cavity, solve(inputs, pattern).cavity
    assert first is not None
    assert second is not None
    assert first.vertices.tobytes() == second.vertices.tobytes()
    assert first.triangles.tobytes() == second.triangles.tobytes()
    assert [face.name for face in first.faces] == [face.name for face in second.faces]
    assert MM == 1e-3


@pytest.mark.expected_from("property", "what the generator promises")
def test_random_bodies_are_as_promised() -> None:
    inward = passed = 0
    for seed in range(25):
        inputs, pattern = random_body(seed)
        assert 2 <= len(inputs.lumps) <= 5
        assert 0.0015 <= inputs.sheet <= 0.004
        body = solve(inputs, pattern)
        assert body.cavity is not None
        inward += any(edge.is_inward for edge in body.cavity.edges)
        passed += not body.gate and not body.trouble
    assert inward >= 13
    assert passed >= 15
