"""Triangles of a thin plate in bending, whose normals stay straight and square along every side.

The discrete Kirchhoff triangle (Batoz, Bathe and Ho, A study of three-node triangular plate
bending elements, Int. J. Numerical Methods in Engineering 15 (1980) 1771-1812): three nodes
with deflection w and two turns each, about x (w,y) and about y (-w,x); the curvature varies
linearly in every triangle. It passes the patch test and does not lock.
"""

from __future__ import annotations

import numpy as np

from sumpwright.quantities.units import FloatArray

CORNERS = ((0.0, 0.0), (1.0, 0.0), (0.0, 1.0))
"""Share of the way along sides 1-2 and 1-3 at which the three corners stand."""


def areas(flat: FloatArray) -> FloatArray:
    """Areas (m,) of triangles from their corners (m, 3, 2), positive anticlockwise."""
    one, two = flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 0]
    return np.asarray(0.5 * (one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]))


def bending_stiffness(flat: FloatArray, law: FloatArray) -> FloatArray:
    """Stiffness (m, 9, 9) of every triangle; freedoms w, turn about x, turn about y at each corner.

    Args:
        flat: (m, 3, 2) corners, m.
        law: (m, 3, 3) or (3, 3) moments for curvatures, N m: Hooke's law of the sheet times t**3 / 12.
    """
    at_corners = corner_curvatures(flat)
    total = np.zeros((len(flat), 9, 9))
    # The curvature is linear, so the middles of the sides lie half way between the corners;
    # these three points integrate the product of two linear curvatures exactly.
    for i, j in ((0, 1), (1, 2), (2, 0)):
        middle = 0.5 * (at_corners[:, i] + at_corners[:, j])
        total += np.swapaxes(middle, 1, 2) @ (law @ middle)
    return np.asarray(total * (areas(flat) / 3.0)[:, None, None])


def corner_curvatures(flat: FloatArray) -> FloatArray:
    """Rows (m, 3 corners, 3, 9) that give the curvatures -w,xx, -w,yy and -2 w,xy at the corners."""
    turns = _section_turns(flat)
    return np.stack([_curvature(flat, turns, s, t) for s, t in CORNERS], axis=1)


def _section_turns(flat: FloatArray) -> FloatArray:
    """Section turns -w,x and -w,y (m, 2, 6, 9) at corners and side middles.

    Along a side the turn varies so that the normal stays square to it; across it linearly.
    """
    turns = np.zeros((len(flat), 2, 6, 9))
    for i in range(3):
        turns[:, 0, i, 3 * i + 2] = 1.0
        turns[:, 1, i, 3 * i + 1] = -1.0
    for k, (i, j) in enumerate(((0, 1), (1, 2), (2, 0))):
        side = flat[:, j] - flat[:, i]
        length = np.hypot(side[:, 0], side[:, 1])
        s = side / length[:, None]
        n = np.stack([-s[:, 1], s[:, 0]], axis=1)
        ends = turns[:, :, i] + turns[:, :, j]
        mid_along = -0.25 * (s[:, None, :] @ ends)[:, 0]
        mid_along[:, 3 * j] -= 1.5 / length
        mid_along[:, 3 * i] += 1.5 / length
        mid_across = 0.5 * (n[:, None, :] @ ends)[:, 0]
        turns[:, :, 3 + k] = s[:, :, None] * mid_along[:, None] + n[:, :, None] * mid_across[:, None]
    return turns


def _curvature(flat: FloatArray, turns: FloatArray, s: float, t: float) -> FloatArray:
    """Curvatures (m, 3, 9) at one place of each triangle."""
    a1, a2, a3 = 1.0 - s - t, s, t
    by_s = np.array([1 - 4 * a1, 4 * a2 - 1, 0.0, 4 * (a1 - a2), 4 * a3, -4 * a3])
    by_t = np.array([1 - 4 * a1, 0.0, 4 * a3 - 1, -4 * a2, 4 * a2, 4 * (a1 - a3)])
    one, two = flat[:, 1] - flat[:, 0], flat[:, 2] - flat[:, 0]
    double = 2.0 * areas(flat)[:, None]
    by_x = ((two[:, 1, None] * by_s - one[:, 1, None] * by_t) / double)[:, None, :]
    by_y = ((-two[:, 0, None] * by_s + one[:, 0, None] * by_t) / double)[:, None, :]
    first, second = turns[:, 0], turns[:, 1]
    xx, yy = (by_x @ first)[:, 0], (by_y @ second)[:, 0]
    xy = (by_y @ first)[:, 0] + (by_x @ second)[:, 0]
    return np.stack([xx, yy, xy], axis=1)
