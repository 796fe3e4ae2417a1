"""Least distance between triangle surfaces, exact, with the two points where it is taken.

Surfaces may be open or cross themselves; nothing is asked of them but finite corners.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sumpwright.quantities.units import BoolArray, FloatArray, IntArray, Metre, frozen_array

GROUP = 32
"""Triangles in one bounding box."""
PAIRS_AT_ONCE = 40_000
TINY = 1e-300


@dataclass(frozen=True, slots=True, eq=False)
class TriangleGroups:
    """Triangles sorted by place, with a box round every few of them."""

    triangles: FloatArray  # (n, 3, 3) m, in order of place
    order: IntArray  # (n,) number of each in the surface as given
    low: FloatArray  # (g, 3) m
    high: FloatArray  # (g, 3) m


@dataclass(frozen=True, slots=True, eq=False)
class LeastGap:
    """Where two surfaces come closest; a gap of nought means that they touch or cross."""

    gap: Metre
    on_first: FloatArray  # (3,) m
    on_second: FloatArray  # (3,) m
    first: int  # triangle of the first surface
    second: int


def group_triangles(triangles: FloatArray) -> TriangleGroups:
    """Sort triangles (n, 3, 3) along a space-filling line and box every few of them."""
    triangles = np.asarray(triangles, dtype=np.float64)
    centres = triangles.mean(axis=1)
    low, span = centres.min(axis=0), np.maximum(np.ptp(centres, axis=0), 1e-12)
    cells = np.minimum((1023.0 * (centres - low) / span).astype(np.int64), 1023)
    code = np.zeros(len(triangles), dtype=np.int64)
    for bit in range(10):
        for axis in range(3):
            code |= ((cells[:, axis] >> bit) & 1) << (3 * bit + axis)
    order = np.argsort(code, kind="stable")
    sorted_triangles = triangles[order]
    starts = np.arange(0, len(order), GROUP)
    return TriangleGroups(
        frozen_array(sorted_triangles),
        order,
        np.minimum.reduceat(sorted_triangles.min(axis=1), starts, axis=0),
        np.maximum.reduceat(sorted_triangles.max(axis=1), starts, axis=0),
    )


def least_gap(
    first: FloatArray, second: TriangleGroups, beyond: Metre = np.inf, skins: FloatArray | None = None
) -> LeastGap | None:
    """Closest approach of a few triangles (m, 3, 3) to a surface; None if farther than ``beyond``.

    ``skins`` (m,): metal that stands round each of the first triangles; it is taken off the
    gap, which may so become negative.
    """
    first = np.asarray(first, dtype=np.float64)
    skin = np.zeros(len(first)) if skins is None else np.asarray(skins, dtype=np.float64)
    least_possible = -float(skin.max())
    low, high = first.min(axis=1), first.max(axis=1)
    best: LeastGap | None = None
    limit = float(beyond)
    bounds = np.empty((len(first), len(second.low)))
    for k in range(len(first)):
        apart = np.maximum(np.maximum(second.low - high[k], low[k] - second.high), 0.0)
        bounds[k] = np.sqrt(np.einsum("ij,ij->i", apart, apart)) - skin[k]
    flat = bounds.ravel()
    inside = np.flatnonzero(flat <= limit)
    inside = inside[np.argsort(flat[inside], kind="stable")]
    at, step = 0, 8
    while at < len(inside):
        chosen = inside[at : at + step]
        chosen = chosen[flat[chosen] <= limit]
        if not len(chosen):
            break
        at += step
        step = min(4 * step, PAIRS_AT_ONCE // GROUP)
        rows, groups = np.divmod(chosen, len(second.low))
        members = groups[:, None] * GROUP + np.arange(GROUP)
        valid = members < len(second.triangles)
        a = np.repeat(rows, GROUP)[valid.ravel()]
        b = members.ravel()[valid.ravel()]
        near = _box_gap(first[a], second.triangles[b]) - skin[a] <= limit
        a, b = a[near], b[near]
        if not len(a):
            continue
        gaps, on_a, on_b = pair_gaps(first[a], second.triangles[b])
        gaps = gaps - skin[a]
        k = int(np.argmin(gaps))
        if gaps[k] < limit or (best is None and gaps[k] <= limit):
            limit = float(gaps[k])
            best = LeastGap(
                limit, frozen_array(on_a[k]), frozen_array(on_b[k]), int(a[k]), int(second.order[b[k]])
            )
            if limit <= least_possible:
                break
    return best


def _box_gap(a: FloatArray, b: FloatArray) -> FloatArray:
    apart = np.maximum(np.maximum(b.min(axis=1) - a.max(axis=1), a.min(axis=1) - b.max(axis=1)), 0.0)
    return np.asarray(np.sqrt(np.einsum("ij,ij->i", apart, apart)))


def pair_gaps(a: FloatArray, b: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Gap and closest points of triangle pairs (k, 3, 3), (k, 3, 3)."""
    gaps = np.full(len(a), np.inf)
    on_a, on_b = np.zeros((len(a), 3)), np.zeros((len(a), 3))

    def keep(gap: FloatArray, p: FloatArray, q: FloatArray) -> None:
        closer = gap < gaps
        gaps[closer] = gap[closer]
        on_a[closer] = p[closer]
        on_b[closer] = q[closer]

    for i in range(3):
        for j in range(3):
            p, q = _segment_points(a[:, i], a[:, (i + 1) % 3], b[:, j], b[:, (j + 1) % 3])
            keep(np.linalg.norm(p - q, axis=1), p, q)
    for i in range(3):
        q = _nearest_in_triangle(a[:, i], b)
        keep(np.linalg.norm(a[:, i] - q, axis=1), a[:, i], q)
        p = _nearest_in_triangle(b[:, i], a)
        keep(np.linalg.norm(b[:, i] - p, axis=1), p, b[:, i])
    for i in range(3):
        for start, end, other in ((a[:, i], a[:, (i + 1) % 3], b), (b[:, i], b[:, (i + 1) % 3], a)):
            hits, place = _pierces(start, end, other)
            if hits.any():
                keep(np.where(hits, 0.0, np.inf), place, place)
    return gaps, on_a, on_b


def _dot(a: FloatArray, b: FloatArray) -> FloatArray:
    return np.asarray(np.einsum("ij,ij->i", a, b))


def _segment_points(
    p1: FloatArray, q1: FloatArray, p2: FloatArray, q2: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Closest points of straight pieces p1-q1 and p2-q2, row by row."""
    d1, d2, r = q1 - p1, q2 - p2, p1 - p2
    a, e = np.maximum(_dot(d1, d1), TINY), np.maximum(_dot(d2, d2), TINY)
    b, c, f = _dot(d1, d2), _dot(d1, r), _dot(d2, r)
    denominator = a * e - b * b
    slanted = denominator > 1e-14 * a * e
    s = np.where(slanted, (b * f - c * e) / np.where(slanted, denominator, 1.0), 0.0)
    s = np.clip(s, 0.0, 1.0)
    t = np.clip((b * s + f) / e, 0.0, 1.0)
    s = np.clip((b * t - c) / a, 0.0, 1.0)
    return p1 + s[:, None] * d1, p2 + t[:, None] * d2


def _nearest_in_triangle(points: FloatArray, triangles: FloatArray) -> FloatArray:
    """Foot of each point in its triangle where it falls inside, a corner elsewhere (sides are done apart)."""
    a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
    u, v, w = b - a, c - a, points - a
    uu, uv, vv = _dot(u, u), _dot(u, v), _dot(v, v)
    wu, wv = _dot(w, u), _dot(w, v)
    area = uu * vv - uv * uv
    sound = area > 1e-14 * np.maximum(uu * vv, TINY)
    safe = np.where(sound, area, 1.0)
    s, t = (vv * wu - uv * wv) / safe, (uu * wv - uv * wu) / safe
    inside = sound & (s >= 0.0) & (t >= 0.0) & (s + t <= 1.0)
    return np.where(inside[:, None], a + s[:, None] * u + t[:, None] * v, a)


def _pierces(start: FloatArray, end: FloatArray, triangles: FloatArray) -> tuple[BoolArray, FloatArray]:
    """Whether each straight piece runs through its triangle, and where."""
    a, u, v = triangles[:, 0], triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]
    normal = np.cross(u, v)
    before, after = _dot(start - a, normal), _dot(end - a, normal)
    crosses = (before * after < 0.0) & (_dot(normal, normal) > TINY)
    share = np.where(crosses, before / np.where(crosses, before - after, 1.0), 0.0)
    place = start + share[:, None] * (end - start)
    uu, uv, vv = _dot(u, u), _dot(u, v), _dot(v, v)
    w = place - a
    wu, wv = _dot(w, u), _dot(w, v)
    area = np.maximum(uu * vv - uv * uv, TINY)
    s, t = (vv * wu - uv * wv) / area, (uu * wv - uv * wu) / area
    return crosses & (s >= 0.0) & (t >= 0.0) & (s + t <= 1.0), place


def winding_number(points: FloatArray, triangles: FloatArray) -> FloatArray:
    """How often a surface (n, 3, 3) goes round each point (m, 3): 1 inside, 0 outside.

    Between the two for surfaces with holes (van Oosterom and Strackee's solid angle).
    """
    found = np.zeros(len(points))
    if len(points) > len(triangles):
        for triangle in triangles:
            found += _solid_angles(triangle[None] - points[:, None])
    else:
        for k, point in enumerate(points):
            found[k] = float(_solid_angles(triangles - point).sum())
    return found / (4.0 * np.pi)


def _solid_angles(r: FloatArray) -> FloatArray:
    """Solid angle of each triangle (n, 3, 3) seen from the origin [sr], signed."""
    lengths = np.linalg.norm(r, axis=2)
    a, b, c = r[:, 0], r[:, 1], r[:, 2]
    la, lb, lc = lengths[:, 0], lengths[:, 1], lengths[:, 2]
    above = _dot(a, np.cross(b, c))
    below = la * lb * lc + _dot(a, b) * lc + _dot(b, c) * la + _dot(c, a) * lb
    return np.asarray(2.0 * np.arctan2(above, below))


def open_sides(triangles: FloatArray, weld: Metre = 1e-7) -> int:
    """Sides of triangles (n, 3, 3) that have no neighbour; nought for a closed surface."""
    corners = np.round(triangles.reshape(-1, 3) / weld).astype(np.int64)
    _, names = np.unique(corners, axis=0, return_inverse=True)
    rows = names.reshape(-1, 3)
    sides = np.concatenate([rows[:, [0, 1]], rows[:, [1, 2]], rows[:, [2, 0]]])
    sides = sides[sides[:, 0] != sides[:, 1]]
    forward = np.where(sides[:, 0] < sides[:, 1], 1, -1)
    keys = np.sort(sides, axis=1)
    _, which = np.unique(keys, axis=0, return_inverse=True)
    balance = np.zeros(int(which.max()) + 1 if len(which) else 0, dtype=np.int64)
    np.add.at(balance, which.ravel(), forward)
    return int(np.abs(balance).sum())
