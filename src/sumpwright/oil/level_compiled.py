"""The closed form of ``level`` compiled, for many attitudes. Imported only when wanted."""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from sumpwright.quantities.units import FloatArray, IntArray


@njit(cache=True)
def solve_cubic(wanted: float, v0: float, v1: float, s0: float, s1: float) -> float:
    """Where in 0..1 the cubic with these end values and slopes reaches ``wanted``."""
    rise = v1 - v0
    b = 3.0 * rise - 2.0 * s0 - s1
    c = s0 + s1 - 2.0 * rise
    lower, upper = 0.0, 1.0
    t = 0.5 if rise <= 0.0 else min(1.0, max(0.0, (wanted - v0) / rise))
    for _ in range(100):
        error = v0 + t * (s0 + t * (b + t * c)) - wanted
        if error == 0.0:
            return t
        if error > 0.0:
            upper = t
        else:
            lower = t
        slope = s0 + t * (2.0 * b + 3.0 * t * c)
        step = t - error / slope if slope > 0.0 else -1.0
        if not (lower < step < upper):
            step = 0.5 * (lower + upper)
        if abs(step - t) <= 1e-16 or upper - lower <= 1e-16:
            return step
        t = step
    return t


@njit(cache=True)
def crosses_of(vertices: FloatArray, triangles: IntArray) -> FloatArray:
    """Twice the area of each triangle along the three axes, (m, 3): all that does not turn with the up."""
    found = np.empty((len(triangles), 3))
    for t in range(len(triangles)):
        i, j, k = triangles[t, 0], triangles[t, 1], triangles[t, 2]
        x, y, z = vertices[i, 0], vertices[i, 1], vertices[i, 2]
        ax, ay, az = vertices[j, 0] - x, vertices[j, 1] - y, vertices[j, 2] - z
        bx, by, bz = vertices[k, 0] - x, vertices[k, 1] - y, vertices[k, 2] - z
        found[t, 0] = ay * bz - az * by
        found[t, 1] = az * bx - ax * bz
        found[t, 2] = ax * by - ay * bx
    return found


@njit(cache=True)
def set_up(
    vertices: FloatArray,
    triangles: IntArray,
    crosses: FloatArray,  # (m, 3) as ``crosses_of`` gives them
    ux: float,
    uy: float,
    uz: float,
    heights: FloatArray,  # (n,) out: height of each corner point
    corner: FloatArray,  # (m, 4) out: sorted heights and level area, triangles on edge left out
) -> tuple[int, float, float, float]:
    """Rows used in ``corner``, lowest and highest height, whole volume."""
    lowest, highest = math.inf, -math.inf
    for i in range(len(vertices)):
        height = ux * vertices[i, 0] + uy * vertices[i, 1] + uz * vertices[i, 2]
        heights[i] = height
        lowest = min(lowest, height)
        highest = max(highest, height)
    count = 0
    whole = 0.0
    for t in range(len(triangles)):
        i, j, k = triangles[t, 0], triangles[t, 1], triangles[t, 2]
        area = 0.5 * (ux * crosses[t, 0] + uy * crosses[t, 1] + uz * crosses[t, 2])
        if area == 0.0:
            continue
        low, middle, high = heights[i], heights[j], heights[k]
        if low > middle:
            low, middle = middle, low
        if middle > high:
            middle, high = high, middle
        if low > middle:
            low, middle = middle, low
        corner[count, 0] = low
        corner[count, 1] = middle
        corner[count, 2] = high
        corner[count, 3] = area
        whole += area * ((low - lowest) + (middle - lowest) + (high - lowest)) / 3.0
        count += 1
    return count, lowest, highest, whole


@njit(cache=True, inline="always")
def below_both_ends(
    low: float, middle: float, high: float, area: float, start: float, end: float
) -> tuple[float, float, float, float]:
    """What one triangle with its corners at these heights adds to the volume below both ends of a
    stretch without corners in it, and to the surface area just inside both ends."""
    if low >= end:
        return 0.0, 0.0, 0.0, 0.0
    v0, v1, a0, a1 = 0.0, 0.0, 0.0, 0.0
    if middle >= end:
        # Only a corner triangle is wet at both ends; the ratios lie between 0 and 1.
        depth = start - low
        if depth > 0.0:
            share = (depth / (middle - low)) * (depth / (high - low))
            a0 = -area * share
            v0 = -area * share * depth / 3.0
        depth = end - low
        share = (depth / (middle - low)) * (depth / (high - low))
        return v0, -area * share * depth / 3.0, a0, -area * share
    mean = ((start - low) + (start - middle) + (start - high)) / 3.0
    v0, v1, a0, a1 = -area * mean, -area * (mean + (end - start)), -area, -area
    if high >= end:
        # Only a corner triangle is dry at both ends.
        dry = high - start
        share = (dry / (high - middle)) * (dry / (high - low))
        a0 += area * share
        v0 -= area * share * dry / 3.0
        dry = high - end
        if dry > 0.0:
            share = (dry / (high - middle)) * (dry / (high - low))
            a1 += area * share
            v1 -= area * share * dry / 3.0
    return v0, v1, a0, a1


@njit(cache=True)
def _stretch(corner: FloatArray, count: int, start: float, end: float) -> tuple[float, float, float, float]:
    """Volume below both ends and surface area just inside both ends of a stretch without corners in it."""
    v0, v1, a0, a1 = 0.0, 0.0, 0.0, 0.0
    for q in range(count):
        one = below_both_ends(corner[q, 0], corner[q, 1], corner[q, 2], corner[q, 3], start, end)
        v0 += one[0]
        v1 += one[1]
        a0 += one[2]
        a1 += one[3]
    return v0, v1, a0, a1


@njit(cache=True)
def level_of(
    vertices: FloatArray,
    triangles: IntArray,
    crosses: FloatArray,  # (m, 3) as ``crosses_of`` gives them
    ux: float,
    uy: float,
    uz: float,
    wanted: float,
    heights: FloatArray,  # (n,) scratch
    corner: FloatArray,  # (m, 4) scratch
) -> float:
    """One level along one up; ``nan`` where the volume does not fit."""
    count, lowest, highest, whole = set_up(vertices, triangles, crosses, ux, uy, uz, heights, corner)
    return level_within(count, lowest, highest, whole, wanted, heights, corner)


@njit(cache=True)
def level_within(
    count: int,
    lowest: float,
    highest: float,
    whole: float,
    wanted: float,
    heights: FloatArray,  # (n,)
    corner: FloatArray,  # (m, 4), of which ``count`` rows are used
) -> float:
    """One level from what ``set_up`` left: find the stretch between two neighbouring heights that
    holds it, then one cubic.

    The guess for the stretch follows the last one's surface area; from the fourth guess on every
    other one is one of the heights still open, so that the search ends however the body is made.
    """
    if not wanted <= whole:
        return highest if abs(wanted - whole) <= 1e-12 * whole else math.nan
    if wanted <= 0.0:
        return lowest
    bottom, top = lowest, highest
    v_bottom, v_top = 0.0, whole
    guess = bottom + (top - bottom) * wanted / whole
    pick = 0
    for turn in range(2 * len(heights) + 8):
        if not bottom <= guess < top:
            guess = bottom + (top - bottom) * 0.5
            if not bottom <= guess < top:
                return bottom
        start, end = bottom, top
        for i in range(len(heights)):
            height = heights[i]
            if height <= guess:
                start = max(start, height)
            else:
                end = min(end, height)
        v0, v1, a0, a1 = _stretch(corner, count, start, end)
        if start == bottom:
            v0 = v_bottom
        if end == top:
            v1 = v_top
        if v0 <= wanted <= v1 or (start == bottom and end == top):
            width = end - start
            return start + width * solve_cubic(wanted, v0, v1, a0 * width, a1 * width)
        if wanted < v0:
            top, v_top = start, v0
            guess = start - (v0 - wanted) / a0 if a0 > 0.0 else bottom
        else:
            bottom, v_bottom = end, v1
            guess = end + (wanted - v1) / a1 if a1 > 0.0 else bottom
        if turn >= 3 and turn % 2 == 1:
            for _ in range(len(heights)):
                pick = (pick + 1) % len(heights)
                if bottom < heights[pick] < top:
                    guess = heights[pick]
                    break
    return math.nan


@njit(cache=True)
def levels_compiled(
    vertices: FloatArray, triangles: IntArray, ups: FloatArray, volumes: FloatArray
) -> FloatArray:
    """Level of each volume for each unit up, (k,) [m]; not a number where it does not fit."""
    found = np.empty(len(ups))
    heights = np.empty(len(vertices))
    corner = np.empty((len(triangles), 4))
    crosses = crosses_of(vertices, triangles)
    for q in range(len(ups)):
        found[q] = level_of(
            vertices, triangles, crosses, ups[q, 0], ups[q, 1], ups[q, 2], volumes[q], heights, corner
        )
    return found
