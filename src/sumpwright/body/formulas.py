"""The angles and measures of a plane-faced solid. Floats or arrays in, the same out."""

from __future__ import annotations

import math

import numpy as np

from sumpwright.quantities.units import FloatArray, Metre, Radian


def corner_angle(normal_a: FloatArray, normal_b: FloatArray, along: FloatArray) -> Radian:
    """Angle inside the oil between two faces that meet in an edge.

    theta = pi - atan2((nA x nB) . e, nA . nB)

    Args:
        normal_a: nA, unit normal of the first face, out of the oil [1].
        normal_b: nB, unit normal of the second face, out of the oil [1].
        along: e, unit vector of the edge, anticlockwise round the first face seen from outside [1].

    Returns:
        theta, below pi at an outward corner, above pi at an inward one [rad].

    Valid for: unit normals and a unit edge lying in both faces.
    Source: plane-geometry
    """
    ax, ay, az = (float(c) for c in normal_a)
    bx, by, bz = (float(c) for c in normal_b)
    ex, ey, ez = (float(c) for c in along)
    turn = (ay * bz - az * by) * ex + (az * bx - ax * bz) * ey + (ax * by - ay * bx) * ez
    return math.pi - math.atan2(turn, ax * bx + ay * by + az * bz)


def outside_angle(theta: Radian) -> Radian:
    """Angle on the metal's side of an edge.

    phi = 2 pi - theta

    Args:
        theta: angle inside the oil [rad].

    Returns:
        phi [rad].

    Valid for: theta between 0 and 2 pi.
    Source: plane-geometry
    """
    return 2.0 * math.pi - theta


def slope_beneath(run: FloatArray, drop: FloatArray, radius: Metre) -> FloatArray:
    """Slope of the plane that touches a tyre from below and passes through a point beside it.

    theta = asin(r / sqrt(e^2 + d^2)) - atan2(d, e)

    Args:
        run: e, level distance of the point from the axle (n,) [m].
        drop: d, height of the axle above the point, negative where the point is higher (n,) [m].
        radius: r, axle above level ground [m].

    Returns:
        theta, rising away from the axle (n,) [rad].

    Valid for: points outside the tyre's circle, e^2 + d^2 > r^2.
    Source: plane-geometry
    """
    return np.asarray(np.arcsin(radius / np.hypot(run, drop)) - np.arctan2(drop, run))


def fall_of_line(upper: FloatArray, lower: FloatArray, up: FloatArray) -> Radian:
    """How steeply a line falls from its upper to its lower end, against the level.

    fall = atan2(h, |d - h (-up)|), d = lower - upper, h = -d . up

    Args:
        upper: end from which oil runs [m].
        lower: end to which it runs [m].
        up: unit vector straight up [1].

    Returns:
        fall, positive downwards [rad].

    Valid for: two places that are not the same.
    Source: plane-geometry
    """
    along = np.asarray(lower, dtype=np.float64) - np.asarray(upper, dtype=np.float64)
    height = -float(along @ up)
    across = along + height * np.asarray(up)
    return math.atan2(height, float(np.linalg.norm(across)))
