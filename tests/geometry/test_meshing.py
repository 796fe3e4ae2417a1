"""Triangle meshes: they fill the shape once, keep what they shall keep, and are well shaped."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely import Point, Polygon, box

from sumpwright.geometry.constrained_triangles import (
    EdgesCannotBeKept,
    edge_keys,
    sides_of,
    triangles_with_edges,
)
from sumpwright.geometry.meshing import (
    TriangleMesh,
    least_angles,
    mesh_polygon,
    sharpest_angle,
    triangle_areas,
)

ELL = Polygon([(0, 0), (0.3, 0), (0.3, 0.1), (0.12, 0.1), (0.12, 0.25), (0, 0.25)])
NECK = shapely.union_all([box(0, 0, 0.1, 0.1), box(0.2, 0, 0.3, 0.1), box(0.05, 0.05, 0.25, 0.053)])
SLIT = box(0, 0, 0.1, 0.1).difference(box(0.0495, 0.03, 0.0505, 0.2))
COMB = box(0, 0, 0.2, 0.1).difference(
    shapely.union_all([box(0.01 + 0.02 * i, 0.02, 0.018 + 0.02 * i, 0.2) for i in range(9)])
)
NEEDLE = Polygon([(0, 0), (0.3, 0), (0.3, 0.02)])
HOLED = box(0, 0, 0.25, 0.15).difference(
    shapely.union_all([Point(x, 0.02).buffer(0.004, quad_segs=4) for x in (0.03, 0.12, 0.2)])
)


def whole(mesh: TriangleMesh, polygon: Polygon) -> None:
    """The triangles fill the shape once: same area, all the right way round, side to side."""
    areas = triangle_areas(mesh.points, mesh.triangles)
    assert areas.min() > 0.0
    assert areas.sum() == pytest.approx(polygon.area, rel=1e-9)
    count = len(mesh.points)
    sides, times = np.unique(edge_keys(sides_of(mesh.triangles), count), return_counts=True)
    assert times.max() == 2
    rim = np.vstack([np.stack([ring, np.roll(ring, -1)], axis=1) for ring in mesh.rings])
    assert sorted(sides[times == 1]) == sorted(edge_keys(rim, count))
    assert len(np.unique(mesh.triangles)) == count
    middles = mesh.points[mesh.triangles].mean(axis=1)
    assert shapely.contains_xy(polygon, middles).all()


@pytest.mark.expected_from("closed form", "area of the outline; every inner side belongs to two triangles")
@pytest.mark.parametrize(
    ("polygon", "size", "degrees"),
    [
        (box(0, 0, 0.3, 0.2), 0.02, 25),
        (ELL, 0.015, 25),
        (HOLED, 0.015, 22),
        (Point(0, 0).buffer(0.1, quad_segs=16), 0.015, 25),
        (NECK, 0.012, 20),
        (SLIT, 0.012, 20),
        (COMB, 0.01, 20),
        (NEEDLE, 0.01, 3.7),  # its own corner has 3.8 degrees
    ],
    ids=["box", "ell", "holed", "circle", "neck", "slit", "comb", "needle"],
)
def test_shapes_are_filled_with_good_triangles(polygon: Polygon, size: float, degrees: float) -> None:
    mesh = mesh_polygon(polygon, size)
    whole(mesh, polygon)
    assert np.degrees(sharpest_angle(mesh)) > degrees
    sides = mesh.points[sides_of(mesh.triangles)]
    assert np.hypot(*(sides[:, 0] - sides[:, 1]).T).max() < 2.0 * size


@pytest.mark.expected_from("closed form", "number of equilateral triangles of that side in the area")
def test_the_size_is_met() -> None:
    for size in (0.02, 0.01):
        mesh = mesh_polygon(ELL, size)
        assert len(mesh.triangles) == pytest.approx(ELL.area / (0.4330127 * size**2), rel=0.35)


@pytest.mark.expected_from("property", "random star-shaped outlines with spikes, filled once")
def test_random_outlines() -> None:
    rng = np.random.default_rng(11)
    worst = []
    for _ in range(15):
        n = int(rng.integers(3, 14))
        angles = np.sort(rng.uniform(0.0, 2.0 * np.pi, n))
        reach = rng.uniform(0.03, 0.2, n)
        polygon = Polygon(reach[:, None] * np.stack([np.cos(angles), np.sin(angles)], axis=1))
        if not polygon.is_valid or polygon.area < 1e-4:
            continue
        mesh = mesh_polygon(polygon, 0.02)
        whole(mesh, polygon)
        worst.append(np.degrees(np.percentile(least_angles(mesh.points, mesh.triangles), 10)))
    assert len(worst) > 8
    assert min(worst) > 15.0


@pytest.mark.expected_from("property", "two neighbours with one row of points along their common edge")
def test_neighbours_share_the_nodes_of_their_common_edge() -> None:
    rng = np.random.default_rng(2)
    row = np.sort(np.concatenate([[0.0, 0.2], rng.uniform(0.01, 0.19, 14)]))
    around = np.linspace(0.0, 0.15, 9)
    left = Polygon([(0.0, y) for y in row] + [(-x, 0.2) for x in around[1:]] + [(-0.15, 0.1), (-0.15, 0.0)])
    right = Polygon([(0.0, y) for y in row[::-1]] + [(x, 0.0) for x in around[1:]] + [(0.15, 0.2)])
    for polygon in (left, right):
        mesh = mesh_polygon(polygon, 0.015, keep_boundary=True)
        whole(mesh, polygon)
        (ring,) = mesh.rings
        given = np.asarray(polygon.exterior.coords)[:-1]
        assert np.array_equal(mesh.points[ring], given)
        on_row = mesh.points[np.abs(mesh.points[:, 0]) < 1e-12]
        assert sorted(on_row[:, 1]) == row.tolist()


@pytest.mark.expected_from("property", "length of the lines inside, as sides of triangles")
def test_inner_lines_are_kept() -> None:
    lines = (
        np.array([[0.05, 0.0], [0.05, 0.25]]),
        np.array([[0.0, 0.05], [0.4, 0.05]]),
        np.array([[0.02, 0.15], [0.1, 0.2], [0.1, 0.12]]),
    )
    mesh = mesh_polygon(ELL, 0.015, lines=lines)
    whole(mesh, ELL)
    there = edge_keys(sides_of(mesh.triangles), len(mesh.points))
    assert np.isin(edge_keys(mesh.line_edges, len(mesh.points)), there).all()
    for k, line in enumerate(lines):
        ends = mesh.points[mesh.line_edges[mesh.line_of_edge == k]]
        along = np.hypot(*(ends[:, 1] - ends[:, 0]).T).sum()
        assert along == pytest.approx(shapely.LineString(line).intersection(ELL).length, rel=1e-9)
    crossing = np.hypot(*(mesh.points - [0.05, 0.05]).T).min()
    assert crossing < 1e-12


@pytest.mark.expected_from("property", "a line that ends on a kept outline ends at one of its points")
def test_an_inner_line_meets_a_kept_outline_at_its_points() -> None:
    square = Polygon(
        [(x, 0.0) for x in np.linspace(0, 0.2, 11)[:-1]]
        + [(0.2, y) for y in np.linspace(0, 0.2, 11)[:-1]]
        + [(x, 0.2) for x in np.linspace(0.2, 0, 11)[:-1]]
        + [(0.0, y) for y in np.linspace(0.2, 0, 11)[:-1]]
    )
    mesh = mesh_polygon(square, 0.02, lines=(np.array([[0.06, 0.0], [0.06, 0.2]]),), keep_boundary=True)
    whole(mesh, square)
    assert np.array_equal(mesh.points[mesh.rings[0]], np.asarray(square.exterior.coords)[:-1])
    ends = mesh.points[mesh.line_edges]
    assert np.hypot(*(ends[:, 1] - ends[:, 0]).T).sum() == pytest.approx(0.2, rel=1e-9)


@pytest.mark.expected_from("property", "same shape, same bytes")
def test_the_same_shape_gives_the_same_mesh() -> None:
    one, two = mesh_polygon(HOLED, 0.02), mesh_polygon(HOLED, 0.02)
    assert one.points.tobytes() == two.points.tobytes()
    assert one.triangles.tobytes() == two.triangles.tobytes()


@pytest.mark.expected_from("property", "edges laid across random points are all there afterwards")
def test_missing_edges_are_recovered() -> None:
    rng = np.random.default_rng(7)
    for _ in range(20):
        points = np.vstack([rng.uniform(0, 1, (60, 2)), [[-0.1, 0.4], [1.1, 0.6], [-0.1, 0.7], [1.1, 0.8]]])
        edges = np.array([[60, 61], [62, 63]])
        triangles = triangles_with_edges(points, edges)
        there = edge_keys(sides_of(triangles), len(points))
        assert np.isin(edge_keys(edges, len(points)), there).all()
        assert triangle_areas(points, triangles).min() > 0.0


def test_crossing_edges_are_told() -> None:
    points = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0], [0.5, 0.2]])
    with pytest.raises(EdgesCannotBeKept):
        triangles_with_edges(points, np.array([[0, 2], [1, 3]]))


def test_what_cannot_be_meshed_is_refused() -> None:
    with pytest.raises(ValueError, match="more than nothing"):
        mesh_polygon(ELL, 0.0)
    with pytest.raises(ValueError, match="cross itself"):
        mesh_polygon(Polygon([(0, 0), (1, 1), (1, 0), (0, 1)]), 0.1)
    with pytest.raises(ValueError, match="touches"):
        mesh_polygon(Polygon([(0, 0), (1, 0), (1, 1), (0, 1)], [[(0, 0.5), (0.2, 0.3), (0.2, 0.7)]]), 0.1)
