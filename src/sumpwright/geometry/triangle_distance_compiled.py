"""The inner loops of the triangle distance, compiled. Import only where they are called."""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

STACK = 4096


@njit(cache=True)
def _dot(a: Any, b: Any) -> Any:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


@njit(cache=True)
def _sides_closest(p1: Any, q1: Any, p2: Any, q2: Any, on1: Any, on2: Any) -> Any:
    """Squared distance of two straight pieces; their closest points go into on1 and on2."""
    a = e = b = c = f = 0.0
    for k in range(3):
        d1, d2, r = q1[k] - p1[k], q2[k] - p2[k], p1[k] - p2[k]
        a += d1 * d1
        e += d2 * d2
        b += d1 * d2
        c += d1 * r
        f += d2 * r
    s = t = 0.0
    if a > 0.0 and e > 0.0:
        denominator = a * e - b * b
        if denominator > 1e-14 * a * e:
            s = min(1.0, max(0.0, (b * f - c * e) / denominator))
        t = min(1.0, max(0.0, (b * s + f) / e))
        s = min(1.0, max(0.0, (b * t - c) / a))
    elif a > 0.0:
        s = min(1.0, max(0.0, -c / a))
    elif e > 0.0:
        t = min(1.0, max(0.0, f / e))
    apart = 0.0
    for k in range(3):
        on1[k] = p1[k] + s * (q1[k] - p1[k])
        on2[k] = p2[k] + t * (q2[k] - p2[k])
        apart += (on1[k] - on2[k]) ** 2
    return apart


@njit(cache=True)
def _foot_inside(point: Any, triangle: Any, foot: Any) -> Any:
    """Whether a point's foot falls inside a triangle; the foot goes into foot."""
    uu = uv = vv = wu = wv = 0.0
    for k in range(3):
        u, v = triangle[1, k] - triangle[0, k], triangle[2, k] - triangle[0, k]
        w = point[k] - triangle[0, k]
        uu += u * u
        uv += u * v
        vv += v * v
        wu += w * u
        wv += w * v
    area = uu * vv - uv * uv
    if area <= 1e-14 * uu * vv or area <= 0.0:
        return False
    s, t = (vv * wu - uv * wv) / area, (uu * wv - uv * wu) / area
    if s < 0.0 or t < 0.0 or s + t > 1.0:
        return False
    for k in range(3):
        u, v = triangle[1, k] - triangle[0, k], triangle[2, k] - triangle[0, k]
        foot[k] = triangle[0, k] + s * u + t * v
    return True


@njit(cache=True)
def _pierces(start: Any, end: Any, triangle: Any, place: Any) -> Any:
    """Whether a straight piece runs through a triangle; where goes into place."""
    u, v = triangle[1] - triangle[0], triangle[2] - triangle[0]
    n0 = u[1] * v[2] - u[2] * v[1]
    n1 = u[2] * v[0] - u[0] * v[2]
    n2 = u[0] * v[1] - u[1] * v[0]
    before = (start[0] - triangle[0, 0]) * n0 + (start[1] - triangle[0, 1]) * n1
    before += (start[2] - triangle[0, 2]) * n2
    after = (end[0] - triangle[0, 0]) * n0 + (end[1] - triangle[0, 1]) * n1
    after += (end[2] - triangle[0, 2]) * n2
    if before * after >= 0.0:
        return False
    share = before / (before - after)
    for k in range(3):
        place[k] = start[k] + share * (end[k] - start[k])
    foot = np.empty(3)
    return _foot_inside(place, triangle, foot)


@njit(cache=True)
def pair_gap(a: Any, b: Any, on_a: Any, on_b: Any) -> Any:
    """Gap of two triangles (3, 3); their closest points go into on_a and on_b."""
    p, q = np.empty(3), np.empty(3)
    best = np.inf
    for i in range(3):
        for j in range(3):
            apart = _sides_closest(a[i], a[(i + 1) % 3], b[j], b[(j + 1) % 3], p, q)
            if apart < best:
                best = apart
                on_a[:] = p
                on_b[:] = q
    for i in range(3):
        if _foot_inside(a[i], b, q):
            apart = (a[i, 0] - q[0]) ** 2 + (a[i, 1] - q[1]) ** 2 + (a[i, 2] - q[2]) ** 2
            if apart < best:
                best = apart
                on_a[:] = a[i]
                on_b[:] = q
        if _foot_inside(b[i], a, p):
            apart = (b[i, 0] - p[0]) ** 2 + (b[i, 1] - p[1]) ** 2 + (b[i, 2] - p[2]) ** 2
            if apart < best:
                best = apart
                on_a[:] = p
                on_b[:] = b[i]
    if best > 0.0:
        for i in range(3):
            if _pierces(a[i], a[(i + 1) % 3], b, p) or _pierces(b[i], b[(i + 1) % 3], a, p):
                best = 0.0
                on_a[:] = p
                on_b[:] = p
                break
    return np.sqrt(best)


@njit(cache=True)
def _box_bound(low1: Any, high1: Any, low2: Any, high2: Any) -> Any:
    apart = 0.0
    for k in range(3):
        away = max(low2[k] - high1[k], low1[k] - high2[k])
        if away > 0.0:
            apart += away * away
    return np.sqrt(apart)


@njit(cache=True)
def _triangle_bound(a: Any, b: Any) -> Any:
    """Gap of the boxes round two triangles: never more than theirs."""
    apart = 0.0
    for k in range(3):
        low1, high1 = min(a[0, k], a[1, k], a[2, k]), max(a[0, k], a[1, k], a[2, k])
        low2, high2 = min(b[0, k], b[1, k], b[2, k]), max(b[0, k], b[1, k], b[2, k])
        away = max(low2 - high1, low1 - high2)
        if away > 0.0:
            apart += away * away
    return np.sqrt(apart)


@njit(cache=True)
def closest(
    triangles1: Any,
    skins1: Any,
    low1: Any,
    high1: Any,
    thick1: Any,
    triangles2: Any,
    skins2: Any,
    low2: Any,
    high2: Any,
    thick2: Any,
    group: Any,
    limit: Any,
    enough: Any,
    on_first: Any,
    on_second: Any,
) -> Any:
    """Least gap of two surfaces under heaps of boxes: (gap, triangle, triangle).

    Node 1 is the root, nodes 2n and 2n + 1 lie below n, the last half are the leaves. The
    triangles are -1 where none is within the limit; the search ends at ``enough``.
    """
    leaves1, leaves2 = low1.shape[0] // 2, low2.shape[0] // 2
    stack = np.empty((STACK, 2), dtype=np.int64)
    bounds = np.empty(STACK)
    stack[0, 0] = stack[0, 1] = 1
    bounds[0] = _box_bound(low1[1], high1[1], low2[1], high2[1]) - thick1[1] - thick2[1]
    top = 1
    best, best1, best2 = limit, -1, -1
    on_a, on_b = np.empty(3), np.empty(3)
    while top > 0:
        top -= 1
        if bounds[top] > best or (best1 >= 0 and bounds[top] >= best):
            continue
        i, j = stack[top, 0], stack[top, 1]
        if i >= leaves1 and j >= leaves2:
            start1, start2 = (i - leaves1) * group, (j - leaves2) * group
            for a in range(start1, min(start1 + group, triangles1.shape[0])):
                for b in range(start2, min(start2 + group, triangles2.shape[0])):
                    skins = skins1[a] + skins2[b]
                    bound = _triangle_bound(triangles1[a], triangles2[b]) - skins
                    if bound > best or (best1 >= 0 and bound >= best):
                        continue
                    gap = pair_gap(triangles1[a], triangles2[b], on_a, on_b) - skins
                    if gap < best or (best1 < 0 and gap <= best):
                        best, best1, best2 = gap, a, b
                        on_first[:] = on_a
                        on_second[:] = on_b
            if best1 >= 0 and best <= enough:
                break
            continue
        # Split the larger box, so that both shrink alike.
        split_first = j >= leaves2
        if i < leaves1 and j < leaves2:
            size1 = size2 = 0.0
            for k in range(3):
                size1 = max(size1, high1[i, k] - low1[i, k])
                size2 = max(size2, high2[j, k] - low2[j, k])
            split_first = size1 >= size2
        first1 = 2 * i if split_first else i
        second1 = 2 * i + 1 if split_first else i
        first2 = j if split_first else 2 * j
        second2 = j if split_first else 2 * j + 1
        bound_a = _box_bound(low1[first1], high1[first1], low2[first2], high2[first2])
        bound_a -= thick1[first1] + thick2[first2]
        bound_b = _box_bound(low1[second1], high1[second1], low2[second2], high2[second2])
        bound_b -= thick1[second1] + thick2[second2]
        for nearer in range(2):
            # The farther one goes below, so that the nearer is looked at first.
            take_a = (bound_a > bound_b) == (nearer == 0)
            bound = bound_a if take_a else bound_b
            if bound <= best and top < STACK:
                stack[top, 0] = first1 if take_a else second1
                stack[top, 1] = first2 if take_a else second2
                bounds[top] = bound
                top += 1
    return best, best1, best2
