"""Straight-sided closed lines in a plane: area, crossing, distance, inside or not.

Points are (n, 2) arrays in metres; the last point joins the first.
"""

from __future__ import annotations

import math

import numpy as np

from sumpwright.quantities.units import BoolArray, FloatArray, Metre, SquareMetre


def signed_area(points: FloatArray) -> SquareMetre:
    """Area of a closed line [m2], positive when it runs anticlockwise."""
    away = points - points[0]
    x, y = away[:, 0], away[:, 1]
    return 0.5 * float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))


def contains(points: FloatArray, places: FloatArray) -> BoolArray:
    """Which of the places (m, 2) lie inside the closed line, by counting crossings."""
    places = np.atleast_2d(places)
    inside = np.zeros(len(places), dtype=np.bool_)
    for (ax, ay), (bx, by) in zip(points, np.roll(points, -1, axis=0), strict=True):
        straddles = (ay > places[:, 1]) != (by > places[:, 1])
        if not straddles.any():
            continue
        crossing = ax + (places[:, 1] - ay) * (bx - ax) / (by - ay)
        inside ^= straddles & (places[:, 0] < crossing)
    return inside


def nearest_on_outline(points: FloatArray, place: FloatArray) -> tuple[Metre, FloatArray, int]:
    """Least distance [m] from a place to a closed line, the nearest point on it, and its side's index."""
    starts, ends = points, np.roll(points, -1, axis=0)
    along = ends - starts
    length2 = np.maximum(np.einsum("ij,ij->i", along, along), 1e-300)
    share = np.clip(np.einsum("ij,ij->i", place - starts, along) / length2, 0.0, 1.0)
    nearest = starts + share[:, None] * along
    distance = np.hypot(*(place - nearest).T)
    k = int(np.argmin(distance))
    return float(distance[k]), nearest[k], k


def pieces_cross(a: FloatArray, b: FloatArray, c: FloatArray, d: FloatArray) -> bool:
    """Whether the straight pieces a-b and c-d cross or touch."""
    for k in (0, 1):
        # Boxes apart: most pairs are told so, in a hundredth of the time.
        if max(a[k], b[k]) < min(c[k], d[k]) or max(c[k], d[k]) < min(a[k], b[k]):
            return False
    return segment_distance(a, b, c, d)[0] <= 0.0


def _turn(a: FloatArray, b: FloatArray, c: FloatArray) -> float:
    return float((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))


def segment_distance(
    a: FloatArray, b: FloatArray, c: FloatArray, d: FloatArray
) -> tuple[Metre, FloatArray, FloatArray]:
    """Least distance [m] between straight pieces a-b and c-d of a plane, with its two points."""
    first, second = _turn(a, b, c), _turn(a, b, d)
    third, fourth = _turn(c, d, a), _turn(c, d, b)
    if first * second < 0.0 and third * fourth < 0.0:
        place = a + (b - a) * (third / (third - fourth))
        return 0.0, place, place
    best = (math.inf, a, c)
    for place, start, end, swapped in ((a, c, d, False), (b, c, d, False), (c, a, b, True), (d, a, b, True)):
        along = end - start
        length2 = float(along @ along)
        share = 0.0 if length2 == 0.0 else min(1.0, max(0.0, float((place - start) @ along) / length2))
        other = start + share * along
        gap = float(math.hypot(*(place - other)))
        if gap < best[0]:
            best = (gap, other, place) if swapped else (gap, place, other)
    return best


def is_simple(points: FloatArray) -> bool:
    """Whether a closed line neither crosses nor touches itself."""
    n = len(points)
    for i in range(n):
        a, b = points[i], points[(i + 1) % n]
        before = points[i - 1]
        if _turn(before, a, b) == 0.0 and float((b - a) @ (before - a)) > 0.0:
            return False  # runs straight back over itself
        for j in range(i + 2, n):
            if i == 0 and j == n - 1:
                continue
            if pieces_cross(a, b, points[j], points[(j + 1) % n]):
                return False
    return True
