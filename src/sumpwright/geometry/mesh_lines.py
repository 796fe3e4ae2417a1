"""Nodes along the lines that a mesh has to keep: outlines, holes, and lines inside."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely

from sumpwright.quantities.units import FloatArray, IntArray, Metre

GRADING = 0.35
"""How fast the triangles may grow, per length gone."""


@dataclass(frozen=True, slots=True, eq=False)
class KeptLines:
    """Nodes and edges that a mesh keeps."""

    nodes: FloatArray  # (n, 2) m, ring by ring, then what only lines inside use
    edges: IntArray  # (k, 2)
    line: IntArray  # (k,) -1 for an edge of the outline or a hole, else index of the line inside
    rings: tuple[IntArray, ...]  # nodes of the outline, then of each hole, in order


def kept_lines(
    polygon: shapely.Polygon,
    lines: tuple[FloatArray, ...],
    size: Metre,
    least: Metre,
    keep_boundary: bool,
) -> KeptLines:
    """The polygon's rings and the lines inside it as nodes and edges, no edge longer than wanted.

    With ``keep_boundary`` the rings keep exactly their own points; a line that ends on one
    ends at the nearest of its points.
    """
    rings = [np.asarray(ring.coords)[:-1, :2] for ring in (polygon.exterior, *polygon.interiors)]
    near = 1e-6 * max(polygon.bounds[2] - polygon.bounds[0], polygon.bounds[3] - polygon.bounds[1])
    inside = [_within(polygon, line, rings, 0.5 * least if keep_boundary else near) for line in lines]
    if not keep_boundary:
        rings = [_with_points(ring, inside, near) for ring in rings]
    pieces = [piece for parts in inside for piece in parts]
    owners = [k for k, parts in enumerate(inside) for _ in parts]
    pieces = _noded(pieces, near)
    nodes: list[tuple[float, float]] = []
    edges: list[tuple[int, int]] = []
    owner: list[int] = []
    chains: list[IntArray] = []
    for ring in rings:
        first = len(nodes)
        nodes += [(float(x), float(y)) for x, y in ring]
        chain = first + np.arange(len(ring))
        chains.append(chain)
        edges += [(int(a), int(b)) for a, b in zip(chain, np.roll(chain, -1), strict=True)]
        owner += [-1] * len(ring)
    fixed = len(edges)
    for k, piece in zip(owners, pieces, strict=True):
        at = [_node(nodes, place, near) for place in piece]
        for a, b in pairwise(at):
            if a != b and (a, b) not in edges[:fixed] and (b, a) not in edges[:fixed]:
                edges.append((a, b))
                owner.append(k)
    made = KeptLines(
        np.array(nodes, dtype=np.float64),
        np.array(edges, dtype=np.int64).reshape(-1, 2),
        np.array(owner, dtype=np.int64),
        tuple(chains),
    )
    return _divided(made, size, least, keep_boundary)


def _within(
    polygon: shapely.Polygon, line: FloatArray, rings: list[FloatArray], near: Metre
) -> list[FloatArray]:
    """The parts of a line inside the polygon, ends put onto corners or sides that they nearly meet."""
    cut = shapely.intersection(shapely.LineString(line), polygon)
    parts = [
        np.asarray(part.coords)[:, :2]
        for part in shapely.get_parts(cut)
        if part.geom_type == "LineString" and part.length > near
    ]
    corners = np.vstack(rings)
    placed = []
    for part in parts:
        moved = part.copy()
        for k in (0, -1):
            off = np.hypot(*(corners - moved[k]).T)
            on_line = polygon.boundary.distance(shapely.Point(moved[k])) <= near
            if off.min() <= near or (on_line and near > 1e-5 and off.min() < 4.0 * near):
                moved[k] = corners[int(np.argmin(off))]
        placed.append(moved)
    return placed


def _with_points(ring: FloatArray, inside: list[list[FloatArray]], near: Metre) -> FloatArray:
    """A ring with a further point wherever a line inside touches it."""
    touching = [place for parts in inside for part in parts for place in part]
    made = []
    for a, b in zip(ring, np.roll(ring, -1, axis=0), strict=True):
        made.append(a)
        length = float(np.hypot(*(b - a)))
        along = (b - a) / length
        there = []
        for place in touching:
            away = place - a
            share = float(away @ along)
            if abs(float(away[0] * along[1] - away[1] * along[0])) <= near and near < share < length - near:
                there.append(share)
        last = 0.0
        for share in sorted(there):
            if share - last > near:
                made.append(a + share * along)
                last = share
    return np.array(made)


def _noded(pieces: list[FloatArray], near: Metre) -> list[FloatArray]:
    """Lines with a point wherever they meet or cross each other."""
    made = []
    for k, piece in enumerate(pieces):
        mine = shapely.LineString(piece)
        shares = {0.0, mine.length}
        shares.update(float(mine.project(shapely.Point(place))) for place in piece[1:-1])
        for j, other in enumerate(pieces):
            if j == k:
                continue
            theirs = shapely.LineString(other)
            meets = shapely.intersection(mine, theirs)
            places = list(shapely.get_coordinates(meets))
            places += [place for place in other if mine.distance(shapely.Point(place)) <= near]
            shares.update(float(mine.project(shapely.Point(place))) for place in places)
        kept: list[float] = []
        for share in sorted(shares):
            if not kept or share - kept[-1] > near:
                kept.append(share)
        kept[-1] = mine.length
        made.append(np.array([mine.interpolate(share).coords[0][:2] for share in kept]))
    return made


def _node(nodes: list[tuple[float, float]], place: FloatArray, near: Metre) -> int:
    for k, (x, y) in enumerate(nodes):
        if abs(x - place[0]) <= 4.0 * near and abs(y - place[1]) <= 4.0 * near:
            return k
    nodes.append((float(place[0]), float(place[1])))
    return len(nodes) - 1


def _divided(kept: KeptLines, size: Metre, least: Metre, keep_boundary: bool) -> KeptLines:
    """The same lines with edges short enough for ``size`` and for how near other lines pass."""
    field = _size_along(kept, size, least)
    nodes, edges, line = [kept.nodes], [], []
    at = len(kept.nodes)
    for (a, b), owner in zip(kept.edges, kept.line, strict=True):
        start, end = kept.nodes[a], kept.nodes[b]
        shares = np.empty(0) if keep_boundary and owner < 0 else _shares(field, start, end, least)
        nodes.append(start + shares[:, None] * (end - start))
        chain = np.concatenate([[a], at + np.arange(len(shares)), [b]])
        at += len(shares)
        edges.append(np.stack([chain[:-1], chain[1:]], axis=1))
        line.append(np.full(len(shares) + 1, owner))
    return _in_order(np.vstack(nodes), np.vstack(edges), np.concatenate(line), len(kept.rings))


def _size_along(kept: KeptLines, size: Metre, least: Metre) -> GradedSize:
    """The size wanted along the lines: less at short sides and where another side passes near.

    Sides that share a corner do not count as near, nor does what is nearer than ``least``.
    """
    ends = kept.nodes[kept.edges]
    length = np.hypot(*(ends[:, 1] - ends[:, 0]).T)
    counts = np.ceil(3.0 * length / size).astype(int) + 1
    side = np.repeat(np.arange(len(ends)), counts)
    share = np.concatenate([np.linspace(0.0, 1.0, count) for count in counts])[:, None]
    places = ends[side, 0] + share * (ends[side, 1] - ends[side, 0])
    points, pieces = shapely.points(places), np.asarray(shapely.linestrings(ends))
    mine, other = shapely.STRtree(pieces).query(points, predicate="dwithin", distance=size)
    apart = (kept.edges[side[mine]][:, :, None] != kept.edges[other][:, None, :]).all(axis=(1, 2))
    near = np.full(len(places), size)
    np.minimum.at(near, mine[apart], shapely.distance(points[mine[apart]], pieces[other[apart]]))
    return GradedSize(
        np.vstack([places, ends.mean(axis=1)]),
        np.concatenate([np.maximum(near, least), np.maximum(length, least)]),
        size,
    )


def _shares(field: GradedSize, start: FloatArray, end: FloatArray, least: Metre) -> FloatArray:
    """Where to divide a side, as shares of it, so that each piece has about the size wanted there."""
    length = float(np.hypot(*(end - start)))
    count = min(400, max(8, int(2.0 * length / least)))
    steps = (np.arange(count) + 0.5) / count
    dense = length / count / field.at(start + steps[:, None] * (end - start))
    gone = np.concatenate([[0.0], np.cumsum(dense)])
    pieces = max(1, int(np.ceil(gone[-1] - 0.15)))
    wanted = np.arange(1, pieces) * (gone[-1] / pieces)
    return np.asarray(np.interp(wanted, gone, np.linspace(0.0, 1.0, count + 1)))


class GradedSize:
    """A size that grows away from short pieces at the rate ``GRADING``."""

    def __init__(self, middles: FloatArray, lengths: FloatArray, size: Metre) -> None:
        from scipy.spatial import cKDTree

        self.size = size
        self.steps: list[tuple[Metre, cKDTree]] = []
        left = lengths < 0.95 * size
        while left.any():
            shortest = float(lengths[left].min())
            step = left & (lengths <= 1.15 * shortest)
            self.steps.append((shortest, cKDTree(middles[step])))
            left &= ~step

    def at(self, places: FloatArray) -> FloatArray:
        """The size (n,) wanted at the places [m]."""
        wanted = np.full(len(places), self.size)
        for shortest, tree in self.steps:
            reach = 1.001 * self.size / GRADING
            far, _ = tree.query(places, distance_upper_bound=reach)
            away = np.maximum(np.where(np.isfinite(far), far, reach) - shortest, 0.0)
            np.minimum(wanted, shortest + GRADING * away, out=wanted)
        return wanted


def _in_order(nodes: FloatArray, edges: IntArray, line: IntArray, rings: int) -> KeptLines:
    """Nodes renumbered: ring after ring as one walks along it, then those of the lines inside."""
    after = {int(a): int(b) for (a, b), k in zip(edges, line, strict=True) if k < 0}
    order: list[int] = []
    chains = []
    while after:
        start = min(after)
        chain = [start]
        step = after.pop(start)
        while step != start:
            chain.append(step)
            step = after.pop(step)
        chains.append(len(order) + np.arange(len(chain)))
        order += chain
    assert len(chains) == rings
    taken = set(order)
    order += [k for k in range(len(nodes)) if k not in taken]
    number = np.empty(len(nodes), dtype=np.int64)
    number[order] = np.arange(len(order))
    return KeptLines(nodes[order], number[edges], line, tuple(chains))
