"""Least distance between triangle surfaces, exact, with the two points where it is taken.

Surfaces may be open or cross themselves; nothing is asked of them but finite corners.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sumpwright.geometry.solid_shapes import cross_rows
from sumpwright.quantities.units import FloatArray, IntArray, Metre, frozen_array

GROUP = 4
"""Triangles in one of the smallest boxes."""


@dataclass(frozen=True, slots=True, eq=False)
class TriangleGroups:
    """Triangles sorted by place under a heap of boxes, and metal round each.

    Box 1 holds all, boxes 2n and 2n + 1 lie in box n, the last half hold a few triangles each.
    """

    triangles: FloatArray  # (n, 3, 3) m, in order of place
    order: IntArray  # (n,) number of each in the surface as given
    skins: FloatArray  # (n,) m, metal that stands round each triangle
    low: FloatArray  # (2 g, 3) m
    high: FloatArray  # (2 g, 3) m
    thickest: FloatArray  # (2 g,) m, largest skin in each box


@dataclass(frozen=True, slots=True, eq=False)
class LeastGap:
    """Where two surfaces come closest; nought or less means that they or their skins meet."""

    gap: Metre
    on_first: FloatArray  # (3,) m
    on_second: FloatArray  # (3,) m
    first: int  # triangle of the first surface
    second: int


def group_triangles(triangles: FloatArray, skins: FloatArray | None = None) -> TriangleGroups:
    """Sort triangles (n, 3, 3) along a space-filling line and box them."""
    triangles = np.asarray(triangles, dtype=np.float64)
    skins = np.zeros(len(triangles)) if skins is None else np.asarray(skins, dtype=np.float64)
    centres = triangles.mean(axis=1)
    low, span = centres.min(axis=0), np.maximum(np.ptp(centres, axis=0), 1e-12)
    cells = np.minimum((1023.0 * (centres - low) / span).astype(np.int64), 1023)
    # Two free bits are opened behind each of the ten bits, then the three axes laid side by side.
    for shift, kept in ((16, 0x030000FF), (8, 0x0300F00F), (4, 0x030C30C3), (2, 0x09249249)):
        cells = (cells | (cells << shift)) & kept
    code = cells[:, 0] | (cells[:, 1] << 1) | (cells[:, 2] << 2)
    order = np.argsort(code, kind="stable")
    return _boxed(np.ascontiguousarray(triangles[order]), order, skins[order])


def _boxed(triangles: FloatArray, order: IntArray, skins: FloatArray) -> TriangleGroups:
    starts = np.arange(0, len(triangles), GROUP)
    leaves = 1
    while leaves < len(starts):
        leaves *= 2
    low, high = np.full((2 * leaves, 3), np.inf), np.full((2 * leaves, 3), -np.inf)
    thickest = np.zeros(2 * leaves)
    filled = slice(leaves, leaves + len(starts))
    low[filled] = np.minimum.reduceat(triangles.min(axis=1), starts, axis=0)
    high[filled] = np.maximum.reduceat(triangles.max(axis=1), starts, axis=0)
    thickest[filled] = np.maximum.reduceat(skins, starts)
    while leaves > 1:
        half = leaves // 2
        low[half:leaves] = np.minimum(low[leaves : 2 * leaves : 2], low[leaves + 1 : 2 * leaves : 2])
        high[half:leaves] = np.maximum(high[leaves : 2 * leaves : 2], high[leaves + 1 : 2 * leaves : 2])
        thickest[half:leaves] = np.maximum(
            thickest[leaves : 2 * leaves : 2], thickest[leaves + 1 : 2 * leaves : 2]
        )
        leaves = half
    return TriangleGroups(triangles, order, skins, low, high, thickest)


def moved(groups: TriangleGroups, turn: FloatArray, about: FloatArray, shift: FloatArray) -> TriangleGroups:
    """The same triangles turned (3, 3) about a point (3,), then shifted (3,)."""
    if np.array_equal(turn, np.eye(3)):
        return TriangleGroups(
            groups.triangles + shift,
            groups.order,
            groups.skins,
            groups.low + shift,
            groups.high + shift,
            groups.thickest,
        )
    return _boxed((groups.triangles - about) @ turn.T + about + shift, groups.order, groups.skins)


def least_gap(
    first: TriangleGroups, second: TriangleGroups, beyond: Metre = np.inf, enough: Metre = -np.inf
) -> LeastGap | None:
    """Closest approach of two surfaces; None if farther than ``beyond``.

    Skins are taken off the gap, which may so become negative. Any gap of ``enough`` or less is
    as good as the least.
    """
    from sumpwright.geometry.triangle_distance_compiled import closest

    on_first, on_second = np.zeros(3), np.zeros(3)
    gap, a, b = closest(
        first.triangles,
        first.skins,
        first.low,
        first.high,
        first.thickest,
        second.triangles,
        second.skins,
        second.low,
        second.high,
        second.thickest,
        GROUP,
        float(beyond),
        float(enough),
        on_first,
        on_second,
    )
    if a < 0:
        return None
    return LeastGap(
        float(gap),
        frozen_array(on_first),
        frozen_array(on_second),
        int(first.order[a]),
        int(second.order[b]),
    )


def _dot(a: FloatArray, b: FloatArray) -> FloatArray:
    return np.asarray(np.einsum("ij,ij->i", a, b))


def winding_number(points: FloatArray, triangles: FloatArray) -> FloatArray:
    """How often a surface (n, 3, 3) goes round each point (m, 3): 1 inside, 0 outside.

    Between the two for surfaces with holes (van Oosterom and Strackee's solid angle).
    """
    found = np.zeros(len(points))
    if len(points) > len(triangles):
        for triangle in triangles:
            found += _solid_angles(triangle[None] - points[:, None])
    else:
        # A few points at a time: all differences at once would fill the memory for a scan.
        step = max(1, 100_000 // max(1, len(triangles)))
        for first in range(0, len(points), step):
            some = points[first : first + step]
            seen = (triangles[None] - some[:, None, None]).reshape(-1, 3, 3)
            found[first : first + step] = _solid_angles(seen).reshape(len(some), -1).sum(axis=1)
    return found / (4.0 * np.pi)


def _solid_angles(r: FloatArray) -> FloatArray:
    """Solid angle of each triangle (n, 3, 3) seen from the origin [sr], signed."""
    lengths = np.linalg.norm(r, axis=2)
    a, b, c = r[:, 0], r[:, 1], r[:, 2]
    la, lb, lc = lengths[:, 0], lengths[:, 1], lengths[:, 2]
    above = _dot(a, cross_rows(b, c))
    below = la * lb * lc + _dot(a, b) * lc + _dot(b, c) * la + _dot(c, a) * lb
    return np.asarray(2.0 * np.arctan2(above, below))


def open_sides(triangles: FloatArray, weld: Metre = 1e-7) -> int:
    """Sides of triangles (n, 3, 3) that have no neighbour; nought for a closed surface."""
    corners = np.round(triangles.reshape(-1, 3) / weld).astype(np.int64)
    rows = _row_numbers(corners).reshape(-1, 3)
    sides = np.concatenate([rows[:, [0, 1]], rows[:, [1, 2]], rows[:, [2, 0]]])
    sides = sides[sides[:, 0] != sides[:, 1]]
    forward = np.where(sides[:, 0] < sides[:, 1], 1, -1)
    keys = np.sort(sides, axis=1)
    if not len(keys):
        return 0
    balance = np.bincount(_row_numbers(keys), weights=forward)
    return round(float(np.abs(balance).sum()))


def _row_numbers(rows: IntArray) -> IntArray:
    """A number for each row (n, k) of whole numbers, the same for equal rows.

    Column by column, because sorting whole rows takes many times as long.
    """
    number = np.zeros(len(rows), dtype=np.int64)
    for column in rows.T:
        _, rank = np.unique(column, return_inverse=True)
        joined = number * (int(rank.max()) + 1 if len(rank) else 1) + rank
        _, number = np.unique(joined, return_inverse=True)
    return np.asarray(number, dtype=np.int64)
