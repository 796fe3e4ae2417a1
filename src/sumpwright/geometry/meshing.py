"""Triangles over a flat shape with holes, for computing plates.

Nodes along outline, holes and inner lines first (``mesh_lines``), then a hexagonal
filling whose pitch follows a size that grows away from short edges, Delaunay triangles
that keep all lines (``constrained_triangles``), and rounds of moving, adding and taking
away inner nodes while that widens the sharpest angles.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from sumpwright.geometry.constrained_triangles import edge_keys, sides_of, triangles_with_edges
from sumpwright.geometry.mesh_lines import GRADING, GradedSize, KeptLines, kept_lines
from sumpwright.quantities.units import (
    BoolArray,
    FloatArray,
    IntArray,
    Metre,
    Radian,
    frozen_array,
    frozen_indices,
)

_GOOD = np.radians(30.0)
_ENOUGH = np.radians(25.0)
_ROUNDS = 7


@dataclass(frozen=True, slots=True, eq=False)
class TriangleMesh:
    """Triangles that fill a flat shape once, side to side."""

    points: FloatArray  # (n, 2) m: nodes of the outline, of each hole, of inner lines, then the filling
    triangles: IntArray  # (m, 3) anticlockwise
    rings: tuple[IntArray, ...]  # nodes along the outline, then along each hole, in order
    line_edges: IntArray  # (k, 2) edges along the inner lines
    line_of_edge: IntArray  # (k,) which of the given lines


def mesh_polygon(
    polygon: shapely.Polygon,
    size: Metre,
    *,
    lines: tuple[FloatArray, ...] = (),
    keep_boundary: bool = False,
    least: Metre | None = None,
) -> TriangleMesh:
    """Triangles with sides of about ``size`` over a polygon with holes.

    Args:
        polygon: valid, with coordinates in m; holes must not touch the outline or each other.
        size: wanted length of a triangle's side [m]; shorter near short edges and in narrows.
        lines: inner lines, (k, 2) points each [m], along which triangles keep to sides; what
            lies outside the polygon is cut off; they may cross or end on the outline.
        keep_boundary: outline and holes get exactly the polygon's own points as nodes, so that
            two neighbours with the same points along their common edge share them. Lines that
            end on it then end at its nearest point. Otherwise long sides are divided.
        least: shortest side made on purpose [m]; a fortieth of ``size`` where not given.

    Returns:
        The mesh. Its sharpest angle is about 25 degrees or more, but for corners of the
        outline that are sharper, and beside kept points that stand much nearer to each
        other than to their neighbours.

    Raises:
        ValueError: for a polygon that is empty or not valid, touching rings, or size <= 0.
    """
    if size <= 0.0:
        raise ValueError("the size of triangles must be more than nothing")
    if polygon.is_empty or not polygon.is_valid or polygon.geom_type != "Polygon":
        raise ValueError("only one whole shape that does not cross itself can be meshed")
    rings = (polygon.exterior, *polygon.interiors)
    if any(ring.intersects(other) for k, ring in enumerate(rings) for other in rings[k + 1 :]):
        raise ValueError("a hole touches the outline or another hole")
    least = size / 40.0 if least is None else least
    kept = kept_lines(polygon, lines, size, least, keep_boundary)
    ends = kept.nodes[kept.edges]
    lengths = np.hypot(*(ends[:, 1] - ends[:, 0]).T)
    field = GradedSize(ends.mean(axis=1), lengths, size)
    shapely.prepare(polygon)
    area = polygon
    inner = _filling(area, kept, field, float(lengths.min()))
    best: tuple[float, float] = (-1.0, -1.0)
    found: tuple[FloatArray, IntArray] | None = None
    for turn in range(_ROUNDS + 1):
        points = np.vstack([kept.nodes, inner])
        triangles = _inside(area, points, triangles_with_edges(points, kept.edges), kept)
        sharpest = np.sort(least_angles(points, triangles))
        score = (float(sharpest[: max(1, len(sharpest) // 50)].mean()), float(sharpest[0]))
        if score > best:
            best, found = score, (points, triangles)
        if turn == _ROUNDS or (turn >= 1 and sharpest[0] > _ENOUGH):
            break
        inner = _better(area, kept, field, points, triangles, change=turn in (1, 3, 5))
    assert found is not None
    points, triangles = found
    on_line = kept.line >= 0
    return TriangleMesh(
        frozen_array(points),
        frozen_indices(triangles),
        tuple(frozen_indices(ring) for ring in kept.rings),
        frozen_indices(kept.edges[on_line].reshape(-1, 2)),
        frozen_indices(kept.line[on_line]),
    )


def least_angles(points: FloatArray, triangles: IntArray) -> FloatArray:
    """The sharpest angle (m,) of each triangle [rad]."""
    at, left, right = (points[np.roll(triangles, -k, axis=1).T.ravel()] for k in range(3))
    return np.asarray(_angle(at, left, right).reshape(3, -1).min(axis=0))


def triangle_areas(points: FloatArray, triangles: IntArray) -> FloatArray:
    """Area (m,) of each triangle [m2], positive anticlockwise."""
    a, b, c = (points[triangles[:, k]] for k in range(3))
    return np.asarray(0.5 * _cross(b - a, c - a))


def _cross(a: FloatArray, b: FloatArray) -> FloatArray:
    return np.asarray(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])


def _angle(at: FloatArray, left: FloatArray, right: FloatArray) -> FloatArray:
    u, v = left - at, right - at
    return np.asarray(np.abs(np.arctan2(_cross(u, v), np.einsum("ij,ij->i", u, v))))


def _filling(area: shapely.Polygon, kept: KeptLines, field: GradedSize, shortest: Metre) -> FloatArray:
    """Inner nodes (k, 2): hexagonal rows, finer ones where the size field asks for them."""
    from scipy.spatial import cKDTree

    rows = []
    pitch = field.size
    while True:
        grid = _lattice(area, field, pitch)
        grid = grid[shapely.contains_xy(area, grid)]
        wanted = field.at(grid)
        mine = (wanted >= pitch * 0.84) & ((wanted < pitch * 1.19) | (pitch >= field.size))
        rows.append(np.column_stack([grid[mine], wanted[mine]]))
        if pitch <= shortest or pitch < field.size / 128.0:
            break
        pitch /= np.sqrt(2.0)
    nodes = np.vstack(rows)
    nodes = nodes[_clear(kept, nodes[:, :2], 0.62 * nodes[:, 2])]
    # Rows of two pitches meet: of two nodes that stand too near the finer goes.
    tree = cKDTree(nodes[:, :2])
    gone = np.zeros(len(nodes), dtype=bool)
    for k, near in enumerate(tree.query_ball_point(nodes[:, :2], 0.72 * nodes[:, 2])):
        if not gone[k]:
            for other in near:
                if other > k:
                    gone[other] = True
    return np.asarray(nodes[~gone, :2])


def _lattice(area: shapely.Polygon, field: GradedSize, pitch: Metre) -> FloatArray:
    """Places of hexagonal rows: over the whole box, or only near what asks for so fine ones."""
    low_x, low_y, high_x, high_y = area.bounds
    x, y = 0.5 * (low_x + high_x), 0.5 * (low_y + high_y)
    high = pitch * np.sqrt(0.75)
    if pitch > 0.5 * field.size:
        nx, ny = int(0.5 * (high_x - low_x) / pitch) + 2, int(0.5 * (high_y - low_y) / high) + 2
        i, j = (each.ravel() for each in np.meshgrid(np.arange(-nx, nx + 1), np.arange(-ny, ny + 1)))
    else:
        sources = [np.asarray(tree.data) for shortest, tree in field.steps if shortest < 1.2 * pitch]
        near = np.vstack(sources) if sources else np.array([[x, y]])
        reach = int(1.2 / GRADING) + 2
        di, dj = (
            each.ravel() for each in np.meshgrid(np.arange(-reach, reach + 1), np.arange(-reach, reach + 1))
        )
        at_j = np.round((near[:, 1] - y) / high).astype(np.int64)[:, None] + dj
        at_i = np.round((near[:, 0] - x) / pitch).astype(np.int64)[:, None] + di
        i, j = np.unique(np.stack([at_i.ravel(), at_j.ravel()], axis=1), axis=0).T
    return np.stack([x + pitch * (i + 0.5 * (j % 2)), y + high * j], axis=1)


def _clear(kept: KeptLines, places: FloatArray, room: FloatArray) -> BoolArray:
    """Which places keep that far from every kept line."""
    if len(places) == 0:
        return np.zeros(0, dtype=np.bool_)
    ends = np.stack([kept.nodes[kept.edges[:, 0]], kept.nodes[kept.edges[:, 1]]], axis=1)
    tree = shapely.STRtree(np.asarray(shapely.linestrings(ends)))
    (mine, _), far = tree.query_nearest(shapely.points(places), return_distance=True, all_matches=False)
    distance = np.empty(len(places))
    distance[mine] = far
    return np.asarray(distance >= room)


def _inside(area: shapely.Polygon, points: FloatArray, triangles: IntArray, kept: KeptLines) -> IntArray:
    """The triangles within the outline and outside the holes.

    Whole patches between the rings are judged, by their largest triangle: a sliver along a
    straight row of nodes has no middle that could be judged.
    """
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    count = len(points)
    keys = edge_keys(sides_of(triangles), count)
    rings = edge_keys(kept.edges[kept.line < 0], count)
    owner = np.repeat(np.arange(len(triangles)), 3)
    open_side = ~np.isin(keys, rings)
    order = np.argsort(keys[open_side], kind="stable")
    sorted_keys, sorted_owner = keys[open_side][order], owner[open_side][order]
    same = sorted_keys[1:] == sorted_keys[:-1]
    links = coo_matrix(
        (np.ones(int(same.sum())), (sorted_owner[:-1][same], sorted_owner[1:][same])),
        shape=(len(triangles), len(triangles)),
    )
    number, patch = connected_components(links, directed=False)
    areas = np.abs(triangle_areas(points, triangles))
    kept_patches = np.zeros(number, dtype=bool)
    for k in range(number):
        members = np.nonzero(patch == k)[0]
        largest = members[int(np.argmax(areas[members]))]
        kept_patches[k] = bool(shapely.contains_xy(area, *points[triangles[largest]].mean(axis=0)))
    return np.asarray(triangles[kept_patches[patch]])


def _better(
    area: shapely.Polygon,
    kept: KeptLines,
    field: GradedSize,
    points: FloatArray,
    triangles: IntArray,
    *,
    change: bool,
) -> FloatArray:
    """Inner nodes moved between their neighbours; with ``change`` some added or taken away."""
    fixed = len(kept.nodes)
    if change:
        inner = _changed(area, kept, field, points, triangles)
        if inner is not None:
            return inner
    return _eased(kept, points, triangles)[fixed:]


def _eased(kept: KeptLines, points: FloatArray, triangles: IntArray) -> FloatArray:
    """The nodes (n, 2) with inner ones moved towards the middle of their neighbours.

    A node moves only where that widens the sharpest angle of the triangles round it.
    """
    fixed = len(kept.nodes)
    sides = sides_of(triangles)
    count = np.bincount(sides[:, 0], minlength=len(points))
    now = _sharpest_round(points, triangles)
    for part in (1.0, 1.0, 0.5, 0.5, 0.25):
        middle = (
            np.stack([np.bincount(sides[:, 0], points[sides[:, 1], k], len(points)) for k in (0, 1)], axis=1)
            / np.maximum(count, 1)[:, None]
        )
        moving = np.arange(len(points)) >= fixed
        for _ in range(4):
            moved = np.where(moving[:, None], points + part * (middle - points), points)
            then = _sharpest_round(moved, triangles)
            worse = moving & (then < now)
            if not worse.any():
                points, now = moved, then
                break
            moving &= ~worse
    return points


def _sharpest_round(points: FloatArray, triangles: IntArray) -> FloatArray:
    """The sharpest angle (n,) of the triangles round each node [rad], negative where one is turned over."""
    angles = np.where(triangle_areas(points, triangles) > 0.0, least_angles(points, triangles), -1.0)
    sharpest = np.full(len(points), np.pi)
    np.minimum.at(sharpest, triangles.ravel(), np.repeat(angles, 3))
    return sharpest


def _changed(
    area: shapely.Polygon, kept: KeptLines, field: GradedSize, points: FloatArray, triangles: IntArray
) -> FloatArray | None:
    """Inner nodes with one more in the middle of bad wide triangles, and crowded ones gone."""
    from scipy.spatial import cKDTree

    fixed = len(kept.nodes)
    angles = least_angles(points, triangles)
    bad = triangles[angles < _GOOD]
    if len(bad) == 0:
        return None
    bad = bad[np.argsort(angles[angles < _GOOD], kind="stable")]
    wanted = field.at(points)
    a, b, c = (points[bad[:, k]] for k in range(3))
    lengths = np.stack([np.hypot(*(q - p).T) for p, q in ((a, b), (b, c), (c, a))])
    shortest = np.argmin(lengths, axis=0)
    row = np.arange(len(bad))
    ends = np.stack([bad[row, shortest], bad[row, (shortest + 1) % 3]], axis=1)
    # Crowded: the short side of a bad triangle ends at an inner node.
    crowded = (lengths.min(axis=0) < 0.6 * wanted[ends].min(axis=1)) & (ends.max(axis=1) >= fixed)
    gone = np.zeros(len(points), dtype=bool)
    for corners, end in zip(bad[crowded], ends[crowded].max(axis=1), strict=True):
        if not gone[corners].any():
            gone[end] = True
    centres = _circumcentres(a, b, c)[~crowded & ~gone[bad].any(axis=1)]
    centres = centres[shapely.contains_xy(area, centres)]
    room = field.at(centres)
    free = _clear(kept, centres, 0.5 * room)
    if free.any():
        far, _ = cKDTree(points[~gone]).query(centres)
        free &= far > 0.6 * room
    new: list[FloatArray] = []
    for centre, space in zip(centres[free], room[free], strict=True):
        if all(float(np.hypot(*(other - centre))) > 0.7 * space for other in new):
            new.append(centre)
    if not new and not gone.any():
        return None
    inner = points[fixed:][~gone[fixed:]]
    return np.vstack([inner, np.array(new).reshape(-1, 2)])


def _circumcentres(a: FloatArray, b: FloatArray, c: FloatArray) -> FloatArray:
    """Centre (n, 2) of the circle through each three points; far off where they lie on a line."""
    u, v = b - a, c - a
    double = 2.0 * _cross(u, v)
    double = np.where(np.abs(double) < 1e-300, 1e-300, double)
    u2, v2 = np.einsum("ij,ij->i", u, u), np.einsum("ij,ij->i", v, v)
    off = np.stack([v[:, 1] * u2 - u[:, 1] * v2, u[:, 0] * v2 - v[:, 0] * u2], axis=1)
    return np.asarray(a + off / double[:, None])


def sharpest_angle(mesh: TriangleMesh) -> Radian:
    """The sharpest angle of all triangles [rad]."""
    return float(least_angles(mesh.points, mesh.triangles).min())
