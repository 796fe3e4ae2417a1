"""Where a level surface cuts a closed triangle surface: closed lines, for drawing."""

from __future__ import annotations

import numpy as np

from sumpwright.geometry import Surface
from sumpwright.quantities.units import FloatArray, Metre

Edge = tuple[int, int]

ASIDE: Metre = 1e-10
"""A corner that lies on the plane is taken to lie this much above it, so that lines close."""


def plane_loops(surface: Surface, up: FloatArray, level: Metre) -> list[FloatArray]:
    """Closed lines (n, 3) [m] in which the plane up . p = level cuts the surface."""
    above = surface.vertices @ up - level
    above = np.where(np.abs(above) < ASIDE, ASIDE, above)
    signs = above[surface.triangles] > 0.0
    crossing = np.flatnonzero(signs.any(axis=1) & ~signs.all(axis=1))
    onward: dict[Edge, Edge] = {}
    for row in crossing.tolist():
        corners = surface.triangles[row].tolist()
        leaves = enters = (0, 0)
        for a, b in ((0, 1), (1, 2), (2, 0)):
            i, j = corners[a], corners[b]
            if (above[i] > 0.0) == (above[j] > 0.0):
                continue
            edge = (min(i, j), max(i, j))
            # Neighbouring triangles run along their common edge in opposite ways: so the ends join.
            if above[i] > 0.0:
                enters = edge
            else:
                leaves = edge
        onward[enters] = leaves
    return [_points(surface, above, loop) for loop in _loops(onward)]


def _loops(onward: dict[Edge, Edge]) -> list[list[Edge]]:
    found = []
    while onward:
        first, at = onward.popitem()
        loop = [first]
        while at != first and at in onward:
            loop.append(at)
            at = onward.pop(at)
        if len(loop) >= 3:
            found.append(loop)
    return found


def _points(surface: Surface, above: FloatArray, loop: list[Edge]) -> FloatArray:
    i = np.array([edge[0] for edge in loop])
    j = np.array([edge[1] for edge in loop])
    share = (above[i] / (above[i] - above[j]))[:, None]
    points: FloatArray = surface.vertices[i] + share * (surface.vertices[j] - surface.vertices[i])
    return points
