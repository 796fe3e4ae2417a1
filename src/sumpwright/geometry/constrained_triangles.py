"""Triangles over given points that contain given edges.

Delaunay triangles first; an edge that is missing is recovered by turning the diagonals
that cross it, after S. W. Sloan, A fast algorithm for generating constrained Delaunay
triangulations, Computers & Structures 47 (1993) 441-450.
"""

from __future__ import annotations

from collections import deque

import numpy as np

from sumpwright.quantities.units import FloatArray, IntArray

_TURNS = 200  # of diagonals per missing edge, before the points are called unfit


class EdgesCannotBeKept(ValueError):  # noqa: N818
    """The wanted edges cross each other, or run through one of the points."""


def triangles_with_edges(points: FloatArray, edges: IntArray) -> IntArray:
    """Triangles (m, 3) over all points (n, 2), anticlockwise, that contain every edge (k, 2).

    They also fill the hull of the points, beyond what the edges enclose. Points that lie
    within rounding of another cannot be told apart: keep them apart by 1e-9 of the whole.

    Raises:
        EdgesCannotBeKept: where two edges cross or a point lies on an edge.
    """
    from scipy.spatial import Delaunay

    count = len(points)
    low, high = points.min(axis=0), points.max(axis=0)
    middle, size = 0.5 * (low + high), float(np.max(high - low))
    # A wide frame of extra points: no point of ours is on the hull, where straight
    # rows of points make slivers.
    angles = np.linspace(0.0, 2.0 * np.pi, 12, endpoint=False) + 0.1
    frame = 3.0 * np.stack([np.cos(angles), np.sin(angles)], axis=1)
    found = Delaunay(np.vstack([(points - middle) / size, frame]), qhull_options="Qbb Qc Qz Q12")
    triangles = np.asarray(found.simplices, dtype=np.int64)
    triangles = _turned_left(np.vstack([(points - middle) / size, frame]), triangles)
    missing = _missing(triangles, edges, count + len(frame))
    if len(missing):
        net = _Net(np.vstack([(points - middle) / size, frame]), triangles)
        kept = {(int(min(a, b)), int(max(a, b))) for a, b in edges}
        for start, end in missing:
            net.recover(int(start), int(end), kept)
        triangles = np.array(net.triangles, dtype=np.int64)
    return triangles[(triangles < count).all(axis=1)]


def _turned_left(points: FloatArray, triangles: IntArray) -> IntArray:
    a, b, c = (points[triangles[:, k]] for k in range(3))
    right = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0]) < 0.0
    triangles = triangles.copy()
    triangles[right] = triangles[right][:, [0, 2, 1]]
    return triangles


def edge_keys(pairs: IntArray, count: int) -> IntArray:
    """One number (k,) for each edge (k, 2), whichever way it runs; ``count`` exceeds every index."""
    return np.asarray(np.min(pairs, axis=1) * count + np.max(pairs, axis=1), dtype=np.int64)


def sides_of(triangles: IntArray) -> IntArray:
    """The three sides of every triangle (3 m, 2), in the order of the triangles, anticlockwise."""
    return np.stack([triangles, np.roll(triangles, -1, axis=1)], axis=2).reshape(-1, 2)


def _missing(triangles: IntArray, edges: IntArray, count: int) -> IntArray:
    there = edge_keys(sides_of(triangles), count)
    return np.asarray(edges[~np.isin(edge_keys(edges, count), there)], dtype=np.int64)


class _Net:
    """Triangles with the triangle at each side of each edge, so that diagonals can be turned."""

    def __init__(self, points: FloatArray, triangles: IntArray) -> None:
        self.points = points.tolist()
        self.triangles = [tuple(row) for row in triangles.tolist()]
        self.at: dict[tuple[int, int], int] = {}
        self.around: dict[int, set[int]] = {}
        for t, (a, b, c) in enumerate(self.triangles):
            self._enter(t, a, b, c)

    def _enter(self, t: int, a: int, b: int, c: int) -> None:
        self.at[a, b] = self.at[b, c] = self.at[c, a] = t
        for p in (a, b, c):
            self.around.setdefault(p, set()).add(t)

    def _turn(self, a: int, b: int, c: int) -> float:
        (ax, ay), (bx, by), (cx, cy) = self.points[a], self.points[b], self.points[c]
        return float((bx - ax) * (cy - ay) - (by - ay) * (cx - ax))

    def _opposite(self, a: int, b: int) -> int:
        return int(sum(self.triangles[self.at[a, b]]) - a - b)

    def _crossed(self, start: int, end: int) -> deque[tuple[int, int]]:
        """The edges that the straight way from start to end crosses, in order."""
        first = None
        for t in self.around[start]:
            corners = self.triangles[t]
            k = corners.index(start)
            right, left = corners[(k + 1) % 3], corners[(k + 2) % 3]
            if self._turn(start, end, right) < 0.0 < self._turn(start, end, left) and (
                self._turn(right, left, end) < 0.0
            ):
                first = (right, left)
                break
        if first is None:
            raise EdgesCannotBeKept(f"the edge from point {start} to {end} runs through another point")
        crossed = deque([first])
        right, left = first
        while True:
            beyond = self._opposite(left, right)
            if beyond == end:
                return crossed
            side = self._turn(start, end, beyond)
            if side == 0.0:
                raise EdgesCannotBeKept(f"the edge from point {start} to {end} runs through another point")
            if side < 0.0:
                right = beyond
            else:
                left = beyond
            crossed.append((right, left))

    def recover(self, start: int, end: int, kept: set[tuple[int, int]]) -> None:
        if (start, end) in self.at or (end, start) in self.at:
            return
        crossed = self._crossed(start, end)
        for a, b in crossed:
            if (min(a, b), max(a, b)) in kept:
                raise EdgesCannotBeKept(f"the edges {start}-{end} and {a}-{b} cross")
        made: list[tuple[int, int]] = []
        turns = _TURNS * (len(crossed) + 1)
        while crossed:
            turns -= 1
            if turns < 0:
                raise EdgesCannotBeKept(f"the edge from point {start} to {end} is too tight to be kept")
            a, b = crossed.popleft()
            p, q = self._opposite(a, b), self._opposite(b, a)
            # The four corners a q b p: the diagonal may turn only where they bulge outward all round.
            if self._turn(q, b, p) <= 0.0 or self._turn(p, a, q) <= 0.0:
                crossed.append((a, b))
                continue
            self._swap(a, b, p, q)
            if {p, q} == {start, end}:
                continue
            if start in (p, q) or end in (p, q) or not self._crosses(p, q, start, end):
                made.append((p, q))
            else:
                crossed.append((p, q))
        self._tidy(made, (min(start, end), max(start, end)), kept)

    def _crosses(self, a: int, b: int, start: int, end: int) -> bool:
        return self._turn(start, end, a) * self._turn(start, end, b) < 0.0

    def _swap(self, a: int, b: int, p: int, q: int) -> None:
        """The diagonal a-b of the four corners a q b p becomes q-p."""
        first, second = self.at[a, b], self.at[b, a]
        for t in (first, second):
            for corner in self.triangles[t]:
                self.around[corner].discard(t)
        del self.at[a, b], self.at[b, a]
        self.triangles[first], self.triangles[second] = (q, b, p), (p, a, q)
        self._enter(first, q, b, p)
        self._enter(second, p, a, q)

    def _tidy(self, made: list[tuple[int, int]], edge: tuple[int, int], kept: set[tuple[int, int]]) -> None:
        """New diagonals become Delaunay again where they may."""
        for _ in range(20):
            turned = False
            for k, (a, b) in enumerate(made):
                if (min(a, b), max(a, b)) in kept or (min(a, b), max(a, b)) == edge:
                    continue
                p, q = self._opposite(a, b), self._opposite(b, a)
                if self._turn(q, b, p) <= 0.0 or self._turn(p, a, q) <= 0.0:
                    continue
                if self._in_circle(a, b, p, q):
                    self._swap(a, b, p, q)
                    made[k] = (p, q)
                    turned = True
            if not turned:
                return

    def _in_circle(self, a: int, b: int, c: int, d: int) -> bool:
        """Whether d lies within the circle through a, b, c (anticlockwise), clear of rounding."""
        x, y = self.points[d]
        rows = [(px - x, py - y) for px, py in (self.points[a], self.points[b], self.points[c])]
        (ax, ay), (bx, by), (cx, cy) = rows
        a2, b2, c2 = ax * ax + ay * ay, bx * bx + by * by, cx * cx + cy * cy
        found = a2 * (bx * cy - by * cx) - b2 * (ax * cy - ay * cx) + c2 * (ax * by - ay * bx)
        return bool(found > 1e-12 * max(a2, b2, c2) ** 2)
