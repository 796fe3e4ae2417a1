"""Conjugate gradients over a modified incomplete Cholesky factor; compiled.

Both triangles of the scaled matrix have the diagonal one, so that A = (I - E) + (I - E') + (D - 2) and one
iteration needs one pass through each triangle and no product with A itself (Eisenstat 1981). Rows are
numbered so that neighbours in number do not wait for each other.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit

from sumpwright.motion.free_surface.cpu_parcels import RELAXED

TUNE, SAFETY = 0.97, 0.25


@njit(cache=True, fastmath=RELAXED, nogil=True)
def factor(
    count: Any, diagonal: Any, link: Any, above: Any, below: Any, scale: Any, rest: Any, up: Any, down: Any
) -> None:
    """One reciprocal root a row (``scale``); the scaled triangles ``up`` and ``down``; ``rest`` = D - 2."""
    scale[count] = 0.0
    for axis in range(3):
        link[axis, count] = 0.0
    for r in range(count):
        q = np.uint64(r)
        e = diagonal[q]
        for axis in range(3):
            m = np.uint64(below[axis, q])
            t = link[axis, m] * scale[m]
            others = link[(axis + 1) % 3, m] + link[(axis + 2) % 3, m]
            e -= t * t + TUNE * t * others * scale[m]
        if e < SAFETY * diagonal[q]:
            e = diagonal[q]
        scale[q] = 1.0 / np.sqrt(e)
    for r in range(count):
        q = np.uint64(r)
        s = scale[q]
        rest[q] = diagonal[q] * s * s - np.float32(2.0)
        for axis in range(3):
            up[axis, q] = link[axis, q] * s * scale[np.uint64(above[axis, q])]
            m = np.uint64(below[axis, q])
            down[axis, q] = link[axis, m] * s * scale[m]


@njit(cache=True, fastmath=RELAXED, nogil=True)
def solve(
    count: Any, diagonal: Any, link: Any, above: Any, below: Any, scale: Any, rest: Any, up: Any, down: Any,
    b: Any, x: Any, started: Any, r: Any, p: Any, t: Any, w: Any, tolerance: Any, most: Any,
) -> Any:  # fmt: skip
    """Solve into ``x``, from ``x`` if ``started``. Returns the iterations.

    Stops when the scaled rest is ``tolerance`` of the scaled right side. All arrays have one row more,
    which stays nothing, for a neighbour that is not there.
    """
    t[count] = 0.0
    w[count] = 0.0
    x[count] = 0.0
    a0, a1, a2 = above[0], above[1], above[2]
    b0, b1, b2 = below[0], below[1], below[2]
    u0, u1, u2 = up[0], up[1], up[2]
    d0, d1, d2 = down[0], down[1], down[2]
    size = 0.0
    for n in range(count):
        i = np.uint64(n)
        w[i] = (
            scale[i] * b[i]
            + d0[i] * w[np.uint64(b0[i])] + d1[i] * w[np.uint64(b1[i])] + d2[i] * w[np.uint64(b2[i])]
        )  # fmt: skip
        size += w[i] * w[i]
    target = tolerance * tolerance * size
    if size == 0.0:
        for n in range(count):
            x[n] = 0.0
        return 0
    if started:
        l0, l1, l2 = link[0], link[1], link[2]
        for n in range(count):
            i = np.uint64(n)
            m0, m1, m2 = np.uint64(b0[i]), np.uint64(b1[i]), np.uint64(b2[i])
            left = (
                b[i] - diagonal[i] * x[i]
                + l0[i] * x[np.uint64(a0[i])] + l1[i] * x[np.uint64(a1[i])] + l2[i] * x[np.uint64(a2[i])]
                + l0[m0] * x[m0] + l1[m1] * x[m1] + l2[m2] * x[m2]
            )  # fmt: skip
            w[i] = scale[i] * left + d0[i] * w[m0] + d1[i] * w[m1] + d2[i] * w[m2]
    rho = 0.0
    for n in range(count):
        i = np.uint64(n)
        if not started:
            x[i] = 0.0
        r[i] = w[i]
        p[i] = w[i]
        rho += w[i] * w[i]
    for it in range(most):
        if rho <= target:
            return it
        for n in range(count - 1, -1, -1):
            i = np.uint64(n)
            t[i] = (
                p[i]
                + u0[i] * t[np.uint64(a0[i])] + u1[i] * t[np.uint64(a1[i])] + u2[i] * t[np.uint64(a2[i])]
            )  # fmt: skip
        dot = 0.0
        for n in range(count):
            i = np.uint64(n)
            w[i] = (
                p[i] + rest[i] * t[i]
                + d0[i] * w[np.uint64(b0[i])] + d1[i] * w[np.uint64(b1[i])] + d2[i] * w[np.uint64(b2[i])]
            )  # fmt: skip
            dot += p[i] * (t[i] + w[i])
        if dot == 0.0:
            return it
        alpha = np.float32(rho / dot)
        new = 0.0
        for n in range(count):
            i = np.uint64(n)
            x[i] += alpha * scale[i] * t[i]
            r[i] -= alpha * (t[i] + w[i])
            new += r[i] * r[i]
        beta = np.float32(new / rho)
        rho = new
        for n in range(count):
            i = np.uint64(n)
            p[i] = r[i] + beta * p[i]
    return most
