"""The circle of a hole's edge from points on it: outliers let go, uncertainty from the scatter."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sumpwright.quantities.units import FloatArray, Metre, Radian
from sumpwright.rail.circle_fit import geometric_circle, taubin_circle

LEAST_ARC: Radian = math.radians(60.0)
"""A shorter arc tells hardly anything of its centre."""
_LEAST_POINTS = 8
_GAP: Radian = math.radians(45.0)
"""Wider between two edge points, the edge was not seen there."""


@dataclass(frozen=True, slots=True)
class EdgeCircle:
    """A circle through edge points."""

    x: Metre
    y: Metre
    radius: Metre
    u: Metre  # standard uncertainty of the centre in its looser direction
    scatter: Metre  # of the points about the circle
    arc: Radian
    points: int


def edge_circle(points: FloatArray, *, radius: Metre | None = None) -> EdgeCircle | None:
    """The circle of edge points (n, 2) [m], started by Taubin and finished geometrically.

    Points beyond three times the scatter let go, the scatter being found from the median.
    ``radius`` is about what is expected: short arcs with wild points then start from it.
    None where too few points or too short an arc is left.
    """
    kept = points
    for turn in range(8):
        if len(kept) < _LEAST_POINTS:
            return None
        circle = _robust_start(points, radius) if turn == 0 else geometric_circle(kept)
        if circle is None:
            return None
        x, y, r = circle
        miss = np.hypot(points[:, 0] - x, points[:, 1] - y) - r
        near = np.abs(miss) < 0.25 * r
        if near.sum() < _LEAST_POINTS:
            return None
        middle = np.median(miss[near])
        width = max(1.4826 * float(np.median(np.abs(miss[near] - middle))), 1e-7)
        now = points[np.abs(miss - (middle if turn == 0 else 0.0)) < 3.0 * width]
        if turn > 1 and len(now) == len(kept):
            break
        kept = now
    circle = geometric_circle(kept) if len(kept) >= _LEAST_POINTS else None
    if circle is None:
        return None
    x, y, r = circle
    angle = np.arctan2(kept[:, 1] - y, kept[:, 0] - x)
    arc = _arc_seen(angle)
    if arc < LEAST_ARC:
        return None
    order = np.argsort(angle, kind="stable")
    miss = (np.hypot(kept[:, 0] - x, kept[:, 1] - y) - r)[order]
    scatter = math.sqrt(float(miss @ miss) / max(len(kept) - 3, 1))
    J = np.stack((np.cos(angle), np.sin(angle), np.ones(len(kept))), axis=1)
    normal = J.T @ J
    if np.linalg.cond(normal) > 1e9:
        return None
    covariance = np.linalg.inv(normal)[:2, :2] * scatter**2 * _togetherness(miss)
    u = math.sqrt(float(np.linalg.eigvalsh(covariance)[-1]))
    return EdgeCircle(float(x), float(y), float(r), u, scatter, arc, len(kept))


def _robust_start(points: FloatArray, radius: Metre | None) -> tuple[float, float, float] | None:
    """Taubin's circle, or where wild points spoil it the best of many through three points."""
    plain = taubin_circle(points)
    if len(points) < 12:
        return plain
    rng = np.random.default_rng(len(points))
    picks = points[rng.integers(0, len(points), (200, 3))]
    a, b, c = picks[:, 0], picks[:, 1] - picks[:, 0], picks[:, 2] - picks[:, 0]
    twice = 2.0 * (b[:, 0] * c[:, 1] - b[:, 1] * c[:, 0])
    good = np.abs(twice) > 1e-12
    a, b, c, twice = a[good], b[good], c[good], twice[good]
    bb, cc = np.sum(b * b, axis=1), np.sum(c * c, axis=1)
    ux = (c[:, 1] * bb - b[:, 1] * cc) / twice
    uy = (b[:, 0] * cc - c[:, 0] * bb) / twice
    r = np.hypot(ux, uy)
    x, y = a[:, 0] + ux, a[:, 1] + uy
    if plain is not None:
        x, y, r = np.append(x, plain[0]), np.append(y, plain[1]), np.append(r, plain[2])
    if radius is not None:
        near = np.abs(r / radius - 1.0) < 0.4
        x, y, r = x[near], y[near], r[near]
    if x.size == 0:
        return plain
    d = np.hypot(points[None, :, 0] - x[:, None], points[None, :, 1] - y[:, None])
    miss = np.median(np.abs(d - r[:, None]), axis=1)
    best = int(np.argmin(miss))
    return float(x[best]), float(y[best]), float(r[best])


def _arc_seen(angle: FloatArray) -> Radian:
    """The whole turn less the wide gaps between points."""
    turn = np.sort(angle)
    gaps = np.diff(np.append(turn, turn[0] + 2.0 * math.pi))
    return 2.0 * math.pi - float(gaps[gaps > _GAP].sum())


def _togetherness(miss: FloatArray) -> float:
    """How many times neighbouring misses that go the same way widen the variance of a mean."""
    n = len(miss)
    total = float(miss @ miss)
    if n < 20 or total == 0.0:
        return 1.0
    factor = 1.0
    for lag in range(1, n // 4):
        share = float(miss[lag:] @ miss[:-lag]) / total
        if share < 2.0 / math.sqrt(n):
            break
        factor += 2.0 * share
    return factor
