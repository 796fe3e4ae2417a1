"""The closed form of ``level`` compiled, for many attitudes. Imported only when wanted."""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from sumpwright.quantities.units import FloatArray, IntArray


@njit(cache=True)
def _mean_depth(level: float, low: float, middle: float, high: float) -> tuple[float, float]:
    """Mean over a triangle of max(0, level - h), and its rate; see ``level``."""
    if level <= low:
        return 0.0, 0.0
    if level >= high:
        return level - (low + middle + high) / 3.0, 1.0
    if level <= middle:
        depth = level - low
        corner = (depth / (middle - low)) * (depth / (high - low))
        return corner * depth / 3.0, corner
    dry = high - level
    far = (dry / (high - middle)) * (dry / (high - low))
    return level - (low + middle + high) / 3.0 + far * dry / 3.0, 1.0 - far


@njit(cache=True)
def _solve_cubic(wanted: float, v0: float, v1: float, s0: float, s1: float) -> float:
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
def _one_level(
    vertices: FloatArray,
    triangles: IntArray,
    ux: float,
    uy: float,
    uz: float,
    wanted: float,
    heights: FloatArray,  # (n,) scratch
    corner: FloatArray,  # (m, 4) scratch: sorted heights, level area
    active: IntArray,  # (m,) scratch
) -> float:
    """One level: sort the corners' heights, halve down to the stretch that holds it, one cubic."""
    n = len(vertices)
    for i in range(n):
        heights[i] = ux * vertices[i, 0] + uy * vertices[i, 1] + uz * vertices[i, 2]
    whole = 0.0
    count = 0
    lowest = heights[0]
    for i in range(1, n):
        lowest = min(lowest, heights[i])
    for t in range(len(triangles)):
        i, j, k = triangles[t, 0], triangles[t, 1], triangles[t, 2]
        ax, ay, az = (
            vertices[j, 0] - vertices[i, 0],
            vertices[j, 1] - vertices[i, 1],
            vertices[j, 2] - vertices[i, 2],
        )
        bx, by, bz = (
            vertices[k, 0] - vertices[i, 0],
            vertices[k, 1] - vertices[i, 1],
            vertices[k, 2] - vertices[i, 2],
        )
        area = 0.5 * (ux * (ay * bz - az * by) + uy * (az * bx - ax * bz) + uz * (ax * by - ay * bx))
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
        active[count] = count
        count += 1
    heights.sort()
    if not wanted <= whole:
        return float(heights[n - 1]) if abs(wanted - whole) <= 1e-12 * whole else math.nan
    if wanted <= 0.0:
        return float(heights[0])
    first, last = 0, n - 1
    # Triangles wholly below the stretch: volume = -(base_area * (level - lowest) - base_moment).
    base_area, base_moment = 0.0, 0.0
    while last - first > 1:
        middle_knot = (first + last) // 2
        level = heights[middle_knot]
        volume = base_moment - base_area * (level - lowest)
        for q in range(count):
            s = active[q]
            mean, _ = _mean_depth(level, corner[s, 0], corner[s, 1], corner[s, 2])
            volume -= corner[s, 3] * mean
        kept = 0
        if volume < wanted:
            first = middle_knot
            for q in range(count):
                s = active[q]
                if corner[s, 2] <= level:
                    a = corner[s, 3]
                    base_area += a
                    base_moment += (
                        a
                        * ((corner[s, 0] - lowest) + (corner[s, 1] - lowest) + (corner[s, 2] - lowest))
                        / 3.0
                    )
                else:
                    active[kept] = s
                    kept += 1
        else:
            last = middle_knot
            for q in range(count):
                s = active[q]
                if corner[s, 0] < level:
                    active[kept] = s
                    kept += 1
        count = kept
    start, end = heights[first], heights[last]
    if end <= start:
        return float(start)
    width = end - start
    v0 = base_moment - base_area * (start - lowest)
    v1 = base_moment - base_area * (end - lowest)
    a0, a1 = -base_area, -base_area
    for q in range(count):
        s = active[q]
        low, middle, high, area = corner[s, 0], corner[s, 1], corner[s, 2], corner[s, 3]
        if high <= start:
            mean = start - (low + middle + high) / 3.0
            v0 -= area * mean
            v1 -= area * (mean + width)
            a0 -= area
            a1 -= area
            continue
        if low >= end:
            continue
        mean, rate = _mean_depth(start, low, middle, high)
        v0 -= area * mean
        a0 -= area * rate
        mean, rate = _mean_depth(end, low, middle, high)
        v1 -= area * mean
        a1 -= area * rate
    return float(start + width * _solve_cubic(wanted, v0, v1, a0 * width, a1 * width))


@njit(cache=True)
def levels_compiled(
    vertices: FloatArray, triangles: IntArray, ups: FloatArray, volumes: FloatArray
) -> FloatArray:
    """Level of each volume for each unit up, (k,) [m]; not a number where it does not fit."""
    found = np.empty(len(ups))
    heights = np.empty(len(vertices))
    corner = np.empty((len(triangles), 4))
    active = np.empty(len(triangles), dtype=np.int64)
    for q in range(len(ups)):
        found[q] = _one_level(
            vertices, triangles, ups[q, 0], ups[q, 1], ups[q, 2], volumes[q], heights, corner, active
        )
    return found
