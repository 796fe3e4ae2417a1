"""Solid shapes: planes, frames of flats in space, triangle surfaces."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sumpwright.quantities.units import FloatArray, IntArray, Metre, frozen_array


@dataclass(frozen=True, slots=True, eq=False)
class Plane:
    """All points p with normal . p = offset; the normal has length one."""

    normal: FloatArray  # (3,)
    offset: Metre


def axes_in_plane(normal: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Two unit vectors (3,) that span the plane, x_axis cross y_axis = normal.

    The x_axis is the one of the space's axes that lies flattest in the plane, laid into it,
    so that the answer does not jump for small changes of a plane that faces one of them.
    """
    normal = np.asarray(normal, dtype=np.float64)
    seed = np.zeros(3)
    seed[int(np.argmin(np.round(np.abs(normal), 6)))] = 1.0
    x_axis = seed - (seed @ normal) * normal
    x_axis /= float(np.linalg.norm(x_axis))
    return frozen_array(x_axis), frozen_array(_cross(normal, x_axis))


def _cross(a: FloatArray, b: FloatArray) -> list[float]:
    """Cross product of two vectors (3,): for so few numbers the library's own takes ten times as long."""
    ax, ay, az = a.tolist()
    bx, by, bz = b.tolist()
    return [ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx]


def cross_rows(a: FloatArray, b: FloatArray) -> FloatArray:
    """Cross products (..., 3) of vectors (..., 3), without the library's shuffling of axes."""
    ax, ay, az = a[..., 0], a[..., 1], a[..., 2]
    bx, by, bz = b[..., 0], b[..., 1], b[..., 2]
    return np.stack([ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx], axis=-1)


@dataclass(frozen=True, slots=True, eq=False)
class FlatFrame:
    """Where a flat lies in the engine frame: point = origin + u * x_axis + v * y_axis.

    ``normal`` = x_axis cross y_axis points to the side from which the flat is seen.
    """

    origin: FloatArray  # (3,) m
    x_axis: FloatArray  # (3,)
    y_axis: FloatArray  # (3,)

    @property
    def normal(self) -> FloatArray:
        """Unit vector (3,) towards the viewer."""
        return frozen_array(_cross(self.x_axis, self.y_axis))

    def to_space(self, flat_points: FloatArray) -> FloatArray:
        """Points (n, 2) of the flat as points (n, 3) of the engine frame [m]."""
        return frozen_array(
            self.origin + np.outer(flat_points[:, 0], self.x_axis) + np.outer(flat_points[:, 1], self.y_axis)
        )

    def to_flat(self, points: FloatArray) -> FloatArray:
        """Points (n, 3) of the engine frame dropped onto the flat, (n, 2) [m]."""
        away = points - self.origin
        return frozen_array(np.stack([away @ self.x_axis, away @ self.y_axis], axis=1))


@dataclass(frozen=True, slots=True, eq=False)
class Surface:
    """A closed triangle surface, triangles anticlockwise seen from outside."""

    vertices: FloatArray  # (n, 3) m
    triangles: IntArray  # (m, 3)
