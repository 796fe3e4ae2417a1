"""Distances of triangle surfaces against independent libraries and closed forms."""

from __future__ import annotations

import struct

import manifold3d as m3
import numpy as np
import pytest
import trimesh

from sumpwright.geometry.stl import StlError, read_stl
from sumpwright.geometry.triangle_distance import (
    group_triangles,
    least_gap,
    moved,
    open_sides,
    winding_number,
)
from sumpwright.geometry.triangle_distance_compiled import pair_gap


def ball(radius: float, place: tuple[float, float, float], segments: int = 24) -> np.ndarray:
    mesh = m3.Manifold.sphere(radius, segments).translate(place).to_mesh64()
    return np.asarray(mesh.vert_properties)[:, :3][np.asarray(mesh.tri_verts)]


def block(low: tuple[float, ...], high: tuple[float, ...]) -> np.ndarray:
    mesh = trimesh.creation.box(bounds=[low, high])
    return np.asarray(mesh.triangles)


@pytest.mark.expected_from("published", "manifold3d: min_gap between random solids")
def test_least_gap_as_manifold3d() -> None:
    rng = np.random.default_rng(11)
    for _ in range(25):
        solids, surfaces = [], []
        for shift in ((0.0, 0.0, 0.0), tuple(rng.uniform(1.0, 3.0, 3))):
            solid = m3.Manifold.hull_points(rng.normal(size=(14, 3)) * 0.4).translate(shift)
            mesh = solid.to_mesh64()
            solids.append(solid)
            surfaces.append(np.asarray(mesh.vert_properties)[:, :3][np.asarray(mesh.tri_verts)])
        expected = solids[0].min_gap(solids[1], 10.0)
        found = least_gap(group_triangles(surfaces[0]), group_triangles(surfaces[1]))
        assert found is not None
        assert found.gap == pytest.approx(expected, abs=1e-12)
        assert float(np.linalg.norm(found.on_first - found.on_second)) == pytest.approx(expected, abs=1e-12)


@pytest.mark.expected_from("closed form", "corner, edge and face of two blocks; blocks that cross")
def test_blocks_by_hand() -> None:
    first = block((0, 0, 0), (1, 1, 1))
    for low, expected in (
        ((2.0, 0.2, 0.2), 1.0),
        ((2.0, 3.0, 0.2), np.sqrt(1 + 4)),
        ((2.0, 3.0, 4.0), np.sqrt(1 + 4 + 9)),
        ((0.5, 0.5, 0.5), 0.0),
        ((1.0, 0.0, 0.0), 0.0),
    ):
        second = block(low, tuple(c + 0.5 for c in low))
        found = least_gap(group_triangles(first), group_triangles(second))
        assert found is not None
        assert found.gap == pytest.approx(expected, abs=1e-12)
    cross = np.array([[[0.2, 0.2, -1.0], [0.3, 0.2, 2.0], [0.25, 0.3, 2.0]]])
    through = least_gap(
        group_triangles(cross), group_triangles(np.array([[[0, 0, 0], [1, 0, 0], [0, 1, 0]]], float))
    )
    assert through is not None
    assert through.gap == 0.0
    assert least_gap(group_triangles(first), group_triangles(block((5, 5, 5), (6, 6, 6))), beyond=1.0) is None


@pytest.mark.expected_from("published", "trimesh: nearest point in each triangle")
def test_points_against_a_surface() -> None:
    rng = np.random.default_rng(12)
    surface = ball(0.7, (0.1, 0.2, 0.3), 40)
    groups = group_triangles(surface)
    points = rng.normal(size=(20, 3)) * 1.5
    for point in points:
        nearest = trimesh.triangles.closest_point(surface, np.repeat(point[None], len(surface), axis=0))
        distance = np.linalg.norm(nearest - point, axis=1).min()
        found = least_gap(group_triangles(np.array([[point, point, point]])), groups)
        assert found is not None
        assert found.gap == pytest.approx(float(distance), abs=1e-9)


@pytest.mark.expected_from("property", "the pruned search finds what trying all pairs finds")
def test_pruning_loses_nothing() -> None:
    rng = np.random.default_rng(13)
    first, second = rng.normal(size=(9, 3, 3)) * 0.2, rng.normal(size=(300, 3, 3)) * 0.2
    second[:, :, 0] += 2.0
    skins = rng.uniform(0.0, 0.1, 9)
    p, q = np.zeros(3), np.zeros(3)
    gaps = np.array([[pair_gap(a, b, p, q) for b in second] for a in first]) - skins[:, None]
    found = least_gap(group_triangles(first, skins), group_triangles(second))
    assert found is not None
    assert found.gap == pytest.approx(float(gaps.min()), abs=1e-15)
    assert (found.first, found.second) == divmod(int(np.argmin(gaps)), 300)


@pytest.mark.expected_from("closed form", "two blocks, one turned by 45 deg about its middle and moved off")
def test_moved_triangles() -> None:
    first = group_triangles(block((0, 0, 0), (1, 1, 1)))
    c = np.sqrt(0.5)
    turn = np.array([[c, -c, 0.0], [c, c, 0.0], [0.0, 0.0, 1.0]])
    away = moved(first, turn, np.array([0.5, 0.5, 0.5]), np.array([3.0, 0.0, 0.0]))
    found = least_gap(first, away)
    assert found is not None
    assert found.gap == pytest.approx(3.0 - 0.5 - c, abs=1e-12)
    shifted = least_gap(first, moved(first, np.eye(3), np.zeros(3), np.array([0.0, 2.5, 0.0])))
    assert shifted is not None
    assert shifted.gap == pytest.approx(1.5, abs=1e-12)


@pytest.mark.expected_from("closed form", "a closed surface goes once round a point inside it")
def test_winding_number_and_open_sides() -> None:
    surface = block((0, 0, 0), (1, 1, 1))
    points = np.array([[0.5, 0.5, 0.5], [0.01, 0.99, 0.5], [1.2, 0.5, 0.5], [-3.0, 0.0, 0.0]])
    np.testing.assert_allclose(winding_number(points, surface), [1.0, 1.0, 0.0, 0.0], atol=1e-12)
    assert open_sides(surface) == 0
    assert open_sides(surface[1:]) == 3
    # One of twelve triangles gone: half of one side, a twelfth of all directions from the middle.
    middle = winding_number(points[:1], surface[1:])
    assert middle[0] == pytest.approx(11.0 / 12.0, abs=1e-12)


def binary_stl(triangles: np.ndarray) -> bytes:
    body = b"".join(struct.pack("<12fH", 0, 0, 0, *map(float, triangle.ravel()), 0) for triangle in triangles)
    return b"made by a test".ljust(80, b" ") + struct.pack("<I", len(triangles)) + body


@pytest.mark.expected_from("published", "trimesh: its own STL writers, text and binary")
def test_stl_as_written_by_trimesh() -> None:
    mesh = trimesh.creation.box(bounds=[[0, 0, 0], [10, 20, 30.5]])
    for kind in ("stl", "stl_ascii"):
        content = mesh.export(file_type=kind)
        content = content.encode() if isinstance(content, str) else content
        np.testing.assert_allclose(read_stl(content), mesh.triangles, rtol=1e-6)
    np.testing.assert_allclose(read_stl(binary_stl(mesh.triangles)), mesh.triangles, rtol=1e-6)


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"solid nothing\nendsolid",
        b"x" * 200,
        b"solid a\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nendloop",
        binary_stl(np.full((1, 3, 3), np.nan)),
        binary_stl(np.zeros((2, 3, 3)))[:-7],
    ],
)
def test_faulty_stl_is_refused_with_a_reason(content: bytes) -> None:
    with pytest.raises(StlError, match=r"file|corner|facet"):
        read_stl(content)
