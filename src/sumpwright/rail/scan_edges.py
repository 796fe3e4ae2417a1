"""Edges of a face in its plane: from the triangles that lie in it, or from its points alone."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sumpwright.quantities.units import BoolArray, FloatArray, IntArray, Metre
from sumpwright.rail.edge_circle import EdgeCircle, edge_circle
from sumpwright.rail.opening_circle import opening_circle

LEAST_DIAMETER: Metre = 0.003
MOST_DIAMETER: Metre = 0.04
_WHOLE = math.radians(250.0)
_ROUND = 0.12
"""Scatter over radius beyond which an opening counts as no round hole."""
_RIM = 0.15
"""Scatter over spacing below which the triangles' corners were set on the edge itself."""


@dataclass(frozen=True, slots=True, eq=False)
class FaceEdges:
    """What bounds a face in its plane."""

    round_ones: tuple[EdgeCircle, ...]
    outline: FloatArray  # (k, 2) m, the outer edge in order; no rows where none closes
    rims: FloatArray  # (n, 2) m, corners on edges of triangles; no rows in a cloud
    cells: Cells  # all points of the face
    spacing: Metre
    noise: Metre


def mesh_edges(xy: FloatArray, faces: IntArray, in_face: BoolArray, noise: Metre) -> FaceEdges | None:
    """Edges of the triangles (k, 3) whose corners all lie in the face; xy (n, 2) [m] of all points."""
    mine = faces[in_face[faces].all(axis=1)]
    corners, at = np.unique(mine, return_inverse=True)
    if corners.size < 20:
        return None
    places, weld = _welded(xy[corners])
    mine = weld[at.reshape(-1)].reshape(-1, 3)
    mine = mine[(mine[:, 0] != mine[:, 1]) & (mine[:, 1] != mine[:, 2]) & (mine[:, 2] != mine[:, 0])]
    n = len(places)
    ends = np.sort(np.concatenate((mine[:, [0, 1]], mine[:, [1, 2]], mine[:, [2, 0]])), axis=1)
    key, count = np.unique(ends[:, 0] * n + ends[:, 1], return_counts=True)
    key = key[count == 1]
    a, b = key // n, key % n
    if not a.size:
        return None
    cells, spacing = Cells(places), _spacing(places)
    label = _joined(a, b, n)
    on_edge = np.unique(np.concatenate((a, b)))
    order = np.argsort(label[on_edge], kind="stable")
    groups = np.split(on_edge[order], np.nonzero(np.diff(label[on_edge][order]))[0] + 1)
    found = []
    widest: tuple[float, int] = (0.0, -1)
    for group in groups:
        points = places[group]
        across = np.ptp(points, axis=0)
        width = float(np.hypot(*across))
        if width > widest[0]:
            widest = (width, int(label[group[0]]))
        if len(group) < 6 or across.min() <= LEAST_DIAMETER or across.max() > 1.3 * MOST_DIAMETER:
            continue
        rim = edge_circle(points)
        if rim is not None and _is_round(rim) and rim.scatter < _RIM * spacing:
            found.append(rim)
            continue
        middle = points.mean(axis=0)
        start = (float(middle[0]), float(middle[1]), 0.25 * float(across.sum()))
        circle = sharpened(cells, start, spacing, noise)
        if circle is not None and _is_round(circle) and abs(circle.radius / start[2] - 1.0) < 0.35:
            found.append(circle)
    outline = _in_order(places, a, b, label, widest[1])
    return FaceEdges(tuple(found), outline, places[on_edge], cells, spacing, noise)


def cloud_edges(xy: FloatArray, noise: Metre) -> FaceEdges | None:
    """Openings among the points (n, 2) [m] of a face, found on a grid and sharpened with all points."""
    from scipy import ndimage

    spacing = _spacing(xy)
    cell = 1.5 * spacing
    low = xy.min(axis=0) - 3.0 * cell
    shape = tuple((np.ceil((xy.max(axis=0) - low) / cell) + 3).astype(int).tolist())
    if shape[0] * shape[1] > 30_000_000:
        return None
    at = ((xy - low) / cell).astype(np.int64)
    count = np.bincount(at[:, 0] * shape[1] + at[:, 1], minlength=shape[0] * shape[1]).reshape(shape)
    # A cell that happens to be empty has full neighbours; a lone wild point in a hole has empty ones.
    filled = ndimage.uniform_filter(np.minimum(count, 2).astype(np.float64), 3) > 0.6
    label = ndimage.label(~filled)[0]
    cells = Cells(xy)
    area = np.bincount(label.ravel())
    found = []
    for k, box in enumerate(ndimage.find_objects(label), start=1):
        width = max(s.stop - s.start for s in box) * cell
        if k == label[0, 0] or area[k] < 2 or width > 1.3 * MOST_DIAMETER:
            continue
        middle = np.argwhere(label[box] == k).mean(axis=0) + [s.start for s in box]
        x, y = (low + (middle + 0.5) * cell).tolist()
        rough = math.sqrt(float(area[k]) * cell**2 / math.pi) + 0.5 * cell
        circle = sharpened(cells, (x, y, rough), spacing, noise)
        if circle is not None and _is_round(circle) and abs(circle.radius / rough - 1.0) < 0.6:
            found.append(circle)
    outline = _grid_outline(filled, low, cell)
    return FaceEdges(tuple(found), outline, np.zeros((0, 2)), cells, spacing, noise)


def sharpened(
    cells: Cells, start: tuple[float, float, float], spacing: Metre, noise: Metre
) -> EdgeCircle | None:
    """The circle of a hole from all the face's points round it; ``start`` lies somewhere in it."""
    x, y, radius = start
    rough = _by_nearest(cells, (x, y), radius, spacing)
    if rough is not None and math.hypot(rough.x - x, rough.y - y) < 0.8 * radius:
        x, y, radius = rough.x, rough.y, rough.radius
    return opening_circle(cells.near((x, y), radius + 6.0 * spacing), (x, y, radius), spacing, noise)


class Cells:
    """Points by grid cell, so that those near a place are at hand."""

    def __init__(self, xy: FloatArray, cell: Metre = 0.002) -> None:
        low = xy.min(axis=0)
        at = ((xy - low) / cell).astype(np.int64)
        self.low, self.cell = low, cell
        self.columns = int(at[:, 1].max()) + 2
        key = at[:, 0] * self.columns + at[:, 1]
        order = np.argsort(key, kind="stable")
        self.xy, self.key = xy[order], key[order]

    def near(self, centre: tuple[float, float], reach: Metre) -> FloatArray:
        """Those within reach of a place, (n, 2) [m]."""
        low = np.floor((np.array(centre) - reach - self.low) / self.cell).astype(int)
        high = np.floor((np.array(centre) + reach - self.low) / self.cell).astype(int)
        parts = []
        for row in range(max(low[0], 0), high[0] + 1):
            first = row * self.columns + min(max(int(low[1]), 0), self.columns - 1)
            last = row * self.columns + min(max(int(high[1]), 0), self.columns - 1)
            a, b = np.searchsorted(self.key, (first, last + 1))
            parts.append(self.xy[a:b])
        points = np.concatenate(parts) if parts else np.zeros((0, 2))
        return np.asarray(points[np.hypot(*(points - centre).T) < reach])


def _by_nearest(
    cells: Cells, centre: tuple[float, float], radius: Metre, spacing: Metre
) -> EdgeCircle | None:
    """A rough circle: in each direction the nearest point is taken as the edge."""
    circle = None
    place, size = centre, radius
    for _ in range(3):
        near = cells.near(place, 1.7 * size + 3.0 * spacing)
        away = near - place
        d = np.hypot(away[:, 0], away[:, 1])
        near, away, d = near[d > 0.35 * size], away[d > 0.35 * size], d[d > 0.35 * size]
        sectors = int(min(max(2.0 * math.pi * size / (1.3 * spacing), 12), 90))
        sector = ((np.arctan2(away[:, 1], away[:, 0]) / (2 * math.pi) + 0.5) * sectors).astype(int) % sectors
        order = np.lexsort((d, sector))
        _, first = np.unique(sector[order], return_index=True)
        circle = edge_circle(near[order[first]], radius=size)
        if circle is None or not 0.5 * radius < circle.radius < 1.7 * radius:
            return None
        moved = math.hypot(circle.x - place[0], circle.y - place[1])
        place, size = (circle.x, circle.y), circle.radius
        if moved < 0.1 * spacing:
            break
    return circle


def expected_round(edges: FaceEdges, centre: tuple[float, float], radius: Metre) -> EdgeCircle | None:
    """The circle of a hole where one is expected; an arc of its edge is enough."""
    if len(edges.rims):
        d = np.hypot(edges.rims[:, 0] - centre[0], edges.rims[:, 1] - centre[1])
        rim = edge_circle(edges.rims[(d > 0.4 * radius) & (d < 1.7 * radius)], radius=radius)
        if rim is not None and rim.scatter < _RIM * edges.spacing and _is_there(rim, centre, radius):
            return rim
    circle = sharpened(edges.cells, (*centre, radius), edges.spacing, edges.noise)
    return circle if circle is not None and _is_there(circle, centre, radius) else None


def _is_there(circle: EdgeCircle, centre: tuple[float, float], radius: Metre) -> bool:
    far = math.hypot(circle.x - centre[0], circle.y - centre[1])
    return 0.7 * radius < circle.radius < 1.4 * radius and far < 0.6 * radius and circle.u < 0.3 * radius


def _is_round(circle: EdgeCircle) -> bool:
    return (
        LEAST_DIAMETER <= 2.0 * circle.radius <= MOST_DIAMETER
        and circle.arc >= _WHOLE
        and circle.scatter < _ROUND * circle.radius
    )


def _welded(xy: FloatArray) -> tuple[FloatArray, IntArray]:
    """The different places among (n, 2), and which of them each point is."""
    low = xy.min(axis=0) if len(xy) else np.zeros(2)
    step = max(float(np.ptp(xy, axis=0).max()) if len(xy) else 1.0, 1e-9) / 2**24
    at = np.round((xy - low) / step).astype(np.int64)
    _, first, inverse = np.unique(at[:, 0] * (2**26) + at[:, 1], return_index=True, return_inverse=True)
    return xy[first], inverse.reshape(-1)


def _joined(a: IntArray, b: IntArray, n: int) -> IntArray:
    """Which edge each corner belongs to, (n,)."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    _, label = connected_components(coo_array((np.ones(a.size), (a, b)), shape=(n, n)), directed=False)
    return np.asarray(label, dtype=np.int64)


def _in_order(places: FloatArray, a: IntArray, b: IntArray, label: IntArray, which: int) -> FloatArray:
    """Walk round one edge; no rows where it does not come back to its beginning."""
    mine = label[a] == which
    ways: dict[int, list[int]] = {}
    for i, j in zip(a[mine].tolist(), b[mine].tolist(), strict=True):
        ways.setdefault(i, []).append(j)
        ways.setdefault(j, []).append(i)
    start = min(ways)
    walk, before, here = [start], -1, start
    for _ in range(len(ways) + 1):
        onward = [k for k in ways[here] if k != before]
        if not onward:
            return np.zeros((0, 2))
        before, here = here, onward[0]
        if here == start:
            return np.asarray(places[np.array(walk)])
        walk.append(here)
    return np.zeros((0, 2))


def _spacing(xy: FloatArray) -> Metre:
    """Side of the square that one point has to itself."""
    from scipy.spatial import cKDTree

    step = max(len(xy) // 1500, 1)
    d = np.asarray(cKDTree(xy).query(xy[::step], k=min(9, len(xy)))[0])[:, -1]
    return max(float(np.median(d)) * math.sqrt(math.pi / 8.5), 1e-5)


def _grid_outline(filled: BoolArray, low: FloatArray, cell: Metre) -> FloatArray:
    """The outer edge of the largest filled patch, as the cells about its middle in order of bearing."""
    from scipy import ndimage

    label, kinds = ndimage.label(filled)
    if kinds == 0:
        return np.zeros((0, 2))
    whole = ndimage.binary_fill_holes(label == int(np.argmax(np.bincount(label.ravel())[1:])) + 1)
    rim = np.argwhere(whole & ~ndimage.binary_erosion(whole))
    return round_walk(low + (rim + 0.5) * cell, 1.6 * cell)


def round_walk(points: FloatArray, reach: Metre) -> FloatArray:
    """Points of a rim in order, each time on to the nearest that is left."""
    from scipy.spatial import cKDTree

    tree = cKDTree(points)
    left = np.ones(len(points), dtype=np.bool_)
    here = int(np.lexsort((points[:, 1], points[:, 0]))[0])
    walk = [here]
    left[here] = False
    while True:
        near = [k for k in tree.query_ball_point(points[here], 2.0 * reach) if left[k]]
        if not near:
            break
        gaps = np.hypot(points[near, 0] - points[here, 0], points[near, 1] - points[here, 1])
        here = near[int(np.argmin(gaps))]
        left[here] = False
        walk.append(here)
    loop = points[np.array(walk)]
    closes = len(loop) > 8 and float(np.hypot(*(loop[-1] - loop[0]))) < 6.0 * reach
    return np.asarray(loop) if closes else np.zeros((0, 2))
