"""Keep-outs from what the shop can say: boxes, cylinders, swept profiles, read surfaces.

All answers are triangles (n, 3, 3) of the engine frame in metres. Round things are drawn
from outside, so that a gap is never said too large; by how much they may stand out is given.
"""

from __future__ import annotations

import math

import numpy as np

from sumpwright.geometry.polygons import signed_area
from sumpwright.geometry.solid_shapes import axes_in_plane
from sumpwright.quantities.units import FloatArray, Metre, frozen_array

ROUNDNESS: Metre = 0.00002
"""A round thing's facets stand out by no more than this."""


def box(low: FloatArray, high: FloatArray) -> FloatArray:
    """A box along the axes between two opposite corners (3,)."""
    low, high = np.minimum(low, high), np.maximum(low, high)
    outline = np.array([[low[0], low[1]], [high[0], low[1]], [high[0], high[1]], [low[0], high[1]]])
    bottom = np.column_stack([outline, np.full(4, low[2])])
    return _between(bottom, bottom + np.array([0.0, 0.0, high[2] - low[2]]))


def facets_for(radius: Metre) -> int:
    """Sides of a polygon round a circle that stands out by no more than ``ROUNDNESS``."""
    return max(16, math.ceil(math.pi / math.acos(radius / (radius + ROUNDNESS))))


def cylinder(start: FloatArray, end: FloatArray, radius: Metre, sides: int | None = None) -> FloatArray:
    """A round bar between two points (3,) of its axis; as many sides as roundness asks for."""
    axis = np.asarray(end, dtype=np.float64) - start
    axis = axis / float(np.linalg.norm(axis))
    x_axis, y_axis = axes_in_plane(axis)
    count = facets_for(radius) if sides is None else sides
    turns = 2.0 * math.pi * np.arange(count) / count
    reach = radius / math.cos(math.pi / count)
    ring = reach * (np.outer(np.cos(turns), x_axis) + np.outer(np.sin(turns), y_axis))
    return _between(np.asarray(start) + ring, np.asarray(end) + ring)


def swept_profile(outline: FloatArray, start: FloatArray, axes: FloatArray, length: Metre) -> FloatArray:
    """A plane outline (n, 2) swept square to itself.

    ``axes`` (3, 3) has the outline's two axes and the way of the sweep as columns.
    """
    flat = np.asarray(outline, dtype=np.float64)
    turned = signed_area(flat) * float(np.linalg.det(axes)) < 0.0
    flat = flat[::-1] if turned else flat
    base = np.asarray(start) + flat @ np.asarray(axes)[:, :2].T
    return _between(base, base + length * np.asarray(axes)[:, 2])


def in_engine_frame(triangles: FloatArray, axes: FloatArray, origin: FloatArray) -> FloatArray:
    """Triangles of another frame, its axes as columns (3, 3) and its origin (3,), in the engine frame."""
    return frozen_array(np.asarray(triangles) @ np.asarray(axes).T + origin)


def _between(bottom: FloatArray, top: FloatArray) -> FloatArray:
    """The closed surface between two equal rings; the lower one anticlockwise seen from the upper."""
    import manifold3d

    count = len(bottom)
    following = np.roll(np.arange(count), -1)
    sides = [
        *np.stack([bottom, bottom[following], top[following]], axis=1),
        *np.stack([bottom, top[following], top], axis=1),
    ]
    normal = np.cross(bottom - bottom.mean(axis=0), bottom[following] - bottom.mean(axis=0)).sum(axis=0)
    normal /= float(np.linalg.norm(normal))
    flat_axes = np.stack(axes_in_plane(normal), axis=1)
    filled = np.asarray(manifold3d.triangulate([bottom @ flat_axes]), dtype=np.int64)
    return frozen_array(np.concatenate([np.array(sides), bottom[filled[:, ::-1]], top[filled]]))
