"""``pools`` and ``level`` compiled for many attitudes. Imported only when wanted."""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from sumpwright.oil.level_compiled import below_both_ends, crosses_of, level_of, solve_cubic
from sumpwright.quantities.units import FloatArray, IntArray

TOUCHING = 1e-9  # m, as in ``pools``


@njit(cache=True)
def _triangle_below(
    vertices: FloatArray,
    triangles: IntArray,
    heights: FloatArray,
    up: FloatArray,
    point: FloatArray,
    but_not: int,
    parts: IntArray,
    part: int,
    least_drop: float,
) -> int:
    """As ``pools``: the first floor triangle below, of one part of the surface or (-1) of all."""
    found, nearest, faces_down = -1, math.inf, False
    highest = up[0] * point[0] + up[1] * point[1] + up[2] * point[2] - least_drop
    for t in range(len(triangles)):
        i, j, k = triangles[t, 0], triangles[t, 1], triangles[t, 2]
        if heights[i] > highest and heights[j] > highest and heights[k] > highest:
            continue
        if part >= 0 and parts[t] != part:
            continue
        if i == but_not or j == but_not or k == but_not:
            continue
        ax, ay, az = vertices[i, 0] - point[0], vertices[i, 1] - point[1], vertices[i, 2] - point[2]
        bx, by, bz = vertices[j, 0] - point[0], vertices[j, 1] - point[1], vertices[j, 2] - point[2]
        cx, cy, cz = vertices[k, 0] - point[0], vertices[k, 1] - point[1], vertices[k, 2] - point[2]
        sc = up[0] * (ay * bz - az * by) + up[1] * (az * bx - ax * bz) + up[2] * (ax * by - ay * bx)
        sa = up[0] * (by * cz - bz * cy) + up[1] * (bz * cx - bx * cz) + up[2] * (bx * cy - by * cx)
        sb = up[0] * (cy * az - cz * ay) + up[1] * (cz * ax - cx * az) + up[2] * (cx * ay - cy * ax)
        area = sa + sb + sc
        hair = 1e-12 * abs(area)
        if area > 0.0:
            if sa < -hair or sb < -hair or sc < -hair:
                continue
        elif area < 0.0:
            if sa > hair or sb > hair or sc > hair:
                continue
        else:
            continue
        ha = up[0] * ax + up[1] * ay + up[2] * az
        hb = up[0] * bx + up[1] * by + up[2] * bz
        hc = up[0] * cx + up[1] * cy + up[2] * cz
        drop = -(sa * ha + sb * hb + sc * hc) / area
        if drop <= least_drop:
            continue
        # The two sides of an inner wall lie in one plane: out through one, in through the other.
        is_nearer = drop < nearest - TOUCHING
        is_out = area < 0.0 and not faces_down and drop <= nearest + TOUCHING
        if is_nearer or is_out:
            found, nearest, faces_down = t, drop, area < 0.0
    return found if faces_down else -1


@njit(cache=True)
def _lowest_of(heights: FloatArray, triangles: IntArray, t: int) -> int:
    best = triangles[t, 0]
    for s in range(1, 3):
        if heights[triangles[t, s]] < heights[best]:
            best = triangles[t, s]
    return int(best)


@njit(cache=True)
def _push(keys: FloatArray, items: IntArray, count: int, key: float, item: int) -> int:
    """Onto a binary heap, smallest key first."""
    at = count
    while at > 0:
        parent = (at - 1) // 2
        if keys[parent] <= key:
            break
        keys[at], items[at] = keys[parent], items[parent]
        at = parent
    keys[at], items[at] = key, item
    return count + 1


@njit(cache=True)
def _pop(keys: FloatArray, items: IntArray, count: int) -> int:
    """Take the smallest off; the caller has read it at index 0."""
    count -= 1
    key, item = keys[count], items[count]
    at = 0
    while True:
        child = 2 * at + 1
        if child >= count:
            break
        if child + 1 < count and keys[child + 1] < keys[child]:
            child += 1
        if keys[child] >= key:
            break
        keys[at], items[at] = keys[child], items[child]
        at = child
    keys[at], items[at] = key, item
    return count


@njit(cache=True)
def _stretch_held(
    corner: FloatArray, held: FloatArray, count: int, start: float, end: float
) -> tuple[float, float, float, float]:
    """As in ``level_compiled``, with a triangle's own held-back level counted where it is higher."""
    v0, v1, a0, a1 = 0.0, 0.0, 0.0, 0.0
    for q in range(count):
        low, middle, high, area = corner[q, 0], corner[q, 1], corner[q, 2], corner[q, 3]
        level = held[q]
        if level >= end:
            if level <= low:
                continue
            if level >= high:
                mean = ((level - low) + (level - middle) + (level - high)) / 3.0
            elif level <= middle:
                depth = level - low
                mean = (depth / (middle - low)) * (depth / (high - low)) * depth / 3.0
            else:
                dry = high - level
                mean = ((level - low) + (level - middle) + (level - high)) / 3.0
                mean += (dry / (high - middle)) * (dry / (high - low)) * dry / 3.0
            v0 -= area * mean
            v1 -= area * mean
            continue
        one = below_both_ends(low, middle, high, area, start, end)
        v0 += one[0]
        v1 += one[1]
        a0 += one[2]
        a1 += one[3]
    return v0, v1, a0, a1


@njit(cache=True)
def _cut_off_level(
    vertices: FloatArray,
    triangles: IntArray,
    starts: IntArray,
    others: IntArray,
    parts: IntArray,  # (m,) part of each triangle
    part_of_corner: IntArray,
    links: IntArray,  # (l, 2) further ways that oil can run, from and to, sorted by to
    up: FloatArray,
    wanted: float,
    place: FloatArray,
    shared: float,
    heights: FloatArray,  # (n,) filled
    held_of: FloatArray,  # (n,) scratch
    hanging: IntArray,  # (n, 2) scratch: ways down
    corner: FloatArray,  # (m, 4) scratch
    held: FloatArray,  # (m,) scratch
    keys: FloatArray,  # scratch of the heap
    items: IntArray,
) -> float:
    """The level at ``place`` when every other pool is full to its crest; as ``pools.levels_at``."""
    n = len(vertices)
    # Corners without a lower neighbour: pools, or feet that hang in the oil.
    lows = 0
    for i in range(n):
        if starts[i] == starts[i + 1]:
            continue
        is_low = True
        for q in range(starts[i], starts[i + 1]):
            other = heights[others[q]]
            if other < heights[i] or (other == heights[i] and others[q] < i):
                is_low = False
                break
        if is_low:
            hanging[lows, 0] = i
            lows += 1
    if lows <= 1:
        return shared
    ways = 0
    for q in range(lows):
        i = hanging[q, 0]
        under = _triangle_below(
            vertices, triangles, heights, up, vertices[i], i, parts, part_of_corner[i], TOUCHING
        )
        if under >= 0:
            hanging[ways, 0] = i
            hanging[ways, 1] = _lowest_of(heights, triangles, under)
            ways += 1
    if lows - ways <= 1:
        return shared
    below = _triangle_below(vertices, triangles, heights, up, place, -1, parts, -1, -1e-12)
    if below < 0:
        return math.nan
    sink = _lowest_of(heights, triangles, below)
    moved = True
    while moved:
        moved = False
        best = sink
        for q in range(starts[sink], starts[sink + 1]):
            if heights[others[q]] < heights[best]:
                best = others[q]
        for w in range(ways):
            if hanging[w, 0] == sink and heights[hanging[w, 1]] < heights[best]:
                best = hanging[w, 1]
        if best != sink:
            sink, moved = int(best), True
    for i in range(n):
        held_of[i] = math.inf
    held_of[sink] = heights[sink]
    count = _push(keys, items, 0, heights[sink], sink)
    while count > 0:
        at, i = keys[0], items[0]
        count = _pop(keys, items, count)
        if at > held_of[i]:
            continue
        for q in range(starts[i], starts[i + 1]):
            j = others[q]
            reach = max(at, heights[j])
            if reach < held_of[j]:
                held_of[j] = reach
                count = _push(keys, items, count, reach, j)
        for w in range(ways):
            j = -1
            if hanging[w, 0] == i:
                j = hanging[w, 1]
            elif hanging[w, 1] == i:
                j = hanging[w, 0]
            if j >= 0:
                reach = max(at, heights[j])
                if reach < held_of[j]:
                    held_of[j] = reach
                    count = _push(keys, items, count, reach, j)
        # Links are sorted by where they end: those that end here stand together.
        w = np.searchsorted(links[:, 1], i)
        while w < len(links) and links[w, 1] == i:
            j = links[w, 0]
            reach = max(at, heights[j])
            if reach < held_of[j]:
                held_of[j] = reach
                count = _push(keys, items, count, reach, j)
            w += 1
    rows = 0
    for t in range(len(triangles)):
        i, j, k = triangles[t, 0], triangles[t, 1], triangles[t, 2]
        x, y, z = vertices[i, 0], vertices[i, 1], vertices[i, 2]
        ax, ay, az = vertices[j, 0] - x, vertices[j, 1] - y, vertices[j, 2] - z
        bx, by, bz = vertices[k, 0] - x, vertices[k, 1] - y, vertices[k, 2] - z
        area = 0.5 * (up[0] * (ay * bz - az * by) + up[1] * (az * bx - ax * bz) + up[2] * (ax * by - ay * bx))
        if area == 0.0:
            continue
        held[rows] = held_of[_lowest_of(heights, triangles, t)]
        low, middle, high = heights[i], heights[j], heights[k]
        if low > middle:
            low, middle = middle, low
        if middle > high:
            middle, high = high, middle
        if low > middle:
            low, middle = middle, low
        corner[rows, 0], corner[rows, 1], corner[rows, 2], corner[rows, 3] = low, middle, high, area
        rows += 1
    bottom = float(heights[sink])
    if shared <= bottom:
        return shared
    # Between the sink's deepest point and the shared level the oil grows with the level.
    first, last = bottom, shared
    guess = last
    for turn in range(2 * n + 8):
        # Guesses follow the surface area; every other later one halves, so that the search ends.
        if not first <= guess < last or (turn >= 3 and turn % 2 == 1):
            guess = 0.5 * (first + last)
        start, end = first, last
        for i in range(n):
            height = heights[i]
            if height <= guess:
                start = max(start, height)
            else:
                end = min(end, height)
        v0, v1, a0, a1 = _stretch_held(corner, held, rows, start, end)
        if wanted < v0:
            if start <= first:
                return float(start)
            last = start
            guess = start - (v0 - wanted) / a0 if a0 > 0.0 else first
            continue
        if wanted > v1 and end < last:
            first = end
            guess = end + (wanted - v1) / a1 if a1 > 0.0 else last
            continue
        if wanted >= v1:
            return float(end)
        width = end - start
        return float(start + width * solve_cubic(wanted, v0, v1, a0 * width, a1 * width))
    return bottom


@njit(cache=True)
def levels_at_compiled(
    vertices: FloatArray,
    triangles: IntArray,
    starts: IntArray,
    others: IntArray,
    parts: IntArray,
    part_of_corner: IntArray,
    links: IntArray,
    ups: FloatArray,
    volume: float,
    place: FloatArray,
) -> FloatArray:
    """Shared and cut-off level for each unit up, (k, 2) [m]; see ``pools.levels_at``."""
    n, m = len(vertices), len(triangles)
    found = np.empty((len(ups), 2))
    heights = np.empty(n)
    held_of = np.empty(n)
    hanging = np.empty((n, 2), dtype=np.int64)
    corner = np.empty((m, 4))
    held = np.empty(m)
    keys = np.empty(len(others) + len(links) + 2 * n + 8)
    items = np.empty(len(others) + len(links) + 2 * n + 8, dtype=np.int64)
    crosses = crosses_of(vertices, triangles)
    for q in range(len(ups)):
        up = ups[q]
        shared = level_of(vertices, triangles, crosses, up[0], up[1], up[2], volume, heights, corner)
        found[q, 0] = shared
        found[q, 1] = shared
        if not math.isnan(shared):
            found[q, 1] = _cut_off_level(
                vertices,
                triangles,
                starts,
                others,
                parts,
                part_of_corner,
                links,
                up,
                volume,
                place,
                shared,
                heights,
                held_of,
                hanging,
                corner,
                held,
                keys,
                items,
            )
    return found
