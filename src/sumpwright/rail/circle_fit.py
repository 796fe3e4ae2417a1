"""Circles through points: three closed-form fits and the geometric one."""

from __future__ import annotations

import numpy as np

from sumpwright.quantities.units import FloatArray
from sumpwright.rail.adjust import gauss_newton

CircleNumbers = tuple[float, float, float]
"""Centre x, centre y, radius [m]."""


def kasa_circle(points: FloatArray) -> CircleNumbers | None:
    """Circle by linear least squares of x2 + y2 = 2 a x + 2 b y + c; shrinks on short arcs.

    None where the points lie in one line or are fewer than three. Source: gander-1994.
    """
    return _algebraic(points, "kasa")


def pratt_circle(points: FloatArray) -> CircleNumbers | None:
    """Circle by the constraint B2 + C2 - 4 A D = 1; nearly unbiased. Source: from-memory."""
    return _algebraic(points, "pratt")


def taubin_circle(points: FloatArray) -> CircleNumbers | None:
    """Circle by the gradient-weighted constraint of Taubin; nearly unbiased. Source: from-memory."""
    return _algebraic(points, "taubin")


def geometric_circle(points: FloatArray) -> CircleNumbers | None:
    """Circle with the least sum of squared distances of the points, started from Taubin's."""
    start = taubin_circle(points)
    if start is None:
        return None
    size = float(np.ptp(points, axis=0).max())
    middle = points.mean(axis=0)
    q = (points - middle) / size

    def out(p: FloatArray) -> FloatArray:
        return np.asarray(np.hypot(q[:, 0] - p[0], q[:, 1] - p[1]) - p[2])

    def slopes(p: FloatArray) -> FloatArray:
        d = np.maximum(np.hypot(q[:, 0] - p[0], q[:, 1] - p[1]), 1e-15)
        return np.stack(((p[0] - q[:, 0]) / d, (p[1] - q[:, 1]) / d, -np.ones(len(q))), axis=1)

    begin = np.array([(start[0] - middle[0]) / size, (start[1] - middle[1]) / size, start[2] / size])
    fit = gauss_newton(out, slopes, begin, np.ones(len(q)))
    a, b, r = fit.x * size
    return float(a + middle[0]), float(b + middle[1]), abs(float(r))


def _algebraic(points: FloatArray, kind: str) -> CircleNumbers | None:
    """A (x2 + y2) + B x + C y + D = 0 under each method's constraint, in centred coordinates."""
    if len(points) < 3:
        return None
    middle = points.mean(axis=0)
    q = points - middle
    size = float(np.sqrt(np.mean(np.sum(q**2, axis=1))))
    if size == 0.0 or np.linalg.svd(q, compute_uv=False)[-1] < 1e-9 * size:
        return None
    x, y = (q / size).T
    z = x * x + y * y
    M = np.stack((z, x, y, np.ones(len(x))), axis=1)
    mean = z.mean()
    constraint = {
        # Kasa holds A alone, Pratt the squared radius, Taubin the mean squared gradient.
        "kasa": np.diag([1.0, 0.0, 0.0, 0.0]),
        "pratt": np.array([[0.0, 0, 0, -2], [0, 1, 0, 0], [0, 0, 1, 0], [-2, 0, 0, 0]]),
        "taubin": np.array([[4 * mean, 0, 0, 0], [0, 1, 0, 0], [0, 0, 1, 0], [0, 0, 0, 0.0]]),
    }[kind]
    S = M.T @ M / len(x)
    # Smallest positive eta of S v = eta N v, turned round so that a singular N does no harm:
    # N v = (1 / eta) S v with S made invertible by the points' own scatter.
    values, vectors = _generalised(constraint, S)
    good = np.nonzero(values > 1e-12)[0]
    if good.size == 0:
        return None
    v = vectors[:, good[np.argmax(values[good])]]
    if abs(v[0]) < 1e-12 * np.abs(v).max():
        return None
    a, b = -v[1] / (2 * v[0]), -v[2] / (2 * v[0])
    r = np.sqrt(max(a * a + b * b - v[3] / v[0], 0.0))
    return float(a * size + middle[0]), float(b * size + middle[1]), float(r * size)


def _generalised(N: FloatArray, S: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Eigenvalues and vectors of N v = m S v for symmetric N and positive S."""
    # Exact circles make S singular: a floor far below any scatter keeps it invertible.
    values, turn = np.linalg.eigh(S)
    values = np.maximum(values, 1e-18 * values.max())
    half = turn / np.sqrt(values)
    m, w = np.linalg.eigh(half.T @ N @ half)
    return m, half @ w
