"""Hair-thin remains of the join taken out again.

Planes that were meant to be one are one before the join. What is left are corners that
touch an oblique wall, or an edge that ends on an edge: four planes through one point,
which rounding pulls apart by less than the snapping distance. Such short edges are
closed and such needle triangles are given to the face beside them.
"""

from __future__ import annotations

import numpy as np

from sumpwright.quantities.units import FloatArray, IntArray, Metre

Row = tuple[int, int, int, int, int]
"""Three points, plane, lump."""


def without_slivers(
    points: FloatArray, triangles: IntArray, plane: IntArray, lump: IntArray, snap: Metre
) -> tuple[IntArray, IntArray, IntArray]:
    """Triangles, planes and lumps with every edge and every triangle's height above ``snap``."""
    rows: list[Row] = [
        (a, b, c, p, origin)
        for (a, b, c), p, origin in zip(triangles.tolist(), plane.tolist(), lump.tolist(), strict=True)
    ]
    for _ in range(len(rows)):
        closed = _close_short_edges(points, rows, snap)
        flipped = _give_needle_away(points, closed, snap)
        if flipped is None:
            rows = closed
            break
        rows = flipped
    table = np.array(rows, dtype=np.int64).reshape(-1, 5)
    return table[:, :3], table[:, 3], table[:, 4]


def _close_short_edges(points: FloatArray, rows: list[Row], snap: Metre) -> list[Row]:
    index = np.array([row[:3] for row in rows], dtype=np.int64).reshape(-1, 3)
    ends = points[index]
    lengths = np.linalg.norm(ends - np.roll(ends, -1, axis=1), axis=2)
    if not (lengths <= snap).any():
        return rows
    leader: dict[int, int] = {}

    def lead(point: int) -> int:
        while point in leader:
            point = leader[point]
        return point

    for t, k in np.argwhere(lengths <= snap).tolist():
        a, b = sorted((lead(int(index[t, k])), lead(int(index[t, (k + 1) % 3]))))
        if a != b:
            leader[b] = a
    kept: list[Row] = []
    for a, b, c, p, origin in rows:
        a, b, c = lead(a), lead(b), lead(c)
        if a != b and b != c and c != a:
            kept.append((a, b, c, p, origin))
    return _without_folds(kept)


def _without_folds(rows: list[Row]) -> list[Row]:
    """Drop pairs of triangles that lie back to back on the same three points."""
    waiting: dict[tuple[int, ...], list[int]] = {}
    dropped: set[int] = set()
    for t, (a, b, c, _, _) in enumerate(rows):
        least = min(a, b, c)
        ring = (a, b, c) if least == a else (b, c, a) if least == b else (c, a, b)
        back = (ring[0], ring[2], ring[1])
        if waiting.get(back):
            dropped |= {t, waiting[back].pop()}
        else:
            waiting.setdefault(ring, []).append(t)
    return [row for t, row in enumerate(rows) if t not in dropped]


def _give_needle_away(points: FloatArray, rows: list[Row], snap: Metre) -> list[Row] | None:
    """One needle triangle less, or None where there is none beside another plane."""
    index = np.array([row[:3] for row in rows], dtype=np.int64).reshape(-1, 3)
    ends = points[index]
    sides = np.roll(ends, -1, axis=1) - ends
    lengths = np.linalg.norm(sides, axis=2)
    heights = np.linalg.norm(np.cross(sides[:, 0], sides[:, 1]), axis=1) / lengths.max(axis=1)
    needles = np.flatnonzero(heights <= snap).tolist()
    if not needles:
        return None
    owner = {edge: t for t, (a, b, c, _, _) in enumerate(rows) for edge in ((a, b), (b, c), (c, a))}
    for t in needles:
        k = int(np.argmax(lengths[t]))
        a, c = int(index[t, k]), int(index[t, (k + 1) % 3])
        b = int(index[t, (k + 2) % 3])
        other = owner.get((c, a))
        if other is None or rows[other][3] == rows[t][3]:
            continue
        d = next(point for point in rows[other][:3] if point not in (a, c))
        p, origin = rows[other][3:]
        rest = [row for n, row in enumerate(rows) if n not in (t, other)]
        if d != b:
            # The neighbour ran c -> a -> d; its edge now goes by way of the needle's tip.
            rest += [(c, b, d, p, origin), (b, a, d, p, origin)]
        return _without_folds(rest)
    return None
